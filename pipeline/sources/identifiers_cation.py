"""Identities of about 200 cations.

Columns: PubChem number (-1 where there is none), CAS number, molecular formula, molar
mass in g/mol, SMILES, InChI without its leading `InChI=1S/`, InChIKey, then any number
of names.

Read whole. An ion on its own does not boil; it is kept so that a CAS number of one is
recognised and named.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="identifiers_cation",
    title="Cation identities",
    citation=(
        "C. Bell and contributors, chemicals, release 1.5.2, identifier files; compiled for that package, "
        "no earlier publication"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Identifiers/Cation db.tsv",
    sha256="4c45749d2522b99c83d88a1e2965e79dc9223db8d81654fabe415f97b557660c",
    layout="identity",
)

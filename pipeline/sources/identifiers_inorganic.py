"""Identities of about 600 inorganic substances, minerals and hydrates.

Columns: PubChem number (-1 where there is none), CAS number, molecular formula, molar
mass in g/mol, SMILES, InChI without its leading `InChI=1S/`, InChIKey, then any number
of names.

Read whole. Some structures are written as separate atoms and cannot be trusted for
valence or hydrogen count.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="identifiers_inorganic",
    title="Inorganic substance identities",
    citation=(
        "C. Bell and contributors, chemicals, release 1.5.2, identifier files; compiled for that package, "
        "no earlier publication"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Identifiers/Inorganic db.tsv",
    sha256="05e38f7ec8fa928e2d819ad744dac2931e78e9ae0781bf8ee03f2b3367305bce",
    layout="identity",
)

"""Identities of about 2,300 compounds that the PubChem files lack.

Columns: PubChem number (-1 where there is none), CAS number, molecular formula, molar
mass in g/mol, SMILES, InChI without its leading `InChI=1S/`, InChIKey, then any number
of names.

Read whole. Compiled by hand for the distribution from index names; some structures are
written as separate ions or atoms.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="identifiers_supplement",
    title="Compound identities, supplement",
    citation=(
        "C. Bell and contributors, chemicals, release 1.5.2, identifier files; compiled for that package, "
        "no earlier publication"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Identifiers/chemical identifiers example user db.tsv",
    sha256="4ebccb034b0ad9b4bba66d194df1b8d2c62d12303a126588dc7dfb4280df25aa",
    layout="identity",
)

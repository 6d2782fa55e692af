"""Identities of about 1,800 common compounds, drawn from PubChem.

Columns: PubChem number (-1 where there is none), CAS number, molecular formula, molar
mass in g/mol, SMILES, InChI without its leading `InChI=1S/`, InChIKey, then any number
of names.

Read whole. The names come from depositors: some are wrong. All are kept here; the next
station ranks them.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="identifiers_pubchem_small",
    title="Compound identities drawn from PubChem, small file",
    citation=("S. Kim et al., PubChem 2023 update, Nucleic Acids Res. 51 (2023) D1373-D1380, doi:10.1093/nar/gkac956"),
    licence=(
        "MIT, as part of the package chemicals 1.5.2; PubChem itself is a work of the US National Library "
        "of Medicine and asks for acknowledgement"
    ),
    distribution="chemicals",
    file="chemicals/Identifiers/chemical identifiers pubchem small.tsv",
    sha256="21fc5441ba4e159ec3b3993459d7cd0c6d375a1565c7304cc55580e8999ba42e",
    layout="identity",
)

"""Identities of about 71,000 organic compounds, drawn from PubChem.

Columns: PubChem number (-1 where there is none), CAS number, molecular formula, molar
mass in g/mol, SMILES, InChI without its leading `InChI=1S/`, InChIKey, then any number
of names.

Read whole. The names come from depositors: some are wrong, and some CAS numbers among
them belong to other compounds. All are kept here; the next station ranks them.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="identifiers_pubchem_large",
    title="Compound identities drawn from PubChem, large file",
    citation=("S. Kim et al., PubChem 2023 update, Nucleic Acids Res. 51 (2023) D1373-D1380, doi:10.1093/nar/gkac956"),
    licence=(
        "MIT, as part of the package chemicals 1.5.2; PubChem itself is a work of the US National Library "
        "of Medicine and asks for acknowledgement"
    ),
    distribution="chemicals",
    file="chemicals/Identifiers/chemical identifiers pubchem large.tsv",
    sha256="3b9aac5ae8d270bafc9e72a6af5441ce580f0ce444d1dee48dc37e47474b91fc",
    layout="identity",
)

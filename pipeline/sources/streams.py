"""Petroleum and other cuts and technical mixtures that are sold under one CAS number.

Columns: CAS number, name, further names, what it is, citation. The boiling ranges and
carbon numbers are usual ones; the product's own data sheet decides.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="streams",
    title="Cuts and technical mixtures sold under one CAS number",
    citation=(
        "entered for this project; citation in each row; numbers compared with the TSCA Inventory (US "
        "EPA, 2016) and EINECS (2015)"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="streams.csv",
    sha256="bf650d0aaa4cfd6a50ff5f4087f40e7dc07236e0450827a14420785e96517b96",
    delimiter=",",
    cas_column="cas",
)

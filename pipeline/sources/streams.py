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
    sha256="d3f7fe5afec70f3df82ce2359e362b8dbf8fc608786291e20028cec34506df44",
    delimiter=",",
    cas_column="cas",
)

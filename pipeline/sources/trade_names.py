"""Bench abbreviations and trade names, names to show, and names that are wrong where they stand.

Columns: rule (`is`: the name means this number; `show`: also the name to show; `not`: the
name does not mean this number, `*` standing for every pure substance), name, CAS number,
what it means, citation. Where several numbers share an abbreviation, the first row is the
likelier one at a bench.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="trade_names",
    title="Bench abbreviations, trade names, names to show, and names to take away",
    citation="entered for this project; citation in each row",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="trade_names.csv",
    sha256="5221b2b45cd3986bba5225ad1baa19226c1e2eb025fb667d46e87526c64afe4a",
    delimiter=",",
    cas_column="cas",
)

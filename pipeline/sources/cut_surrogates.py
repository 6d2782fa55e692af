"""Pure hydrocarbons that may stand for a part of a petroleum cut, by chemical class.

Columns: CAS number, name, class, citation. They are those whose boiling points
are best known, some 5 to 20 K apart in each class; the choice is this project's own.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="cut_surrogates",
    title="Hydrocarbons that may stand for a part of a petroleum cut",
    citation="entered for this project; common practice, no source",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="cut_surrogates.csv",
    sha256="485b45cd58d8b38794259fe2ea7890ad559e8052652e3c589328d728af89b916",
    delimiter=",",
    cas_column="cas",
)

"""Values of the third sources that decided for a judge and against the other tables.

The file is the table of adjudications itself (`pipeline/adjudicate.py`): of its rows those
on values that stand with the reference, one column per property. Each row's citation stands in the
table `adjudication`.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from cutpoint.schema.properties import EVALUATED_PROPERTIES

from ..source import Source, Value


def rows(path: Path) -> pd.DataFrame:
    """CAS number and, under the property's name, the value of each row that stands with the reference."""
    text = pd.read_csv(path, dtype="str", na_filter=False, encoding="utf-8")
    is_value = (text["stands_with"] == "reference") & text["property"].isin(EVALUATED_PROPERTIES)
    heard = text[is_value].reset_index(drop=True)
    columns = {name: heard["value"].where(heard["property"] == name, "") for name in EVALUATED_PROPERTIES}
    return pd.DataFrame({"cas": heard["cas"], **columns})


SOURCE = Source(
    name="adjudicated_values",
    title="Values of third sources that decided for a judge",
    citation="entered for this project; the citation of each value stands in the table `adjudication`",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="../adjudications.csv",
    sha256="ee552a082e99c3548efc8ee02445492d4fab53ba0d234126dcbd76aad19f703f",
    layout="own",
    cas_column="cas",
    values=tuple(Value(name, name) for name in EVALUATED_PROPERTIES),
    rows=rows,
)

"""The account of every source: where it comes from, and rows read = rows kept + rows rejected."""

from __future__ import annotations

from importlib import metadata

import pandas as pd

from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.tables import check

from .source import Source, is_live


def source_table(
    sources: tuple[Source, ...], rows_read: dict[str, int], kept: dict[str, int], rejected: pd.DataFrame
) -> pd.DataFrame:
    """The `source` frame; raises BuildFailed if a row of a source was lost or counted twice."""
    whole = rejected["field"] == "*"
    rows = rejected[whole].groupby("source").size()
    of_kept_rows = ~whole & ~_rows_of(rejected).isin(_rows_of(rejected[whole]))
    values = rejected[of_kept_rows].groupby("source").size()
    for name, count in rows_read.items():
        told = int(kept.get(name, 0)) + int(rows.get(name, 0))
        if told != count:
            raise BuildFailed(f"Source {name}: {count} rows were read, but {told} are kept or rejected.")
    table = pd.DataFrame(
        {
            "source": source.name,
            "title": source.title,
            "citation": source.citation,
            "licence": source.licence,
            "distribution": _shipped_by(source),
            "file": source.file,
            "sha256": source.sha256,
            "rows_read": rows_read[source.name],
            "rows_kept": int(kept.get(source.name, 0)),
            "rows_rejected": int(rows.get(source.name, 0)),
            "values_rejected": int(values.get(source.name, 0)),
        }
        for source in sources
    )
    return check("source", table, "build")


def _shipped_by(source: Source) -> str:
    if is_live(source):
        return source.distribution
    return f"{source.distribution} {metadata.version(source.distribution)}"


def _rows_of(rejected: pd.DataFrame) -> pd.Series:
    return rejected["source"] + "\x1f" + rejected["source_row"].astype(str)

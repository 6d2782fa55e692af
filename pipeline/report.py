"""What a rebuild and a verification tell of themselves."""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import duckdb

from cutpoint.schema.tables import TABLES

from .publish import TableDigests

# Rows that were refused whole, and single values of rows that were not. Reasons carry
# the figures of the case at hand after a colon; what stands before it is the kind of reason.
_REASONS = """
    SELECT split_part(reason, ':', 1) AS kind, count(*) AS refused
    FROM rejected
    WHERE field = '*' OR (source, source_row) NOT IN (SELECT (source, source_row) FROM rejected WHERE field = '*')
    GROUP BY kind ORDER BY refused DESC, kind
"""


@dataclass(frozen=True)
class BuildReport:
    """What a rebuild did; `tables` gives rows and digest of each table."""

    path: str
    digest: str
    tables: TableDigests
    seconds: float
    peak_rss_MiB: float
    up_to_date: bool
    stages_run: list[str]
    sources: list[dict[str, Any]]
    counts: dict[str, int]
    rejected_by_reason: dict[str, int]


@dataclass(frozen=True)
class VerifyReport:
    """A rebuild aside, compared with the store table by table."""

    path: str
    digest: str
    tables: TableDigests
    seconds: float
    peak_rss_MiB: float
    differences: list[dict[str, Any]] = field(default_factory=list)


def report(path: Path, started: float, up_to_date: bool, stages_run: list[str]) -> BuildReport:
    """The report of a rebuild of the store at `path`, its counts read from the store itself."""
    with duckdb.connect(str(path), read_only=True) as connection:
        rows = {table: _count(connection, f'SELECT count(*) FROM "{table}"') for table in TABLES}
        told = dict(connection.execute("SELECT item, value FROM build").fetchall())
        columns = ["source", "rows_read", "rows_kept", "rows_rejected", "values_rejected"]
        accounts = connection.execute(f"SELECT {', '.join(columns)} FROM source ORDER BY source").fetchall()
        counts = {
            "components": rows["component"],
            "with_boiling_point": _count(
                connection,
                "SELECT count(DISTINCT cas) FROM observation WHERE property = 'normal_boiling_point'",
            ),
            "vapour_pressure_correlations": _count(
                connection,
                "SELECT count(*) FROM observation WHERE property = 'vapour_pressure' AND equation IS NOT NULL",
            ),
        }
        reasons = connection.execute(_REASONS).fetchall()
    tables: TableDigests = {
        table: {"rows": count, "digest": told[f"digest:{table}"]} for table, count in rows.items() if table != "build"
    }
    return BuildReport(
        path=str(path),
        digest=told["digest"],
        tables=tables,
        seconds=seconds_since(started),
        peak_rss_MiB=peak_rss_MiB(),
        up_to_date=up_to_date,
        stages_run=stages_run,
        sources=[dict(zip(columns, account, strict=True)) for account in accounts],
        counts=counts,
        rejected_by_reason=dict(reasons),
    )


def _count(connection: duckdb.DuckDBPyConnection, query: str) -> int:
    row = connection.execute(query).fetchone()
    return int(row[0]) if row else 0


def seconds_since(started: float) -> float:
    """Seconds since a reading of the monotonic clock, to the hundredth."""
    return round(time.monotonic() - started, 2)


def peak_rss_MiB() -> float:
    """Largest resident memory of this process or any of its workers, MiB."""
    own, workers = (resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    per_MiB = 2**20 if sys.platform == "darwin" else 2**10  # macOS counts bytes, Linux kibibytes
    return round(max(own, workers) / per_MiB, 1)

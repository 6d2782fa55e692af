"""The file of an atlas as it is written: a block and the mark that it is finished go in together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import astuple
from pathlib import Path
from types import TracebackType
from typing import Any

import duckdb

from cutpoint.schema.errors import AtlasDiffers, WrongUsage

from .atlas_list import Listed, Skipped
from .atlas_work import Judged

TABLES: dict[str, tuple[str, dict[str, tuple[str, str]]]] = {
    "run": (
        "what was asked, of which store; an atlas is gone on with only under the same",
        {
            "item": ("VARCHAR PRIMARY KEY", "what is told"),
            "value": ("VARCHAR NOT NULL", "its value"),
        },
    ),
    "component": (
        "one row per component of the list",
        {
            "cas": ("VARCHAR NOT NULL", "CAS Registry Number"),
            "name": ("VARCHAR NOT NULL", "name to show"),
            "line_number": ("BIGINT NOT NULL", "line of the list that names it, counted from 1"),
            "text": ("VARCHAR NOT NULL", "what the line says"),
            "note": ("VARCHAR", "what else the name is used of"),
        },
    ),
    "skipped": (
        "one row per line of the list that was left out",
        {
            "line_number": ("BIGINT NOT NULL", "line of the list, counted from 1"),
            "text": ("VARCHAR NOT NULL", "what the line says"),
            "reason": ("VARCHAR NOT NULL", "why it names no component of its own"),
        },
    ),
    "pair": (
        "one row per pair; cas_a comes before cas_b as text; NULL where nothing is known",
        {
            "cas_a": ("VARCHAR NOT NULL", "CAS Registry Number of the first component"),
            "cas_b": ("VARCHAR NOT NULL", "CAS Registry Number of the second component"),
            "verdict": ("VARCHAR", "how distillation can part the two"),
            "delta_boiling_point_K": ("DOUBLE", "boiling point of b minus that of a at the pressure of the run, K"),
            "delta_u95_K": ("DOUBLE", "its expanded uncertainty, coverage 95 %, K"),
            "alpha_a_lean": ("DOUBLE", "relative volatility of a over b, a trace of a in b"),
            "alpha_middle": ("DOUBLE", "relative volatility of a over b, equal amounts of substance"),
            "alpha_a_rich": ("DOUBLE", "relative volatility of a over b, a trace of b in a"),
            "minimum_plates": ("DOUBLE", "theoretical plates at total reflux for the purities of the run"),
            "equivalent_difference_K": ("DOUBLE", "difference of boiling points of an ideal pair as hard to part, K"),
            "predictable": ("BOOLEAN", "whether the model of activity coefficients covers the pair"),
            "problem": ("VARCHAR", "why something is not known"),
            "block": ("BIGINT NOT NULL", "block of the work in which the pair was judged"),
        },
    ),
    "azeotrope": (
        "one row per azeotrope of a pair at the pressure of the run, measured ones before predicted ones",
        {
            "cas_a": ("VARCHAR NOT NULL", "CAS Registry Number of the first component"),
            "cas_b": ("VARCHAR NOT NULL", "CAS Registry Number of the second component"),
            "ordinal": ("BIGINT NOT NULL", "1, or 2 for the second of a double azeotrope"),
            "basis": ("VARCHAR NOT NULL", "measured or predicted"),
            "kind": ("VARCHAR NOT NULL", "minimum, maximum or heterogeneous"),
            "temperature_K": ("DOUBLE NOT NULL", "boiling temperature of the azeotrope, K"),
            "mass_fraction_a": ("DOUBLE", "mass fraction of the first component"),
            "mole_fraction_a": ("DOUBLE", "mole fraction of the first component"),
            "source": ("VARCHAR", "publication, or the model"),
            "block": ("BIGINT NOT NULL", "block of the work in which the pair was judged"),
        },
    ),
    "block": (
        "one row per block of the work that was judged; those with a problem are judged again by the next run",
        {
            "block": ("BIGINT PRIMARY KEY", "number of the block, counted from 0"),
            "pairs": ("BIGINT NOT NULL", "pairs that it holds"),
            "problem": ("VARCHAR", "what befell all of it"),
        },
    ),
}
"""Each table: what it is, and each column's type and meaning."""


class AtlasFile:
    """An atlas open for writing, begun or gone on with; use it as a context manager.

    Raises AtlasDiffers where the file was begun under another `run` and `anew`
    is not set, WrongUsage where it cannot be written or is no atlas.
    """

    def __init__(self, path: Path, run: Mapping[str, str], *, anew: bool) -> None:
        self.path = path
        self._connection = _open(path, anew=anew)
        try:
            self._begin(run)
        except BaseException:
            self._connection.close()
            raise

    def __enter__(self) -> AtlasFile:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def _begin(self, run: Mapping[str, str]) -> None:
        """Make the tables, or see that they were made for the same question."""
        if not _tables(self._connection):
            statements = [statement for table in TABLES for statement in _create(table)]
            self._connection.execute("BEGIN; " + "; ".join(statements))
            self._connection.executemany("INSERT INTO run VALUES (?, ?)", [list(item) for item in run.items()])
            self._connection.execute("COMMIT")
            return
        held = dict(self._connection.execute("FROM run").fetchall())
        told = [
            f"{item.replace('_', ' ')} {held.get(item, 'not told')[:40]}, now {run.get(item, 'not told')[:40]}"
            for item in sorted({*held, *run})
            if held.get(item) != run.get(item)
        ]
        if told:
            raise AtlasDiffers(
                f"The atlas {self.path} was begun under something else: {'; '.join(told)}. "
                "Name another file with --to, or give --anew to throw its content away and begin again."
            )

    def write_list(self, components: Sequence[Listed], skipped: Sequence[Skipped]) -> None:
        """Put down which line is which component and what was left out; names may have changed since the last run."""
        self._connection.execute("BEGIN; DELETE FROM component; DELETE FROM skipped")
        self._insert("component", [(c.cas, c.name, c.line_number, c.text, c.note) for c in components])
        self._insert("skipped", [astuple(line) for line in skipped])
        self._connection.execute("COMMIT")

    def finished(self) -> set[int]:
        """Numbers of the blocks that need not be judged again."""
        return {row[0] for row in self._connection.execute("SELECT block FROM block WHERE problem IS NULL").fetchall()}

    def write(self, judged: Judged, pairs: Sequence[tuple[str, str]]) -> None:
        """Put a block in, with its mark, in one transaction, in place of an earlier failure."""
        block = judged.block
        self._connection.execute("BEGIN")
        for table in ("pair", "azeotrope"):
            self._connection.execute(f"DELETE FROM {table} WHERE block = {block:d}")
        columns = judged.columns
        if judged.problem is not None:
            columns = {"cas_a": [a for a, _ in pairs], "cas_b": [b for _, b in pairs]}
            columns |= {"problem": [f"The block of this pair could not be judged. {judged.problem}"] * len(pairs)}
        nothing = [None] * len(pairs)
        self._insert_columns("pair", [columns.get(name, nothing) for name in list(TABLES["pair"][1])[:-1]], block)
        found = columns.get("azeotropes", [()] * len(pairs))
        azeotropes = [(*pair, *one) for pair, some in zip(pairs, found, strict=True) for one in some]
        if azeotropes:
            self._insert_columns("azeotrope", list(zip(*azeotropes, strict=True)), block)
        self._connection.execute("INSERT OR REPLACE INTO block VALUES (?, ?, ?)", [block, len(pairs), judged.problem])
        self._connection.execute("COMMIT")

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """Rows of a query on what has been written."""
        return self._connection.execute(sql).fetchall()

    def _insert(self, table: str, rows: Sequence[Sequence[Any]]) -> None:
        if rows:
            places = ", ".join("?" * len(rows[0]))
            self._connection.executemany(f"INSERT INTO {table} VALUES ({places})", [list(row) for row in rows])

    def _insert_columns(self, table: str, columns: Sequence[Sequence[Any]], block: int) -> None:
        """Rows by column, the block's number last: two thousand rows at once, where one by one would take seconds."""
        types = [kind.split()[0] for kind, _ in TABLES[table][1].values()]
        unnested = ", ".join(f"unnest(${place}::{kind}[])" for place, kind in enumerate(types[:-1], 1))
        values = [list(column) for column in columns]
        self._connection.execute(f"INSERT INTO {table} SELECT {unnested}, {block:d}", values)


def _open(path: Path, *, anew: bool) -> duckdb.DuckDBPyConnection:
    try:
        connection = duckdb.connect(str(path))
    except duckdb.Error as error:
        told = str(error).splitlines()[0]
        why = "another process has it open" if "lock" in told else told
        raise WrongUsage(f"No atlas can be written to {str(path)!r}: {why}. Name another file with --to.") from error
    tables = _tables(connection)
    if tables and tables != set(TABLES):
        connection.close()
        raise WrongUsage(f"{str(path)!r} is a database, but no atlas: it is left as it is. Name another with --to.")
    if tables and anew:
        connection.close()
        for stale in (path, path.with_name(f"{path.name}.wal")):
            with suppress(FileNotFoundError):
                stale.unlink()
        return duckdb.connect(str(path))
    return connection


def _tables(connection: duckdb.DuckDBPyConnection) -> set[str]:
    return {row[0] for row in connection.execute("SELECT table_name FROM duckdb_tables()").fetchall()}


def _create(table: str) -> list[str]:
    what, columns = TABLES[table]
    lines = ", ".join(f"{name} {kind}" for name, (kind, _) in columns.items())
    comments = [f"COMMENT ON COLUMN {table}.{name} IS {_quoted(told)}" for name, (_, told) in columns.items()]
    return [f"CREATE TABLE {table} ({lines})", f"COMMENT ON TABLE {table} IS {_quoted(what)}", *comments]


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"

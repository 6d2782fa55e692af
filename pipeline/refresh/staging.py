"""What a run has fetched so far: kept in one SQLite file, so that a run that stops can be gone on with.

A page and its rows are one transaction: a page is either fetched, with all of its rows, or not.
"""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import TracebackType

import pyarrow as pa

from cutpoint.pipeline.snapshot import ROW_GROUP, SCHEMAS
from cutpoint.schema.errors import LiveSourceFailed

LONGEST_RUN_S = 7 * 24 * 3600
"""A run that began longer ago is begun anew: its parts would be of too different age."""

Row = tuple[str | None, ...]
Rows = Mapping[str, Iterable[Row]]
"""Rows by table."""

TABLES = {name: tuple(schema.names) for name, schema in SCHEMAS.items()} | {
    "page": ("request", "found"),
    "wanted": ("item",),
    "unknown": ("cas",),
    "run": ("settings", "started"),
}
"""The tables of a snapshot; pages that were fetched and how much each held; items to be looked up; CAS numbers
that PubChem does not know; what the run is for and since when."""


class Staging:
    """The file of a run; use it as a context manager. Raises LiveSourceFailed if another run has it open.

    A run with other `settings`, or one that began more than a week ago, is forgotten.
    """

    def __init__(self, folder: Path, settings: str) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.path = folder / "run.sqlite"
        try:
            self._connection = self._open()
        except sqlite3.OperationalError as busy:
            if "locked" not in str(busy):
                raise
            raise LiveSourceFailed(
                f"Another refresh is under way: it has {self.path} open. Wait until it has ended."
            ) from busy
        except sqlite3.DatabaseError:  # cut off or overwritten: nothing of it can be trusted
            remove_database(self.path)
            self._connection = self._open()
        run = self._connection.execute("SELECT settings, started FROM run").fetchone()
        now = time.time()
        self.resumed = run is not None and run[0] == settings and 0 <= now - run[1] < LONGEST_RUN_S
        self.started: float = run[1] if self.resumed else now
        if not self.resumed:
            self._begin(settings)

    def __enter__(self) -> Staging:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def found(self, request: str) -> int | None:
        """How much a page held, None if it was not fetched yet."""
        row = self._connection.execute("SELECT found FROM page WHERE request = ?", [request]).fetchone()
        return None if row is None else int(row[0])

    def keep(self, request: str, found: int, rows: Rows) -> None:
        """Keep a page: how much it held, and its rows; a row with half a character in it is refused."""
        with self._connection:
            self._connection.execute("BEGIN")
            for table, kept in _storable(rows).items():
                places = ", ".join("?" for _ in TABLES[table])
                self._connection.executemany(f"INSERT INTO {table} VALUES ({places})", kept)
            self._connection.execute("INSERT INTO page VALUES (?, ?)", [request, found])

    def column(self, sql: str) -> Iterator[str]:
        """The only column of a query, row by row."""
        for row in self._connection.execute(sql):
            yield row[0]

    def rows(self, sql: str) -> list[tuple[str, str]]:
        """All rows of a query of two columns."""
        return self._connection.execute(sql).fetchall()

    def reasons(self) -> dict[str, int]:
        """Number of refusals by reason, the most frequent first."""
        sql = "SELECT reason, count(*) FROM (SELECT DISTINCT * FROM rejected) GROUP BY reason ORDER BY 2 DESC, 1"
        return dict(self._connection.execute(sql).fetchall())

    def count(self, table: str) -> int:
        """Number of rows of a table that differ."""
        counted: int = self._connection.execute(f"SELECT count(*) FROM (SELECT DISTINCT * FROM {table})").fetchone()[0]
        return counted

    def batches(self, table: str) -> Iterator[pa.RecordBatch]:
        """The rows of a table of the snapshot, in the order of its columns, without duplicates."""
        columns = ", ".join(TABLES[table])
        cursor = self._connection.execute(f"SELECT DISTINCT {columns} FROM {table} ORDER BY {columns}")
        schema = SCHEMAS[table]
        while rows := cursor.fetchmany(ROW_GROUP):
            arrays = [pa.array(values, pa.string()) for values in zip(*rows, strict=True)]
            yield pa.RecordBatch.from_arrays(arrays, schema=schema)

    def discard(self) -> None:
        """Forget the run: its snapshot is written."""
        self._connection.close()
        remove_database(self.path)

    def _open(self) -> sqlite3.Connection:
        connection = sqlite3.connect(self.path, timeout=0, isolation_level=None)
        # The lock is held until the file is closed: no second run may share it.
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = NORMAL")
        connection.execute("BEGIN EXCLUSIVE")
        if _layout(connection) != TABLES:  # new, or of another version
            for table, columns in TABLES.items():
                connection.execute(f"DROP TABLE IF EXISTS {table}")
                connection.execute(f"CREATE TABLE {table} ({', '.join(columns)})")
            connection.execute("CREATE UNIQUE INDEX page_request ON page (request)")
        connection.execute("COMMIT")
        return connection

    def _begin(self, settings: str) -> None:
        """Forget an earlier run, and begin this one."""
        with self._connection:
            self._connection.execute("BEGIN")
            for table in TABLES:
                self._connection.execute(f"DELETE FROM {table}")
            self._connection.execute("INSERT INTO run VALUES (?, ?)", [settings, self.started])


def _layout(connection: sqlite3.Connection) -> dict[str, tuple[str, ...]]:
    """The columns of each table that there is to be, as the file has them."""
    sql = "SELECT name FROM pragma_table_info(?)"
    return {table: tuple(name for (name,) in connection.execute(sql, [table])) for table in TABLES}


def _storable(rows: Rows) -> dict[str, list[Row]]:
    """Rows with one that holds half a character (a lone surrogate, which no file takes) moved to what is refused."""
    kept: dict[str, list[Row]] = {table: [] for table in (*rows, "rejected")}
    for table, given in rows.items():
        for row in given:
            whole = _escaped(row)
            if row == whole or table == "rejected":
                kept[table].append(whole)
            else:
                source = f"{table.partition('_')[0]}_live"
                kept["rejected"].append((source, whole[0], json.dumps(row), "it holds half a character"))
    return kept


def _escaped(row: Row) -> Row:
    """A row with half characters written as escapes."""
    return tuple(None if text is None else text.encode(errors="backslashreplace").decode() for text in row)


def remove_database(path: Path) -> None:
    """Remove an SQLite file and its log, which would else be played into the next file of that name."""
    for part in ("", "-wal", "-shm"):
        path.with_name(path.name + part).unlink(missing_ok=True)

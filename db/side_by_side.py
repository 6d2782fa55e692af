"""Two component stores side by side, read-only, for queries that reach into both."""

from __future__ import annotations

from pathlib import Path
from types import TracebackType
from typing import Any

import duckdb

from cutpoint.schema import UNINDEXED_KEYS
from cutpoint.schema.errors import CutpointError, StoreDamaged, StoreOutdated

from .store import open as open_store


class TwoStores:
    """Two stores in one connection; use it as a context manager.

    The tables of the one stand in the schema `old`, of the other in `new`;
    `named` has the old and the new name of every component. Raises
    StoreMissing, StoreOutdated or StoreDamaged, naming which of the two.
    """

    def __init__(self, old: Path, new: Path) -> None:
        self._paths = {"old": old, "new": new}
        for which, path in self._paths.items():
            _check(which, path)
        self._connection = duckdb.connect()
        try:
            self._attach()
            self.columns = self._columns("old")
            if self.columns != self._columns("new"):
                raise StoreOutdated(
                    f"The stores {old} and {new} have one schema version but not the same tables and columns, so one "
                    "was built by an unfinished version. Build it anew with `cutpoint rebuild`."
                )
            self._name_components()
        except CutpointError:
            self._connection.close()
            raise

    def __enter__(self) -> TwoStores:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def rows(self, sql: str) -> list[tuple[Any, ...]]:
        """Rows of one of the module's own queries; raises StoreDamaged if a file cannot give them."""
        try:
            return self._connection.execute(sql).fetchall()
        except duckdb.Error as error:
            unreadable = self._unreadable(error)
            if not unreadable:
                raise
            files = " and ".join(f"the {which} store {self._paths[which]}" for which in unreadable)
            raise StoreDamaged(
                f"The two stores cannot be compared: {files} cannot be read, being damaged or no component store "
                f"({str(error).splitlines()[0]}). Build anew with `cutpoint rebuild`, or name another."
            ) from error

    def keys(self) -> dict[str, tuple[str, ...]]:
        """Columns of every table's key."""
        indexed = self.rows(
            "SELECT table_name, constraint_column_names FROM duckdb_constraints() "
            "WHERE database_name = 'old_file' AND constraint_type = 'PRIMARY KEY'"
        )
        return {**UNINDEXED_KEYS, **{table: tuple(columns) for table, columns in indexed}}

    def _attach(self) -> None:
        old, new = self._paths.values()
        # DuckDB attaches a file only once; compared with itself, it stands in both schemas.
        same = old.samefile(new)
        for which, path in self._paths.items():
            file = "old_file" if same else f"{which}_file"
            if which == "old" or not same:
                quoted = str(path).replace("'", "''")
                self.rows(f"ATTACH '{quoted}' AS {file} (READ_ONLY)")
            self.rows(f"CREATE SCHEMA {which}")
            for (table,) in self.rows(f"SELECT table_name FROM duckdb_tables() WHERE database_name = '{file}'"):
                self.rows(f'CREATE VIEW {which}."{table}" AS FROM {file}."{table}"')

    def _columns(self, which: str) -> dict[str, list[str]]:
        """Columns of every table, tables and columns in the order of the file's."""
        columns: dict[str, list[str]] = {}
        for table, column in self.rows(
            "SELECT table_name, column_name FROM duckdb_columns() "
            f"WHERE schema_name = '{which}' ORDER BY table_name, column_index"
        ):
            columns.setdefault(table, []).append(column)
        return columns

    def _name_components(self) -> None:
        self.rows(
            "CREATE TEMP TABLE named AS SELECT cas, o.name AS old_name, n.name AS new_name, "
            "coalesce(n.name, o.name) AS name FROM old.component o FULL JOIN new.component n USING (cas)"
        )

    def _unreadable(self, error: duckdb.Error) -> list[str]:
        """Which of the two a query failed for; DuckDB does not say, so both are read through."""
        if isinstance(error, duckdb.CatalogException):
            return list(self._paths)  # a table is missing, and both have the same tables
        return [which for which in self._paths if not self._can_be_read(which)]

    def _can_be_read(self, which: str) -> bool:
        views = f"SELECT view_name FROM duckdb_views() WHERE schema_name = '{which}'"
        try:
            for (table,) in self._connection.execute(views).fetchall():
                self._connection.execute(f'SELECT bit_xor(hash(t)) FROM {which}."{table}" t').fetchall()
        except duckdb.Error:
            return False
        return True


def _check(which: str, path: Path) -> None:
    """Open and close a store, so that what ails it is said as for any other question."""
    try:
        open_store(path).close()
    except CutpointError as error:
        raise type(error)(f"The {which} one of the two stores cannot be compared. {error.message}") from error

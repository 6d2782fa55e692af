"""Frames become one DuckDB file, all at once or not at all; digests; Parquet.

The file is built beside its target under a temporary name, checkpointed,
forced to disk and moved over the target. A reader that has the old file open
keeps reading it; a build that dies leaves the old file untouched, and the next
build sweeps its remains away.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa

from cutpoint.schema.ddl import create_statements, field_descriptions
from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.tables import TABLES, check, key_of

from .files import force_to_disk

TableDigests = dict[str, dict[str, int | str]]
"""Rows and digest of each table."""

UNDIGESTED = ("build",)
"""The build table tells of the digests, so it has none itself."""

LISTS = ("coefficients", "band_u95_relative")
LISTED_TOGETHER = 10.0
"""Columns that hold a list of numbers, and their usual size: the coefficients of a curve make up for one another, so
that each is compared with that size."""
DIFFERENCES = ("deviation",)
"""Columns that hold a difference of other numbers, which may be as small as their last digits."""

_FIELD, _ROW, _NULL = "\x1f", "\x1e", "\x1d"
_READ_ROWS = 100_000


def write_store(frames: Mapping[str, pd.DataFrame], path: Path, told: Mapping[str, str]) -> TableDigests:
    """Write a new store file holding every table, rows in key order, and give the digests of its tables.

    `path` must not exist. The table `build` gets the items of `told` and, beside
    them, the digests. All is written in one session: DuckDB leaves free blocks
    behind in a file that is opened and written again.
    """
    with duckdb.connect(str(path)) as connection:
        for table in TABLES:
            for statement in create_statements(table):
                connection.execute(statement)
            if table not in UNDIGESTED:
                _insert(connection, table, frames[table])
        digested = _digests(connection)
        items = {**told, "digest": overall_digest(digested)}
        items |= {f"digest:{table}": str(values["digest"]) for table, values in digested.items()}
        build = pd.DataFrame(sorted(items.items()), columns=["item", "value"])
        _insert(connection, "build", check("build", build, "publish"))
        connection.execute("CHECKPOINT")
    return digested


def _insert(connection: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame) -> None:
    order = ", ".join(f'"{column}"' for column in _writing_order(table))
    connection.register("rows", pa.Table.from_pandas(frame, preserve_index=False))
    connection.execute(f'INSERT INTO "{table}" SELECT * FROM rows ORDER BY {order}')
    connection.unregister("rows")


def _writing_order(table: str) -> list[str]:
    """Key order; names of one key by rank, so that the best claim is met first."""
    return ["search_key", "rank", "cas", "language"] if table == "name" else key_of(table)


@contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """A temporary path beside the target that takes its place if the block succeeds.

    Raises WrongUsage at once if nothing can be written there.
    """
    target = target.absolute()
    aside = target.with_name(f".{target.name}.building-{os.getpid()}")
    _try_to_write(target, aside)
    try:
        yield aside
        force_to_disk(aside)
        aside.replace(target)
        force_to_disk(target.parent)
    finally:
        _remove(aside)


def _try_to_write(target: Path, aside: Path) -> None:
    try:
        if target.is_dir():
            raise IsADirectoryError("it is a folder")
        target.parent.mkdir(parents=True, exist_ok=True)
        aside.touch()
        aside.unlink()
    except OSError as error:
        raise WrongUsage(f"No store can be written to {str(target)!r}: {error.strerror or error}.") from error


def sweep(target: Path) -> None:
    """Remove what builds that died have left beside the target."""
    target = target.absolute()
    for left in target.parent.glob(f".{target.name}.building-*"):
        owner = left.name.rpartition("-")[2].split(".")[0]
        if not (owner.isdigit() and _is_running(int(owner))):
            _remove(left)


def _is_running(process: int) -> bool:
    try:
        os.kill(process, 0)  # signal 0 only asks whether the process exists
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


def _remove(path: Path) -> None:
    for leftover in (path, path.with_name(path.name + ".wal")):
        leftover.unlink(missing_ok=True)


def digest_table(connection: duckdb.DuckDBPyConnection, table: str) -> tuple[int, str]:
    """Number of rows and SHA-256 of a table over its rows in key order.

    The canonical text form: values as DuckDB casts them to text (numbers in
    their shortest exact form), NULL as U+001D, values parted by U+001F, rows
    ended by U+001E; UTF-8; text sorted by its bytes. It depends neither on
    locale nor on time zone, hash seed or number of threads.
    """
    columns = list(TABLES[table].to_schema().columns)
    cells = ", ".join(f"coalesce(CAST(\"{column}\" AS VARCHAR), '{_NULL}')" for column in columns)
    order = ", ".join(f'"{column}"' for column in key_of(table))
    cursor = connection.execute(f"SELECT concat_ws('{_FIELD}', {cells}) FROM \"{table}\" ORDER BY {order}")
    digest, rows = hashlib.sha256(), 0
    while part := cursor.fetchmany(_READ_ROWS):
        rows += len(part)
        digest.update("".join(f"{row}{_ROW}" for (row,) in part).encode())
    return rows, digest.hexdigest()


def digests(path: Path) -> TableDigests:
    """Rows and digest of every table of a store file, read from the file itself."""
    with duckdb.connect(str(path), read_only=True) as connection:
        return _digests(connection)


def _digests(connection: duckdb.DuckDBPyConnection) -> TableDigests:
    told = {table: digest_table(connection, table) for table in TABLES if table not in UNDIGESTED}
    return {table: {"rows": rows, "digest": digest} for table, (rows, digest) in told.items()}


def agree_numerically(one: Path, other: Path, table: str, relative: float) -> bool:
    """Whether two stores hold the same rows of a table, numbers within a relative tolerance of each other."""
    columns = TABLES[table].to_schema().columns
    key = key_of(table)
    same = []
    for name, column in columns.items():
        a, b = f'a."{name}"', f'b."{name}"'
        if name in LISTS:
            each = _close("p[1]", "p[2]", relative, least=LISTED_TOGETHER)
            same.append(f"list_bool_and(list_transform(list_zip({a}, {b}), lambda p: {each}))")
        elif name not in key and str(column.dtype).startswith("float"):
            same.append(_close(a, b, relative, least=1.0 if name in DIFFERENCES else 0.0))
        else:
            same.append(f"{a} IS NOT DISTINCT FROM {b}")
    joined = " AND ".join(f'a."{part}" IS NOT DISTINCT FROM b."{part}"' for part in key)
    with duckdb.connect() as connection:
        for alias, path in (("one", one), ("other", other)):
            quoted = str(path).replace("'", "''")
            connection.execute(f"ATTACH '{quoted}' AS {alias} (READ_ONLY)")
        counted = connection.execute(
            f'SELECT (SELECT count(*) FROM one."{table}"), (SELECT count(*) FROM other."{table}"), '
            f'(SELECT count(*) FROM one."{table}" a JOIN other."{table}" b ON {joined} WHERE {" AND ".join(same)})'
        ).fetchone()
    return counted is not None and len(set(counted)) == 1


def _close(a: str, b: str, relative: float, least: float) -> str:
    """SQL for whether two numbers are within a tolerance that is relative to the larger, or to `least` if that is."""
    close = f"abs({a} - {b}) <= {relative!r} * greatest(abs({a}), abs({b}), {least!r})"
    # NaN is larger than any number to DuckDB, so it would be close to all of them; NULL would be left out of a list.
    return f"({a} IS NOT DISTINCT FROM {b} OR coalesce(isfinite({a}) AND isfinite({b}) AND {close}, FALSE))"


def overall_digest(tables: TableDigests) -> str:
    """One digest over the digests of all tables."""
    lines = "".join(f"{table} {told['digest']}\n" for table, told in sorted(tables.items()))
    return hashlib.sha256(lines.encode()).hexdigest()


def write_parquet(store: Path, folder: Path, version: str) -> None:
    """Write every table as Parquet with a Frictionless Data Package descriptor.

    Other files in the folder are left alone. The descriptor follows the Data
    Package standard (https://datapackage.org): `datapackage.json` beside the files.
    """
    folder = writable_folder(folder)
    with (
        tempfile.TemporaryDirectory(prefix=f".{folder.name}.", dir=folder.parent) as made,
        duckdb.connect(str(store), read_only=True) as connection,
    ):
        aside = Path(made)
        resources = []
        for table in TABLES:
            file = aside / f"{table}.parquet"
            summary = (TABLES[table].__doc__ or "").strip()
            fields = field_descriptions(table)
            told = json.dumps({"title": summary, "fields": fields}, ensure_ascii=False).replace("'", "''")
            order = ", ".join(f'"{column}"' for column in key_of(table))
            target = str(file).replace("'", "''")
            connection.execute(
                f"COPY (SELECT * FROM \"{table}\" ORDER BY {order}) TO '{target}' "
                f"(FORMAT parquet, COMPRESSION zstd, KV_METADATA {{cutpoint: '{told}'}})"
            )
            resources.append(
                {
                    "name": table.replace("_", "-"),
                    "path": file.name,
                    "format": "parquet",
                    "mediatype": "application/vnd.apache.parquet",
                    "hash": "sha256:" + hashlib.sha256(file.read_bytes()).hexdigest(),
                    "description": summary,
                    "schema": {"fields": fields, "primaryKey": key_of(table)},
                }
            )
        sources = connection.execute("SELECT title, citation FROM source ORDER BY source").fetchall()
        descriptor = {
            "name": "cutpoint-components",
            "title": "Evaluated physical properties of substances, with every observation behind them",
            "version": version,
            "licenses": [{"name": "MIT", "title": "MIT licence; each source's own terms stand in the table source"}],
            "sources": [{"title": f"{title}. {citation}"} for title, citation in sources],
            "resources": resources,
        }
        (aside / "datapackage.json").write_text(json.dumps(descriptor, ensure_ascii=False, indent=1), "utf-8")
        _publish_files(aside, folder)


def writable_folder(folder: Path) -> Path:
    """The folder, made if need be; raises WrongUsage if it cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WrongUsage(f"No Parquet files can be written to {str(folder)!r}: {error.strerror or error}.") from error
    return folder.absolute()


def _publish_files(aside: Path, folder: Path) -> None:
    """Move the files into the folder one by one, the descriptor last; nothing else there is touched."""
    for file in sorted(aside.iterdir(), key=lambda file: (file.suffix == ".json", file.name)):
        file.replace(folder / file.name)

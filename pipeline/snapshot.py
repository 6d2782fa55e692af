"""A frozen snapshot of the live sources: a folder of Parquet files and a manifest with their hashes.

A build reads a snapshot instead of a service, so it needs no network and gives the same
store each time. A snapshot is written beside its folder and swapped in by two renames;
whoever comes next puts right what a kill between them left.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import pandas as pd
import platformdirs
import pyarrow as pa
import pyarrow.parquet as pq

from cutpoint.schema.errors import SourceChanged, SourceMissing, WrongUsage

from .files import file_sha256, force_to_disk

FORMAT = 1
MANIFEST = "manifest.json"
ROW_GROUP = 50_000
"""Rows of a row group; fixed, since the same rows are to give the same bytes."""


def _text_columns(*names: str) -> pa.Schema:
    return pa.schema([pa.field(name, pa.string()) for name in names])


SCHEMAS: Mapping[str, pa.Schema] = {
    "wikidata_items": _text_columns("item", "cas", "inchikey", "inchi", "smiles", "formula"),
    "wikidata_values": _text_columns(
        "item",
        "statement",
        "property",
        "amount",
        "unit",
        "lower",
        "upper",
        "pressure_amount",
        "pressure_unit",
        "temperature_amount",
        "temperature_unit",
        "phase",
        "rank",
        "reference",
    ),
    "wikidata_names": _text_columns("item", "language", "text", "kind"),
    "pubchem_identities": _text_columns(
        "cas", "cid", "inchikey", "inchi", "smiles", "formula", "molar_mass_g_mol", "title"
    ),
    "pubchem_synonyms": _text_columns("cas", "cid", "synonym"),
    "rejected": _text_columns("source", "key", "raw", "reason"),
}
"""Columns of each table, all of them text as the services gave it; rows are in the order of the columns."""


@dataclass(frozen=True)
class About:
    """Where a table comes from: what was asked, of whom, when (UTC, ISO 8601), and under which licence it is."""

    query: str
    address: str
    fetched: str
    licence: str


ENTRY: Mapping[str, type] = {field.name: str for field in fields(About)} | {"sha256": str, "rows": int}
"""What the manifest tells of each file."""


@dataclass(frozen=True)
class Snapshot:
    """A snapshot that was read: its manifest, its digest and its tables."""

    folder: Path
    manifest: dict[str, Any]
    digest: str
    frames: dict[str, pd.DataFrame]


def default_folder() -> Path:
    """Where the snapshot is unless another folder is named."""
    return platformdirs.user_data_path("cutpoint") / "snapshot"


def write(folder: Path, tables: Mapping[str, Iterable[pa.RecordBatch]], about: Mapping[str, About]) -> str:
    """Write a snapshot and give its digest; the old one stays until the new one is whole.

    `tables` holds the rows of every table of `SCHEMAS`, in the order of its columns without duplicates.
    Raises WrongUsage if the folder holds anything but a snapshot.
    """
    if tables.keys() != SCHEMAS.keys() or about.keys() != SCHEMAS.keys():
        raise ValueError(f"a snapshot consists of the tables {', '.join(SCHEMAS)}")
    check_replaceable(folder)
    _settle(folder)
    aside = _aside(folder, "new")
    shutil.rmtree(aside, ignore_errors=True)
    aside.mkdir(parents=True)
    files = {name: _write_table(aside / f"{name}.parquet", SCHEMAS[name], tables[name]) for name in sorted(SCHEMAS)}
    entries = {f"{name}.parquet": asdict(about[name]) | told for name, told in files.items()}
    digest = _digest(entries)
    manifest = {"format": FORMAT, "digest": digest, "files": entries}
    (aside / MANIFEST).write_text(json.dumps(manifest, indent=2, sort_keys=True) + "\n", "utf-8")
    force_to_disk(aside / MANIFEST)
    force_to_disk(aside)
    _swap_in(folder)
    return digest


def check_replaceable(folder: Path) -> None:
    """Raise WrongUsage unless the folder is missing, empty or a snapshot, and can be replaced: all of it will be."""
    if folder.exists() and not folder.is_dir():
        raise WrongUsage(f"{folder} is a file. Name a folder for the snapshot.")
    own = {MANIFEST, *(f"{name}.parquet" for name in SCHEMAS)}
    strange = sorted(path.name for path in folder.iterdir() if path.name not in own) if folder.exists() else []
    if strange:
        raise WrongUsage(
            f"The folder {folder} holds what is no part of a snapshot ({strange[0]}), and a new snapshot would replace "
            "it. Name a new folder, or an empty one."
        )
    beside = folder.absolute().parent
    try:
        beside.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WrongUsage(f"The folder {beside} cannot be made: {error.strerror}.") from error
    if not os.access(beside, os.W_OK | os.X_OK):
        raise WrongUsage(f"The snapshot is written beside {folder} first, and nothing can be written to {beside}.")


def read_manifest(folder: Path) -> dict[str, Any]:
    """The manifest of a snapshot; raises SourceMissing if there is none, SourceChanged if it cannot be understood."""
    _settle(folder)
    try:
        manifest = json.loads((folder / MANIFEST).read_text("utf-8"))
    except (FileNotFoundError, NotADirectoryError) as missing:
        raise SourceMissing(f"There is no snapshot in {folder}. Make one with `cutpoint refresh`.") from missing
    except ValueError as broken:
        raise _changed(folder, MANIFEST, f"it is no JSON ({broken})") from broken
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise _changed(folder, MANIFEST, f"it is not of format {FORMAT}, the one that this version reads")
    expected = {f"{name}.parquet" for name in SCHEMAS}
    files = manifest.get("files")
    if not isinstance(files, dict) or files.keys() != expected:
        raise _changed(folder, MANIFEST, f"it does not list exactly the files {', '.join(sorted(expected))}")
    for file, told in sorted(files.items()):
        for name, kind in ENTRY.items():
            if not isinstance(told, dict) or type(told.get(name)) is not kind:
                kind_told = "text" if kind is str else "whole number"
                raise _changed(folder, MANIFEST, f"it does not tell `{name}` of {file} as a {kind_told}")
    return manifest


def verify_files(folder: Path) -> str:
    """The digest of a snapshot whose files all have the hashes of its manifest; raises as `read`."""
    return str(_verified(folder)["digest"])


def _verified(folder: Path) -> dict[str, Any]:
    """The manifest of a snapshot after its files and its digest were found to be what it states."""
    manifest = read_manifest(folder)
    for name, told in sorted(manifest["files"].items()):
        found = file_sha256(folder / name) if (folder / name).is_file() else "none, the file is missing"
        if found != told["sha256"]:
            raise _changed(folder, name, f"its SHA-256 is {found}, the manifest states {told['sha256']}")
    digest = _digest(manifest["files"])
    if digest != manifest.get("digest"):
        raise _changed(folder, MANIFEST, f"the digest of its entries is {digest}, it states {manifest.get('digest')}")
    return manifest


def read(folder: Path, only: Iterable[str] | None = None) -> Snapshot:
    """Read a snapshot, or `only` some of its tables, after every file's hash was found to be that of the manifest.

    Raises SourceMissing if there is no snapshot, SourceChanged if a file is missing or is not
    the one that was written.
    """
    manifest = _verified(folder)
    frames = {name: _frame(folder, name) for name in (SCHEMAS if only is None else only)}
    return Snapshot(folder, manifest, str(manifest["digest"]), frames)


def _frame(folder: Path, name: str) -> pd.DataFrame:
    table = pq.read_table(folder / f"{name}.parquet")
    if not table.schema.equals(SCHEMAS[name]):
        raise _changed(folder, f"{name}.parquet", f"its columns are not {', '.join(SCHEMAS[name].names)}, all of text")
    frame: pd.DataFrame = table.to_pandas()
    return frame


def _changed(folder: Path, name: str, fault: str) -> SourceChanged:
    return SourceChanged(
        f"The snapshot in {folder} is not the one that was written: {name}: {fault}. "
        "Restore the folder from a copy, or delete it and make a new snapshot with `cutpoint refresh`."
    )


def _write_table(path: Path, schema: pa.Schema, rows: Iterable[pa.RecordBatch]) -> dict[str, int | str]:
    """Write one table; give its number of rows and its hash."""
    count = 0
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        for group in _groups(rows, schema):
            writer.write_table(group, row_group_size=ROW_GROUP)
            count += group.num_rows
    force_to_disk(path)
    return {"rows": count, "sha256": file_sha256(path)}


def _groups(batches: Iterable[pa.RecordBatch], schema: pa.Schema) -> Iterator[pa.Table]:
    """The rows in tables of one row group each, however they came."""
    waiting = schema.empty_table()
    for batch in batches:
        waiting = pa.concat_tables([waiting, pa.Table.from_batches([batch]).cast(schema)])
        while waiting.num_rows >= ROW_GROUP:
            yield waiting.slice(0, ROW_GROUP).combine_chunks()
            waiting = waiting.slice(ROW_GROUP)
    if waiting.num_rows:
        yield waiting.combine_chunks()


def _digest(entries: Mapping[str, Mapping[str, Any]]) -> str:
    """Digest of a snapshot from what its manifest tells of each file, but for the time: the same rows, the same digest.

    The licence and the address are part of it, since a build tells them on.
    """
    told = {
        file: {name: value for name, value in entry.items() if name != "fetched"} for file, entry in entries.items()
    }
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def _aside(folder: Path, which: str) -> Path:
    """The sibling in which a new snapshot is written, or to which an old one steps aside."""
    absolute = folder.absolute()
    return absolute.with_name(f".{absolute.name}.{which}")


def _swap_in(folder: Path) -> None:
    """Put the new snapshot in the place of the old one."""
    old = _aside(folder, "old")
    shutil.rmtree(old, ignore_errors=True)
    if folder.exists():
        folder.rename(old)
    _settle(folder, new_is_whole=True)
    force_to_disk(folder.absolute().parent)


def _settle(folder: Path, *, new_is_whole: bool = False) -> None:
    """Finish a swap that was cut: the old one steps aside only when the new one is whole."""
    old, new = _aside(folder, "old"), _aside(folder, "new")
    if not folder.exists() and (new_is_whole or old.exists()):
        # Whoever reads between the two renames of a writer may have moved the new one in already.
        try:
            (new if new.exists() else old).rename(folder)
        except FileNotFoundError:
            if not folder.exists():
                raise
    if folder.exists() and old.exists():
        shutil.rmtree(old, ignore_errors=True)

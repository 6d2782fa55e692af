"""A snapshot is whole or refused, the same rows give the same bytes, and a kill while it is written does no harm."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.files import file_sha256
from cutpoint.pipeline.snapshot import SCHEMAS, About
from cutpoint.schema.errors import SourceChanged, SourceMissing, WrongUsage

from .snapshots import in_order

ABOUT = {name: About("SELECT ...", "http://127.0.0.1/", "2026-01-01T00:00:00+00:00", "CC0") for name in SCHEMAS}
LATER = {name: About("SELECT ...", "http://127.0.0.1/", "2027-01-01T00:00:00+00:00", "CC0") for name in SCHEMAS}


def tables(names: list[tuple[str, ...]]) -> dict[str, list[pa.RecordBatch]]:
    """Tables of which only that of the names has rows."""
    named = pd.DataFrame(names, columns=SCHEMAS["wikidata_names"].names, dtype="str")
    return {name: [] for name in SCHEMAS} | in_order({"wikidata_names": named})


ROWS = [("Q2", "de", "Demoän", "label"), ("Q10", "en", "demoane", "label"), ("Q2", "en", "demoane", "alias")]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A snapshot."""
    snapshot.write(tmp_path / "snapshot", tables(ROWS), ABOUT)
    return tmp_path / "snapshot"


def test_what_was_written_is_read(folder: Path) -> None:
    read = snapshot.read(folder, ["wikidata_names"])
    assert [tuple(row) for row in read.frames["wikidata_names"].to_numpy()] == sorted(ROWS)
    assert read.digest == snapshot.verify_files(folder) == read.manifest["digest"]
    assert read.manifest["files"]["wikidata_names.parquet"]["rows"] == 3
    assert snapshot.read(folder).frames.keys() == SCHEMAS.keys()
    assert sorted(path.name for path in folder.parent.iterdir()) == ["snapshot"]


def test_the_digest_hangs_on_the_rows_alone(folder: Path, tmp_path: Path) -> None:
    again = snapshot.write(tmp_path / "again", tables([*reversed(ROWS), ROWS[0]]), LATER)
    assert again == snapshot.verify_files(folder)
    assert snapshot.write(tmp_path / "less", tables(ROWS[:2]), ABOUT) != again


@settings(max_examples=15)
@given(cuts=st.lists(st.integers(0, 120), max_size=6))
def test_bytes_do_not_hang_on_how_the_rows_came(tmp_path_factory: pytest.TempPathFactory, cuts: list[int]) -> None:
    folder = tmp_path_factory.mktemp("cuts")
    rows = pd.DataFrame({"item": [f"Q{n:03}" for n in range(120)], "language": "en", "text": None, "kind": "label"})
    whole = pa.RecordBatch.from_pandas(rows, SCHEMAS["wikidata_names"], preserve_index=False)
    edges = sorted({0, 120, *cuts})
    parts = [whole.slice(start, end - start) for start, end in pairwise(edges)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(snapshot, "ROW_GROUP", 50)
        hashes = {
            snapshot._write_table(folder / name, SCHEMAS["wikidata_names"], given)["sha256"]
            for name, given in (("parts", parts), ("whole", [whole]))
        }
    assert len(hashes) == 1


def test_no_snapshot(tmp_path: Path) -> None:
    with pytest.raises(SourceMissing, match="cutpoint refresh"):
        snapshot.read(tmp_path / "nowhere")


@pytest.mark.parametrize("name", ["wikidata_names.parquet", "rejected.parquet"])
def test_a_changed_file_is_refused_with_both_hashes(folder: Path, name: str) -> None:
    stated = snapshot.read_manifest(folder)["files"][name]["sha256"]
    with (folder / name).open("ab") as file:
        file.write(b"x")
    with pytest.raises(SourceChanged, match="cutpoint refresh") as refused:
        snapshot.read(folder, ["wikidata_items"])
    assert name in refused.value.message and stated in refused.value.message
    assert file_sha256(folder / name) in refused.value.message
    (folder / name).unlink()
    with pytest.raises(SourceChanged, match="the file is missing"):
        snapshot.verify_files(folder)


@pytest.mark.parametrize(
    "manifest",
    ["{", "[]", '{"format": 2}', '{"format": 1, "files": {}}'],
    ids=["cut off", "no object", "of another format", "without files"],
)
def test_a_manifest_that_cannot_be_understood_is_refused(folder: Path, manifest: str) -> None:
    (folder / "manifest.json").write_text(manifest)
    with pytest.raises(SourceChanged, match=r"manifest\.json"):
        snapshot.read(folder)


def alter(folder: Path, entry: dict[str, object]) -> None:
    """Let the manifest tell something else of a file; what is None it does not tell."""
    manifest = json.loads((folder / "manifest.json").read_text())
    told = manifest["files"]["rejected.parquet"] | entry
    manifest["files"]["rejected.parquet"] = {name: value for name, value in told.items() if value is not None}
    (folder / "manifest.json").write_text(json.dumps(manifest))


@pytest.mark.parametrize(
    "entry",
    [{"sha256": "ab"}, {"rows": "0"}, {"rows": True}, {"licence": None}, {"query": 1}, {"fetched": None}],
    ids=str,
)
def test_a_manifest_with_other_entries_is_refused(folder: Path, entry: dict[str, object]) -> None:
    alter(folder, entry)
    with pytest.raises(SourceChanged, match=r"rejected\.parquet"):
        snapshot.read(folder)


@pytest.mark.parametrize("entry", [{"licence": "mine"}, {"rows": 7}, {"address": "http://127.0.0.1/other"}], ids=str)
def test_an_altered_licence_count_or_address_is_noticed(folder: Path, entry: dict[str, object]) -> None:
    alter(folder, entry)
    with pytest.raises(SourceChanged, match="digest"):
        snapshot.verify_files(folder)


def test_a_manifest_with_another_digest_is_refused(folder: Path) -> None:
    manifest = json.loads((folder / "manifest.json").read_text())
    (folder / "manifest.json").write_text(json.dumps(manifest | {"digest": "0" * 64}))
    with pytest.raises(SourceChanged, match="digest"):
        snapshot.read(folder)


class Killed(BaseException):
    """Stands for the end of the process."""


@pytest.mark.parametrize("left", range(15))
def test_a_kill_leaves_the_old_or_the_new_snapshot(folder: Path, monkeypatch: pytest.MonkeyPatch, left: int) -> None:
    """The process ends at one of its operations on files: before a file, before a rename, or before a removal."""
    before = snapshot.verify_files(folder)
    remaining = [left]

    def counted(operation: Callable[..., Any]) -> Callable[..., Any]:
        def work(*arguments: Any, **options: Any) -> Any:
            if remaining[0] == 0:
                raise Killed
            remaining[0] -= 1
            return operation(*arguments, **options)

        return work

    with monkeypatch.context() as patch:
        patch.setattr(snapshot, "force_to_disk", counted(snapshot.force_to_disk))
        patch.setattr(Path, "rename", counted(Path.rename))
        patch.setattr(shutil, "rmtree", counted(shutil.rmtree))
        try:
            after = snapshot.write(folder, tables(ROWS[:2]), ABOUT)
        except Killed:
            after = None
    found = snapshot.verify_files(folder)
    new = snapshot.write(folder.with_name("compare"), tables(ROWS[:2]), ABOUT)
    assert found in ((new,) if after else (before, new))
    assert snapshot.write(folder, tables(ROWS[:2]), ABOUT) == snapshot.verify_files(folder) == new
    assert sorted(path.name for path in folder.parent.iterdir()) == ["compare", "snapshot"]


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(WrongUsage, match=r"notes\.txt"):
        snapshot.write(tmp_path, tables(ROWS), ABOUT)
    with pytest.raises(WrongUsage, match="is a file"):
        snapshot.check_replaceable(tmp_path / "notes.txt")
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]

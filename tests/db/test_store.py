"""Opening a store, and what a missing, foreign, old or damaged file gets."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.db import store as store_module
from cutpoint.db.store import bind
from cutpoint.schema.errors import StoreDamaged, StoreMissing, StoreOutdated, WrongUsage

HEAVY = ("pandas", "pandera", "scipy", "rdkit", "pint", "CoolProp", "chemicals", "pyarrow", "numpy", "rich", "click")


def _modules_after(code: str) -> set[str]:
    script = f"{code}\nimport sys\nprint(' '.join(sorted(sys.modules)))"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return {name.partition(".")[0] for name in told.stdout.split()}


def test_import_is_light() -> None:
    assert not _modules_after("from cutpoint import db").intersection(HEAVY)


def test_a_look_up_by_name_stays_light(small_store_path: Path) -> None:
    code = f"from cutpoint import db\ndb.open({str(small_store_path)!r}).find('ethyl acetate')"
    assert not _modules_after(code).intersection(HEAVY)


def test_missing_says_how_to_build(tmp_path: Path) -> None:
    with pytest.raises(StoreMissing, match="cutpoint rebuild"):
        db.open(tmp_path / "nothing.duckdb")


def test_path_from_environment(small_store_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUTPOINT_DB", str(small_store_path))
    assert db.default_path() == small_store_path
    with db.open() as store:
        assert store.path == small_store_path


def test_path_without_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CUTPOINT_DB", raising=False)
    assert db.default_path().parts[-2:] == ("cutpoint", "components.duckdb")


def test_another_schema_version(small_store_path: Path, tmp_path: Path) -> None:
    old = Path(shutil.copy(small_store_path, tmp_path / "old.duckdb"))
    with duckdb.connect(str(old)) as connection:
        connection.execute("UPDATE build SET value = '0' WHERE item = 'schema_version'")
    with pytest.raises(StoreOutdated, match="schema version 0"):
        db.open(old)


@pytest.mark.parametrize("kept", [0.0, 0.001, 0.3, 0.7, 0.99])
def test_truncated(small_store_path: Path, tmp_path: Path, kept: float) -> None:
    content = small_store_path.read_bytes()
    short = tmp_path / "short.duckdb"
    short.write_bytes(content[: int(kept * len(content))])
    with pytest.raises(StoreDamaged, match="cutpoint rebuild"):
        db.open(short)


def test_overwritten(small_store_path: Path, tmp_path: Path) -> None:
    content = bytearray(small_store_path.read_bytes())
    content[12_288:] = os.urandom(len(content) - 12_288)
    (tmp_path / "noise.duckdb").write_bytes(content)
    with pytest.raises(StoreDamaged):
        db.open(tmp_path / "noise.duckdb")


def test_text_file(tmp_path: Path) -> None:
    (tmp_path / "notes.duckdb").write_text("used eluent, drum 3\n" * 2000)
    with pytest.raises(StoreDamaged):
        db.open(tmp_path / "notes.duckdb")


def test_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreDamaged):
        db.open(tmp_path)


def test_somebody_elses_tables(tmp_path: Path) -> None:
    with duckdb.connect(str(tmp_path / "other.duckdb")) as connection:
        connection.execute("CREATE TABLE build (item VARCHAR)")
    with pytest.raises(StoreDamaged, match="no component store"):
        db.open(tmp_path / "other.duckdb")


def test_path_with_quote(small_store_path: Path, tmp_path: Path) -> None:
    odd = Path(shutil.copy(small_store_path, tmp_path / "it's here; --.duckdb"))
    with db.open(odd) as store:
        assert store.component("64-17-5").name == "ethanol"


def test_reader_survives_replacement(small_store_path: Path, tmp_path: Path) -> None:
    path = Path(shutil.copy(small_store_path, tmp_path / "components.duckdb"))
    reader = db.open(path)
    reader.component("141-78-6")
    newer = Path(shutil.copy(small_store_path, tmp_path / "newer.duckdb"))
    with duckdb.connect(str(newer)) as connection:
        connection.execute("UPDATE component SET name = 'ethyl ethanoate' WHERE cas = '141-78-6'")
    newer.replace(path)
    assert reader.find("toluene").matches[0].cas == "108-88-3"
    assert reader.component("141-78-6").name == "ethyl acetate"
    with db.open(path) as fresh:
        assert fresh.component("141-78-6").name == "ethyl ethanoate"
    reader.close()


def test_closed_store(small_store_path: Path) -> None:
    with db.open(small_store_path) as store:
        ethanol = store.component("ethanol")
    with pytest.raises(WrongUsage, match="closed"):
        ethanol.boiling_point()


def test_sql(store: db.Store) -> None:
    relation = store.sql("SELECT count(*) FROM component WHERE formula = 'C4H8O2'")
    assert relation.fetchall() == [(3,)]


@pytest.mark.parametrize(
    "text",
    [
        "SELECT nonsense FROM component",
        "SELEC",
        "",
        "DELETE FROM component",
        "SET threads = 1",
        "SELECT 1; SELECT 2",
        "SELECT 1; USE memory",
        "USE memory",
        "DETACH store",
        "ATTACH ':memory:' AS other",
        "CREATE TABLE memory.main.component AS SELECT 1",
        "COPY component TO 'component.csv'",
    ],
)
def test_sql_errors(store: db.Store, text: str) -> None:
    with pytest.raises(WrongUsage):
        store.sql(text)
    assert store.component("64-17-5").name == "ethanol"


@given(st.text(min_size=1).filter(lambda text: "\x00" not in text and text.isprintable()))
def test_bound_text_comes_back(text: str) -> None:
    assert duckdb.sql(bind("SELECT $text", {"text": text})).fetchall() == [(text,)]


def test_bound_text_is_never_sql() -> None:
    assert "DROP" not in bind("SELECT $text", {"text": "'; DROP TABLE name; --"})


def test_sql_reaches_no_other_file(small_store_path: Path, tmp_path: Path) -> None:
    (tmp_path / "notes.csv").write_text("a,b\n1,2\n")
    with db.open(small_store_path) as store:
        with pytest.raises(WrongUsage, match="disabled"):
            store.sql(f"SELECT * FROM read_csv('{tmp_path / 'notes.csv'}')").fetchall()
        with pytest.raises(duckdb.Error):
            store.sql("SELECT * FROM component").write_csv(str(tmp_path / "component.csv"))
        assert store.component("141-78-6").boiling_point().value == 350.25
    assert not (tmp_path / "component.csv").exists()


def test_what_is_remembered_is_bounded(small_store_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store_module, "MOST_REMEMBERED", 3)
    with db.open(small_store_path) as store:
        for query in ("ethanol", "toluene", "benzene", "hexane"):
            store.component(query)
        assert len(store._remembered) == 3
        assert store.component("hexane") is store.component("110-54-3")


def test_hazard_properties(store: db.Store) -> None:
    held = store.hazard_properties(["108-88-3", "108-20-3", "110-54-3"])
    assert held == {
        "108-88-3": {"flash_point", "autoignition_temperature"},
        "108-20-3": {"flash_point", "peroxide_former"},
    }
    assert store.hazard_properties([]) == {}

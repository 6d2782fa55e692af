"""`refresh`: what it hands to the pipeline, and what it shows of its report."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import duckdb
import pytest
from click.testing import Result

from cutpoint import db
from cutpoint.schema.errors import LiveSourceFailed

Run = Callable[..., Result]


@dataclass(frozen=True)
class Report:
    """A report as the pipeline's, with invented figures."""

    folder: str = "/data/snapshot"
    digest: str = "ef" * 32
    changed: bool = True
    resumed: bool = True
    rows: dict[str, int] = field(default_factory=lambda: {"wikidata_items": 12_345, "pubchem_synonyms": 678})
    licences: dict[str, str] = field(
        default_factory=lambda: {"wikidata_items": "CC0 1.0", "pubchem_synonyms": "public domain"}
    )
    answers: dict[str, int] = field(default_factory=lambda: {"fetched": 1_500, "unchanged": 20, "stale": 3})
    unknown_to_pubchem: int = 42
    rejected_by_reason: dict[str, int] = field(default_factory=lambda: {"it is no CAS number": 7})
    seconds: float = 12.5


class Refreshing(ModuleType):
    """Stands in for the module that fetches; remembers what it was asked."""

    def __init__(self) -> None:
        super().__init__("cutpoint.pipeline.refresh.refreshing")
        self.asked: dict[str, Any] = {}
        self.failure: BaseException | None = None

    def refresh(self, folder: Path | None, **options: Any) -> Report:
        self.asked = {"folder": folder, **options}
        for stage in ("ask PubChem", "ask PubChem", "done"):
            options["progress"](stage, 0.5)
        if self.failure is not None:
            raise self.failure
        return Report()


@pytest.fixture
def refreshing(monkeypatch: pytest.MonkeyPatch) -> Refreshing:
    stand_in = Refreshing()
    package = ModuleType("cutpoint.pipeline.refresh")
    package.refreshing = stand_in  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cutpoint.pipeline.refresh", package)
    monkeypatch.setitem(sys.modules, "cutpoint.pipeline.refresh.refreshing", stand_in)
    return stand_in


def test_refresh_hands_its_options_and_the_components_on(
    answer: Callable[..., dict[str, Any]], refreshing: Refreshing, small_store: Path
) -> None:
    addresses = ("--wikidata", "http://127.0.0.1:1/sparql", "--pubchem", "http://127.0.0.1:1/pug")
    told = answer("refresh", "--snapshot", "there", "--contact", "me", *addresses)
    assert callable(refreshing.asked.pop("progress"))
    components, without_structure = (refreshing.asked.pop(name) for name in ("components", "without_structure"))
    assert refreshing.asked == {
        "folder": Path("there"), "contact": "me",
        "wikidata": "http://127.0.0.1:1/sparql", "pubchem": "http://127.0.0.1:1/pug",
    }  # fmt: skip
    with db.open(small_store) as store:
        rows = store.sql("SELECT cas, kind, inchikey FROM component ORDER BY cas").fetchall()
    assert components == [cas for cas, _, _ in rows]
    assert without_structure == [cas for cas, kind, key in rows if kind == "pure" and key is None]
    assert told["digest"] == "ef" * 32 and told["unknown_to_pubchem"] == 42


def test_settings_come_from_the_environment(run: Run, refreshing: Refreshing) -> None:
    settings = {
        "CUTPOINT_SNAPSHOT": "there", "CUTPOINT_CONTACT": "me",
        "CUTPOINT_WIKIDATA": "http://w", "CUTPOINT_PUBCHEM": "http://p",
    }  # fmt: skip
    assert run("refresh", **settings).exit_code == 0
    asked = refreshing.asked
    assert (asked["folder"], asked["contact"], asked["wikidata"], asked["pubchem"]) == (
        Path("there"), "me", "http://w", "http://p",
    )  # fmt: skip


def test_refresh_prints_counts_licences_gaps_and_what_is_next(run: Run, refreshing: Refreshing) -> None:
    result = run("refresh", "--contact", "me")
    for told in (
        "12,345", "CC0 1.0", "public domain", "it is no CAS number", "ef" * 32, "42 CAS numbers", "1,500 answers",
        "an older answer stands in", "went on with a run", "cutpoint rebuild --snapshot /data/snapshot",
    ):  # fmt: skip
        assert told in " ".join(result.stdout.split())
    assert result.stderr.splitlines() == [" 50%  ask PubChem", " 50%  done"]


def test_without_a_store_the_listing_is_fetched(run: Run, refreshing: Refreshing, tmp_path: Path) -> None:
    result = run("refresh", "--contact", "me", CUTPOINT_DB=str(tmp_path / "none.duckdb"))
    assert result.exit_code == 0 and "There is no store" in result.stderr
    assert refreshing.asked["components"] == [] and "wikidata" not in refreshing.asked


def test_a_store_that_is_named_must_be_there_and_whole(
    error: Callable[..., tuple[dict[str, Any], int]], refreshing: Refreshing, tmp_path: Path
) -> None:
    def kind_of(store: Path) -> str:
        told, status = error("refresh", "--contact", "me", "--store", str(store))
        assert status == 1
        return str(told["kind"])

    assert kind_of(tmp_path / "none.duckdb") == "store_missing"
    (tmp_path / "damaged.duckdb").write_text("no store")
    assert kind_of(tmp_path / "damaged.duckdb") == "store_damaged"
    assert refreshing.asked == {}


def test_what_pubchem_gave_a_structure_is_asked_for_again(
    run: Run, refreshing: Refreshing, small_store: Path, tmp_path: Path
) -> None:
    store = shutil.copy(small_store, tmp_path / "second.duckdb")
    with duckdb.connect(str(store)) as connection:
        connection.execute("UPDATE component SET source = 'pubchem_identities' WHERE cas = '64-17-5'")
    for path, asked in ((small_store, False), (store, True)):
        assert run("refresh", "--contact", "me", "--store", str(path)).exit_code == 0
        assert ("64-17-5" in refreshing.asked["without_structure"]) is asked


def test_without_a_contact_it_is_refused(error: Callable[..., tuple[dict[str, Any], int]]) -> None:
    told, status = error("refresh")
    assert status == 2 and told["kind"] == "usage" and "--contact" in told["message"]


def test_an_interrupted_refresh_says_that_it_goes_on(run: Run, refreshing: Refreshing) -> None:
    refreshing.failure = KeyboardInterrupt()
    result = run("refresh", "--contact", "me")
    assert result.exit_code == 130
    assert "goes on from here" in result.stderr and result.stdout == ""


def test_a_service_that_fails_is_a_paragraph(run: Run, refreshing: Refreshing) -> None:
    refreshing.failure = LiveSourceFailed("http://w could not be read: it answered 500.")
    result = run("refresh", "--contact", "me")
    assert result.exit_code == 1
    assert result.stderr.splitlines()[-1] == "http://w could not be read: it answered 500."


def test_a_missing_library_is_told(tmp_path: Path) -> None:
    script = "import sys; sys.modules['requests_cache'] = None; from cutpoint.planner.cli import main; main()"
    command = [sys.executable, "-c", script, "refresh", "--contact", "me", "--snapshot", str(tmp_path / "s")]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 1
    assert "requests_cache, which is not installed" in result.stderr and "extra `pipeline`" in result.stderr
    assert not list(tmp_path.iterdir())

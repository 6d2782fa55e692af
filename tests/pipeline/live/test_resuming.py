"""A run that is stopped anywhere and run again ends in the same snapshot, without fetching anything twice."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from conftest import hashes
from stand_in import StandIn
from substances import Substances

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.refresh import staging
from cutpoint.pipeline.refresh.refreshing import RefreshReport
from cutpoint.schema.errors import LiveSourceFailed

Run = Callable[..., RefreshReport]

TESTS = Path(__file__).parents[2]
PROGRAM = """
import sys
from pathlib import Path
sys.path.insert(0, {tests!r})
from guard import refuse_outside
refuse_outside()
from cutpoint.pipeline.refresh import pubchem, wikidata
from cutpoint.pipeline.refresh.refreshing import refresh
wikidata.LISTED_AT_ONCE, wikidata.ITEMS_AT_ONCE, wikidata.NUMBERS_AT_ONCE, pubchem.COMPOUNDS_AT_ONCE = 20, 15, 2, 3
refresh(Path({folder!r}), wikidata={wikidata!r}, pubchem={pubchem!r}, contact="bench@example.org",
        components=["64-17-5", "50-00-0", "141-78-6"], without_structure=["64-17-5", "50-00-0"], cache=Path({cache!r}))
"""


class Stopped(Exception):
    """Ends a run from within."""


def stopping_at(stage: str) -> Callable[[str, float], None]:
    """Progress that ends the run when a stage is told for the second time."""
    told: list[str] = []

    def tell(now: str, fraction: float) -> None:
        told.append(now)
        if told.count(stage) == 2 or (now == stage == "write the snapshot"):
            raise Stopped

    return tell


def test_stopped_at_every_stage_and_run_again(run: Run, server: StandIn, sound: RefreshReport, folder: Path) -> None:
    stages = (
        "list the substances in Wikidata",
        "look the components up in Wikidata",
        "read identities, values and names from Wikidata",
        "ask PubChem for structures",
        "ask PubChem for synonyms",
        "write the snapshot",
    )
    for stage in stages:
        with pytest.raises(Stopped):
            run(progress=stopping_at(stage))
        assert not folder.exists()
    report = run()
    assert hashes(report) == hashes(sound) and report.rows == sound.rows and report.resumed
    paths = [seen.path for seen in server.seen]
    assert len(paths) == len(set(paths)) == sum(sound.answers.values())
    assert run(cache=folder.with_name("new_cache")).digest == report.digest


@pytest.mark.parametrize("request_number", [4, 33])
def test_killed_and_run_again(
    run: Run, server: StandIn, sound: RefreshReport, folder: Path, tmp_path: Path, request_number: int
) -> None:
    settings = {"folder": str(folder), "cache": str(tmp_path / "cache"), "tests": str(TESTS)}
    program = PROGRAM.format(wikidata=server.wikidata, pubchem=server.pubchem, **settings)
    process = subprocess.Popen([sys.executable, "-c", program])
    server.at_request = lambda count: os.kill(process.pid, signal.SIGKILL) if count == request_number else None
    assert process.wait(60) == -signal.SIGKILL
    assert len(server.seen) >= request_number and not folder.exists()
    report = run()
    assert hashes(report) == hashes(sound) and report.resumed
    assert len(server.seen) <= sum(sound.answers.values()) + 1


def test_a_run_with_other_settings_or_from_last_week_is_begun_anew(
    run: Run, monkeypatch: pytest.MonkeyPatch, sound: RefreshReport
) -> None:
    def stop() -> None:
        with pytest.raises(Stopped):
            run(progress=stopping_at("ask PubChem for structures"))

    stop()
    other = run(components=["64-17-5"], without_structure=[])
    assert not other.resumed and hashes(other) != hashes(sound)
    stop()
    monkeypatch.setattr(staging, "LONGEST_RUN_S", 0)
    report = run()
    assert not report.resumed and hashes(report) == hashes(sound)


def test_two_refreshes_at_once_are_refused(run: Run, server: StandIn) -> None:
    def second(stage: str, fraction: float) -> None:
        if stage == "ask PubChem for structures":
            with pytest.raises(LiveSourceFailed, match="Another refresh"):
                run()

    assert run(progress=second).changed


def test_files_of_the_cache_that_are_broken_are_begun_anew(run: Run, tmp_path: Path, sound: RefreshReport) -> None:
    cache = tmp_path / "cache"
    cache.mkdir()
    for name in ("run.sqlite", "answers.sqlite"):
        (cache / name).write_bytes(b"no database" * 1000)
    assert hashes(run()) == hashes(sound)
    assert [path.name for path in cache.glob("run*")] == []


def test_a_run_of_another_version_is_begun_anew(
    run: Run, tmp_path: Path, sound_few: RefreshReport, few: StandIn
) -> None:
    with pytest.raises(Stopped):
        run(progress=stopping_at("ask PubChem for structures"))
    with closing(sqlite3.connect(tmp_path / "cache" / "run.sqlite")) as file, file:
        file.execute("ALTER TABLE wikidata_items DROP COLUMN formula")
        file.execute("DROP TABLE run")
    report = run()
    assert not report.resumed and report.rows == sound_few.rows


def test_half_a_character_is_refused(tmp_path: Path) -> None:
    odd = {"wikidata_names": [("Q1", "en", "a\ud800", "label"), ("Q1", "en", "b", "label")],
           "rejected": [("pubchem_live", "1-1-1", "\udfff", "no")]}  # fmt: skip
    with staging.Staging(tmp_path, "a") as kept:
        kept.keep("page", 2, odd)
        assert kept.rows("SELECT text, kind FROM wikidata_names") == [("b", "label")]
        assert sorted(kept.rows("SELECT source, raw FROM rejected")) == [
            ("pubchem_live", r"\udfff"),
            ("wikidata_live", r'["Q1", "en", "a\ud800", "label"]'),
        ]


def test_a_page_and_its_rows_are_kept_together(tmp_path: Path) -> None:
    with staging.Staging(tmp_path, "a") as kept:
        with pytest.raises(sqlite3.Error):
            kept.keep("page", 1, {"wanted": [("Q1",)], "unknown": [("too", "many")]})
        assert kept.found("page") is None and kept.count("wanted") == 0


def test_a_snapshot_written_between_is_replaced(run: Run, server: StandIn, folder: Path) -> None:
    first = run()
    server.substances = Substances(45, odd=True)
    with pytest.raises(Stopped):
        run(progress=stopping_at("ask PubChem for structures"))
    assert snapshot.verify_files(folder) == first.digest
    assert run().changed

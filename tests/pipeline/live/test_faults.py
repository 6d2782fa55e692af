"""Each fault of a service is tried again, or refused with its raw text, or ends the run with a clear message."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import Time, hashes
from stand_in import StandIn
from substances import ETHANOL, FIRST, Substances

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.refresh import session, wikidata
from cutpoint.pipeline.refresh.refreshing import RefreshReport
from cutpoint.schema.errors import LiveSourceFailed, SourceMissing

Run = Callable[..., RefreshReport]
FAULTS = ("429", "500", "503", "html", "type", "truncated", "cut", "slow")

TOLD = {
    "html": "text/html instead of JSON",
    "type": "application/octet-stream instead of JSON",
    "truncated": "JSON that is broken",
    "cut": "the connection was cut",
}
"""How a fault is told, if not by its number."""


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """A read time-out that a slow answer exceeds."""
    monkeypatch.setattr(session, "READ_TIMEOUT_S", 0.3)


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_that_passes_leaves_no_trace(
    run: Run, few: StandIn, sound_few: RefreshReport, time: Time, fault: str
) -> None:
    few.faults.extend([None, fault, fault, None, None, None, fault] if fault != "slow" else [None, fault])
    report = run()
    assert hashes(report) == hashes(sound_few) and report.answers["stale"] == 0
    assert not few.faults and time.slept


def test_retry_after_is_honoured_and_other_waits_double(run: Run, few: StandIn, time: Time) -> None:
    few.faults.extend(["429", "500", "500", None, "503"])
    run()
    assert time.slept == [7.0, 2.0, 4.0, 1.0]


@pytest.mark.usefixtures("impatient")
@pytest.mark.parametrize(
    ("fault", "after"),
    [("429", 1), ("500", 20), ("503", 9), ("html", 12), ("type", 20), ("truncated", 1), ("cut", 20)],
)
def test_a_fault_that_stays_ends_the_run_and_the_next_goes_on(
    run: Run, few: StandIn, sound_few: RefreshReport, folder: Path, fault: str, after: int
) -> None:
    def spoil(count: int) -> None:
        if count > after:
            few.always = fault

    few.at_request = spoil
    with pytest.raises(LiveSourceFailed) as failure:
        run()
    told = failure.value.message
    assert few.address in told and "4 times" in told and "goes on where this run stopped" in told
    assert TOLD.get(fault, fault) in told and len(told) < 600
    with pytest.raises(SourceMissing, match="cutpoint refresh"):
        snapshot.read(folder)
    few.at_request, few.always = lambda count: None, None
    few.seen.clear()
    report = run()
    assert hashes(report) == hashes(sound_few) and report.resumed
    assert len(few.seen) < sum(sound_few.answers.values())


def test_a_failed_refresh_leaves_the_old_snapshot(run: Run, few: StandIn, folder: Path, tmp_path: Path) -> None:
    before = run().digest
    few.substances = Substances(30)
    few.faults.extend([None] * 12 + ["500"] * 4)
    with pytest.raises(LiveSourceFailed):
        run(cache=tmp_path / "no_older_answers")
    assert snapshot.verify_files(folder) == before


def test_an_older_answer_stands_in_for_a_service_that_fails(run: Run, few: StandIn, time: Time) -> None:
    first = run()
    few.always = "500"
    few.seen.clear()
    second = run()
    assert second.digest == first.digest
    assert second.answers == {"fetched": 0, "unchanged": 0, "stale": sum(first.answers.values())}
    # Patience once, for the first request; after that each is tried once.
    assert len(few.seen) == sum(first.answers.values()) + 3


@pytest.mark.parametrize("fault", ["403", "html", "other json"])
def test_a_wrong_address_or_a_ban_is_told_in_its_words(run: Run, few: StandIn, fault: str) -> None:
    few.always = fault
    with pytest.raises(LiveSourceFailed) as failure:
        run(patience=Time().patience(tries=1))
    expected = {"403": "403", "html": "“<html><body>Our servers are busy", "other json": "no SPARQL result"}
    assert expected[fault] in failure.value.message


@pytest.mark.usefixtures("impatient")
def test_a_service_that_is_too_slow_is_told(run: Run, few: StandIn) -> None:
    few.faults.append("slow")
    with pytest.raises(LiveSourceFailed, match="no answer came in time"):
        run(patience=Time().patience(tries=1))


def test_nobody_there(run: Run) -> None:
    with pytest.raises(
        LiveSourceFailed, match=r"no connection could be made: .*Connection refused\. It was tried 4 times"
    ):
        run(wikidata="http://127.0.0.1:9/sparql")


def _answering(monkeypatch: pytest.MonkeyPatch, status: int, body: Any) -> None:
    """Let PubChem answer the first invented substance that it is asked for in this way."""
    import stand_in

    usual = stand_in._pug

    def pug(path: str, substances: Any) -> tuple[int, Any]:
        return (status, body) if "/name/64-17-5/" in path else usual(path, substances)

    monkeypatch.setattr(stand_in, "_pug", pug)


@pytest.mark.parametrize(
    ("status", "body", "reason"),
    [
        (400, {"Fault": {"Code": "PUGREST.BadRequest", "Message": "no"}}, "PUGREST.BadRequest"),
        (200, {"PropertyTable": {"Properties": [{"Title": "no CID"}]}}, "no table of properties"),
        (200, [], "no table of properties"),
        (200, {"Fault": "?"}, "a fault without a code"),
        (200, {"PropertyTable": {"Properties": [{"CID": 1}, {"CID": 2}]}}, "several structures"),
    ],
)
def test_an_answer_of_pubchem_that_cannot_be_used_is_refused(
    run: Run, few: StandIn, folder: Path, monkeypatch: pytest.MonkeyPatch, status: int, body: Any, reason: str
) -> None:
    _answering(monkeypatch, status, body)
    report = run()
    rejected = snapshot.read(folder).frames["rejected"].query("source == 'pubchem_live'")
    assert list(rejected["key"]) == ["64-17-5"]
    assert json.loads(rejected["raw"].iloc[0]) == body and reason in rejected["reason"].iloc[0]
    assert report.rejected_by_reason == {rejected["reason"].iloc[0]: 1}


@pytest.mark.parametrize("status", ["301", "304"])
def test_an_answer_that_is_no_answer_is_no_full_disk(run: Run, few: StandIn, status: str) -> None:
    few.always = status
    with pytest.raises(LiveSourceFailed, match=f"it answered {status}"):
        run()


def refused(folder: Path) -> dict[str, str]:
    """Raw text by key of what was refused since the service fails at it."""
    rows = snapshot.read(folder).frames["rejected"].query("reason.str.startswith('the service fails')")
    return dict(zip(rows["key"], rows["raw"], strict=True))


@pytest.mark.parametrize(
    "failing",
    [{"50-00-0"}, {"75-07-0"}, {"50-00-0", "64-17-5", "75-07-0"}],
    ids=["the first", "the last", "three in a row"],
)
def test_pages_at_which_pubchem_always_fails_are_refused(
    run: Run, few: StandIn, folder: Path, failing: set[str]
) -> None:
    few.fails_at = lambda path: any(f"/name/{cas}/" in path for cas in failing)
    run(without_structure=["50-00-0", "64-17-5", "75-07-0"])
    told = refused(folder)
    assert told.keys() == failing and all("504" in raw for raw in told.values())


def test_the_last_page_of_all_may_fail(run: Run, few: StandIn, folder: Path) -> None:
    few.fails_at = lambda path: f"/cid/{ETHANOL}/" in path
    assert run().rows["pubchem_synonyms"] == 0
    assert refused(folder).keys() == {str(ETHANOL)}


def test_a_batch_fails_for_one_item_and_that_is_refused(
    run: Run, few: StandIn, folder: Path, sound_few: RefreshReport
) -> None:
    few.fails_at = lambda path: f"wd:Q{FIRST} " in path and "skos:altLabel" in path
    report = run()
    assert refused(folder).keys() == {f"Q{FIRST}"}
    assert report.rows | {"rejected": 0} == sound_few.rows | {"wikidata_names": sound_few.rows["wikidata_names"] - 4}


def test_a_component_that_cannot_be_looked_up_is_refused(run: Run, few: StandIn, folder: Path) -> None:
    few.fails_at = lambda path: '"50-00-0"' in path
    run()
    assert refused(folder).keys() == {"50-00-0"}


def test_a_listing_that_fails_is_read_in_smaller_pages(
    run: Run, few: StandIn, sound_few: RefreshReport, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(wikidata, "FEWEST_LISTED", 4)
    few.fails_at = lambda path: "LIMIT 20" in path or "LIMIT 10" in path
    assert run().rows == sound_few.rows
    few.fails_at = lambda path: "LIMIT" in path
    few.etags = False
    with pytest.raises(LiveSourceFailed, match="504"):
        run(cache=tmp_path / "new")


def test_a_service_that_asks_for_long_patience_is_not_asked_again(run: Run, few: StandIn, time: Time) -> None:
    few.faults.extend([None, "429"])
    few.retry_after = "3600"
    with pytest.raises(LiveSourceFailed, match="left alone until"):
        run()
    assert len(few.seen) == 2 and time.slept == []


def test_items_out_of_shape_are_refused(run: Run, few: StandIn, folder: Path) -> None:
    usual = few.substances.identity

    def odd(number: int) -> list[dict[str, dict[str, str]]]:
        row = usual(number)[0]
        return [row | {"item": {"type": "uri", "value": "https://example.org/Q1"}}] if number == FIRST else [row]

    few.substances.identity = odd
    assert run().rows["wikidata_items"] == 5
    rejected = snapshot.read(folder).frames["rejected"]
    assert "https://example.org/Q1" in rejected["raw"].iloc[0]


def test_solutions_out_of_shape_are_refused(run: Run, few: StandIn, folder: Path) -> None:
    def odd_names(number: int) -> list[dict[str, dict[str, str]]]:
        item = {"type": "uri", "value": f"http://www.wikidata.org/entity/Q{number}"}
        return [{"item": item, "kind": {"type": "literal", "value": "label"}}]

    few.substances.names = odd_names
    report = run()
    assert report.rows["wikidata_names"] == 0
    assert f"Q{FIRST}" in set(snapshot.read(folder).frames["rejected"]["key"])

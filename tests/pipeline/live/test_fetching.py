"""What a refresh brings home from both services."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pandas as pd
import pytest
from conftest import hashes
from stand_in import StandIn
from substances import ETHANOL, FIRST, ODD, UNHEARD, Substances, cas, inchikey, lacks_structure, properties

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.refresh.refreshing import RefreshReport
from cutpoint.schema.errors import WrongUsage

Run = Callable[..., RefreshReport]


def of(frame: pd.DataFrame, number: int) -> pd.DataFrame:
    return frame[frame["item"] == f"Q{number}"]


def test_every_item_is_read_with_its_identity_values_and_names(frames: dict[str, pd.DataFrame]) -> None:
    items = frames["wikidata_items"]
    ordinary = range(FIRST, FIRST + 40)
    assert {f"Q{number}" for number in (ETHANOL, *ordinary)} <= set(items["item"])
    for number in (ETHANOL, *ordinary):
        row = of(items, number).iloc[0]
        assert row["cas"] == cas(number)
        assert pd.isna(row["inchikey"]) if lacks_structure(number) else row["inchikey"] == inchikey(number)
        assert sorted(of(frames["wikidata_values"], number)["property"]) == sorted(properties(number))
        named = of(frames["wikidata_names"], number)
        assert set(zip(named["language"], named["kind"], strict=True)) == {
            ("en", "label"), ("de", "label"), ("ja", "label"), ("en", "alias"),
        }  # fmt: skip


def test_tables_are_in_order_and_without_duplicates(frames: dict[str, pd.DataFrame]) -> None:
    for name, frame in frames.items():
        rows = [tuple("" if pd.isna(value) else value for value in row) for row in frame.itertuples(index=False)]
        assert rows == sorted(set(rows)), name


def test_values_are_kept_as_they_were_given(frames: dict[str, pd.DataFrame]) -> None:
    values = frames["wikidata_values"]
    assert of(values, ODD["false_precision"]).set_index("property").loc["P2102", "amount"] == "+78.370000000123"
    assert of(values, ODD["unheard_unit"]).set_index("property").loc["P2102", "unit"] == UNHEARD
    pressures = of(values, ODD["two_pressures"]).query("property == 'P2102'")
    assert list(pressures["pressure_amount"]) == ["+101.325", "+2"]
    assert set(pressures["pressure_unit"]) == {"Q21064807"}
    assert set(pressures["reference"]) == {"Q60998054; https://example.org/table"}
    assert set(values["rank"]) == {"normal"}


@pytest.mark.parametrize(
    ("odd", "reason", "raw"),
    [
        ("unknown_value", "unknown or no quantity", "unknown value"),
        ("no_value", "there is no value", "P2102"),
        ("unknown_pressure", "the pressure that it is said to hold for is unknown", "+"),
        ("words", "no decimal number", "about 80"),
        ("wild_unit", "no item of Wikidata", "degrees"),
    ],
)
def test_what_is_no_value_is_refused_with_its_raw_text(
    frames: dict[str, pd.DataFrame], odd: str, reason: str, raw: str
) -> None:
    values = of(frames["wikidata_values"], ODD[odd])
    assert "P2102" not in set(values["property"])
    refused = frames["rejected"].query(f"key == 'Q{ODD[odd]}'")
    assert len(refused) == 1
    assert reason in refused["reason"].iloc[0] and raw in refused["raw"].iloc[0]
    assert "t42" not in refused["raw"].iloc[0]


def test_an_item_with_two_structures_keeps_none(frames: dict[str, pd.DataFrame]) -> None:
    number = ODD["two_structures"]
    assert of(frames["wikidata_items"], number)["inchikey"].isna().all()
    refused = frames["rejected"].query(f"key == 'Q{number}'")
    assert inchikey(number) in refused["raw"].iloc[0] and "several values of inchikey" in refused["reason"].iloc[0]


def test_a_wrong_check_digit_is_refused(frames: dict[str, pd.DataFrame]) -> None:
    number = ODD["wrong_digit"]
    assert of(frames["wikidata_items"], number).empty
    assert frames["rejected"].query(f"key == 'Q{number}'")["raw"].iloc[0] == cas(number)


def test_pubchem_is_asked_for_what_lacks_a_structure(frames: dict[str, pd.DataFrame]) -> None:
    numbers = [*range(FIRST, FIRST + 40), *ODD.values()]
    lacking = {"64-17-5", cas(ODD["two_structures"]), *(cas(number) for number in numbers if lacks_structure(number))}
    identities = frames["pubchem_identities"]
    assert set(identities["cas"]) == lacking
    row = identities.set_index("cas").loc["64-17-5"]
    assert row["inchikey"] == "LFQSCWFLJHTTHZ-UHFFFAOYSA-N" and row["molar_mass_g_mol"] == "46.07"
    synonyms = frames["pubchem_synonyms"]
    assert set(synonyms["cas"]) == lacking
    assert sorted(synonyms.query("cas == '64-17-5'")["synonym"]) == [f"demo-{ETHANOL}", f"demoan {ETHANOL}"]


def test_pubchem_is_not_asked_for_a_component_that_has_a_structure(run: Run, server: StandIn) -> None:
    number = next(number for number in range(FIRST, FIRST + 40) if lacks_structure(number))
    run(components=[cas(number)])
    asked = {seen.path.split("/")[5]: seen.status for seen in server.seen if "/compound/name/" in seen.path}
    assert cas(number) not in asked
    assert asked["50-00-0"] == 404  # not known, which is no error


def test_the_report_and_the_manifest_tell_what_was_done(run: Run, folder: Path, server: StandIn) -> None:
    report = run()
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    assert report.digest == manifest["digest"] == snapshot.verify_files(folder)
    assert report.changed and not report.resumed
    assert report.unknown_to_pubchem == 1
    assert report.answers == {"fetched": len(server.seen), "unchanged": 0, "stale": 0}
    assert sum(report.rejected_by_reason.values()) == report.rows["rejected"]
    for name, rows in report.rows.items():
        told = manifest["files"][f"{name}.parquet"]
        assert told["rows"] == rows == len(snapshot.read(folder, [name]).frames[name])
        assert told["fetched"].endswith("+00:00") and told["query"]
        assert ("CC0" in told["licence"]) == (name.startswith("wikidata") or name == "rejected")
        assert ("public domain" in told["licence"]) == (name.startswith("pubchem") or name == "rejected")
    assert manifest["files"]["wikidata_values.parquet"]["address"] == server.wikidata


def test_the_services_are_told_who_asks_and_urls_stay_short(run: Run, server: StandIn, monkeypatch) -> None:
    monkeypatch.undo()  # pages of the usual size
    run(components=[cas(number) for number in range(FIRST, FIRST + 600)])
    for seen in server.seen:
        assert seen.headers["User-Agent"].startswith("cutpoint/")
        assert "(bench@example.org)" in seen.headers["User-Agent"]
        assert len(seen.path) < 8_000


def test_two_refreshes_of_the_same_data_give_the_same_files(run: Run, sound: RefreshReport, folder: Path) -> None:
    assert hashes(run()) == hashes(sound)
    ours, theirs = ({path.name: path.read_bytes() for path in where.glob("*.parquet")}
                    for where in (folder, Path(sound.folder)))  # fmt: skip
    assert ours == theirs and len(ours) == len(snapshot.SCHEMAS)


def test_a_second_refresh_transfers_no_bodies(run: Run, server: StandIn) -> None:
    first = run()
    server.seen.clear()
    second = run()
    assert server.bodies() == 0 and {seen.status for seen in server.seen} == {304}
    assert second.answers == {"fetched": 0, "unchanged": len(server.seen), "stale": 0}
    assert second.digest == first.digest and not second.changed and second.rows == first.rows


def test_a_change_is_noticed_and_only_it_is_transferred(run: Run, server: StandIn) -> None:
    first = run()
    server.seen.clear()
    larger = Substances(42, odd=True)
    server.substances = larger
    second = run()
    assert second.changed and second.rows["wikidata_items"] == first.rows["wikidata_items"] + 1
    assert 0 < server.bodies() < len(server.seen) / 2


def test_an_item_that_goes_leaves_the_other_batches_as_they_are(
    run: Run, server: StandIn, frames: dict[str, pd.DataFrame]
) -> None:
    run()
    server.seen.clear()
    server.substances = Substances(41, odd=True)
    server.substances.numbers.remove(FIRST)  # the lowest but one
    assert run().rows["wikidata_items"] == frames["wikidata_items"]["item"].nunique() - 1
    again = [seen for seen in server.seen if seen.sent and "VALUES" in seen.path]
    assert 0 < len(again) <= 3 * 2


def test_an_answer_of_last_year_is_deleted(run: Run, few: StandIn, tmp_path: Path) -> None:
    run()
    with closing(sqlite3.connect(tmp_path / "cache" / "answers.sqlite")) as answers, answers:
        before = answers.execute("SELECT count(*) FROM responses").fetchone()[0]
        answers.execute("INSERT INTO responses SELECT 'old', value, expires - 366 * 86400 FROM responses LIMIT 1")
    run()
    with closing(sqlite3.connect(tmp_path / "cache" / "answers.sqlite")) as answers:
        assert answers.execute("SELECT count(*), min(key) != 'old' FROM responses").fetchone() == (before, 1)


def test_without_validators_an_answer_is_fresh_for_a_while(run: Run, few: StandIn) -> None:
    few.etags = False
    first = run()
    few.seen.clear()
    assert run().digest == first.digest and few.seen == []


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"contact": " "}, "--contact"),
        ({"contact": "a\nb"}, "one line"),
        ({"wikidata": "ftp://127.0.0.1/"}, "no address"),
        ({"pubchem": "127.0.0.1"}, "no address"),
        ({"wikidata": "http://[::1"}, "no address"),
        ({"pubchem": "http://127.0.0.1:port/"}, "no address"),
    ],
)
def test_settings_that_cannot_be_used_are_refused(
    run: Run, server: StandIn, changed: dict[str, str], told: str
) -> None:
    with pytest.raises(WrongUsage, match=told):
        run(**changed)
    assert server.seen == []


def test_a_folder_with_other_things_in_it_is_left_alone(run: Run, server: StandIn, folder: Path) -> None:
    folder.mkdir()
    (folder / "thesis.txt").write_text("mine")
    with pytest.raises(WrongUsage, match=r"thesis\.txt"):
        run()
    assert server.seen == [] and (folder / "thesis.txt").read_text() == "mine"


def test_places_that_cannot_be_written_are_told(run: Run, server: StandIn, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    for changed in ({"folder": tmp_path / "file" / "snapshot"}, {"cache": tmp_path / "file" / "cache"}):
        with pytest.raises(WrongUsage, match="cannot be"):
            run(**changed)
    assert server.seen == []


def test_a_disk_that_is_full_is_told_and_nothing_is_lost(
    run: Run, sound: RefreshReport, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch, pytest.raises(WrongUsage, match="No space left"):
        patch.setattr(snapshot, "force_to_disk", full)
        run()
    assert not folder.exists()
    report = run()
    assert hashes(report) == hashes(sound) and report.answers["fetched"] == 0

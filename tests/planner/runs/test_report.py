"""What is said of a batch held against its sheet: in the report, on the page, in the picture, by the command."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Mapping
from contextlib import nullcontext
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from numpy.typing import NDArray

from cutpoint.planner import log_cli
from cutpoint.planner.cli import cli
from cutpoint.planner.runs import reasons
from cutpoint.planner.runs.page import blocks
from cutpoint.planner.runs.plot import svg
from cutpoint.planner.runs.reading import parse_run
from cutpoint.planner.runs.report import make_report
from cutpoint.planner.runs.results import RunReport
from cutpoint.schema.errors import WrongRun
from cutpoint.schema.properties import ICE_POINT_K

Array = NDArray[np.float64]
Make = Callable[..., Any]

COMPOSITION = np.array([0.12, 0.4, 0.33, 0.15])
ROWS = 45


def notes(
    still: Any,
    offset_K: float = 1.4,
    off_K: Mapping[int, float] | None = None,
    remarks: Mapping[int, str] | None = None,
    pause: int | None = None,
) -> bytes:
    """Notes of a batch: a row every 4 min and 10 mL or so, three receivers, readings off in some rows."""
    curves = still.run(COMPOSITION[None])
    volume = np.linspace(3e-6, 430e-6, ROWS)
    reading = np.interp(volume, curves.volume_m3[0], curves.head_K[0]) - ICE_POINT_K + offset_K
    reading += np.random.default_rng(3).normal(0.0, 0.2, ROWS)
    lines = ["t/min,head °C,mL,receiver,note"]
    for row in range(ROWS):
        minutes = 4.0 * row + (60.0 if pause is not None and row >= pause else 0.0)
        told = reading[row] + (off_K or {}).get(row, 0.0)
        receiver = "ABC"[0 if row < 5 else 1 if row < 25 else 2]
        lines.append(f"{minutes:g},{told:.1f},{1e6 * volume[row]:.1f},{receiver},{(remarks or {}).get(row, '')}")
    return "\n".join(lines).encode()


@pytest.fixture(scope="module")
def made(stand_in: Any, expected: Make) -> Callable[..., RunReport]:
    """The report on notes of the still with four ingredients."""
    still = stand_in.four()
    known = expected(still)._replace(compositions=200)

    def make(**how: Any) -> RunReport:
        return make_report(parse_run(notes(still, **how), "notes.csv"), known)

    return make


@pytest.fixture(scope="module")
def sound(made: Callable[..., RunReport]) -> RunReport:
    """A batch that went as a composition of the label does, with a thermometer that reads too high."""
    return made()


def test_a_sound_batch(sound: RunReport) -> None:
    assert (sound.rows_read, sound.rows_used, sound.rows_off) == (ROWS, ROWS, 0)
    assert abs(sound.offset_K - 1.4) < sound.offset_u95_K
    assert sound.residual_rms_K < 0.4
    for row, true in zip(sound.composition, COMPOSITION, strict=True):
        assert row.estimate.low <= true <= row.estimate.high
        assert row.is_told and row.edge is None
    assert [one for one in sound.departures if one.against == "best fit"] == []
    json.dumps(asdict(sound), allow_nan=False)


def test_receivers_are_told_apart(sound: RunReport) -> None:
    assert [one.name for one in sound.receivers] == ["A", "B", "C"]
    assert sum(one.recovery.value for one in sound.receivers) == pytest.approx(1.0, abs=0.01)
    for one in sound.receivers:
        assert sum(part.mass_fraction.value for part in one.contents) == pytest.approx(1.0)
        assert one.mass_kg.value == pytest.approx(800.0 * (one.to_volume_m3 - one.from_volume_m3), rel=0.01)


def test_the_product_lies_between_the_changes_of_the_sheet(sound: RunReport) -> None:
    product = sound.product
    assert product is not None and product.from_volume_m3 == 0.0
    assert 0.3 < product.target_purity.value < 0.5
    assert any("less than the 90.0 % wanted" in told for told in sound.words)


def test_the_plateau_is_reported(sound: RunReport) -> None:
    assert sound.plateau is not None and sound.plateau.sheet_reading_K is not None
    assert sound.plateau.reading_K == pytest.approx(sound.plateau.fitted_reading_K, abs=0.3)
    assert sound.plateau.reading_K > sound.plateau.sheet_reading_K


@pytest.mark.parametrize(
    ("how", "why"),
    [
        ({"off_K": {20: 9.0}}, reasons.MISREAD),
        ({"off_K": dict.fromkeys(range(20, 24), -7.0), "remarks": {20: "mantle off for lunch"}}, reasons.HEAT),
        ({"off_K": dict.fromkeys(range(20, 24), -7.0), "remarks": {21: "distillate cloudy"}}, reasons.WATER),
        ({"off_K": dict.fromkeys(range(20, 24), 7.0), "remarks": {21: "column floods"}}, reasons.FLOODED),
        ({"off_K": dict.fromkeys(range(3), -9.0)}, reasons.FORESHOT),
        ({"off_K": dict.fromkeys(range(3), 9.0)}, reasons.UNSTEADY),
    ],
)
def test_departures_have_a_likely_reason(made: Callable[..., RunReport], how: dict[str, Any], why: str) -> None:
    report = made(**how)
    told = [one for one in report.departures if one.against == "best fit"]
    assert [one.reason for one in told] == [why]
    rows = sorted(how["off_K"])
    assert told[0].lines == (rows[0] + 2, rows[-1] + 2)
    assert told[0].difference_K == pytest.approx(how["off_K"][rows[0]], abs=1.5)
    for row, true in zip(report.composition, COMPOSITION, strict=True):
        assert row.estimate.value == pytest.approx(true, abs=0.04)


@pytest.mark.parametrize(
    ("signs", "why"),
    [
        (reasons.Signs(4, 5.0, 0.5, 2.0, 1.0, ""), reasons.TOO_FAST),
        (reasons.Signs(4, -5.0, 0.5, 0.2, 1.0, ""), reasons.HEAT),
        (reasons.Signs(4, 5.0, 0.5, 1.0, 9.0, ""), reasons.EARLY),
        (reasons.Signs(4, -5.0, 0.5, None, 9.0, ""), reasons.LATE),
        (reasons.Signs(4, 5.0, 0.5, None, 1.0, ""), reasons.HOT),
        (reasons.Signs(4, -5.0, 0.5, 1.0, 1.0, ""), reasons.COLD),
        (reasons.Signs(4, 5.0, 0.5, 1.0, 1.0, "coolant stopped"), reasons.COOLANT),
        (reasons.Signs(4, 5.0, 0.5, 1.0, 1.0, "bumped over"), reasons.BUMPED),
    ],
)
def test_reasons(signs: reasons.Signs, why: str) -> None:
    assert reasons.reason(signs) == why


def test_a_batch_unlike_the_label(stand_in: Any, expected: Make) -> None:
    still = stand_in.four()
    text = notes(still)
    still.boiling_K = still.boiling_K + np.array([0.0, 45.0, -30.0, 30.0])
    report = make_report(parse_run(text, "notes.csv"), expected(still))
    assert report.rows_off > 10
    assert "did not do what any composition" in report.verdict


def test_an_estimate_at_the_end_of_its_range_is_said(stand_in: Any, expected: Make) -> None:
    still = stand_in.four()
    text = notes(still)
    still.upper = np.array([0.3, 0.33, 0.7, 0.5])
    report = make_report(parse_run(text, "notes.csv"), expected(still))
    assert report.composition[1].edge == "upper"
    assert any("borrane is drawn to the upper end" in told for told in report.words)


def test_a_large_offset_is_said(made: Callable[..., RunReport]) -> None:
    report = made(offset_K=-4.0)
    assert any("too low, or its bulb stands too high" in told for told in report.words)


def test_volumes_that_do_not_belong_to_the_recipe(stand_in: Any, expected: Make) -> None:
    known = expected(stand_in.four())
    with pytest.raises(WrongRun, match="Check the unit of the volume"):
        make_report(parse_run(b"T,L\n60,1\n61,2\n62,3\n", "notes.csv"), known)
    few = b"T,mL\n60,100\n61,200\n70,300\n110,480\n110,900\n"
    assert any("beyond all that the sheet distils" in told for told in make_report(parse_run(few, "x"), known).words)


def test_readings_on_another_scale(stand_in: Any, expected: Make) -> None:
    with pytest.raises(WrongRun, match="Name the unit in the header"):
        make_report(parse_run(b"T,mL\n332,100\n340,200\n350,300\n", "notes.csv"), expected(stand_in.four()))


def test_the_picture(sound: RunReport, stand_in: Any, expected: Make) -> None:
    curve = expected(stand_in.four()).plan.curve
    drawn = svg(sound, curve)
    assert drawn == svg(sound, curve)
    root = ElementTree.fromstring(drawn)
    texts = [part.text or "" for part in root.iter() if part.tag.endswith(("title", "desc"))]
    assert any("Batch against sheet" in text for text in texts)
    assert any("thermometer offset +" in text for text in texts)


def test_the_page_shows_every_part(sound: RunReport) -> None:
    told = str(blocks(sound))
    for part in ("What was in the flask", "What was collected", "Where the batch departed", "no flame", "borrane"):
        assert part in told


@pytest.fixture
def command(stand_in: Any, expected: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Run `log` on notes, with the stand-in for the still."""
    still = stand_in.four()
    known = expected(still)
    monkeypatch.setattr(log_cli, "open_store", lambda path: nullcontext())
    monkeypatch.setattr(log_cli, "recipe_of", lambda path: None)
    monkeypatch.setattr(log_cli, "still_of", lambda recipe, store: known)
    path = tmp_path / "notes.csv"
    path.write_bytes(notes(still))

    def run(*options: str, content: bytes | None = None) -> Any:
        if content is not None:
            path.write_bytes(content)
        arguments = ["log", str(path), "--recipe", "eluent.toml", *options]
        return CliRunner().invoke(cli, arguments)

    return run


def test_the_command_prints_a_page(command: Callable[..., Any], tmp_path: Path) -> None:
    result = command("--plot", str(tmp_path / "run.svg"))
    assert result.exit_code == 0, result.output
    assert "readings follow the best composition" in " ".join(result.stdout.split())
    assert f"drawn over its sheet in {tmp_path / 'run.svg'}" in result.stdout
    assert (tmp_path / "run.svg").read_bytes().startswith(b"<?xml")


def test_the_command_prints_an_object(command: Callable[..., Any]) -> None:
    told = json.loads(command("--json").stdout)
    assert {"title", "offset_K", "composition", "receivers", "departures", "plateau", "verdict"} <= set(told)


def test_wrong_notes_are_wrong_usage(command: Callable[..., Any]) -> None:
    result = command("--json", content=b"T,mL\n60,1\n")
    assert result.exit_code == 2
    assert json.loads(result.stdout)["error"]["kind"] == "run"

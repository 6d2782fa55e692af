"""The sheet on a terminal: in the order in which a chemist needs it, every figure with its uncertainty."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import asdict, replace

import pytest

from cutpoint.planner.page import Grid, Heading, Items, Paragraph, show
from cutpoint.planner.render import CAUTIONS
from cutpoint.planner.sheets import tables, words
from cutpoint.planner.sheets.text import MOST_PAIRS, blocks
from cutpoint.planner.stills.results import PairRow, Plan

NO_FIGURE = re.compile(r"\b(None|nan|inf)\b")


def printed(plan: Plan, capsys: pytest.CaptureFixture[str]) -> str:
    show(blocks(plan))
    return capsys.readouterr().out


def test_a_sheet_is_strict_json(plan: Plan) -> None:
    assert json.loads(json.dumps(asdict(plan), allow_nan=False))["title"] == plan.title


def test_no_figure_is_missing_without_a_word(plan: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    assert NO_FIGURE.search(printed(plan, capsys)) is None


def test_every_row_has_a_cell_for_every_column(plan: Plan) -> None:
    grids = [block for block in blocks(plan) if isinstance(block, Grid)]
    assert len(grids) >= 5
    assert all(len(row) == len(grid.columns) for grid in grids for row in grid.rows)


def test_the_order_is_the_chemists(plans: dict[str, Plan]) -> None:
    made = blocks(plans["liquefied"])
    assert isinstance(made[1], Paragraph) and made[1].strong and made[1].text == plans["liquefied"].verdict
    headings = [block.text for block in made if isinstance(block, Heading)][1:]
    assert headings == [
        words.LABEL, words.STEPS, words.EXPECTED, words.OPENING, words.FRACTIONS, words.HEAD, words.PRODUCT,
        words.REFLUX, words.DUTY, words.PAIRS, words.HOLDING, words.WEAK,
    ]  # fmt: skip
    assert isinstance(made[-1], Items) and made[-1].framed == CAUTIONS


def test_the_label_tells_what_was_understood(plans: dict[str, Plan]) -> None:
    rows = tables.ingredients(plans["liquefied"]).rows
    assert rows[0] == ["propane", "propane", "74-98-6", "10–15", "-45.85 ± 0.20", "A"]
    assert rows[3][4:] == ["59.9 to 87.9 ± 4.0", "–"]
    assert rows[4] == ["dye", "dye (not volatile)", "–", "0–1", "–", "–"]


def test_a_remark_of_many_lines_is_said_once(plans: dict[str, Plan]) -> None:
    (remark,) = tables.remarks(plans["crowded"])
    assert remark.endswith("and 36 more: read as the nearest spelling; please look.")


def test_steps_are_numbered(plans: dict[str, Plan], capsys: pytest.CaptureFixture[str]) -> None:
    out = printed(plans["ordinary"], capsys)
    assert "\n1. Read the cautions" in out and "\n2. Fill the flask" in out


def test_there_is_a_step_for_every_receiver(plans: dict[str, Plan]) -> None:
    steps = words.steps(plans["ordinary"])
    assert [step.split(":")[0] for step in steps if step.startswith("Receiver")] == [
        "Receiver 1, fore-run",
        "Receiver 2, product",
    ]
    first, last = (step for step in steps if step.startswith("Receiver"))
    assert "until the head reads 68.95 ± 0.90 °C; expect it when some 560 ± 75 mL are over in all" in first
    assert first.endswith("Then change the receiver.") and last.endswith("Then stop: take the heat away.")


def test_a_package_is_opened_before_anything_is_heated(plans: dict[str, Plan]) -> None:
    steps = words.steps(plans["liquefied"])
    assert steps[1].startswith("Open the package") and "21.2 °C" in steps[1]
    assert not any(step.startswith("Open the package") for step in words.steps(plans["ordinary"]))


def test_where_the_condenser_does_not_hold_nothing_is_heated_yet(plans: dict[str, Plan]) -> None:
    assert any("Do not heat before" in step for step in words.steps(plans["liquefied"]))
    assert not any("Do not heat before" in step for step in words.steps(plans["ordinary"]))


def test_what_is_not_had_is_said_first_and_has_no_yield(plans: dict[str, Plan]) -> None:
    plan = plans["not to be had"]
    assert words.steps(plan)[0].startswith(words.NOT_REACHED)
    told = {row[0]: row[1] for row in tables.product(plan).rows}
    assert told == {
        "purity of ethanol wanted": "99 %",
        "compositions of the label that reach it": "0 %",
        "best purity that a tenth of it can have": "95.1 %",
    }
    assert {row[1] for row in tables.reflux(plan).rows} == {"not had"}


def test_the_head_is_told_at_every_tenth(plans: dict[str, Plan]) -> None:
    rows = tables.head(plans["ordinary"]).rows
    assert [row[0] for row in rows] == [str(10 * place) for place in range(11)]
    assert rows[0][1:] == ["0", "54.35", "53.95–54.75"]
    assert rows[-1][1] == "940"


def test_without_a_curve_no_head_temperature_is_made_up(plans: dict[str, Plan]) -> None:
    assert Paragraph(words.NO_CURVE) in blocks(plans["sparse"])


def test_the_hardest_pairs_come_first_and_easy_ones_are_counted(plans: dict[str, Plan]) -> None:
    verdicts = ["simple distillation", "close-boiling", "undecided", "azeotrope", "fractional distillation"]
    pairs = tuple(PairRow("a", "b", 5.0, 0.2, verdict, "because") for verdict in verdicts)
    plan = replace(plans["ordinary"], pairs=pairs)
    shown = tables.pairs(plan, 3).rows
    assert [row[2] for row in shown] == ["azeotrope", "undecided", "close-boiling"]
    said = words.pairs_left_out(len(shown), plan)
    assert said == "Not shown, none harder: 1 (all in `--json`). Parted by simple distillation: 1."
    assert words.pairs_left_out(0, plans["sparse"]) is None


def test_a_crowded_sheet_shows_so_many_pairs_and_contents(plans: dict[str, Plan]) -> None:
    plan = plans["crowded"]
    assert len(tables.pairs(plan, MOST_PAIRS).rows) == MOST_PAIRS
    assert tables.contents(plan.fractions[0].contents).endswith("and 36 more")


def test_a_correction_of_the_thermometer_is_said(plans: dict[str, Plan]) -> None:
    assert "its correction of +0.5 K is in them" in words.how_to_read(plans["ordinary"])
    assert "correction" not in words.how_to_read(plans["sparse"])


def test_text_needs_no_pictures() -> None:
    asked = (
        "import sys, cutpoint.planner.sheets.text, cutpoint.planner.sheets.cautions; "
        "sys.exit(any(name in sys.modules for name in ('matplotlib', 'pandas', 'scipy')))"
    )
    assert subprocess.run([sys.executable, "-c", asked], check=False).returncode == 0

"""`near --hard`: the order of what resists parting, the page, the object, and what is asked of the store.

The answers are invented: the store is a small one that computes none.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from click.testing import Result
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.db import Azeotrope, HardNeighbour, HardNeighbours
from cutpoint.db.hard_neighbours import hardest_first
from cutpoint.planner.units import standard_atmosphere_pressure_Pa
from cutpoint.schema.properties import ATMOSPHERE_PA

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]

SOURCE = "Invented, Tables for Tests (2020), table 1"
MEASURED = Azeotrope("measured", "minimum", 338.3, 0.61, 0.62, SOURCE, ATMOSPHERE_PA)
TWO_LAYERS = Azeotrope("predicted", "heterogeneous", 334.7, 0.944, 0.779, "modified UNIFAC (Dortmund)", ATMOSPHERE_PA)

WATER = HardNeighbour(
    "7732-18-5", "water", 373.15, 31.3, "A", "azeotrope", TWO_LAYERS, 0.0, "They form two liquids and boil together."
)
ETHYL_ACETATE = HardNeighbour(
    "141-78-6", "ethyl acetate", 350.25, 8.37, "A", "azeotrope", MEASURED, 0.0, "They form an azeotrope."
)
ISOMER = HardNeighbour(
    "96-14-0", "3-methylpentane", 336.4, -5.48, "B", "close-boiling", None, 4.4, "As hard as an ideal pair 4.4 K apart."
)
TWIN = HardNeighbour(
    "589-34-4",
    "3-methylhexane",
    342.0,
    0.12,
    "B",
    "close-boiling",
    None,
    0.11,
    "As hard as an ideal pair 0.11 K apart.",
)
UNKNOWN = HardNeighbour(
    "67-64-1", "acetone", 329.2, -12.7, "A", "undecided", None, None, "The boiling points alone cannot tell."
)
ORDERED = (ETHYL_ACETATE, WATER, TWIN, ISOMER, UNKNOWN)


def unwrapped(page: str) -> str:
    """The page as one line; a verdict may have been broken at its hyphen."""
    return " ".join(page.split()).replace("close- boiling", "close-boiling")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, float, float]]:
    """What the store was asked; it answers with the five neighbours of 140 that boil there."""
    questions: list[tuple[str, float, float]] = []

    def hard_neighbours(store: db.Store, query: str, within_K: float, pressure_Pa: float) -> HardNeighbours:
        questions.append((query, within_K, pressure_Pa))
        return HardNeighbours("110-54-3", pressure_Pa, within_K, ORDERED, 140, 135, 21)

    monkeypatch.setattr(db.Store, "hard_neighbours", hard_neighbours, raising=False)
    return questions


@given(st.permutations(ORDERED))
def test_the_hardest_come_first(neighbours: list[HardNeighbour]) -> None:
    assert hardest_first(neighbours) == ORDERED


def test_among_equals_the_nearest_comes_first() -> None:
    far = replace(ETHYL_ACETATE, cas="1-11-1", delta_K=-20.0)
    assert hardest_first([far, ETHYL_ACETATE]) == (ETHYL_ACETATE, far)


def test_the_window_is_30_K_unless_another_is_asked_for(run: Run, asked: list[tuple[str, float, float]]) -> None:
    for arguments in ([], ["--within", "12 K"], ["--altitude", "1600m"]):
        assert run("near", "hexane", "--hard", *arguments).exit_code == 0
    at_1600_m = standard_atmosphere_pressure_Pa(1600.0)
    assert asked == [("hexane", 30.0, ATMOSPHERE_PA), ("hexane", 12.0, ATMOSPHERE_PA), ("hexane", 30.0, at_1600_m)]


def test_without_the_flag_the_window_is_5_K_and_nothing_is_judged(
    answer: Answer, asked: list[tuple[str, float, float]]
) -> None:
    found = answer("near", "hexane")
    assert found["within_K"] == 5.0 and "examined" not in found
    assert asked == []


def test_the_object_has_the_names_of_the_dataclasses(answer: Answer, asked: list[tuple[str, float, float]]) -> None:
    found = answer("near", "hexane", "--hard", "--limit", "1")
    assert found.keys() == {*HardNeighbours.__dataclass_fields__, "cautions"}
    assert (found["examined"], found["parted"], found["not_predictable"]) == (140, 135, 21)
    assert [other["cas"] for other in found["neighbours"]] == [other.cas for other in ORDERED]
    first, last = found["neighbours"][0], found["neighbours"][-1]
    assert first.keys() == set(HardNeighbour.__dataclass_fields__)
    assert first["azeotrope"]["mass_fraction_a"] == 0.61 and first["azeotrope"]["basis"] == "measured"
    assert last["azeotrope"] is None and last["equivalent_difference_K"] is None
    assert found["cautions"] == answer("card", "hexane")["cautions"]


def test_the_page_tells_the_hardest_first_and_why(run: Run, asked: list[tuple[str, float, float]]) -> None:
    page = run("near", "hexane", "--hard").output
    rows = [line for line in page.splitlines() if any(other.cas in line for other in ORDERED)]
    assert [next(other.name for other in ORDERED if other.cas in row) for row in rows] == [
        other.name for other in ORDERED
    ]
    assert "measured, minimum: 65.2 °C, 61.0 % by mass" in rows[0]
    assert "+0.12 K" in rows[2] and "0.11 K" in rows[2] and "As hard as an ideal pair" in rows[2]
    assert "undecided" in rows[4] and "–" in rows[4] and "The boiling points alone cannot tell." in rows[4]


def test_the_page_says_how_many_were_examined_and_how_many_cannot_be_predicted(
    run: Run, asked: list[tuple[str, float, float]]
) -> None:
    page = unwrapped(run("near", "hexane", "--hard").output)
    assert page.startswith(
        "Of 140 others that boil within 30 K of hexane [110-54-3] at 101.3 kPa (760 mmHg), 5 cannot surely be parted"
    )
    assert "135 of the 140 can be parted from it by distillation; azeotrope 2, close-boiling 2, undecided 1." in page
    assert "21 cannot be predicted for want of published parameters" in page
    assert "Cautions" in page and "cautions of a component: `cutpoint card CAS`." in page


def test_a_limit_says_how_many_are_hidden(run: Run, asked: list[tuple[str, float, float]]) -> None:
    page = unwrapped(run("near", "hexane", "--hard", "--limit", "2").output)
    assert "and 3 more, less hard: --limit shows more of them, --json all." in page
    assert "ethyl acetate" in page and "3-methylhexane" not in page


def test_where_everything_can_be_parted_the_page_says_so(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    easy = HardNeighbours("110-54-3", ATMOSPHERE_PA, 30.0, (), 12, 12, 0)
    monkeypatch.setattr(db.Store, "hard_neighbours", lambda *asked: easy, raising=False)
    page = unwrapped(run("near", "hexane", "--hard").output)
    assert "0 cannot surely be parted from it by distillation." in page
    assert "12 of the 12 can be parted from it by distillation. The mixture with each could be predicted, or" in page


def test_a_component_that_is_not_there_is_told_before_anything_is_judged(
    error: Callable[..., Any], asked: list[tuple[str, float, float]]
) -> None:
    told, status = error("near", "hexan", "--hard")
    assert (told["kind"], status) == ("not_found", 1)
    assert asked == []


@pytest.mark.parametrize("result", [WATER, HardNeighbours("110-54-3", ATMOSPHERE_PA, 30.0, ORDERED, 140, 135, 21)])
def test_answers_print_well(result: HardNeighbour | HardNeighbours) -> None:
    assert "azeotrope" in str(result) and "water [7732-18-5]" in str(result)

"""Figures of a sheet: rounded to their uncertainty, and never more than a bench can use."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.sheets import amounts
from cutpoint.planner.stills.results import Interval


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Interval(0.000_35, 0.000_33, 0.000_37), "350 ± 20 mL"),
        (Interval(0.000_35, 0.000_345, 0.000_37), "350 (345–370) mL"),
        (Interval(0.001, 0.001, 0.001), "1000 mL"),
        (Interval(0.0, 0.0, 0.0), "0 mL"),
        (Interval(0.0, 0.0, 3e-6), "0.0 (0.0–3.0) mL"),
        (None, "–"),
    ],
)
def test_volumes(found: Interval | None, said: str) -> None:
    assert amounts.volume(found) == said


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Interval(331.35, 330.95, 331.75), "58.20 ± 0.40 °C"),
        (Interval(273.15, 273.15, 273.15), "0.0 °C"),
        (Interval(258.15, 243.15, 263.15), "-15 (-30 to -10) °C"),
        (None, "–"),
    ],
)
def test_temperatures(found: Interval | None, said: str) -> None:
    assert amounts.temperature(found) == said


@pytest.mark.parametrize(
    ("time_s", "said"),
    [(600.0, "10.0 ± 1.0 min"), (7200.0, "2.00 ± 0.20 h"), (90_000.0, "25.0 ± 2.5 h")],
)
def test_long_times_are_told_in_hours(time_s: float, said: str) -> None:
    assert amounts.duration(Interval(time_s, 0.9 * time_s, 1.1 * time_s)) == said


def test_a_time_without_an_interval_has_two_digits() -> None:
    assert amounts.bare_duration(2519.0) == "about 42 min"
    assert amounts.bare_duration(15_000.0) == "about 4.2 h"
    assert amounts.bare_duration(None) == "–"


def test_shares_are_told_in_percent() -> None:
    assert amounts.percent(Interval(0.995, 0.97, 0.999)) == "99.5 (97.0–99.9) %"


finite = st.floats(-1e6, 1e6)


@given(finite, finite, finite)
def test_every_interval_can_be_written(a: float, b: float, c: float) -> None:
    low, value, high = sorted((a, b, c))
    said = amounts.interval(Interval(value, low, high), 1.0, "mL")
    assert re.fullmatch(r"-?[\d.e-]+( ± [\d.e-]+| \(-?[\d.]+(–| to -?)[\d.]+\))? mL", said), said


@given(st.floats(0.0, 1.0), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_the_ends_that_are_written_are_those_of_the_interval(value: float, down: float, up: float) -> None:
    found = Interval(value, value - down, value + up)
    said = amounts.interval(found)
    tolerance = 0.1 * found.u95 + 1e-3 * abs(value) + amounts.UNEVEN * found.u95
    if "±" in said:
        middle, half = map(float, said.split(" ± "))
        assert middle - half == pytest.approx(found.low, abs=tolerance)
        assert middle + half == pytest.approx(found.high, abs=tolerance)

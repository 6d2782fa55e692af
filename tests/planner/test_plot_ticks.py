"""Round ticks over 1/T and over decades of pressure."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.plot_ticks import decade_ticks, round_celsius


@given(st.floats(5.0, 3000.0), st.floats(1.05, 4.0), st.sampled_from([1.0 / 24.0, 1.0 / 60.0, 1.0 / 120.0]))
def test_round_temperatures_lie_on_the_axis_and_apart(low_K: float, ratio: float, gap: float) -> None:
    high_K = low_K * ratio
    ticks = round_celsius(low_K, high_K, gap)
    places = [(1.0 / low_K - 1.0 / (tick + 273.15)) / (1.0 / low_K - 1.0 / high_K) for tick in ticks]
    assert all(-1e-9 <= place <= 1.0 + 1e-9 for place in places)
    assert all(after - before >= gap * (1.0 - 1e-9) for before, after in pairwise(places))
    assert all(round(tick, 1) == tick for tick in ticks)


def test_round_temperatures_grow_in_steps_along_the_axis() -> None:
    ticks = round_celsius(270.0, 660.0, 1.0 / 24.0)
    assert ticks == [0, 20, 40, 60, 80, 100, 120, 140, 160, 180, 200, 250, 300, 350]


@given(st.floats(1e-6, 1e5), st.floats(1.3, 1e9))
def test_round_pressures_lie_on_the_axis(low: float, ratio: float) -> None:
    ticks = decade_ticks(low, low * ratio)
    assert ticks == sorted(set(ticks))
    assert all(low <= tick <= low * ratio for tick in ticks)
    assert 1 <= len(ticks) <= 20


def test_round_pressures_are_1_2_and_5() -> None:
    assert decade_ticks(0.9, 1100.0) == [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000]
    assert decade_ticks(0.29, 0.81) == [0.3, 0.4, 0.5, 0.6, 0.7, 0.8]
    assert decade_ticks(1e-4, 1e4) == [1e-4, 1e-3, 1e-2, 0.1, 1, 10, 100, 1000, 1e4]

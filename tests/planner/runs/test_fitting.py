"""Offsets and compositions are found again in runs invented from a still that needs no store."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from cutpoint.planner.runs.collected import weighted_interval
from cutpoint.planner.runs.fitting import Curves, Fit, fit
from cutpoint.planner.runs.likelihood import MOST_READINGS, Readings, thinned
from cutpoint.planner.runs.plateau import find_plateau
from cutpoint.schema.errors import NoValue

Array = NDArray[np.float64]

MOST_RUNS = 600


def noted(still: Any, w: Array, offset_K: float, seed: int, n: int = 40, wrong: int = 2) -> tuple[Array, Array]:
    """Readings with noise, an offset, a gap, and some that are quite wrong."""
    rng = np.random.default_rng(seed)
    curves = still.run(w[None])
    share = rng.uniform(0.02, 0.95, n)
    volume = np.sort(share[(share < 0.4) | (share > 0.55)]) * curves.volume_m3[0, -1]
    reading = np.interp(volume, curves.volume_m3[0], curves.head_K[0]) + offset_K + rng.normal(0.0, 0.2, len(volume))
    reading[rng.choice(len(volume), wrong, replace=False)] += rng.choice([-9.0, 9.0], wrong)
    return volume, reading


def held(found: Fit, w: Array) -> list[bool]:
    """Whether the interval of each ingredient holds the truth."""
    intervals = [weighted_interval(column, found.weights) for column in found.compositions.T]
    return [one.low <= true <= one.high for one, true in zip(intervals, w, strict=True)]


@pytest.mark.parametrize("seed", range(4))
def test_two_ingredients_are_found_again(stand_in: Any, seed: int) -> None:
    still = stand_in.two()
    w = still.sample(1, 50 + seed)[0]
    offset = float(np.random.default_rng(seed).normal(0.0, 1.0))
    volume, reading = noted(still, w, offset, seed)
    still.batches = 0
    found = fit(still, still.sample, volume, reading, 0.0)
    assert still.batches <= MOST_RUNS
    assert found.offset_K == pytest.approx(offset, abs=0.2)
    assert abs(found.offset_K - offset) < found.offset_u95_K
    assert all(held(found, w))
    assert found.weights.sum() == pytest.approx(1.0)
    assert found.effective_size > 100.0


def test_four_ingredients_of_a_wide_label_are_found_again(stand_in: Any) -> None:
    still = stand_in.four()
    inside, errors = [], []
    for seed in range(3):
        w = still.sample(1, 90 + seed)[0]
        volume, reading = noted(still, w, 1.0, seed)
        found = fit(still, still.sample, volume, reading, 0.0)
        inside += held(found, w)
        errors.append((found.offset_K - 1.0) / found.offset_u95_K)
        widths = [np.ptp([*found.compositions[found.weights > 1e-4, place]]) for place in range(4)]
        assert max(widths) < 0.2
    assert np.mean(inside) > 0.9
    assert np.abs(errors).max() < 1.0


def test_a_known_correction_is_no_offset(stand_in: Any) -> None:
    still = stand_in.two()
    w = np.array([0.45, 0.55])
    volume, reading = noted(still, w, -1.5, 3)
    assert fit(still, still.sample, volume, reading, 1.5).offset_K == pytest.approx(0.0, abs=0.2)


def test_the_same_answer_twice(stand_in: Any) -> None:
    still = stand_in.two()
    volume, reading = noted(still, np.array([0.45, 0.55]), 0.5, 3)
    one, other = (fit(still, still.sample, volume, reading, 0.0) for _ in range(2))
    np.testing.assert_array_equal(one.weights, other.weights)


def test_an_unsure_curve_makes_an_unsure_offset(stand_in: Any) -> None:
    sure, unsure = stand_in.two(), stand_in.two()
    unsure.curve_u95_K = 2.0
    volume, reading = noted(sure, np.array([0.45, 0.55]), 1.0, 3)
    one, other = (fit(still, still.sample, volume, reading, 0.0) for still in (sure, unsure))
    assert one.offset_u95_K < 0.6
    assert 1.0 < other.offset_u95_K < 2.0
    assert abs(other.offset_K) < abs(one.offset_K)


def test_proposals_stay_on_the_label(stand_in: Any) -> None:
    still = stand_in.four()
    volume, reading = noted(still, np.array([0.02, 0.55, 0.35, 0.08]), 0.0, 4)
    found = fit(still, still.sample, volume, reading, 0.0)
    assert (found.compositions >= still.lower - 1e-12).all()
    assert (found.compositions <= still.upper + 1e-12).all()
    np.testing.assert_allclose(found.compositions.sum(axis=1), 1.0)


def test_a_label_without_ranges_needs_one_batch(stand_in: Any) -> None:
    still = stand_in.two()
    volume, reading = noted(still, np.array([0.45, 0.55]), 0.8, 3)
    still.lower = still.upper = np.array([0.45, 0.55])
    still.batches = 0
    found = fit(still, lambda n, seed: np.tile(still.lower, (n, 1)), volume, reading, 0.0)
    assert still.batches == 1
    assert found.offset_K == pytest.approx(0.8, abs=0.2)


def test_compositions_without_a_curve_do_not_speak(stand_in: Any) -> None:
    still = stand_in.two()
    volume, reading = noted(still, np.array([0.45, 0.55]), 0.0, 3)
    whole = still.run

    def broken(w: Array) -> Curves:
        curves = whole(w)
        curves.head_K[w[:, 0] > 0.6 - gap] = np.nan
        return curves  # type: ignore[no-any-return]

    still.run, gap = broken, 0.0
    found = fit(still, still.sample, volume, reading, 0.0)
    assert all(held(found, np.array([0.45, 0.55])))
    gap = 1.0
    with pytest.raises(NoValue):
        fit(still, still.sample, volume, reading, 0.0)


def test_many_readings_are_thinned() -> None:
    many = Readings(np.linspace(1.0, 0.0, 5_000), np.linspace(400.0, 300.0, 5_000))
    few = thinned(many)
    assert len(few.volume_m3) == MOST_READINGS
    np.testing.assert_allclose(few.reading_K, 300.0 + 100.0 * few.volume_m3, atol=0.1)
    assert (np.diff(few.volume_m3) > 0.0).all()


def test_the_plateau_is_the_longest_stretch_that_stands_still() -> None:
    volume = np.arange(20.0)
    reading = np.concatenate([330.0 + 3.0 * np.arange(5), np.full(10, 351.0), 356.0 + 4.0 * np.arange(5)])
    reading[8] += 9.0
    start, end = find_plateau(volume, reading) or (0, 0)
    assert start in (4, 5) and end in (14, 15)
    assert find_plateau(volume, 300.0 + 2.0 * volume) is None

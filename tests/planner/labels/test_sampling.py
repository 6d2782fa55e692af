"""Samples are uniform, inside, and sum to one; held against exact rejection sampling and known moments."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import ks_2samp

from cutpoint.planner.labels.ranges import Bounds, bounds
from cutpoint.planner.labels.reading import LabelLine
from cutpoint.planner.labels.sampling import sample
from cutpoint.schema.errors import WrongLabel

LEAST_CHANCE = 0.001
"""A Kolmogorov-Smirnov test below this says that two distributions differ; the seeds are fixed."""


def box(lower: list[float], upper: list[float]) -> Bounds:
    """Tightened bounds."""
    ends = zip(lower, upper, strict=True)
    return bounds(
        [LabelLine(place, "", "solvent", None, low, high, False, False) for place, (low, high) in enumerate(ends)]
    )


def rejected(allowed: Bounds, n: int) -> NDArray[np.float64]:
    """Exact samples: uniform in the box of all but the last, kept where the last is within its bounds."""
    random = np.random.default_rng(7)
    lower, upper = allowed.lower, allowed.upper
    kept = np.empty((0, len(lower)))
    while len(kept) < n:
        first = lower[:-1] + (upper - lower)[:-1] * random.random((100_000, len(lower) - 1))
        last = 1.0 - first.sum(axis=1)
        inside = (last >= lower[-1]) & (last <= upper[-1])
        kept = np.concatenate([kept, np.column_stack([first[inside], last[inside]])])
    return kept[:n]


@pytest.mark.parametrize(
    ("lower", "upper"),
    [
        ([0, 0, 0], [1, 1, 1]),
        ([0.1, 0.2, 0.0], [0.6, 0.5, 0.9]),
        ([0.3, 0.0, 0.0], [0.5, 1.0, 0.02]),
        ([0, 0, 0, 0], [0.3, 0.3, 0.3, 1]),
        ([0.3, 0.25, 0.0, 0.1], [0.5, 0.4, 0.05, 0.4]),
        ([0, 0, 0, 0], [1, 1, 0.01, 0.01]),
        ([0, 0, 0, 0], [0.4, 0.4, 0.4, 0.4]),
    ],
)
def test_samples_are_uniform(lower: list[float], upper: list[float]) -> None:
    allowed = box(lower, upper)
    exact, drawn = rejected(allowed, 20_000), sample(allowed, 20_000, seed=3)
    direction = np.array([1.0, -2.0, 0.5, 3.0])[: len(lower)]
    pairs = [*zip(exact.T, drawn.T, strict=True), (exact @ direction, drawn @ direction)]
    assert min(ks_2samp(one, other).pvalue for one, other in pairs) > LEAST_CHANCE


@pytest.mark.parametrize("k", [2, 3, 6, 40])
def test_moments_on_the_whole_simplex_are_those_of_dirichlet(k: int) -> None:
    n = 4000
    drawn = sample(box([0.0] * k, [1.0] * k), n, seed=11)
    variance = (k - 1) / (k * k * (k + 1))
    assert np.abs(drawn.mean(axis=0) - 1 / k).max() < 5 * np.sqrt(variance / n)
    # Each standard error of a variance or covariance is of the order of the variance over the root of n.
    expected = np.where(np.eye(k, dtype=bool), variance, -variance / max(k - 1, 1))
    assert np.abs(np.cov(drawn.T) - expected).max() < 12 * variance / np.sqrt(n)


def test_forty_ingredients_with_bounds_of_all_sizes() -> None:
    random = np.random.default_rng(5)
    allowed = box([0.0] * 40, list(10.0 ** random.uniform(-6, 0, 40)))
    one, other = sample(allowed, 1000, seed=1), sample(allowed, 1000, seed=2)
    assert min(ks_2samp(a, b).pvalue for a, b in zip(one.T, other.T, strict=True)) > LEAST_CHANCE / 10
    # Chains that had not come far from the centre would all lie near it.
    assert (np.ptp(one, axis=0) > 0.5 * np.minimum(allowed.upper - allowed.lower, 0.1)).all()


def test_what_has_no_range_stays() -> None:
    drawn = sample(box([0.2, 0.0, 0.0, 0.1], [0.2, 1.0, 1.0, 0.1]), 50, seed=0)
    assert (drawn[:, 0] == pytest.approx(0.2)) and (drawn[:, 3] == pytest.approx(0.1))
    assert np.ptp(drawn[:, 1]) > 0.4
    point = sample(box([0.6, 0.3, 0.1], [0.6, 0.3, 0.1]), 5, seed=0)
    assert point == pytest.approx(np.tile([0.6, 0.3, 0.1], (5, 1)))
    assert sample(box([0.0], [1.0]), 3, seed=0) == pytest.approx(np.ones((3, 1)))


def test_a_seed_gives_the_same_samples_again() -> None:
    allowed = box([0.1, 0.1, 0.1], [0.8, 0.8, 0.8])
    assert (sample(allowed, 20, seed=4) == sample(allowed, 20, seed=4)).all()
    assert (sample(allowed, 20, seed=4) != sample(allowed, 20, seed=5)).any()


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=12), st.integers(0, 99))
def test_every_sample_is_inside(ends: list[tuple[float, float]], seed: int) -> None:
    try:
        allowed = box([min(pair) for pair in ends], [max(pair) for pair in ends])
    except WrongLabel:
        return
    drawn = sample(allowed, 20, seed)
    assert drawn.shape == (20, len(ends))
    assert np.abs(drawn.sum(axis=1) - 1.0).max() < 1e-12
    assert (drawn >= allowed.lower - 1e-12).all() and (drawn <= allowed.upper + 1e-12).all()

"""The distribution of the true value against independent integration, and what it must not depend on."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.posterior import COVERAGE, Posterior, Voices, posterior, sound_and_blunder

FREEDOM, BLUNDER, WIDTH = 1.0, 0.05, 15.0


def said(*groups: list[tuple[float, float]]) -> Voices:
    """Voices of (value, scatter), one list per component."""
    rows = [(number, *voice) for number, group in enumerate(groups) for voice in group]
    group, value, scatter = (np.array(column) for column in zip(*rows, strict=True))
    like = np.ones(len(rows))
    return Voices(group.astype(np.int64), value, scatter, FREEDOM * like, BLUNDER * like, WIDTH * like)


def coverage(voices: list[tuple[float, float]], value: float, u95: float) -> float:
    """Probability within the interval, on a grid a hundred times as dense."""
    away = np.geomspace(1e-5, 1e6, 40_000)
    T = np.unique(np.concatenate([x + u * np.concatenate([-away, away]) for x, u in voices]))
    ln_p = np.zeros_like(T)
    for x, u in voices:
        parts = sound_and_blunder(x - T, np.array(u), FREEDOM, np.array(BLUNDER), np.array(WIDTH))
        ln_p += np.logaddexp(*parts)
    p = np.exp(ln_p - ln_p.max())
    mass = 0.5 * (p[1:] + p[:-1]) * np.diff(T)
    cumulated = np.concatenate([[0.0], np.cumsum(mass)]) / mass.sum()
    return float(np.interp(value + u95, T, cumulated) - np.interp(value - u95, T, cumulated))


@pytest.mark.parametrize(
    "voices",
    [
        [(351.0, 0.3), (351.5, 0.2)],
        [(351.0, 0.3), (351.5, 0.2), (352.4, 1.0)],
        [(351.0, 0.1), (351.05, 0.2), (380.0, 0.2)],
        [(300.0, 1.0), (309.0, 2.0)],
    ],
)
def test_the_interval_holds_95_percent_by_another_integration(voices: list[tuple[float, float]]) -> None:
    found = posterior(said(voices))
    assert coverage(voices, float(found.value[0]), float(found.u95[0])) == pytest.approx(COVERAGE, abs=0.006)


def test_agreeing_voices_sharpen_and_the_dissenter_is_a_blunder() -> None:
    found = posterior(said([(351.0, 0.1)], [(351.0, 0.1), (351.1, 0.1)], [(351.0, 0.1), (351.1, 0.1), (380.0, 0.1)]))
    assert found.u95[1] < found.u95[0] / 5.0
    assert found.value[2] == pytest.approx(351.05, abs=0.1)
    assert found.sound[-1] < 0.5 < found.sound[3]


@pytest.mark.parametrize("order", [1, -1])
def test_the_last_bit_does_not_choose_between_two_that_are_as_likely(order: int) -> None:
    voices = [(351.0, 0.1), (400.0, 0.1)][::order]
    for noise in (-1e-14, 0.0, 1e-14):
        nudged = [voices[0], (voices[1][0], voices[1][1] * (1.0 + noise))]
        assert posterior(said(nudged)).value[0] == pytest.approx(voices[0][0], abs=0.1)


def test_two_that_contradict_each_other_leave_both_open() -> None:
    found = posterior(said([(351.0, 0.1), (400.0, 0.1)]))
    value, u95 = found.value[0], found.u95[0]
    assert min(abs(value - 351.0), abs(value - 400.0)) < 0.5
    assert u95 >= 48.5


def test_about_counts_the_uncertainty_from_another_value() -> None:
    voices = said([(351.0, 0.2), (351.3, 0.2)])
    assert posterior(voices, np.array([355.0])).u95[0] == pytest.approx(4.0, abs=1.0)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-5.0, 5.0), st.floats(0.05, 3.0)), min_size=1, max_size=5),
    st.floats(100.0, 900.0),
)
def test_it_moves_with_its_voices_and_does_not_mind_their_order(voices: list[tuple[float, float]], by: float) -> None:
    here = posterior(said(voices))
    there = posterior(said([(x + by, u) for x, u in reversed(voices)]))
    assert there.value[0] - by == pytest.approx(here.value[0], abs=0.02 * min(u for _, u in voices))
    assert there.u95[0] == pytest.approx(here.u95[0], rel=0.02)


def test_many_components_at_once_are_as_one_at_a_time() -> None:
    groups = [[(300.0 + number, 0.2), (300.4 + number, 0.5)][: 1 + number % 2] for number in range(9)]
    together = posterior(said(*groups))
    alone = [posterior(said(group)) for group in groups]
    for name in ("value", "u95", "u"):
        assert getattr(together, name) == pytest.approx([_first(one, name) for one in alone])


def _first(found: Posterior, name: str) -> float:
    return float(getattr(found, name)[0])

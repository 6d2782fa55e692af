"""Where to change receivers: the readings between which the wanted purity is had, and what that gives.

A receiver is changed when the thermometer in the still head reaches a reading.
The readings are chosen on all compositions at once: of all pairs of readings
that the central composition passes, those that give most of the target while
the central one and, where that can be had, nine in ten of all are pure enough.

A draw that moves the target's boiling point moves the readings with it: the
plateau shows it at the bench, where the thermometer is then read against it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.int64]

SURE_SHARE = 0.9
"""Share of all compositions that should reach the purity; common practice, no source."""
LEAST_RECOVERY = 0.1
"""A purity that is had in less of the target than this is not worth a run; common practice, no source."""
_THRESHOLDS = 60
_SAME_READING_K = 1e-3


@dataclass(frozen=True)
class Course:
    """S batches at V moments: masses distilled of k ingredients, kg, (S, V, k); volumes, m3, and head K, (S, V).

    `shift_K`, (S,), is how far each draw moves the target's boiling point,
    `charged_kg`, (S, k), what there was of each ingredient.
    """

    mass_kg: Array
    volume_m3: Array
    head_K: Array
    shift_K: Array
    charged_kg: Array


@dataclass(frozen=True)
class Cuts:
    """Receivers changed at `start` and `end`, places on the axis of moments with fractions between, (S,).

    `from_K` and `to_K` are the head temperatures of the rule, None for the
    first drop and for the end of the distillation.
    """

    start: Array
    end: Array
    from_K: float | None
    to_K: float | None
    reached: NDArray[np.bool_]


def choose_cuts(course: Course, target: int, purity: float, coldest_K: float | None = None) -> Cuts:
    """The readings at which the receivers are changed for the wanted purity of an ingredient, a mass fraction.

    The product begins at `coldest_K` or above, where the central composition
    passes it: what is colder no condenser would hold. Where that one does not
    reach the purity, `reached` is false, and the cuts are those of the best
    purity in `LEAST_RECOVERY` of the target.
    """
    V = course.head_K.shape[1]
    # What a receiver is changed by is the first time that a reading is passed.
    passed = np.maximum.accumulate(course.head_K, axis=1)
    readings = _readings(passed[0])
    places = _places(passed, readings[None, :] + course.shift_K[:, None])
    # Before the first reading lies the first drop, after the last the end of the distillation.
    S = len(places)
    places = np.concatenate([np.zeros((S, 1)), places, np.full((S, 1), V - 1.0)], axis=1)
    all_mass, target_mass = course.mass_kg.sum(axis=2), course.mass_kg[:, :, target]
    at_all, at_target = (_at(mass, places) for mass in (all_mass, target_mass))
    a, b = np.triu_indices(places.shape[1], k=1)
    mass, of_target = at_all[:, b] - at_all[:, a], at_target[:, b] - at_target[:, a]
    whole = course.charged_kg[:, target][:, None] + _LEAST_KG
    pure = of_target / np.maximum(mass, _LEAST_KG)
    recovery = of_target / whole
    begins_K = np.concatenate([passed[0, :1], readings])[a]
    held = begins_K >= (coldest_K or 0.0)
    choice, reached = _choice(pure, recovery, purity, held if held.any() else np.ones_like(held))
    first, last = int(a[choice]), int(b[choice])
    return Cuts(
        places[:, first],
        np.maximum(places[:, last], places[:, first]),
        None if first == 0 else float(readings[first - 1]),
        None if last == places.shape[1] - 1 else float(readings[last - 1]),
        np.full(S, reached),
    )


_LEAST_KG = 1e-12


def _choice(pure: Array, recovery: Array, purity: float, held: NDArray[np.bool_]) -> tuple[int, bool]:
    """Which of all pairs of readings, purities and recoveries (S, pairs), and whether it reaches the purity.

    Only pairs that are `held`, (pairs,), are chosen.
    """
    mean_recovery = recovery.mean(axis=0)
    enough = held & (recovery[0] >= LEAST_RECOVERY)
    central = (pure[0] >= purity) & enough
    sure = central & ((pure >= purity).mean(axis=0) >= SURE_SHARE)
    for allowed in (sure, central):
        if allowed.any():
            return int(np.argmax(np.where(allowed, mean_recovery, -1.0))), True
    return int(np.argmax(np.where(enough, pure[0], recovery[0] - 1.0))), False


def best_purity(mass_kg: Array, target: int, in_feed_kg: float) -> float:
    """The best mass fraction that one batch, (V, k), gives in `LEAST_RECOVERY` of what is there of an ingredient."""
    whole, part = mass_kg.sum(axis=1), mass_kg[:, target]
    a, b = np.triu_indices(len(whole), k=1)
    got = part[b] - part[a]
    pure = np.where(got >= LEAST_RECOVERY * in_feed_kg, got / np.maximum(whole[b] - whole[a], _LEAST_KG), 0.0)
    return float(pure.max(initial=0.0))


def between(values: Array, start: Array, end: Array) -> Array:
    """What a running total, (S, V) or (S, V, k), gains between two places on its axis of moments: (S,) or (S, k)."""
    if values.ndim == 2:
        return np.asarray((_at(values, end[:, None]) - _at(values, start[:, None]))[:, 0])
    columns = [between(values[:, :, place], start, end) for place in range(values.shape[2])]
    return np.stack(columns, axis=1)


def at_place(values: Array, place: Array) -> Array:
    """A curve, (S, V), at places on its axis of moments, (S,)."""
    return np.asarray(_at(values, place[:, None])[:, 0])


def _readings(passed: Array) -> Array:
    """Readings that a batch, (V,), passes: at even steps of what is distilled, without those that are the same."""
    chosen = np.interp(np.linspace(0.0, len(passed) - 1.0, _THRESHOLDS + 2)[1:-1], np.arange(len(passed)), passed)
    return chosen[np.diff(chosen, prepend=-np.inf) > _SAME_READING_K]


def _places(passed: Array, readings: Array) -> Array:
    """Where rising curves, (S, V), first pass readings, (S, R); the end where they do not."""
    V = passed.shape[1]
    places = np.empty(readings.shape)
    for row, (curve, asked) in enumerate(zip(passed, readings, strict=True)):
        after = np.searchsorted(curve, asked)
        inside = (after > 0) & (after < V)
        before = np.clip(after - 1, 0, V - 2)
        rise = curve[before + 1] - curve[before]
        share = np.where(inside, (asked - curve[before]) / np.where(rise > 0.0, rise, 1.0), 0.0)
        places[row] = np.where(inside, before + share, np.where(after == 0, 0.0, V - 1.0))
    return places


def _at(values: Array, places: Array) -> Array:
    """Values (S, V) at places (S, R) on their axis of moments, by straight lines."""
    before = np.clip(places.astype(np.int64), 0, values.shape[1] - 2)
    share = places - before
    low, high = (np.take_along_axis(values, before + step, axis=1) for step in (0, 1))
    return np.asarray(low + share * (high - low))

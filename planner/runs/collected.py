"""What was collected, by the compositions that explain a run."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..stills.results import Fraction, Interval, Plan, Share
from .fitting import Fit
from .likelihood import at_volumes
from .results import Collected
from .run import Run

Array = NDArray[np.float64]

_PROBABILITIES = (0.025, 0.975)
_LEAST_KG = 1e-12
BY_THE_SHEET = "product by the sheet"


def weighted_interval(values: Array, weights: Array) -> Interval:
    """The weighted mean of values, (S,), and their probabilistically symmetric 95 % interval."""
    order = np.argsort(values)
    reached = np.cumsum(weights[order]) - 0.5 * weights[order]
    low, high = np.interp(_PROBABILITIES, reached, values[order])
    mean = float(weights @ values)
    return Interval(mean, min(float(low), mean), max(float(high), mean))


def receivers(run: Run, found: Fit, plan: Plan, target: int) -> tuple[Collected, ...]:
    """The receivers that the notes tell apart, in their order; none where they tell of none."""
    ends: list[tuple[str, float]] = []
    for row in run.rows:
        if row.receiver is None or row.volume_m3 is None:
            continue
        if ends and ends[-1][0] == row.receiver:
            ends[-1] = row.receiver, row.volume_m3
        else:
            ends.append((row.receiver, row.volume_m3))
    starts = [0.0, *(end for _, end in ends)]
    return tuple(
        collected(name, start, end, found, plan, target)
        for (name, end), start in zip(ends, starts, strict=False)
        if end > start
    )


def product_by_the_sheet(run: Run, found: Fit, plan: Plan, target: int) -> Collected | None:
    """What came over between the readings at which the sheet changes receivers; None where they are not reached."""
    product = next((one for one in plan.fractions if one.name == "product"), None)
    if product is None or not plan.curve.volume_m3:
        return None
    rows = run.compared
    volume = np.array([row.volume_m3 for row in rows], dtype=np.float64)
    reading = np.array([row.reading_K for row in rows], dtype=np.float64)
    best_volume, best_head = found.best_curve()
    fitted = best_volume, best_head - plan.thermometer_correction_K + found.shift_K
    start: float | None = 0.0
    if _has_fore_run(plan):
        start = _passed(volume, reading, product.from_reading_K, fitted)
    if start is None:
        return None
    end = float(volume.max())
    if not _runs_to_the_end(product, plan):
        later = volume > start
        end = _passed(volume[later], reading[later], product.to_reading_K, fitted) or end
    return collected(BY_THE_SHEET, start, end, found, plan, target) if end > start else None


def _has_fore_run(plan: Plan) -> bool:
    return any(one.name == "fore-run" for one in plan.fractions)


def _runs_to_the_end(product: Fraction, plan: Plan) -> bool:
    return product.to_reading_K is None or all(one.name != "after-run" for one in plan.fractions)


def _passed(volume_m3: Array, reading_K: Array, asked: Interval | None, fitted: tuple[Array, Array]) -> float | None:
    """The volume at which the readings passed what the sheet says; None where they never did.

    Two readings running, or the last, must have passed it; between the one
    before and the first of them the best fit, volumes and readings, decides.
    """
    if asked is None:
        return 0.0
    passed = reading_K >= asked.value
    sure = passed & np.append(passed[1:], True)
    if not sure.any():
        return None
    first = int(np.argmax(sure))
    before = float(volume_m3[first - 1]) if first else 0.0
    crossed = float(np.interp(asked.value, np.maximum.accumulate(fitted[1]), fitted[0]))
    return min(max(crossed, before), float(volume_m3[first]))


def collected(name: str, start_m3: float, end_m3: float, found: Fit, plan: Plan, target: int) -> Collected:
    """What distilled between two volumes."""
    ends = np.array([start_m3, end_m3])
    curves = found.curves
    gained = np.stack(
        [np.diff(at_volumes(curves.volume_m3, kg, ends))[:, 0] for kg in np.moveaxis(curves.distilled_kg, 2, 0)], axis=1
    )
    whole = np.maximum(gained.sum(axis=1), _LEAST_KG)
    fractions = gained / whole[:, None]
    in_batch = np.maximum(curves.charged_kg[:, target], _LEAST_KG)
    used = found.weights > 0.0
    weights = found.weights[used]

    def told(values: Array) -> Interval:
        return weighted_interval(values[used], weights)

    contents = _shares(plan, [told(column) for column in fractions.T])
    recovery = told(np.minimum(gained[:, target] / in_batch, 1.0))
    return Collected(name, start_m3, end_m3, told(whole), contents[target].mass_fraction, recovery, contents)


def _shares(plan: Plan, fractions: Sequence[Interval]) -> tuple[Share, ...]:
    return tuple(Share(row.name, row.cas, one) for row, one in zip(plan.ingredients, fractions, strict=True))

"""A batch as it was noted, held against its sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.matches import celsius
from cutpoint.schema.errors import WrongRun

from ..stills.results import Plan
from .collected import product_by_the_sheet, receivers, weighted_interval
from .departures import departures, is_off_fit
from .fitting import COMPOSITIONS, Fit, Sampler, Still, fit
from .likelihood import Readings, thinned
from .plateau import find_plateau
from .reading import FEWEST_COMPARED
from .report_words import explained_by, verdict, words
from .results import CompositionRow, Plateau, RunReport, Trace
from .run import Row, Run

Array = NDArray[np.float64]

BEYOND = 1.02
"""Volumes beyond so much of what the sheet distils are not compared: the curve has ended."""
FAR_K = 40.0
"""No thermometer and no label is off by so much; common practice, no source."""
EDGE, AT_THE_EDGE, BY_CHANCE = 0.1, 0.5, 0.3
"""An estimate is at an end where half the weight lies in the outer tenth of the range, and not so before the run."""
TOLD = 0.8
"""The run tells of an ingredient where it narrows its spread to less than this share of the label's."""


class Expected(NamedTuple):
    """What a recipe lets expect: its still, compositions drawn from its label, and its sheet.

    Ingredients of the still stand in the order of `plan.ingredients`;
    `compositions` is how many of them may be tried.
    """

    still: Still
    sample: Sampler
    plan: Plan
    compositions: int = COMPOSITIONS


@dataclass(frozen=True)
class _Compared:
    rows: tuple[Row, ...]
    volume_m3: Array
    reading_K: Array
    n_beyond: int


def make_report(run: Run, expected: Expected) -> RunReport:
    """Hold a run against what is expected of it.

    Raises WrongRun where its volumes do not belong to the recipe, and what the still raises.
    """
    plan = expected.plan
    compared = _compared(run, plan)
    correction = plan.thermometer_correction_K
    found = fit(
        expected.still, expected.sample, compared.volume_m3, compared.reading_K, correction, expected.compositions
    )
    target = _target(plan)
    composition = _composition(expected, found)
    best_volume, best_head = found.best_curve()
    fitted = best_head - correction + found.shift_K
    off = compared.reading_K - np.interp(compared.volume_m3, best_volume, fitted)
    part = RunReport(
        title=plan.title,
        target=plan.product.target,
        rows_read=len(run.rows),
        rows_used=len(compared.rows),
        rows_off=int(is_off_fit(off, found, compared.volume_m3).sum()),
        thermometer_correction_K=correction,
        offset_K=found.offset_K,
        offset_u95_K=found.offset_u95_K,
        residual_rms_K=float(np.sqrt(np.mean(off**2))),
        plateau=_plateau(compared, plan, best_volume, fitted),
        composition=composition,
        receivers=receivers(run, found, plan, target),
        product=product_by_the_sheet(run, found, plan, target),
        sheet_product=plan.product,
        departures=departures(compared.rows, plan.curve, found, correction, explained_by(composition, found)),
        noted=_trace(compared.volume_m3, compared.reading_K),
        best_fit=_trace(best_volume, fitted),
        verdict="",
        words=(),
        cautions=plan.cautions,
    )
    told = words(part, found, run, compared.n_beyond)
    return RunReport(**(vars(part) | {"verdict": verdict(part), "words": told}))


def _compared(run: Run, plan: Plan) -> _Compared:
    """The rows that are compared, in the order of the volume, which is that of the notes."""
    rows = run.compared
    limit = BEYOND * plan.curve.volume_m3[-1] if plan.curve.volume_m3 else np.inf
    kept = tuple(row for row in rows if row.volume_m3 is not None and row.volume_m3 <= limit)
    if len(kept) < FEWEST_COMPARED:
        raise WrongRun(
            f"Only {len(kept)} of the readings lie within the {1e6 * limit / BEYOND:.4g} mL that the recipe distils; "
            f"{FEWEST_COMPARED} are needed. Check the unit of the volume in line {rows[0].line} and below, and the "
            "amount in the recipe."
        )
    volume = np.array([row.volume_m3 for row in kept], dtype=np.float64)
    reading = np.array([row.reading_K for row in kept], dtype=np.float64)
    _refuse_another_scale(reading, plan)
    return _Compared(kept, volume, reading, len(rows) - len(kept))


def _refuse_another_scale(reading_K: Array, plan: Plan) -> None:
    """Raise WrongRun for readings far from all that the sheet expects: in another unit, or of another batch."""
    if not plan.curve.volume_m3:
        return
    middle, low, high = float(np.median(reading_K)), min(plan.curve.low_K), max(plan.curve.high_K)
    if not low - FAR_K <= middle <= high + FAR_K:
        raise WrongRun(
            f"The readings lie about {celsius(middle)}, and the sheet expects {celsius(low)} to {celsius(high)}. Name "
            "the unit in the header of their column (°C, °F or K), and see that the recipe is that of this batch."
        )


def _target(plan: Plan) -> int:
    return next(place for place, row in enumerate(plan.ingredients) if row.name == plan.product.target)


def _composition(expected: Expected, found: Fit) -> tuple[CompositionRow, ...]:
    """Each ingredient by mass; whether it is drawn to an end of its range shows in the label's own shares."""
    still = expected.still
    rows = []
    by_mass = found.mass_fractions().T
    for place, (row, low, high) in enumerate(zip(expected.plan.ingredients, still.lower, still.upper, strict=True)):
        values, before = found.compositions[:, place], found.prior[:, place]
        spread = float(np.sqrt(found.weights @ (values - found.weights @ values) ** 2))
        rows.append(
            CompositionRow(
                row.name,
                row.mass_fraction.low,
                row.mass_fraction.high,
                row.mass_fraction.value,
                weighted_interval(by_mass[place], found.weights),
                _edge(values, found.weights, before, float(low), float(high)),
                bool(high > low and spread < TOLD * float(before.std())),
            )
        )
    return tuple(rows)


def _edge(values: Array, weights: Array, before: Array, low: float, high: float) -> str | None:
    """The end of the range at which the estimate piles up; None where it does not."""
    outer = EDGE * (high - low)
    if outer <= 0.0:
        return None
    for name, is_there, was_there in (
        ("lower", values < low + outer, before < low + outer),
        ("upper", values > high - outer, before > high - outer),
    ):
        if weights[is_there].sum() > AT_THE_EDGE and was_there.mean() < BY_CHANCE:
            return name
    return None


def _plateau(compared: _Compared, plan: Plan, best_volume_m3: Array, fitted_K: Array) -> Plateau | None:
    noted = thinned(Readings(compared.volume_m3, compared.reading_K))
    ends = find_plateau(noted.volume_m3, noted.reading_K)
    if ends is None:
        return None
    there = slice(ends[0], ends[1] + 1)
    volume = noted.volume_m3[there]
    curve = plan.curve
    sheet = float(np.interp(volume, curve.volume_m3, curve.reading_K).mean()) if curve.volume_m3 else None
    return Plateau(
        float(volume[0]),
        float(volume[-1]),
        float(np.median(noted.reading_K[there])),
        sheet,
        float(np.interp(volume, best_volume_m3, fitted_K).mean()),
    )


def _trace(volume_m3: Array, reading_K: Array) -> Trace:
    return Trace(tuple(map(float, volume_m3)), tuple(map(float, reading_K)))

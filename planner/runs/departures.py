"""Where a batch departed from its sheet, and from the best that the label allows."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from ..stills.feed import COVERAGE_FACTOR
from ..stills.results import HeadCurve
from .fitting import Fit
from .likelihood import reading_u_K, slopes
from .reasons import Signs, reason
from .results import Departure
from .run import Row

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FIT_FACTOR = 2.5
"""A reading lies off the best fit beyond so many standard uncertainties: few of an even hundred do by chance."""
_AROUND = 0.03
"""Share of all that distils around a stretch in which the curve's rise is looked at."""
SHEET, BEST_FIT = "sheet", "best fit"


def departures(
    rows: Sequence[Row], curve: HeadCurve, found: Fit, correction_K: float, explained_by: str
) -> tuple[Departure, ...]:
    """Stretches of compared rows outside the sheet's band, and outside that of the best fit, in the order of volume.

    `explained_by` says what is different where the best fit explains readings outside the sheet's band.
    """
    volume = np.array([row.volume_m3 for row in rows], dtype=np.float64)
    reading = np.array([row.reading_K for row in rows], dtype=np.float64)
    best_volume, best_head = found.best_curve()
    off_fit = reading - (np.interp(volume, best_volume, best_head) - correction_K + found.shift_K)
    is_off = is_off_fit(off_fit, found, volume)
    rate = _rates(rows, volume)
    told = []
    for part in _stretches(off_fit, is_off):
        told.append(
            _departure(rows, volume, off_fit, part, BEST_FIT, reason(_signs(rows, volume, off_fit, part, rate, found)))
        )
    if curve.volume_m3:
        u95 = COVERAGE_FACTOR * uncertainty_K(found, volume)
        low, high, middle = (
            np.interp(volume, curve.volume_m3, line) for line in (curve.low_K, curve.high_K, curve.reading_K)
        )
        is_off_sheet = ((reading < low - u95) | (reading > high + u95)) & ~is_off
        for part in _stretches(reading - middle, is_off_sheet):
            told.append(_departure(rows, volume, reading - middle, part, SHEET, explained_by))
    return tuple(sorted(told, key=lambda one: (one.from_volume_m3, one.to_volume_m3)))


def is_off_fit(off_K: Array, found: Fit, volume_m3: Array) -> Flags:
    """Whether readings lie off the best fit, by `off_K`, (n,), further than chance makes likely."""
    return np.abs(off_K) > FIT_FACTOR * uncertainty_K(found, volume_m3)


def uncertainty_K(found: Fit, volume_m3: Array) -> Array:
    """Standard uncertainty of a reading against the best fit at volumes, (n,)."""
    best_volume, best_head = found.best_curve()
    slope = slopes(best_volume[None], best_head[None], volume_m3)[0]
    return reading_u_K(slope, found.curves.curve_u95_K / COVERAGE_FACTOR)


def _stretches(difference_K: Array, is_off: Flags) -> Iterator[slice]:
    """Runs of rows that are off on the same side."""
    side = np.where(is_off, np.sign(difference_K), 0.0)
    starts = [0, *(np.flatnonzero(np.diff(side)) + 1).tolist(), len(side)]
    for start, end in itertools.pairwise(starts):
        if end > start and side[start]:
            yield slice(start, end)


def _departure(
    rows: Sequence[Row], volume_m3: Array, difference_K: Array, part: slice, against: str, why: str
) -> Departure:
    there = volume_m3[part]
    lines = rows[part.start].line, rows[part.stop - 1].line
    return Departure(float(there[0]), float(there[-1]), lines, float(difference_K[part].mean()), against, why)


def _signs(rows: Sequence[Row], volume_m3: Array, difference_K: Array, part: slice, rate: Array, found: Fit) -> Signs:
    best_volume, best_head = found.best_curve()
    whole = float(best_volume[-1])
    around = np.array([volume_m3[part.start] - _AROUND * whole, volume_m3[part.stop - 1] + _AROUND * whole])
    before, after = np.interp(around, best_volume, best_head)
    known = rate[part][np.isfinite(rate[part])]
    remarks = "; ".join(row.remark for row in rows[max(part.start - 1, 0) : part.stop] if row.remark)
    return Signs(
        n=part.stop - part.start,
        difference_K=float(difference_K[part].mean()),
        place=float(volume_m3[part.start]) / whole,
        rate=float(np.median(known)) if known.size else None,
        rise_K=float(after - before),
        remarks=remarks,
    )


def _rates(rows: Sequence[Row], volume_m3: Array) -> Array:
    """Take-off up to each row over the median of the run, (n,); NaN without times."""
    times = np.array([np.nan if row.time_s is None else row.time_s for row in rows])
    step = np.diff(times, prepend=np.nan)
    rate = np.where(step > 0.0, np.diff(volume_m3, prepend=np.nan) / np.where(step > 0.0, step, 1.0), np.nan)
    known = rate[np.isfinite(rate) & (rate > 0.0)]
    return rate / np.median(known) if known.size else np.full(len(rows), np.nan)

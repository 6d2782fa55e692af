"""The temperatures at which ln p(T) reaches given values, many at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from .minimise import Array, Places

LnPressure = Callable[[Array, Places], tuple[Array, Array]]
"""ln p and about its slope, each (A,), at temperatures (A,) of the searches at A places."""

FOUND, AT_LOW_END, AT_HIGH_END, NO_VALUE, UNSETTLED = range(5)

LN_PRESSURE_TOLERANCE = 1e-11
_ROUNDING = 1e-7
"""Less may be the rounding of a pressure that is itself searched for, and says not on which side the root lies."""
_LEAST_STEP_K = 1e-3
"""Temperatures nearer than this tell too little of what the slope leaves out."""
_MOST_STEPS = 80


def temperatures_where(
    ln_pressure: LnPressure,
    target: Array,
    start_K: Array,
    low_K: Array,
    high_K: Array,
    tolerance: float = LN_PRESSURE_TOLERANCE,
) -> tuple[Array, NDArray[np.int64]]:
    """Temperatures between the bounds at which ln p is the target, and how each search ended, all (S,).

    Newton's method in 1/T, in which ln p is nearly straight, inside a bracket
    that closes from the bounds. What the slope leaves out (how activity
    coefficients change) is learned from the step before, as a secant.
    """
    low, high = low_K.copy(), high_K.copy()
    low_seen, high_seen = np.zeros(len(low), dtype=np.bool_), np.zeros(len(low), dtype=np.bool_)
    T = np.clip(start_K, low, high)
    end = np.full(len(T), UNSETTLED)
    end[~(low <= high)] = AT_LOW_END
    before_T, before_ln_p, before_slope, left_out = np.full((4, len(T)), np.nan)
    left_out[:] = 0.0
    active = np.flatnonzero(low <= high)
    for _ in range(_MOST_STEPS):
        if not active.size:
            break
        at = T[active]
        ln_p, slope = ln_pressure(at, active)
        short_by = target[active] - ln_p
        end[active] = _ended(short_by, at, low_K[active], high_K[active], tolerance)
        below, above = short_by > _ROUNDING, short_by < -_ROUNDING
        low[active], high[active] = np.where(below, at, low[active]), np.where(above, at, high[active])
        low_seen[active] |= below
        high_seen[active] |= above
        step = at - before_T[active]
        expected = 0.5 * (slope + before_slope[active]) * step
        with np.errstate(divide="ignore", invalid="ignore"):
            learned = (ln_p - before_ln_p[active] - expected) / step
            left_out[active] = np.where(np.abs(step) > _LEAST_STEP_K, learned, left_out[active])
            newton = at / (1.0 - short_by / ((slope + left_out[active]) * at))
        before_T[active], before_ln_p[active], before_slope[active] = at, ln_p, slope
        T[active] = _next(newton, short_by, low[active], high[active], low_seen[active], high_seen[active])
        T[active] = np.where(end[active] == UNSETTLED, T[active], at)
        active = active[end[active] == UNSETTLED]
    return T, end


def _ended(short_by: Array, T_K: Array, low_K: Array, high_K: Array, tolerance: float) -> NDArray[np.int64]:
    """How searches that are short by so much at these temperatures have ended, if they have."""
    end = np.full(len(T_K), UNSETTLED)
    end[(short_by < 0.0) & (low_K >= T_K)] = AT_LOW_END
    end[(short_by > 0.0) & (high_K <= T_K)] = AT_HIGH_END
    end[np.abs(short_by) <= tolerance] = FOUND
    end[np.isnan(short_by)] = NO_VALUE
    return end


def _next(
    newton: Array, short_by: Array, low: Array, high: Array, low_seen: NDArray[np.bool_], high_seen: NDArray[np.bool_]
) -> Array:
    """The next temperatures: Newton's where they lie in the bracket, else a bound not seen yet, else the middle."""
    upward = short_by > 0.0
    # A step in the wrong direction, or to a negative temperature, comes of a slope that is no guide.
    guided = np.where(upward, newton > low, (newton < high) & (newton > 0.0))
    towards = np.where(upward, high, low)
    unseen = ~np.where(upward, high_seen, low_seen)
    beyond = ~guided | (newton >= high) | (newton <= low)
    return np.where(beyond, np.where(unseen, towards, 0.5 * (low + high)), newton)

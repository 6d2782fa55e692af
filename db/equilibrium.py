"""Boiling and condensing of mixtures of any number of components, many states at once.

Modified Raoult's law, the vapour taken as ideal:

    p y_i = x_i γ_i(x, T) p*_i(T).

A bubble point is one equation in T. A dew point is the least pressure at which
a drop can form: with the distance D of `liquid_split` and d_i = ln y_i - ln p*_i(T),
ln p = min_x D(x), the condition that the drop's Gibbs energy touches the tangent
plane of the vapour (M. L. Michelsen, Fluid Phase Equilib. 9 (1982) 1-19). It is
searched from several starts, so that of two possible drops the one is found that
forms first.

States stand in rows: mole fractions (S, N), temperatures and pressures (S,);
`db.mixtures` gives them the shapes of the question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from .liquid_split import (
    UNKNOWN_ACTIVITY,
    LnGamma,
    log_of,
    nearest_trial,
    trial_starts,
)
from .minimise import Array, Places
from .mixture_curves import MixtureCurves
from .temperature_search import AT_HIGH_END, AT_LOW_END, FOUND, NO_VALUE, LnPressure, temperatures_where

UNSETTLED = "no temperature could be settled on"
UNSETTLED_DROP = "the liquid of the first drop could not be settled"

_DROP_TOLERANCE = 1e-8
"""Largest gradient at the liquid of a dew point; its pressure is exact to the square of that."""
SAME_LN_PRESSURE = 1e-9
MOST_ROUNDS = 5


@dataclass(frozen=True)
class PhaseEquilibrium:
    """Liquid and vapour in equilibrium; components on the last axis of the mole fractions.

    Where `converged` is false all numbers are NaN and `reason` says why;
    elsewhere it is empty. `extrapolated` marks states in which the curve of a
    component that is present is asked outside its valid range.
    """

    temperature_K: Array
    pressure_Pa: Array
    liquid: Array
    vapour: Array
    converged: NDArray[np.bool_]
    reason: NDArray[np.object_]
    extrapolated: NDArray[np.bool_]


def answer(
    curves: MixtureCurves, T_K: Array, ln_p: Array, liquid: Array, vapour: Array, reason: NDArray[np.object_]
) -> PhaseEquilibrium:
    """The equilibrium with NaN where there is a reason."""
    converged = reason == ""
    extrapolated = converged & curves.extrapolated(T_K, liquid > 0.0)
    T, p = np.where(converged, T_K, np.nan), np.where(converged, np.exp(ln_p), np.nan)
    liquid, vapour = (np.where(converged[:, None], of_one, np.nan) for of_one in (liquid, vapour))
    return PhaseEquilibrium(T, p, liquid, vapour, converged, reason, extrapolated)


def why_no_temperature(
    curves: MixtureCurves, end: NDArray[np.int64], present: NDArray[np.bool_]
) -> NDArray[np.object_]:
    """The reasons for which searches of temperatures ended, empty where they found one."""
    reason = np.full(len(end), UNSETTLED, dtype=object)
    reason[end == FOUND] = ""
    reason[end == NO_VALUE] = UNKNOWN_ACTIVITY
    for row in np.flatnonzero((end == AT_LOW_END) | (end == AT_HIGH_END)):
        reason[row] = curves.why_no_temperature(bool(end[row] == AT_HIGH_END), present[row])
    return reason


class _Phase(Protocol):
    def ln_pressure(self, T_K: Array, rows: Places) -> tuple[Array, Array]: ...


def among(rows: Places, phase: _Phase) -> LnPressure:
    """ln p of some of the states alone, for a search that counts these from 0."""
    return lambda T_K, places: phase.ln_pressure(T_K, rows[places])


class Liquid:
    """ln p over a liquid of activities ln x_i γ_i, and the vapour (S, N) that goes with it."""

    def __init__(self, curves: MixtureCurves, ln_gamma: LnGamma, x: Array) -> None:
        self._curves, self._ln_gamma, self._x, self._ln_x = curves, ln_gamma, x, log_of(x)
        self.vapour = np.full_like(x, np.nan)

    def ln_activities(self, T_K: Array, rows: Places) -> Array:
        """ln x_i γ_i of the states in some rows, (A, N)."""
        return self._ln_x[rows] + self._ln_gamma(self._x[rows], T_K)

    def ln_pressure(self, T_K: Array, rows: Places) -> tuple[Array, Array]:
        """ln p of the states in some rows and its slope in 1/K without that of the activities, (A,)."""
        ln_p, slopes = self._curves.ln_pressures(T_K, self._x[rows] > 0.0)
        return self._over(self.ln_activities(T_K, rows), ln_p, slopes, rows)

    def ideal_ln_pressure(self, T_K: Array, rows: Places) -> tuple[Array, Array]:
        """The same with activity coefficients of 1."""
        ln_p, slopes = self._curves.ln_pressures(T_K, self._x[rows] > 0.0)
        return self._over(self._ln_x[rows], ln_p, slopes, rows)

    def _over(self, ln_a: Array, ln_p: Array, slopes: Array, rows: Places) -> tuple[Array, Array]:
        partial = ln_a + ln_p
        highest = partial.max(axis=-1, keepdims=True)
        shares = np.exp(partial - highest)
        total = shares.sum(-1, keepdims=True)
        self.vapour[rows] = y = shares / total
        return (highest + np.log(total))[:, 0], (y * slopes).sum(-1)


def bubble_pressure(curves: MixtureCurves, ln_gamma: LnGamma, x: Array, T_K: Array) -> PhaseEquilibrium:
    """Where liquids, each taken as one, begin to boil at given temperatures."""
    liquid = Liquid(curves, ln_gamma, x)
    ln_p, _ = liquid.ln_pressure(T_K, np.arange(len(x)))
    reason = curves.why_not(T_K, x > 0.0)
    reason[(reason == "") & np.isnan(ln_p)] = UNKNOWN_ACTIVITY
    return answer(curves, T_K, ln_p, x, liquid.vapour, reason)


def bubble_temperature(curves: MixtureCurves, ln_gamma: LnGamma, x: Array, ln_p: Array) -> PhaseEquilibrium:
    """Where liquids, each taken as one, begin to boil at given pressures."""
    liquid = Liquid(curves, ln_gamma, x)
    T, end = bubble_search(curves, liquid, x, ln_p)
    return answer(curves, T, ln_p, x, liquid.vapour, why_no_temperature(curves, end, x > 0.0))


def bubble_search(curves: MixtureCurves, liquid: Liquid, x: Array, ln_p: Array) -> tuple[Array, NDArray[np.int64]]:
    """Bubble temperatures and how their searches ended; the ideal liquid's, which cost little, are the start."""
    low, high = curves.limits_K(x > 0.0)
    start, _ = temperatures_where(liquid.ideal_ln_pressure, ln_p, 2.0 / (1.0 / low + 1.0 / high), low, high)
    return temperatures_where(liquid.ln_pressure, ln_p, start, low, high)


class _Vapour:
    """ln p at which a first drop forms from a vapour, and the drop (S, N)."""

    def __init__(self, curves: MixtureCurves, ln_gamma: LnGamma, y: Array) -> None:
        self._curves, self._ln_gamma, self._y, self._ln_y = curves, ln_gamma, y, log_of(y)
        self.drop, self.gradient = y.copy(), np.full(len(y), np.nan)

    def _tangent(self, T_K: Array, rows: Places) -> tuple[Array, Array]:
        ln_p, slopes = self._curves.ln_pressures(T_K, self._y[rows] > 0.0)
        return self._ln_y[rows] - ln_p, slopes

    def ideal_ln_pressure(self, T_K: Array, rows: Places) -> tuple[Array, Array]:
        d, slopes = self._tangent(T_K, rows)
        highest = d.max(axis=-1, keepdims=True)
        shares = np.exp(d - highest)
        total = shares.sum(-1, keepdims=True)
        self.drop[rows] = x = shares / total
        return -(highest + np.log(total))[:, 0], (x * slopes).sum(-1)

    def ln_pressure(self, T_K: Array, rows: Places) -> tuple[Array, Array]:
        """From the drop that was found last."""
        return self._descended(T_K, rows, self.drop[rows][:, None, :])

    def first_ln_pressure(self, T_K: Array, rows: Places) -> Array:
        """From all starts."""
        starts = np.concatenate([trial_starts(self._y[rows], self.drop[rows]), self._y[rows][:, None, :]], axis=1)
        return self._descended(T_K, rows, starts)[0]

    def _descended(self, T_K: Array, rows: Places, starts: Array) -> tuple[Array, Array]:
        d, slopes = self._tangent(T_K, rows)
        self.drop[rows], D, self.gradient[rows] = nearest_trial(self._ln_gamma, d, T_K, starts)
        return D, (self.drop[rows] * slopes).sum(-1)


def dew_pressure(curves: MixtureCurves, ln_gamma: LnGamma, y: Array, T_K: Array) -> PhaseEquilibrium:
    """Where vapours begin to condense at given temperatures."""
    vapour, ln_p = _Vapour(curves, ln_gamma, y), np.full(len(y), np.nan)
    reason = curves.why_not(T_K, y > 0.0)
    rows = np.flatnonzero(reason == "")
    vapour.ideal_ln_pressure(T_K[rows], rows)
    ln_p[rows] = vapour.first_ln_pressure(T_K[rows], rows)
    reason[rows[~(vapour.gradient[rows] <= _DROP_TOLERANCE)]] = UNSETTLED_DROP
    reason[rows[np.isnan(ln_p[rows])]] = UNKNOWN_ACTIVITY
    return answer(curves, T_K, ln_p, vapour.drop, y, reason)


def dew_temperature(curves: MixtureCurves, ln_gamma: LnGamma, y: Array, ln_p: Array) -> PhaseEquilibrium:
    """Where vapours begin to condense at given pressures."""
    present, vapour = y > 0.0, _Vapour(curves, ln_gamma, y)
    low, high = curves.limits_K(present)
    T, _ = temperatures_where(vapour.ideal_ln_pressure, ln_p, 2.0 / (1.0 / low + 1.0 / high), low, high)
    end = np.where(low <= high, FOUND, AT_LOW_END)
    rows = np.flatnonzero(low <= high)
    vapour.first_ln_pressure(T[rows], rows)
    for _ in range(MOST_ROUNDS):
        T[rows], end[rows] = temperatures_where(among(rows, vapour), ln_p[rows], T[rows], low[rows], high[rows])
        # Another drop that forms at a lower pressure, thus at a higher temperature, is the first one.
        other = vapour.first_ln_pressure(T[rows], rows) < ln_p[rows] - SAME_LN_PRESSURE
        rows = rows[other & (end[rows] != AT_HIGH_END)]
        if not rows.size:
            break
    reason = why_no_temperature(curves, end, present)
    reason[(reason == "") & ~(vapour.gradient <= _DROP_TOLERANCE)] = UNSETTLED_DROP
    reason[rows] = UNSETTLED
    return answer(curves, T, ln_p, vapour.drop, y, reason)

"""Vapour-pressure curves of many components at once, in NumPy.

Everything comes from the store: a curve's coefficients, which already lead it
through the evaluated normal boiling point, its valid range, the limits of
allowed extrapolation, and its band: the relative expanded uncertainty of the
pressure at each of `BAND_PRESSURES_PA`, linear in ln p between them, with the
end values beyond. A boiling point's uncertainty is the band's at that pressure
over the slope d ln p / dT (GUM, JCGM 100:2008, 5.1.3: uncertainty times
sensitivity coefficient).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cutpoint.schema.equations import BAND_PRESSURES_PA, FORMS, WIDTH, ln_pressure, ln_pressure_slope, temperature_at

Array = NDArray[np.float64]
Places = NDArray[np.int64]

_EQUATIONS = tuple(FORMS)
_BAND_LN_P = np.log(np.array(BAND_PRESSURES_PA))
_OF_EACH_CURVE = (
    "_form", "_coefficients", "_T_min", "_T_max", "_T_lowest", "_T_highest", "_band", "n_sources", "_ln_p_lowest",
    "_ln_p_highest",
)  # fmt: skip
"""Arrays of a bank whose first axis is that of the curves."""
_LN_P_MARGIN = 1e-9
"""How far past the end of a curve a logarithm of a pressure may lie and still count as reached; that of the inverse."""
_T_MARGIN = 1e-12
"""The same for temperatures, relative."""


@dataclass(frozen=True)
class CurveValues:
    """Values of a bank with their expanded uncertainty; NaN where a curve does not reach. Last axis: components."""

    value: Array
    u95: Array
    extrapolated: NDArray[np.bool_]


class CurveBank:
    """Curves of N components; `cas` holds their numbers in the order of the last axis of every answer.

    Rows are (cas, equation, coefficients, T_min_K, T_max_K, T_lowest_K,
    T_highest_K, band_u95_relative, n_sources) of the table `vapour_curve`, the
    coefficients padded to `WIDTH` with None or NaN; a curve rises from
    T_lowest_K to T_highest_K.
    """

    def __init__(self, rows: Sequence[Sequence[Any]]) -> None:
        self.cas: tuple[str, ...] = tuple(row[0] for row in rows)
        self._form = np.array([_EQUATIONS.index(row[1]) for row in rows], dtype=np.int64)
        self._coefficients = np.array([row[2] for row in rows], dtype=np.float64).reshape(len(rows), WIDTH)
        ends_K = np.array([row[3:7] for row in rows], dtype=np.float64).reshape(len(rows), 4).T
        self._T_min, self._T_max, self._T_lowest, self._T_highest = ends_K
        self._band = np.array([row[7] for row in rows], dtype=np.float64).reshape(len(rows), len(BAND_PRESSURES_PA))
        self.n_sources: Places = np.array([row[8] for row in rows], dtype=np.int64)
        """Correlations behind each curve; 0 for an estimate. Shape (N,)."""
        self._groups = self._grouped()
        self._ln_p_lowest, self._ln_p_highest = self._ln_pressure(np.stack([self._T_lowest, self._T_highest]))

    def __len__(self) -> int:
        return len(self.cas)

    def take(self, places: Places) -> CurveBank:
        """The bank of the curves at some places."""
        part = copy(self)
        part.cas = tuple(self.cas[place] for place in places)
        for name in _OF_EACH_CURVE:
            setattr(part, name, getattr(self, name)[places])
        part._groups = part._grouped()
        return part

    def with_those_of(self, other: CurveBank) -> CurveBank:
        """The bank of these curves and, after them, the other's."""
        both = copy(self)
        both.cas = self.cas + other.cas
        for name in _OF_EACH_CURVE:
            setattr(both, name, np.concatenate([getattr(self, name), getattr(other, name)]))
        both._groups = both._grouped()
        return both

    def range_K(self) -> tuple[Array, Array]:
        """Lowest and highest temperatures of the valid ranges; shape (N,) each."""
        return self._T_min, self._T_max

    def limits_K(self) -> tuple[Array, Array]:
        """Lowest and highest temperatures that the curves carry, extrapolation included; shape (N,) each."""
        return self._T_lowest, self._T_highest

    def pressure_limits_Pa(self) -> tuple[Array, Array]:
        """Pressures at the limits of temperature; shape (N,) each."""
        return np.exp(self._ln_p_lowest), np.exp(self._ln_p_highest)

    def carries(self, T_K: ArrayLike) -> NDArray[np.bool_]:
        """Which curves carry to the temperatures, extrapolation included; shapes as in `vapour_pressures`."""
        T = np.asarray(T_K, dtype=np.float64)
        carried: NDArray[np.bool_] = (self._T_lowest * (1.0 - _T_MARGIN) <= T) & (
            self._T_highest * (1.0 + _T_MARGIN) >= T
        )
        return carried

    def reaches(self, pressure_Pa: float) -> NDArray[np.bool_]:
        """Which curves carry to the pressure, extrapolation included; shape (N,)."""
        ln_p = math.log(pressure_Pa)
        reached: NDArray[np.bool_] = (self._ln_p_lowest - _LN_P_MARGIN <= ln_p) & (
            ln_p <= self._ln_p_highest + _LN_P_MARGIN
        )
        return reached

    def boiling_points(self, pressure_Pa: float | Array) -> CurveValues:
        """Boiling temperatures of all components at one pressure, or each at its own, K; shape (N,)."""
        return self._boiling(pressure_Pa, self._T_lowest, self._T_highest)

    def _boiling(self, pressure_Pa: float | Array, low_K: Array, high_K: Array) -> CurveValues:
        """Boiling temperatures where they lie between bounds inside the limits; NaN elsewhere."""
        T = np.empty(len(self))
        for equation, places in self._groups:
            p_Pa = pressure_Pa if np.ndim(pressure_Pa) == 0 else np.asarray(pressure_Pa)[places]
            T[places] = temperature_at(equation, self._coefficients[places], p_Pa, low_K[places], high_K[places])
        u95 = self.relative_u95(pressure_Pa) / self._by_form(ln_pressure_slope, T)
        return CurveValues(T, u95, self._outside(T))

    def boiling_between(self, pressure_Pa: float, low_K: float, high_K: float) -> tuple[Places, CurveValues]:
        """Places and boiling points of the curves that reach the pressure between two temperatures.

        Only these are inverted: a curve reaches the pressure inside the window
        where its own pressures at the two ends lie on either side of it.
        """
        ln_p_low, ln_p_high = (
            self._ln_pressure(np.clip(end_K, self._T_lowest, self._T_highest)) for end_K in (low_K, high_K)
        )
        ln_p = math.log(pressure_Pa)
        between = (ln_p_low - _LN_P_MARGIN <= ln_p) & (ln_p <= ln_p_high + _LN_P_MARGIN)
        places = np.flatnonzero(between)
        low, high = np.maximum(low_K, self._T_lowest[places]), np.minimum(high_K, self._T_highest[places])
        return places, self.take(places)._boiling(pressure_Pa, low, high)

    def vapour_pressures(self, T_K: ArrayLike) -> CurveValues:
        """Vapour pressures, Pa: temperatures of shape (..., 1) or (..., N) give (..., N); a number gives (N,)."""
        T = self._carried(T_K)
        ln_p = self._ln_pressure(T)
        p = np.exp(ln_p)
        return CurveValues(p, p * self.relative_u95_at(ln_p), self._outside(T))

    def pressures_Pa(self, T_K: ArrayLike) -> Array:
        """The values of `vapour_pressures` alone."""
        ln_p = self._ln_pressure(self._carried(T_K))
        return np.exp(ln_p, out=ln_p)

    def clipped_ln_pressures(self, T_K: Array) -> Array:
        """ln(p / Pa) at the temperatures moved inside each curve's limits; shape (..., N).

        For searches that may pass a curve's end on their way; `carries` tells where they have.
        """
        return self._ln_pressure(self._clipped(T_K))

    def clipped_slopes(self, T_K: Array) -> Array:
        """d ln p / dT, 1/K, at the temperatures moved inside each curve's limits; shape (..., N)."""
        return self._by_form(ln_pressure_slope, self._clipped(T_K))

    def _clipped(self, T_K: Array) -> Array:
        return np.minimum(np.maximum(T_K, self._T_lowest), self._T_highest)

    def rough_boiling_points(self, ln_p: Array) -> Array:
        """Temperatures at logarithms of pressures, K, (N,), as if ln p were straight in 1/T; NaN where not reached.

        Some kelvins off: where a search starts.
        """
        low, high = self._ln_p_lowest, self._ln_p_highest
        with np.errstate(divide="ignore", invalid="ignore"):
            share = np.minimum(np.maximum((ln_p - low) / (high - low), 0.0), 1.0)
        T = 1.0 / ((1.0 - share) / self._T_lowest + share / self._T_highest)
        return np.where((low - _LN_P_MARGIN <= ln_p) & (ln_p <= high + _LN_P_MARGIN), T, np.nan)

    def _carried(self, T_K: ArrayLike) -> Array:
        """The temperatures, NaN where a curve does not reach."""
        T = np.asarray(T_K, dtype=np.float64)
        # Most often every curve carries to all of them, which the two ends tell at little cost.
        if T.size and T.min() >= self._T_lowest.max(initial=0.0) and T.max() <= self._T_highest.min(initial=np.inf):
            return T
        return np.where(self.carries(T), T, np.nan)

    def _grouped(self) -> list[tuple[str, int | Places]]:
        """The places of each form; a lone place is a plain number, since scalars are twice as fast as arrays of one."""
        if len(self) > 1 and (self._form == self._form[0]).all():
            return [(_EQUATIONS[self._form[0]], np.arange(len(self)))]
        groups: list[tuple[str, int | Places]] = []
        for code, equation in enumerate(_EQUATIONS):
            places = np.flatnonzero(self._form == code)
            if places.size:
                groups.append((equation, int(places[0]) if places.size == 1 else places))
        return groups

    def _ln_pressure(self, T: Array) -> Array:
        return self._by_form(ln_pressure, T)

    def _by_form(self, function: Any, T: Array) -> Array:
        if len(self) == 1:
            [(equation, _)] = self._groups
            return np.atleast_1d(function(equation, self._coefficients[0], T))
        if T.shape[-1:] != (len(self),):
            T = np.broadcast_to(T, (*T.shape[:-1], len(self)) if T.ndim else (len(self),))
        if len(self._groups) == 1:
            return np.asarray(function(self._groups[0][0], self._coefficients, T))
        answer = np.empty(T.shape)
        for equation, places in self._groups:
            answer[..., places] = function(equation, self._coefficients[places], T[..., places])
        return answer

    def relative_u95(self, pressure_Pa: float | Array) -> Array:
        """Relative expanded uncertainty of each curve's pressure where it is `pressure_Pa`; shape (N,)."""
        return self.relative_u95_at(np.log(pressure_Pa))

    def _outside(self, T: Array) -> NDArray[np.bool_]:
        outside: NDArray[np.bool_] = (self._T_min > T) | (self._T_max < T)
        return outside

    def relative_u95_at(self, ln_p: Array | np.float64) -> Array:
        """The bands at these logarithms of pressures; shapes (), (N,) or (..., N) give (N,) or (..., N)."""
        if len(self) == 1:
            return np.atleast_1d(np.interp(ln_p, _BAND_LN_P, self._band[0]))
        after = np.searchsorted(_BAND_LN_P[1:-1], ln_p) + 1
        start = _BAND_LN_P[after - 1]
        share = np.clip((ln_p - start) / (_BAND_LN_P[after] - start), 0.0, 1.0)
        curves = np.arange(len(self))
        u95: Array = (1.0 - share) * self._band[curves, after - 1] + share * self._band[curves, after]
        return u95

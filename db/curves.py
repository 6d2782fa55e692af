"""Vapour-pressure curves of many components at once, in NumPy.

**Scaling.** A curve and the evaluated normal boiling point come from different
evidence. So that both answers agree, each curve's temperatures are multiplied
by T_b(evaluated) / T_b(curve): it then passes through the evaluated normal
boiling point, and heats of vaporisation keep their ratio to R T_b (the
principle of corresponding states at constant entropy of vaporisation,
Trouton's rule: F. Trouton, Phil. Mag. 18 (1884) 54-57). A curve that does not
reach 101 325 Pa, or has no evaluated boiling point beside it, stays as it is;
one that would have to be scaled by more than a twentieth contradicts the
evaluation, and neither is trusted at other pressures: it gives no values.

**Uncertainty.** Root sum of squares (GUM, JCGM 100:2008, 5.1.2, sensitivity
coefficients times components) of three parts: that of the evaluated boiling
point, in proportion to T; the curve's relative one, which d ln p / dT turns
into kelvins; and the scaling itself, since it shows by how much curve and
evaluation disagree. The curve being pinned at 101 325 Pa, the last two count
there with nothing, and in full from a factor e in pressure on.

**Extrapolation.** Down to 0.9 T_min and up to 1.1 T_max, never above the
critical temperature. A tenth in T is by Trouton's rule about a factor three in
pressure. Beyond the range the heat of vaporisation, the slope, is taken to be
uncertain by a tenth: that share of the change of ln p since the end of the
range is added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cutpoint.schema.equations import COEFFICIENT_NAMES, WIDTH, ln_pressure, ln_pressure_slope, temperature_at
from cutpoint.schema.properties import ATMOSPHERE_PA

Array = NDArray[np.float64]

LOWEST_SHARE_OF_T_MIN = 0.9
HIGHEST_SHARE_OF_T_MAX = 1.1
SLOPE_U95_BEYOND_RANGE = 0.1
LARGEST_SCALING = 0.05


@dataclass(frozen=True)
class CurveValues:
    """Values of a bank with their expanded uncertainty; NaN where a curve does not reach. Last axis: components."""

    value: Array
    u95: Array
    extrapolated: NDArray[np.bool_]


class CurveBank:
    """Curves of N components; `cas` holds their numbers in the order of the last axis of every answer.

    Rows are (cas, equation, coefficients, T_min_K, T_max_K, u95_relative,
    n_sources, normal boiling point K, its U95 K, critical temperature K), the
    last three None or NaN where unknown.
    """

    def __init__(self, rows: Sequence[Sequence[Any]]) -> None:
        self.cas: tuple[str, ...] = tuple(row[0] for row in rows)
        equations = np.array([row[1] for row in rows], dtype=np.str_)
        self._groups = {str(equation): np.flatnonzero(equations == equation) for equation in np.unique(equations)}
        self._coefficients = np.full((len(rows), WIDTH), np.nan)
        for place, row in enumerate(rows):
            self._coefficients[place, : len(row[2])] = row[2]
        numbers = np.array([row[3:] for row in rows], dtype=np.float64).reshape(len(rows), 7).T
        self._T_min, self._T_max, self._u95_relative, sources, self._T_b, self._T_b_u95, T_c = numbers
        self.n_sources = sources.astype(np.int64)
        self._low, self._high = self._bounds(T_c)
        T_b_curve = self._invert(np.float64(ATMOSPHERE_PA))
        self._anchored = np.isfinite(T_b_curve) & np.isfinite(self._T_b)
        self._scale = np.where(self._anchored, self._T_b / T_b_curve, 1.0)
        self._high = np.fmin(self._high, T_c / self._scale)  # the critical temperature bounds the scaled ones
        self.contradicted: NDArray[np.bool_] = np.abs(self._scale - 1.0) > LARGEST_SCALING
        """Which curves contradict their evaluated boiling point, and so give no values; shape (N,)."""
        self._low[self.contradicted] = self._high[self.contradicted] = np.nan

    def __len__(self) -> int:
        return len(self.cas)

    def limits_K(self) -> tuple[Array, Array]:
        """Lowest and highest temperatures that the curves carry, extrapolation included; shape (N,) each."""
        return self._scale * self._low, self._scale * self._high

    def pressure_limits_Pa(self) -> tuple[Array, Array]:
        """Pressures at the limits of temperature; shape (N,) each."""
        return np.exp(self._ln_pressure(self._low)), np.exp(self._ln_pressure(self._high))

    def boiling_points(self, pressure_Pa: float) -> CurveValues:
        """Boiling temperatures of all components at one pressure, K; shape (N,)."""
        T = self._invert(np.float64(pressure_Pa))
        with np.errstate(invalid="ignore", divide="ignore"):
            own = self._scale * self._relative_u95(T) / self._slope(T)
        ln_distance = min(abs(float(np.log(pressure_Pa / ATMOSPHERE_PA))), 1.0)
        own_pinned = np.hypot(own, self._scaling() * T) * ln_distance
        pinned = np.hypot(own_pinned, self._T_b_u95 * T * self._scale / self._T_b)
        return CurveValues(self._scale * T, np.where(self._anchored, pinned, own), self._outside(T))

    def vapour_pressures(self, T_K: ArrayLike) -> CurveValues:
        """Vapour pressures, Pa: temperatures of shape (..., 1) or (..., N) give (..., N); a number gives (N,)."""
        T = self._own_temperatures(T_K)
        ln_p = self._ln_pressure(T)
        ln_distance = np.minimum(np.abs(ln_p - np.log(ATMOSPHERE_PA)), 1.0)
        own = self._relative_u95(T)
        to_relative = self._slope(T) * T
        own_pinned = np.hypot(own, to_relative * self._scaling()) * ln_distance
        pinned = np.hypot(own_pinned, to_relative * self._T_b_u95 / self._T_b)
        p = np.exp(ln_p)
        return CurveValues(p, p * np.where(self._anchored, pinned, own), self._outside(T))

    def pressures_Pa(self, T_K: ArrayLike) -> Array:
        """The values of `vapour_pressures` alone."""
        return np.exp(self._ln_pressure(self._own_temperatures(T_K)))

    def _own_temperatures(self, T_K: ArrayLike) -> Array:
        """The curves' own temperatures, before scaling; NaN where a curve does not reach."""
        T = np.asarray(T_K, dtype=np.float64) / self._scale
        carried = np.clip(T, self._low * (1.0 - 1e-12), self._high * (1.0 + 1e-12)) == T
        return np.where(carried, T, np.nan)

    def _bounds(self, T_c: Array) -> tuple[Array, Array]:
        """Limits of the curves' own temperatures; where a curve bends back beyond its range, the range itself."""
        low, high = self._T_min * LOWEST_SHARE_OF_T_MIN, self._T_max * HIGHEST_SHARE_OF_T_MAX
        high = np.fmin(high, np.maximum(T_c, self._T_max))
        for equation, places in self._groups.items():
            if equation.startswith("wagner"):
                own_T_c = self._coefficients[places, COEFFICIENT_NAMES[equation].index("T_c")]
                high[places] = np.fmin(high[places], own_T_c)
        with np.errstate(all="ignore"):
            rises_to_T_min = (self._ln_pressure(low) < self._ln_pressure(self._T_min)) & (self._slope(low) > 0.0)
            rises_from_T_max = (self._ln_pressure(high) > self._ln_pressure(self._T_max)) & (self._slope(high) > 0.0)
        return np.where(rises_to_T_min, low, self._T_min), np.where(rises_from_T_max, high, np.fmin(self._T_max, high))

    def _invert(self, pressure_Pa: np.float64) -> Array:
        T = np.empty(len(self))
        for equation, places in self._groups.items():
            coefficients = self._coefficients[places]
            T[places] = temperature_at(equation, coefficients, pressure_Pa, self._low[places], self._high[places])
        return T

    def _ln_pressure(self, T: Array) -> Array:
        return self._by_form(ln_pressure, T)

    def _slope(self, T: Array) -> Array:
        return self._by_form(ln_pressure_slope, T)

    def _by_form(self, function: Any, T: Array) -> Array:
        T = np.broadcast_to(T, (*T.shape[:-1], len(self)) if T.ndim else (len(self),))
        answer = np.empty(T.shape)
        for equation, places in self._groups.items():
            answer[..., places] = function(equation, self._coefficients[places], T[..., places])
        return answer

    def _scaling(self) -> Array:
        return np.abs(self._scale - 1.0)

    def _outside(self, T: Array) -> NDArray[np.bool_]:
        inside: NDArray[np.bool_] = np.clip(T, self._T_min, self._T_max) == T
        return np.isfinite(T) & ~inside

    def _relative_u95(self, T: Array) -> Array:
        """Relative expanded uncertainty of the pressure, grown beyond the range."""
        nearest = np.clip(T, self._T_min, self._T_max)
        beyond = SLOPE_U95_BEYOND_RANGE * (self._ln_pressure(T) - self._ln_pressure(nearest))
        return np.hypot(self._u95_relative, beyond)

"""Vapour-pressure equations: ln p(T), its slope, and the temperature at a pressure.

A row of coefficients means nothing without these, so they stand once for both
sides, in NumPy. Coefficients come as an array whose *last* axis holds up to
`WIDTH` numbers (shorter forms are padded with NaN); temperatures in K,
pressures in Pa, logarithms natural. Every function broadcasts the leading axes
of the coefficients against the temperatures.

Forms and their sources:

`antoine`            ln p = A - B / (T + C).  C. Antoine, C. R. Acad. Sci. 107 (1888) 681, 836.
`antoine_extended`   the same plus 0.43429 x^n ln 10 + (E x^8 + F x^12) ln 10 with
                     x = (T - t0 - 273.15) / T_c, where x > 0.  Poling, Prausnitz, O'Connell,
                     The Properties of Gases and Liquids, 5th edition, 2001, appendix A.
`wagner_3_6`         T_r ln(p/p_c) = A τ + B τ^1.5 + C τ^3 + D τ^6, τ = 1 - T_r.
                     W. Wagner, Cryogenics 13 (1973) 470-482.
`wagner_2.5_5`       the same with exponents 2.5 and 5.  D. Ambrose, J. Chem. Thermodyn. 18 (1986) 45-51.
`kirchhoff`          ln p = A + B/T + C ln T + D T^E, the Rankine-Kirchhoff equation with a
                     power term; Green and Perry, Perry's Chemical Engineers' Handbook, 8th edition, 2008, table 2-8.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .properties import ATMOSPHERE_PA, ICE_POINT_K

Array = NDArray[np.float64]
Form = Callable[[Array, Array], Array]

WIDTH = 8
"""Coefficients per curve, after padding."""

BAND_PRESSURES_PA = (1e-2, 1e0, 1e2, 1e3, 1e4, ATMOSPHERE_PA, 1e6, 1e7)
"""Pressures at which a curve states its uncertainty; between them it is linear in ln p."""

LN10 = 2.302585092994046
"""Natural logarithm of 10, written out so that converted coefficients have the same bits everywhere."""


def _antoine(coefficients: Array, T_K: Array) -> Array:
    a, b, c = (coefficients[..., place] for place in range(3))
    return a - b / (T_K + c)


def _antoine_slope(coefficients: Array, T_K: Array) -> Array:
    b, c = (coefficients[..., place] for place in (1, 2))
    return b / (T_K + c) ** 2


def _beyond(coefficients: Array, T_K: Array) -> Array:
    T_c, t_0 = (coefficients[..., place] for place in (3, 4))
    return np.maximum((T_K - t_0 - ICE_POINT_K) / T_c, 0.0)


def _antoine_extended(coefficients: Array, T_K: Array) -> Array:
    n, e, f = (coefficients[..., place] for place in range(5, 8))
    x = _beyond(coefficients, T_K)
    return _antoine(coefficients, T_K) + LN10 * (0.43429 * x**n + e * x**8 + f * x**12)


def _antoine_extended_slope(coefficients: Array, T_K: Array) -> Array:
    T_c, _, n, e, f = (coefficients[..., place] for place in range(3, 8))
    x = _beyond(coefficients, T_K)
    more = LN10 * (0.43429 * n * x ** (n - 1.0) + 8.0 * e * x**7 + 12.0 * f * x**11) / T_c
    return _antoine_slope(coefficients, T_K) + more


def _wagner(coefficients: Array, T_K: Array, exponents: tuple[float, float, float]) -> Array:
    a, b, c, d, T_c, p_c = (coefficients[..., place] for place in range(6))
    p, q, r = exponents
    T_r = T_K / T_c
    tau = np.maximum(1.0 - T_r, 0.0)
    return np.log(p_c) + (a * tau + b * tau**p + c * tau**q + d * tau**r) / T_r


def _wagner_slope(coefficients: Array, T_K: Array, exponents: tuple[float, float, float]) -> Array:
    a, b, c, d, T_c, _ = (coefficients[..., place] for place in range(6))
    p, q, r = exponents
    T_r = T_K / T_c
    tau = np.maximum(1.0 - T_r, 0.0)
    b_part, c_part, d_part = b * tau ** (p - 1.0), c * tau ** (q - 1.0), d * tau ** (r - 1.0)
    body = tau * (a + b_part + c_part + d_part)
    return -((a + p * b_part + q * c_part + r * d_part) + body / T_r) / (T_r * T_c)


def _kirchhoff(coefficients: Array, T_K: Array) -> Array:
    a, b, c, d, e = (coefficients[..., place] for place in range(5))
    return a + b / T_K + c * np.log(T_K) + d * T_K**e


def _kirchhoff_slope(coefficients: Array, T_K: Array) -> Array:
    b, c, d, e = (coefficients[..., place] for place in range(1, 5))
    return -b / T_K**2 + c / T_K + e * d * T_K ** (e - 1.0)


FORMS: dict[str, tuple[Form, Form]] = {
    "antoine": (_antoine, _antoine_slope),
    "antoine_extended": (_antoine_extended, _antoine_extended_slope),
    "wagner_3_6": (partial(_wagner, exponents=(1.5, 3.0, 6.0)), partial(_wagner_slope, exponents=(1.5, 3.0, 6.0))),
    "wagner_2.5_5": (partial(_wagner, exponents=(1.5, 2.5, 5.0)), partial(_wagner_slope, exponents=(1.5, 2.5, 5.0))),
    "kirchhoff": (_kirchhoff, _kirchhoff_slope),
}
"""Of each form ln p and d ln p / dT, functions of coefficients (..., WIDTH) and temperatures."""

COEFFICIENT_NAMES: dict[str, tuple[str, ...]] = {
    "antoine": ("A", "B", "C"),
    "antoine_extended": ("A", "B", "C", "T_c", "t_0", "n", "E", "F"),
    "wagner_3_6": ("A", "B", "C", "D", "T_c", "p_c"),
    "wagner_2.5_5": ("A", "B", "C", "D", "T_c", "p_c"),
    "kirchhoff": ("A", "B", "C", "D", "E"),
}


def pad(coefficients: ArrayLike) -> Array:
    """Coefficients padded with NaN to `WIDTH`; shape (WIDTH,)."""
    given = np.asarray(coefficients, dtype=np.float64)
    return np.concatenate([given, np.full(WIDTH - given.size, np.nan)])


def ln_pressure(equation: str, coefficients: Array, T_K: ArrayLike) -> Array:
    """Natural logarithm of the vapour pressure in Pa."""
    ln_p, _ = FORMS[equation]
    return ln_p(coefficients, np.asarray(T_K, dtype=np.float64))


def ln_pressure_slope(equation: str, coefficients: Array, T_K: ArrayLike) -> Array:
    """Slope d ln p / dT, 1/K."""
    _, slope = FORMS[equation]
    return slope(coefficients, np.asarray(T_K, dtype=np.float64))


def temperature_at(
    equation: str, coefficients: Array, p_Pa: ArrayLike, T_low_K: ArrayLike, T_high_K: ArrayLike
) -> Array:
    """Temperature at which the curve reaches the pressure, K; NaN where it does not between the bounds.

    Newton's method on ln p against 1/T (nearly a straight line for every
    substance), kept inside a bracket that shrinks at each step; relative error
    of the temperature below 1e-12. The curve must rise between the bounds.
    """
    ln_pressure_of, slope_of = FORMS[equation]
    target = np.log(np.asarray(p_Pa, dtype=np.float64)) + 0.0 * coefficients[..., 0]
    low = np.asarray(T_low_K, dtype=np.float64)
    high = np.asarray(T_high_K, dtype=np.float64)
    margin = 1e-9
    ln_low, ln_high = ln_pressure_of(coefficients, low), ln_pressure_of(coefficients, high)
    reached = (target >= ln_low - margin) & (target <= ln_high + margin)
    span = np.where(ln_high > ln_low, ln_high - ln_low, 1.0)
    fraction = np.minimum(np.maximum((target - ln_low) / span, 0.0), 1.0)
    T_K = 1.0 / ((1.0 - fraction) / low + fraction / high)
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(60):
            short_by = target - ln_pressure_of(coefficients, T_K)
            low, high = np.where(short_by > 0.0, T_K, low), np.where(short_by > 0.0, high, T_K)
            newton = T_K / (1.0 - short_by / (slope_of(coefficients, T_K) * T_K))
            inside = (newton >= low) & (newton <= high)
            new = np.where(inside, newton, 0.5 * (low + high))
            # Newton's error is squared by each step, so one that is small enough need not be confirmed by another.
            finished = ~reached | (np.abs(new - T_K) <= np.where(inside, 1e-8, 1e-13) * T_K)
            T_K = new
            if finished.all():
                break
    return np.where(reached, T_K, np.nan)

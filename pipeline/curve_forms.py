"""Curves of several equations at once: evaluated, inverted, and stretched in temperature.

A set of curves is a frame with the columns `equation` and `coefficients` (lists
padded to `WIDTH`); temperatures come in an array whose last axis runs over the
rows of the frame.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from cutpoint.schema.equations import WIDTH, ln_pressure, ln_pressure_slope, temperature_at
from cutpoint.schema.properties import ICE_POINT_K

from .witnesses import stacked

Array = NDArray[np.float64]

STEPS = 100


def _groups(curves: pd.DataFrame) -> Iterator[tuple[str, NDArray[np.int64], Array]]:
    """Equation, places in the frame, and coefficients of the curves of each equation."""
    equations = curves["equation"].to_numpy(dtype=np.str_)
    for equation in np.unique(equations):
        places = np.flatnonzero(equations == equation)
        yield str(equation), places, stacked(curves["coefficients"].iloc[places])


def ln_pressures(curves: pd.DataFrame, T_K: Array) -> Array:
    """Natural logarithms of the vapour pressures in Pa; shape of T_K."""
    answer = np.full(T_K.shape, np.nan)
    for equation, places, coefficients in _groups(curves):
        answer[..., places] = ln_pressure(equation, coefficients, T_K[..., places])
    return answer


def ln_pressure_slopes(curves: pd.DataFrame, T_K: Array) -> Array:
    """Slopes d ln p / dT, 1/K; shape of T_K."""
    answer = np.full(T_K.shape, np.nan)
    for equation, places, coefficients in _groups(curves):
        answer[..., places] = ln_pressure_slope(equation, coefficients, T_K[..., places])
    return answer


def temperatures_at(curves: pd.DataFrame, p_Pa: ArrayLike, low_K: Array, high_K: Array) -> Array:
    """Temperatures at a pressure, or one pressure each, K; NaN where a curve does not reach it between the bounds."""
    p_Pa = np.broadcast_to(np.asarray(p_Pa, dtype=np.float64), low_K.shape)
    answer = np.full(low_K.shape, np.nan)
    for equation, places, coefficients in _groups(curves):
        answer[places] = temperature_at(equation, coefficients, p_Pa[places], low_K[places], high_K[places])
    return answer


def stretched(equation: str, coefficients: Array, factor: ArrayLike) -> Array:
    """Coefficients of p(T / factor), the curve with its temperatures multiplied; shape (..., WIDTH).

    Every form is closed under it. With a factor that leads the curve through
    another boiling point, heats of vaporisation keep their ratio to R T_b:
    Trouton's rule, F. Trouton, Phil. Mag. 18 (1884) 54-57.
    """
    factor = np.asarray(factor, dtype=np.float64)
    out = np.array(coefficients, dtype=np.float64)
    if equation in ("antoine", "antoine_extended"):
        out[..., 1] *= factor
        out[..., 2] *= factor
    if equation == "antoine_extended":
        out[..., 3] *= factor
        out[..., 4] = factor * (out[..., 4] + ICE_POINT_K) - ICE_POINT_K
    if equation.startswith("wagner"):
        out[..., 4] *= factor
    if equation == "kirchhoff":
        out[..., 0] -= out[..., 2] * np.log(factor)
        out[..., 1] *= factor
        out[..., 3] *= factor ** -out[..., 4]
    return out


def stretch(curves: pd.DataFrame, factor: Array) -> pd.DataFrame:
    """The curves with coefficients, T_min_K and T_max_K stretched by one factor each."""
    coefficients = np.full((len(curves), WIDTH), np.nan)
    for equation, places, given in _groups(curves):
        coefficients[places] = stretched(equation, given, factor[places])
    return curves.assign(
        coefficients=pd.Series(coefficients.tolist(), index=curves.index, dtype=object),
        T_min_K=curves["T_min_K"] * factor,
        T_max_K=curves["T_max_K"] * factor,
    )


def rising_span(curves: pd.DataFrame, start_K: Array, low_K: Array, high_K: Array) -> tuple[Array, Array]:
    """Ends of the span about start_K, between the bounds, in which each curve rises; K.

    Looked for in `STEPS` steps in 1/T on each side.
    """
    return _end_of_rise(curves, start_K, low_K), _end_of_rise(curves, start_K, high_K)


def _end_of_rise(curves: pd.DataFrame, start_K: Array, end_K: Array) -> Array:
    """How far towards end_K the pressure goes the way the temperature goes, K."""
    steps = np.linspace(0.0, 1.0, STEPS + 1)[:, np.newaxis]
    T_K = 1.0 / ((1.0 - steps) / start_K + steps / end_K)
    T_K[-1] = end_K
    with np.errstate(all="ignore"):
        ln_p = ln_pressures(curves, T_K)
        rises = ln_pressure_slopes(curves, T_K[1:]) > 0.0  # else the top is passed within a step
    same_way = rises & (np.diff(ln_p, axis=0) * np.diff(T_K, axis=0) > 0.0)
    still = np.logical_and.accumulate(same_way, axis=0).sum(axis=0)
    return np.asarray(T_K[still, np.arange(T_K.shape[1])])

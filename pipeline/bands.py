"""Curves read row by row: pressure and slope at a temperature, the uncertainty band at a pressure, and a wider band.

`curves` is the `vapour_curve` frame or any frame with its columns, one row per
temperature asked; arrays have the shape (n,) of its rows.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from cutpoint.schema.equations import BAND_PRESSURES_PA, ln_pressure, ln_pressure_slope
from cutpoint.schema.properties import ATMOSPHERE_PA

from .witnesses import stacked

Array = NDArray[np.float64]

LN_P_FROM_BOILING = np.log(np.array(BAND_PRESSURES_PA) / ATMOSPHERE_PA)
"""Distance of the band's pressures from the boiling point, to which a curve is tied: ln(p / 101 325 Pa)."""


def pressures_and_slopes(curves: pd.DataFrame, T_K: ArrayLike) -> tuple[Array, Array]:
    """Pressure in Pa and d ln p/dT in 1/K of each curve at its temperature."""
    T_K = np.broadcast_to(np.asarray(T_K, dtype=np.float64), len(curves))
    ln_p, slope = np.full(len(curves), np.nan), np.full(len(curves), np.nan)
    for equation, rows in curves.reset_index(drop=True).groupby("equation", sort=True):
        form, coefficients, T = cast(str, equation), stacked(rows["coefficients"]), T_K[rows.index]
        ln_p[rows.index] = ln_pressure(form, coefficients, T)
        slope[rows.index] = ln_pressure_slope(form, coefficients, T)
    return np.exp(ln_p), slope


def band_u95(curves: pd.DataFrame, p_Pa: ArrayLike) -> Array:
    """Relative expanded uncertainty of each curve at its pressure, linear in ln p between the band's pressures."""
    band = _stacked_bands(curves)
    nodes = np.log(BAND_PRESSURES_PA)
    place = np.interp(np.log(np.asarray(p_Pa, dtype=np.float64)), nodes, np.arange(len(nodes)))
    left = np.clip(np.nan_to_num(place).astype(np.int64), 0, len(nodes) - 2)
    row, share = np.arange(len(band)), place - left
    return (1.0 - share) * band[row, left] + share * band[row, left + 1]


def with_wider_band(curves: pd.DataFrame, relative: pd.Series) -> pd.DataFrame:
    """The curves with a further uncertainty that grows evenly in ln p from the boiling point.

    `relative` is that uncertainty per unit of ln p, on the index of `curves`;
    where it is NaN the curve stays. The grade is for the caller to set.
    """
    rows = relative.notna()
    wider = np.hypot(
        _stacked_bands(curves[rows]),
        relative[rows].to_numpy(np.float64)[:, np.newaxis] * np.abs(LN_P_FROM_BOILING),
    )
    table = curves.copy()
    table.loc[rows, "band_u95_relative"] = pd.Series(wider.tolist(), index=table.index[rows], dtype=object)
    changed = table[rows]
    at_ends = [band_u95(changed, pressures_and_slopes(changed, changed[end])[0]) for end in ("T_min_K", "T_max_K")]
    table.loc[rows, "u95_relative"] = np.fmax(changed["u95_relative"], np.fmax(*at_ends))
    return table


def _stacked_bands(curves: pd.DataFrame) -> Array:
    return np.array(curves["band_u95_relative"].tolist(), dtype=np.float64).reshape(-1, len(BAND_PRESSURES_PA))

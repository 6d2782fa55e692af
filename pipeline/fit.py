"""Correlations and points become one vapour-pressure curve per component.

The rule, `best-covering correlation`: among a component's correlations, those
that give its evaluated normal boiling point within the evaluation's expanded
uncertainty (never less than 0.5 K) are sound; where the component has no
evaluated boiling point, or none of its correlations is sound, the nearest one
stands alone. Of the sound ones the curve that covers most of the range from
1 kPa to 1 MPa wins, the better form breaking ties. Its residual is the root
mean square relative deviation of the other sound correlations from it where
ranges overlap; its relative expanded uncertainty is twice that, never below
1 % (nor below 5 % where nothing confirms it), plus what the boiling point's
own uncertainty leaves open.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import ln_pressure, ln_pressure_slope, temperature_at
from cutpoint.schema.properties import ATMOSPHERE_PA, grade
from cutpoint.schema.tables import check

from .witnesses import stacked

Array = NDArray[np.float64]

COVERED_PRESSURES_PA = np.geomspace(1e3, 1e6, 13)
COMPARED_POINTS = 12
SOUND_K = 0.5
CONFIRMED_U95 = 0.01
LONE_U95 = 0.05
FORM_ORDER = ("wagner_2.5_5", "wagner_3_6", "kirchhoff", "antoine_extended", "antoine")


def fit(observations: pd.DataFrame, evaluations: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """The `vapour_curve` frame; raises BuildFailed if it breaks its contract."""
    pure = components.loc[components["kind"] == "pure", "cas"]
    chosen_from = observations[
        (observations["property"] == "vapour_pressure")
        & (observations["status"] == "accepted")
        & observations["cas"].isin(pure)
    ].reset_index(drop=True)
    candidates = _describe(chosen_from, evaluations)
    best = _choose(candidates)
    compared = _compare(candidates, best)
    table = best.merge(compared, on="cas", how="left")
    table["n_sources"] = table["others"].fillna(0).astype(int) + 1
    table["u95_relative"] = _uncertainty(table)
    table["grade"] = [
        grade("vapour_pressure", 1.0, u95, n) for u95, n in zip(table["u95_relative"], table["n_sources"], strict=True)
    ]
    return check("vapour_curve", table.sort_values("cas", ignore_index=True), "fit")


def _describe(rows: pd.DataFrame, evaluations: pd.DataFrame) -> pd.DataFrame:
    """Candidates with their boiling point, its distance from the evaluated one, and the pressures they cover."""
    T_b = evaluations[evaluations["property"] == "normal_boiling_point"].set_index("cas")
    table = rows.assign(T_b_K=np.nan, covered=0, slope_at_T_b=np.nan)
    for equation, part in table.groupby("equation", sort=True):
        form, coefficients = cast(str, equation), stacked(part["coefficients"])
        low, high = part["T_min_K"].to_numpy(), part["T_max_K"].to_numpy()
        T_b_K = temperature_at(form, coefficients, ATMOSPHERE_PA, low, high)
        table.loc[part.index, "T_b_K"] = T_b_K
        table.loc[part.index, "slope_at_T_b"] = ln_pressure_slope(form, coefficients, T_b_K)
        ln_low, ln_high = ln_pressure(form, coefficients, low), ln_pressure(form, coefficients, high)
        ln_p = np.log(COVERED_PRESSURES_PA)[:, np.newaxis]
        table.loc[part.index, "covered"] = ((ln_p >= ln_low) & (ln_p <= ln_high)).sum(axis=0)
    table["T_b_evaluated_K"] = table["cas"].map(T_b["value"]).astype(float)
    table["T_b_u95_K"] = table["cas"].map(T_b["u95"]).astype(float)
    table["distance_K"] = (table["T_b_K"] - table["T_b_evaluated_K"]).abs()
    table["sound"] = table["distance_K"] <= np.maximum(table["T_b_u95_K"], SOUND_K)
    table["form_order"] = table["equation"].map({form: place for place, form in enumerate(FORM_ORDER)})
    return table


def _choose(candidates: pd.DataFrame) -> pd.DataFrame:
    """The winning candidate of each component."""
    unsound_K = candidates["distance_K"].fillna(np.inf).where(~candidates["sound"], 0.0)
    order = candidates.assign(unsound_K=unsound_K).sort_values(
        ["cas", "sound", "unsound_K", "covered", "form_order", "source", "source_row"],
        ascending=[True, False, True, False, True, True, True],
        kind="stable",
    )
    return order.drop_duplicates("cas").reset_index(drop=True)


def _compare(candidates: pd.DataFrame, best: pd.DataFrame) -> pd.DataFrame:
    """Root mean square relative deviation of the other sound correlations from the chosen one, and their number."""
    pairs = candidates[candidates["sound"]].merge(best, on="cas", suffixes=("", "_best"))
    pairs = pairs[pairs["source"] != pairs["source_best"]].reset_index(drop=True)
    low = np.maximum(pairs["T_min_K"], pairs["T_min_K_best"]).to_numpy()
    high = np.minimum(pairs["T_max_K"], pairs["T_max_K_best"]).to_numpy()
    pairs, low, high = pairs[low < high].reset_index(drop=True), low[low < high], high[low < high]
    if pairs.empty:
        return pd.DataFrame({"cas": pd.Series(dtype=str), "relative_residual": [], "others": []})
    grid = low + (high - low) * np.linspace(0.0, 1.0, COMPARED_POINTS)[:, np.newaxis]
    difference = _on_grid(pairs, "", grid) - _on_grid(pairs, "_best", grid)
    mean_square = np.mean(np.expm1(np.clip(difference, -1.0, 1.0)) ** 2, axis=0)
    grouped = pairs.assign(mean_square=mean_square).groupby("cas", sort=True)
    table = grouped.agg(mean_square=("mean_square", "median"), others=("source", "nunique")).reset_index()
    return table.assign(relative_residual=np.sqrt(table["mean_square"]))[["cas", "relative_residual", "others"]]


def _on_grid(pairs: pd.DataFrame, suffix: str, grid_K: Array) -> Array:
    """ln p of each pair's correlation at the grid temperatures; shape (points, pairs)."""
    ln_p = np.full(grid_K.shape, np.nan)
    equations = pairs["equation" + suffix].to_numpy()
    coefficients = stacked(pairs["coefficients" + suffix])
    for equation in sorted(set(equations)):
        of_form = equations == equation
        ln_p[:, of_form] = ln_pressure(equation, coefficients[of_form], grid_K[:, of_form])
    return ln_p


def _uncertainty(table: pd.DataFrame) -> pd.Series:
    """Relative expanded uncertainty of the pressure inside the range."""
    confirmed = np.maximum(2.0 * table["relative_residual"], CONFIRMED_U95)
    base = confirmed.fillna(LONE_U95)
    off_K = table["distance_K"].where(~table["sound"], 0.0).fillna(0.0)
    boiling = table["slope_at_T_b"].fillna(0.0) * (table["T_b_u95_K"].fillna(0.0) + off_K)
    return np.sqrt(base**2 + boiling**2)

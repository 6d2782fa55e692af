"""The fifth station: correlations and points become one vapour-pressure curve per component.

Sound are the correlations that give the evaluated normal boiling point within
its expanded uncertainty (never less than 0.5 K), and those that do not reach
one atmosphere at all. Where none is sound the nearest stands alone, with its
distance in the uncertainty.

A component whose critical temperature and pressure are known (grade C or
better) gets the rule `pooled`: one Wagner curve through all its sound
correlations (`wagner`), valid from the lowest temperature that was fitted to the
critical point. Any other gets the rule `chosen`: of its sound correlations those that
stay near the middle of all, and of these the one that covers most of the range
from 1 kPa to 1 MPa, the better form breaking ties.

The residual is the root mean square relative deviation of the correlations
from the curve inside their ranges; the relative expanded uncertainty of the
pressure is twice that, never below 1 % (nor below 5 % where nothing confirms
the curve), plus what the boiling point's own uncertainty leaves open.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH, ln_pressure, ln_pressure_slope, temperature_at
from cutpoint.schema.properties import ATMOSPHERE_PA, grade
from cutpoint.schema.tables import check, empty

from . import wagner
from .voices import ROBUST_SIGMA, house_of
from .witnesses import stacked

Array = NDArray[np.float64]

COVERED_PRESSURES_PA = np.geomspace(1e3, 1e6, 13)
POINTS = 16
"""Temperatures at which a correlation is sampled inside its range, evenly in 1/T."""
INDEPENDENT_POINTS = 4.0
"""How many independent measurements the points of one correlation count for."""
LEAST_SAMPLED_PA = 10.0
"""Below this pressure correlations are extrapolations of their own authors', and take no part in the fit."""
PRESSURE_BOUNDS_PA = (1e2, 1e3, 1e4, 2e5)
"""Bounds between which the scatter of a source is estimated apart: every table is poorer at low pressure."""
HIGHEST_REDUCED_TEMPERATURE = 0.99
SOUND_K = 0.5
FIRST_SCATTER = 0.01
LEAST_SCATTER = 0.002
CONFIRMED_U95 = 0.01
LONE_U95 = 0.05
NEAR_THE_MIDDLE = 2.0
_NO_CURVES = pd.DataFrame({"cas": pd.Series(dtype=str)})
FORM_ORDER = ("wagner_2.5_5", "wagner_3_6", "kirchhoff", "antoine_extended", "antoine")


def fit(observations: pd.DataFrame, evaluations: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """The `vapour_curve` frame; raises BuildFailed if it breaks its contract."""
    pure = components.loc[components["kind"] == "pure", "cas"]
    is_curve = (observations["property"] == "vapour_pressure") & (observations["status"] == "accepted")
    rows = observations[is_curve & observations["cas"].isin(pure)].reset_index(drop=True)
    if rows.empty:
        return empty("vapour_curve")
    candidates = _describe(rows, evaluations)
    used = _used(candidates)
    samples = _sample(candidates[used])
    pooled = _pool(candidates[used], samples)
    chosen = _choose(candidates[used & ~candidates["cas"].isin(pooled["cas"])], samples)
    curves = pd.concat(
        [part.assign(rule=rule) for part, rule in ((pooled, "pooled"), (chosen, "chosen")) if not part.empty],
        ignore_index=True,
    )
    table = _state_quality(curves, candidates[used], samples)
    return check("vapour_curve", table.sort_values("cas", ignore_index=True), "fit")


def _describe(rows: pd.DataFrame, evaluations: pd.DataFrame) -> pd.DataFrame:
    """Correlations with the boiling point they give, the evaluated constants, and the pressures they cover."""
    table = rows.assign(T_b_K=np.nan, covered=0)
    for equation, part in table.groupby("equation", sort=True):
        form, coefficients = cast(str, equation), stacked(part["coefficients"])
        low, high = part["T_min_K"].to_numpy(), part["T_max_K"].to_numpy()
        table.loc[part.index, "T_b_K"] = temperature_at(form, coefficients, ATMOSPHERE_PA, low, high)
        ln_low, ln_high = ln_pressure(form, coefficients, low), ln_pressure(form, coefficients, high)
        ln_p = np.log(COVERED_PRESSURES_PA)[:, np.newaxis]
        table.loc[part.index, "covered"] = ((ln_p >= ln_low) & (ln_p <= ln_high)).sum(axis=0)
    known = evaluations.set_index("cas")
    for name, symbol in {
        "normal_boiling_point": "T_b_evaluated_K",
        "critical_temperature": "T_c_K",
        "critical_pressure": "p_c_Pa",
    }.items():
        values = known[(known["property"] == name) & ((known["grade"] != "D") | (symbol == "T_b_evaluated_K"))]
        table[symbol] = table["cas"].map(values["value"]).astype(float)
        if symbol == "T_b_evaluated_K":
            table["T_b_u95_K"] = table["cas"].map(values["u95"]).astype(float)
    table["distance_K"] = (table["T_b_K"] - table["T_b_evaluated_K"]).abs()
    table["sound"] = ~(table["distance_K"] > np.maximum(table["T_b_u95_K"], SOUND_K))
    table["form_order"] = table["equation"].map({form: place for place, form in enumerate(FORM_ORDER)})
    return table


def _used(candidates: pd.DataFrame) -> pd.Series:
    """The sound correlations of each component, or the nearest one where none is sound."""
    nearest = candidates.sort_values(["cas", "distance_K", "form_order", "source"], kind="stable")
    first = ~nearest.duplicated("cas").reindex(candidates.index)
    any_sound = candidates.groupby("cas")["sound"].transform("any")
    return candidates["sound"] | (first & ~any_sound)


def _sample(used: pd.DataFrame) -> pd.DataFrame:
    """Points of every correlation inside its own range: `candidate` (index), cas, T_K, ln_p."""
    parts = []
    high_K = used["T_max_K"].clip(upper=used["T_c_K"].fillna(np.inf) * HIGHEST_REDUCED_TEMPERATURE)
    reaching = used[high_K > used["T_min_K"]]
    steps = np.linspace(0.0, 1.0, POINTS)[:, np.newaxis]
    for equation, part in reaching.groupby("equation", sort=True):
        low, high = part["T_min_K"].to_numpy(), high_K[part.index].to_numpy()
        T_K = 1.0 / (steps / low + (1.0 - steps) / high)
        ln_p = ln_pressure(cast(str, equation), stacked(part["coefficients"]), T_K)
        candidate = np.broadcast_to(part.index.to_numpy(), T_K.shape)
        parts.append(pd.DataFrame({"candidate": candidate.ravel(), "T_K": T_K.ravel(), "ln_p": ln_p.ravel()}))
    points = pd.concat(parts, ignore_index=True).sort_values(["candidate", "T_K"], ignore_index=True)
    points = points[points["ln_p"] >= np.log(LEAST_SAMPLED_PA)]
    points = points.join(used[["cas", "source"]], on="candidate").reset_index(drop=True)
    return points.assign(band=np.searchsorted(np.log(PRESSURE_BOUNDS_PA), points["ln_p"]))


def _pool(used: pd.DataFrame, samples: pd.DataFrame) -> pd.DataFrame:
    """Wagner curves of the components whose critical point is known; those that would not rise are left out."""
    knowns = ["T_b_evaluated_K", "T_b_u95_K", "T_c_K", "p_c_Pa"]
    table = used.drop_duplicates("cas").set_index("cas")[knowns].dropna().sort_index()
    T_c_K, p_c_Pa = table["T_c_K"].to_numpy(), table["p_c_Pa"].to_numpy()
    omega = wagner.acentric_factor_from_boiling_point(table["T_b_evaluated_K"].to_numpy(), T_c_K, p_c_Pa)
    table = table[np.isfinite(omega)]
    omega = omega[np.isfinite(omega)]
    points = samples[samples["cas"].isin(table.index)]
    if table.empty or points.empty:
        return _NO_CURVES
    corresponding = wagner.corresponding_states(omega)
    scatter = np.full(len(points), FIRST_SCATTER)
    covariance = np.diag((0.25 * np.abs(wagner.AMBROSE_WALTON[0])) ** 2)
    mean = corresponding
    for _ in range(2):
        coefficients = _map_estimate(table, points, scatter, mean, covariance)
        shift, covariance = wagner.departures(coefficients, corresponding)
        mean = corresponding + shift
        scatter = _source_scatter(table, points, coefficients)
    coefficients = _map_estimate(table, points, scatter, mean, covariance)
    rising = _rises(coefficients)
    lowest_K = points.groupby("cas")["T_K"].min().reindex(table.index)
    sources = used.groupby("cas")["source"].agg(lambda names: ", ".join(sorted(set(names)))).reindex(table.index)
    padding = np.full((len(table), WIDTH - 6), np.nan)
    rows = np.column_stack([coefficients, table["T_c_K"], table["p_c_Pa"], padding])
    curves = pd.DataFrame(
        {
            "cas": table.index,
            "equation": "wagner_2.5_5",
            "coefficients": pd.Series(rows.tolist(), dtype=object),
            "T_min_K": lowest_K.to_numpy(),
            "T_max_K": table["T_c_K"].to_numpy(),
            "basis": "correlated",
            "source": sources.to_numpy(),
        }
    )
    return curves[rising & curves["T_min_K"].notna().to_numpy()].reset_index(drop=True)


def _reduced(table: pd.DataFrame, points: pd.DataFrame) -> tuple[NDArray[np.int64], Array, Array]:
    """Group number, T_r and T_r ln(p/p_c) of each point."""
    group = table.index.get_indexer(pd.Index(points["cas"]))
    T_r = points["T_K"].to_numpy() / table["T_c_K"].to_numpy()[group]
    return group, T_r, T_r * (points["ln_p"].to_numpy() - np.log(table["p_c_Pa"].to_numpy()[group]))


def _map_estimate(table: pd.DataFrame, points: pd.DataFrame, scatter: Array, mean: Array, covariance: Array) -> Array:
    group, T_r, y = _reduced(table, points)
    u_y = T_r * scatter * np.sqrt(POINTS / INDEPENDENT_POINTS)
    T_b_r = (table["T_b_evaluated_K"] / table["T_c_K"]).to_numpy()
    ln_p_r = np.log(ATMOSPHERE_PA / table["p_c_Pa"].to_numpy())
    # d ln p / d ln T near the boiling point is close to that of the chord to the critical point.
    steepness = -ln_p_r / (1.0 - T_b_r) / T_b_r
    u_b = T_b_r * np.maximum(
        steepness * (table["T_b_u95_K"] / 2.0 / table["T_b_evaluated_K"]).to_numpy(), LEAST_SCATTER / 4.0
    )
    matrix, right = wagner.normal_equations(
        np.concatenate([group, np.arange(len(table))]),
        len(table),
        np.concatenate([T_r, T_b_r]),
        np.concatenate([y, T_b_r * ln_p_r]),
        np.concatenate([u_y, u_b]),
    )
    return wagner.posterior(matrix, right, mean, covariance)


def _source_scatter(table: pd.DataFrame, points: pd.DataFrame, coefficients: Array) -> Array:
    """Robust relative scatter about the pooled curves, for each point that of its source in its pressure band."""
    group, T_r, y = _reduced(table, points)
    deviation = np.abs((np.sum(wagner.terms(T_r) * coefficients[group], axis=1) - y) / T_r)
    typical = points.assign(deviation=deviation).groupby(["source", "band"])["deviation"].transform("median")
    return np.maximum(ROBUST_SIGMA * typical.to_numpy(), LEAST_SCATTER)


def _rises(coefficients: Array) -> NDArray[np.bool_]:
    """Whether the pressure rises with temperature from 0.3 T_c to T_c."""
    T_r = np.linspace(0.3, 1.0, 80)
    ln_p_r = (wagner.terms(T_r) @ coefficients.T) / T_r[:, np.newaxis]
    return np.asarray(np.all(np.diff(ln_p_r, axis=0) > 0.0, axis=0))


def _choose(used: pd.DataFrame, samples: pd.DataFrame) -> pd.DataFrame:
    """The winning correlation of each component."""
    if used.empty:
        return _NO_CURVES
    off_middle = _distance_from_middle(samples).reindex(used.index).fillna(0.0)
    least = off_middle.groupby(used["cas"]).transform("min")
    central = off_middle <= NEAR_THE_MIDDLE * np.maximum(least, LEAST_SCATTER)
    order = used.assign(central=central).sort_values(
        ["cas", "central", "covered", "form_order", "source", "source_row"],
        ascending=[True, False, False, True, True, True],
        kind="stable",
    )
    columns = ["cas", "equation", "coefficients", "T_min_K", "T_max_K", "basis", "source"]
    chosen = order.drop_duplicates("cas").reset_index(drop=True)
    below_critical = chosen["T_max_K"].clip(upper=chosen["T_c_K"].fillna(np.inf))
    chosen["T_max_K"] = below_critical.where(below_critical > chosen["T_min_K"], chosen["T_max_K"])
    return chosen[columns]


def _distance_from_middle(samples: pd.DataFrame) -> pd.Series:
    """Mean deviation in ln p of each correlation from the median of its component's correlations nearby in 1/T."""
    nearby = samples.assign(cell=(np.log(samples["T_K"]) * 100.0).round())
    middle = nearby.groupby(["cas", "cell"])["ln_p"].transform("median")
    slope = 10.0  # d ln p / d ln T is near this for every liquid, so points of one cell can be compared
    aligned = nearby["ln_p"] - slope * (np.log(nearby["T_K"]) - nearby["cell"] / 100.0)
    return (aligned - middle).abs().groupby(nearby["candidate"]).mean()


def _state_quality(curves: pd.DataFrame, used: pd.DataFrame, samples: pd.DataFrame) -> pd.DataFrame:
    """Residual, number of sources, uncertainty and grade of each curve."""
    table = curves.merge(_residuals(curves, samples), on="cas", how="left")
    told = (
        used.assign(house=house_of(used["source"]))
        .groupby("cas")
        .agg(
            n_sources=("house", "nunique"),
            T_b_u95_K=("T_b_u95_K", "first"),
            off_K=("distance_K", "min"),
            sound=("sound", "any"),
            T_b_K=("T_b_evaluated_K", "first"),
        )
    )
    table = table.join(told, on="cas")
    slope = _slope_at(table, table["T_b_K"].to_numpy())
    off_K = table["off_K"].where(~table["sound"], 0.0).fillna(0.0)
    boiling = np.nan_to_num(slope) * (table["T_b_u95_K"].fillna(0.0) + off_K)
    alone = table["n_sources"] == 1
    base = np.maximum(2.0 * table["relative_residual"].fillna(0.0), np.where(alone, LONE_U95, CONFIRMED_U95))
    table["u95_relative"] = np.hypot(base, boiling)
    table["relative_residual"] = table["relative_residual"].where(~alone)
    table["T_lowest_K"], table["T_highest_K"] = 0.9 * table["T_min_K"], 1.1 * table["T_max_K"]
    table["band_u95_relative"] = [[u95] * len(BAND_PRESSURES_PA) for u95 in table["u95_relative"]]
    judged = zip(table["u95_relative"], table["n_sources"], strict=True)
    return table.assign(grade=[grade("vapour_pressure", 1.0, u95, n) for u95, n in judged])


def _slope_at(table: pd.DataFrame, T_K: Array) -> Array:
    slope = np.full(len(table), np.nan)
    for equation, part in table.groupby("equation", sort=True):
        slope[part.index] = ln_pressure_slope(cast(str, equation), stacked(part["coefficients"]), T_K[part.index])
    return slope


def _residuals(curves: pd.DataFrame, samples: pd.DataFrame) -> pd.DataFrame:
    """Root mean square relative deviation of each component's correlations from its curve, inside its range."""
    points = samples.merge(curves, on="cas", suffixes=("", "_curve"))
    others = points["source"] != points["source_curve"]  # a curve taken from one source is not confirmed by it
    points = points[others & points["T_K"].between(points["T_min_K"], points["T_max_K"])].reset_index(drop=True)
    deviation = np.full(len(points), np.nan)
    for equation, part in points.groupby("equation", sort=True):
        ours = ln_pressure(cast(str, equation), stacked(part["coefficients"]), part["T_K"].to_numpy())
        deviation[part.index] = np.expm1(np.clip(part["ln_p"].to_numpy() - ours, -1.0, 1.0))
    mean_square = pd.Series(deviation**2).groupby(points["cas"]).mean()
    return mean_square.pow(0.5).rename("relative_residual").reset_index()

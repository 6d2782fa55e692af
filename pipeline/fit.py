"""The fifth station: correlations become one vapour-pressure curve per component.

Every pure component with an evaluated normal boiling point gets a Wagner curve
that leads through it exactly and can be asked from 1 kPa to 1 MPa, or to its
critical pressure if that is lower:

- `pooled`: one curve through all its sound correlations (`curve_evidence` says
  which are, `pooling` how they become one curve), its boiling point and its critical
  point, be that evaluated or estimated (`critical_constants`);
- `corresponding states`: without a sound correlation, the method of Ambrose and
  Walton (`wagner`) through the same two points. That is an estimate: grade D,
  no sources of its own.

A component without an evaluated boiling point keeps the best of its
correlations as it is (`chosen`): of those that stay near the middle of all, the
one that covers most of the range from 1 kPa to 1 MPa, the better form breaking
ties.

The *valid range* spans the points that were fitted and the boiling point, and
the critical point where it is evaluated at grade C or better; for an estimate
the temperatures of 1 kPa and 1 MPa. A curve may be asked from 0.9 T_min to
1.1 T_max, by Trouton's rule about a factor three in pressure, and where it leads
through a boiling point at least from 1 kPa to 1 MPa: never above its critical
temperature, and only where it rises.

`curve_bands` says how sure it is at which pressure. The relative expanded
uncertainty that a curve is graded by is the largest of its band inside the
valid range between 1 kPa and 1 MPa, where it is meant to be used; of a curve that
does not reach there, inside its range. The residual is the root mean square relative deviation of other
correlations from the curve inside its range, above `LEAST_COMPARED_PA`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import COEFFICIENT_NAMES
from cutpoint.schema.properties import grade
from cutpoint.schema.tables import check, empty

from .critical_constants import EVALUATED, best, boiling_points, critical_constants
from .curve_bands import (
    Calibration,
    band_of_chosen,
    band_of_estimates,
    band_of_pooled,
    calibrate,
    estimate_errors,
    held_out,
)
from .curve_evidence import KNOTS_LN_P, described, judged, sampled, used
from .curve_forms import ln_pressures, rising_span, temperatures_at
from .curve_points import off_the_curve
from .pooling import LEAST_SCATTER, learn, pool, pooled_curves
from .wagner import estimated_curves
from .witnesses import stacked

Array = NDArray[np.float64]

ASKED_PA = (1e3, 1e6)
"""Pressures between which every component that boils can be asked."""
COVERED_PRESSURES_PA = np.geomspace(*ASKED_PA, 13)
LOWEST_SHARE_OF_T_MIN = 0.9
HIGHEST_SHARE_OF_T_MAX = 1.1
LOWEST_REDUCED_TEMPERATURE = 0.2
LEAST_COMPARED_PA = 10.0
NEAR_THE_MIDDLE = 2.0
FORM_ORDER = ("wagner_2.5_5", "wagner_3_6", "kirchhoff", "antoine_extended", "antoine")


@dataclass(frozen=True)
class Fitted:
    """What the station hands on: the `vapour_curve` frame, and why correlations and points were set aside.

    The index is that of the observations given to `fit`.
    """

    curves: pd.DataFrame
    set_aside: pd.Series

    def marked(self, observations: pd.DataFrame) -> pd.DataFrame:
        """The observations, those set aside with the status `outlier` and the reason."""
        out = observations.copy()
        out.loc[self.set_aside.index, "status"] = "outlier"
        out.loc[self.set_aside.index, "reason"] = self.set_aside
        return out


def fit(observations: pd.DataFrame, evaluations: pd.DataFrame, components: pd.DataFrame) -> Fitted:
    """One curve for each component that has a correlation or an evaluated normal boiling point.

    Takes the frames of the tables `observation`, `evaluation` and `component`;
    raises BuildFailed if the curves break their contract.
    """
    pure = components.loc[components["kind"] == "pure", "cas"]
    is_correlation = (observations["property"] == "vapour_pressure") & observations["equation"].notna()
    is_correlation &= observations["status"] == "accepted"
    served = critical_constants(evaluations, components)
    constants = best(served).join(boiling_points(evaluations, components))
    table = described(observations[is_correlation & observations["cas"].isin(pure)], constants)
    errors = estimate_errors(table, served)
    table = judged(table, errors)
    kept = used(table)
    points = sampled(kept)
    pooled, calibration = _pooled(kept[kept["T_b_K"].notna()], points, constants, errors)
    made = [
        pooled,
        _chosen(kept[kept["T_b_K"].isna()], points, calibration),
        _estimated(constants[~constants.index.isin(pooled.index)], errors, _told_by(observations)),
    ]
    curves = pd.concat([part for part in made if not part.empty] or [pooled]).sort_index()
    unused = table[table["T_b_K"].notna() & ~table.index.isin(points["candidate"])]
    checked = _checked(curves)
    points_off = off_the_curve(observations[observations["cas"].isin(pure)], checked)
    return Fitted(checked, pd.concat([_reasons(unused), points_off]) if len(points_off) else _reasons(unused))


def _checked(curves: pd.DataFrame) -> pd.DataFrame:
    if curves.empty:
        return empty("vapour_curve")
    u95 = _largest_inside(curves)
    grades = [grade("vapour_pressure", 1.0, each, n) for each, n in zip(u95, curves["n_sources"], strict=True)]
    bands = pd.Series([list(row) for row in curves["band_u95_relative"]], index=curves.index, dtype=object)
    table = curves.assign(u95_relative=u95, grade=grades, band_u95_relative=bands)
    return check("vapour_curve", table.rename_axis("cas").reset_index(), "fit")


def _pooled(
    kept: pd.DataFrame, points: pd.DataFrame, constants: pd.DataFrame, errors: pd.DataFrame
) -> tuple[pd.DataFrame, Calibration]:
    """Curves through all sound correlations, and what holding out taught about them."""
    points = points[points["candidate"].isin(kept.index)]
    table = constants[constants.index.isin(points["cas"])]
    model = learn(table, points)
    calibration = calibrate(held_out(kept, constants, model))
    pooled = pool(table, points, model)
    table = pooled.table
    ends_K = points.groupby("cas")["T_K"].agg(["min", "max"]).reindex(table.index)
    is_known = table["way"] == EVALUATED
    highest_K = ends_K["max"].clip(lower=table["T_b_K"])
    by_component = kept.groupby("cas")
    curves = pooled_curves(pooled).assign(
        T_min_K=ends_K["min"].clip(upper=table["T_b_K"]),
        T_max_K=highest_K.where(~is_known, table["T_c_K"]),
        n_sources=by_component["house"].nunique(),
        source=by_component["source"].agg(lambda names: ", ".join(sorted(set(names)))),
        basis="correlated",
        rule="pooled",
    )
    curves = _limited(curves, table)
    band = band_of_pooled(pooled, kept, points, calibration, errors)
    residual = _residuals(curves, points).where(curves["n_sources"] > 1)
    return curves.assign(band_u95_relative=_rows(band, curves), relative_residual=residual), calibration


def _estimated(constants: pd.DataFrame, errors: pd.DataFrame, told_by: pd.Series) -> pd.DataFrame:
    """Corresponding-states curves; `told_by` names the sources of the boiling points."""
    curves = estimated_curves(constants)
    low_K, high_K = _asked_temperatures(curves, constants)
    curves = curves.assign(
        T_min_K=low_K,
        T_max_K=high_K,
        n_sources=0,
        source=told_by.reindex(curves.index).fillna("structure estimate"),
        basis="estimated",
        rule="corresponding states",
        relative_residual=np.nan,
    )
    band = band_of_estimates(curves, constants, errors)
    return _limited(curves, constants).assign(band_u95_relative=_rows(band, curves))


def _limited(curves: pd.DataFrame, constants: pd.DataFrame) -> pd.DataFrame:
    """Curves through a boiling point with the temperatures between which they may be asked."""
    T_b_K, T_c_K = constants["T_b_K"].to_numpy(), constants["T_c_K"].to_numpy()
    low_K, high_K = _asked_temperatures(curves, constants)
    lowest_K = np.minimum(LOWEST_SHARE_OF_T_MIN * curves["T_min_K"].to_numpy(), low_K)
    highest_K = np.maximum(HIGHEST_SHARE_OF_T_MAX * curves["T_max_K"].to_numpy(), high_K)
    lowest_K, highest_K = rising_span(curves, T_b_K, lowest_K, np.minimum(highest_K, T_c_K))
    return curves.assign(
        T_min_K=np.maximum(curves["T_min_K"], lowest_K),
        T_max_K=np.minimum(curves["T_max_K"], highest_K),
        T_lowest_K=lowest_K,
        T_highest_K=highest_K,
    )


def _asked_temperatures(curves: pd.DataFrame, constants: pd.DataFrame) -> tuple[Array, Array]:
    """Temperatures of 1 kPa and of 1 MPa, or of the critical point where that is lower; K.

    A curve that turns so near to 1 kPa that the search steps over it is asked from where it was seen to rise.
    """
    T_b_K, T_c_K = constants["T_b_K"].to_numpy(), constants["T_c_K"].to_numpy()
    lowest_K, _ = rising_span(curves, T_b_K, LOWEST_REDUCED_TEMPERATURE * T_c_K, T_c_K)
    low_K, high_K = (temperatures_at(curves, p_Pa, lowest_K, T_c_K) for p_Pa in ASKED_PA)
    return np.where(np.isfinite(low_K), low_K, lowest_K), np.where(np.isfinite(high_K), high_K, T_c_K)


def _chosen(kept: pd.DataFrame, points: pd.DataFrame, calibration: Calibration) -> pd.DataFrame:
    """The best correlation of each component that has no boiling point."""
    if kept.empty:
        return kept.set_index("cas")
    order = kept.assign(
        central=_is_central(kept, points),
        covered=_covered(kept),
        form_order=kept["equation"].map({form: place for place, form in enumerate(FORM_ORDER)}),
    ).sort_values(
        ["cas", "central", "covered", "form_order", "source", "source_row"],
        ascending=[True, False, False, True, True, True],
        kind="stable",
    )
    columns = ["cas", "equation", "coefficients", "T_min_K", "T_max_K", "basis", "source"]
    curves = order.drop_duplicates("cas")[columns].set_index("cas")
    curves = curves.assign(n_sources=kept.groupby("cas")["house"].nunique(), rule="chosen")
    low_K, high_K = curves["T_min_K"].to_numpy(), curves["T_max_K"].to_numpy()
    middle_K = np.sqrt(low_K * high_K)
    lowest_K = LOWEST_SHARE_OF_T_MIN * low_K
    highest_K = np.fmin(HIGHEST_SHARE_OF_T_MAX * high_K, _own_critical_temperatures(curves))
    lowest_K, highest_K = rising_span(curves, middle_K, lowest_K, highest_K)
    residual = _residuals(curves, points)
    ends_ln_p = ln_pressures(curves, np.stack([low_K, high_K])).T
    band = band_of_chosen(ends_ln_p, residual.fillna(0.0).to_numpy(), calibration)
    return curves.assign(
        T_min_K=np.maximum(low_K, lowest_K),
        T_max_K=np.minimum(high_K, highest_K),
        T_lowest_K=lowest_K,
        T_highest_K=highest_K,
        relative_residual=residual,
        band_u95_relative=_rows(band, curves),
    )


def _covered(kept: pd.DataFrame) -> pd.Series:
    """How many of `COVERED_PRESSURES_PA` each correlation covers."""
    low, high = ln_pressures(kept, kept[["T_min_K", "T_max_K"]].to_numpy().T)
    ln_p = np.log(COVERED_PRESSURES_PA)[:, np.newaxis]
    return pd.Series(((ln_p >= low) & (ln_p <= high)).sum(axis=0), index=kept.index)


def _own_critical_temperatures(curves: pd.DataFrame) -> Array:
    """Where forms that end in a critical point do, K; infinite for the others."""
    place = COEFFICIENT_NAMES["wagner_2.5_5"].index("T_c")
    T_c_K = stacked(curves["coefficients"])[:, place]
    return np.where(curves["equation"].str.startswith("wagner"), T_c_K, np.inf)


def _is_central(kept: pd.DataFrame, points: pd.DataFrame) -> pd.Series:
    """Whether a correlation stays near the middle of its component's, nearby in ln T."""
    mine = points[points["candidate"].isin(kept.index)]
    nearby = mine.assign(cell=(np.log(mine["T_K"]) * 100.0).round())
    slope = 10.0  # d ln p / d ln T is near this for every liquid, so points of one cell can be compared
    aligned = nearby["ln_p"] - slope * (np.log(nearby["T_K"]) - nearby["cell"] / 100.0)
    middle = aligned.groupby([nearby["cas"], nearby["cell"]]).transform("median")
    off = (aligned - middle).abs().groupby(nearby["candidate"]).mean().reindex(kept.index).fillna(0.0)
    least = off.groupby(kept["cas"]).transform("min")
    return off <= NEAR_THE_MIDDLE * np.maximum(least, LEAST_SCATTER)


def _residuals(curves: pd.DataFrame, points: pd.DataFrame) -> pd.Series:
    """Root mean square relative deviation of each component's other correlations from its curve, inside its range."""
    compared = points[points["ln_p"] >= np.log(LEAST_COMPARED_PA)]
    both = compared.merge(curves.reset_index(names="cas"), on="cas", suffixes=("", "_curve"))
    others = both["source"] != both["source_curve"]  # a curve taken from one source is not confirmed by it
    both = both[others & both["T_K"].between(both["T_min_K"], both["T_max_K"])]
    off = both["ln_p"].to_numpy() - ln_pressures(both, both["T_K"].to_numpy())
    squares = pd.Series(np.expm1(np.clip(off, -1.0, 1.0)) ** 2, index=both.index)
    return squares.groupby(both["cas"]).mean().pow(0.5).reindex(curves.index)


def _largest_inside(curves: pd.DataFrame) -> Array:
    """Largest value of each band inside the valid range and `ASKED_PA`, or inside the range where they do not meet.

    The band is linear in ln p, so that is at an end or at a knot between.
    """
    band = np.array(curves["band_u95_relative"].tolist())
    ends = ln_pressures(curves, curves[["T_min_K", "T_max_K"]].to_numpy().T)
    asked = np.clip(ends, *np.log(ASKED_PA))
    low, high = np.where(asked[0] < asked[1], asked, ends)
    at_ends = [
        (np.interp(each_low, KNOTS_LN_P, row), np.interp(each_high, KNOTS_LN_P, row))
        for each_low, each_high, row in zip(low, high, band, strict=True)
    ]
    between = np.clip(KNOTS_LN_P, low[:, np.newaxis], high[:, np.newaxis]) == KNOTS_LN_P
    return np.maximum(np.max(at_ends, axis=1), np.max(np.where(between, band, 0.0), axis=1))


def _rows(band: Array, curves: pd.DataFrame) -> pd.Series:
    return pd.Series(band.tolist(), index=curves.index, dtype=object)


def _told_by(observations: pd.DataFrame) -> pd.Series:
    """Sources of each component's normal boiling point, joined by commas."""
    rows = observations[(observations["property"] == "normal_boiling_point") & (observations["status"] == "accepted")]
    pairs = rows[["cas", "source"]].drop_duplicates().sort_values(["cas", "source"])
    return pairs.groupby("cas")["source"].agg(", ".join)


def _reasons(unused: pd.DataFrame) -> pd.Series:
    """Why correlations of components that boil took no part in a curve."""
    told = "boils near {:.1f} K at one atmosphere, the evaluation at {:.1f} K: not used for the curve".format
    reasons = pd.Series(map(told, unused["own_T_b_K"], unused["T_b_K"]), index=unused.index, dtype=object)
    return reasons.where(~unused["sound"], "no point of it lies where a curve is fitted")

"""How sure a vapour-pressure curve is: expanded uncertainties (95 %) in ln p, calibrated on what was held out.

For small values they are relative uncertainties of the pressure; one of 0.7 leaves a factor of two open either way.

**Estimated curves.** Correlations that cover one atmosphere, stretched onto the
evaluated boiling point, are hidden and compared with the corresponding-states
curve: for each way of knowing the critical constants, as though no better one
were known, the 95 % quantile of the deviation at each of `BAND_PRESSURES_PA`
(`estimate_errors`). What a quantile is too thinly covered for grows with
|ln(p/p_atm)| from the last one that is not.

**Pooled curves.** The standard uncertainty of the shape is the root sum of
squares of three parts: that of the posterior, widened where the correlations
disagree more than their sources should; beyond all data `SLOPE_BEYOND_DATA`
times the change of ln p since their end, the slope being uncertain there; and
`LEAST_SCATTER` times |ln(p/p_atm)|. A coverage factor turns it into an expanded
one. The factor is measured (`held_out`, `calibrate`): each house in turn is taken
away from each component that others speak of too, the curve is made again
without it, and compared with the house's points. Of two that contradict each
other either may be the wrong one, so half of the contradictions are held against
the points: for a curve that is wrong once in twenty, the factor is the one with
which the interval, joined by twice the held-out source's own scatter, holds
`HELD_OUT_COVERAGE` of them. It is measured apart for curves of one, two, and
three or more houses, and by pressure. However much the correlations disagree, the
shape is told no wider than twice the uncertainty of an estimate without them.

**Both** carry the boiling point's own uncertainty, in proportion to T: relative
to the pressure U(T_b)/T_b times d ln p/d ln T. At one atmosphere it stands
alone, so that a boiling point read from the curve there has the U95 of the
evaluated one. A curve that had to be stretched onto the boiling point carries
the stretch like another uncertainty of T_b, in full from a factor e in pressure
away from one atmosphere.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.properties import ATMOSPHERE_PA

from .critical_constants import WAYS
from .curve_evidence import ALLOWED_ESTIMATE_ERRORS, KNOTS_LN_P, LN_ATMOSPHERE, SOUND_K, sampled
from .curve_forms import ln_pressure_slopes, ln_pressures, rising_span, stretch, temperatures_at
from .pooling import LEAST_SCATTER, Model, Pooled, band_of, pool, pooled_curves, scatter_of
from .wagner import estimated_curves, terms

Array = NDArray[np.float64]

COVERAGE = 0.95
HELD_OUT_COVERAGE = 1.0 - 2.0 * (1.0 - COVERAGE)
COVERAGE_FACTOR = 2.0
"""Also the least factor: no curve is surer than a normal distribution would have it."""
UNMEASURED_FACTOR = 5.0
"""Coverage factor where too little is held out to measure one: above most of those that the full store gives."""
UNMEASURED_ESTIMATE_ERROR = 0.2
"""Per factor e in pressure where no estimate can be compared (common practice: heats by Trouton's rule to a fifth)."""
UNMEASURED_LONE_ERROR = 0.05
"""Also the least: nothing guards a single house against a blunder (common practice, no source)."""
LEAST_MEASURED = 25
SLOPE_BEYOND_DATA = 0.05
ZONE_BOUNDS_PA = (np.sqrt(1e5), np.sqrt(1e7), ATMOSPHERE_PA)
"""Bounds of the pressures for which a coverage factor is measured apart."""
MOST_HOUSES = 3
LOWEST_REDUCED_TEMPERATURE = 0.2


class Calibration(NamedTuple):
    """What holding out teaches, by zone of pressure.

    `factors` (houses 1 to `MOST_HOUSES`, zones): coverage factors of pooled
    curves; `lone_errors` (zones): expanded uncertainty in ln p of one house.
    """

    factors: Array
    lone_errors: Array


def estimate_errors(described: pd.DataFrame, served: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Expanded uncertainty in ln p of estimated curves, by way (rows) at `BAND_PRESSURES_PA` (columns).

    `described` are correlations as `curve_evidence.described` gives them,
    `served` the constants by way as `critical_constants` does.
    """
    off_K = (described["own_T_b_K"] - described["T_b_K"]).abs()
    truth = described[off_K <= np.maximum(described["T_b_u95_K"], SOUND_K)]
    truth = stretch(truth, (truth["T_b_K"] / truth["own_T_b_K"]).to_numpy())
    low, high = truth["T_min_K"].to_numpy(), truth["T_max_K"].to_numpy()
    T_K = np.array([temperatures_at(truth, p_Pa, low, high) for p_Pa in BAND_PRESSURES_PA])
    return pd.DataFrame({way: _errors_of(served[way], truth["cas"], T_K) for way in WAYS}).T


def _errors_of(constants: pd.DataFrame, cas: pd.Series, T_K: Array) -> Array:
    """95 % quantile of the estimate's deviation at each knot, over components."""
    has = cas.isin(constants.index).to_numpy()
    known = constants.loc[cas[has]]
    below = np.where(T_K[:, has] < known["T_c_K"].to_numpy(), T_K[:, has], np.nan)
    off = np.abs(ln_pressures(estimated_curves(known), below) - KNOTS_LN_P[:, np.newaxis])
    by_component = pd.DataFrame(off.T).groupby(known.index.to_numpy()).mean()
    quantile = by_component.quantile(COVERAGE).to_numpy()
    measured = by_component.count().to_numpy() >= LEAST_MEASURED
    return _grown_outwards(np.where(measured, quantile, np.nan))


def _grown_outwards(errors: Array) -> Array:
    """Errors that vanish at one atmosphere and never shrink away from it; gaps grow with |ln(p/p_atm)|."""
    distance = np.abs(KNOTS_LN_P - LN_ATMOSPHERE)
    middle = int(np.argmin(distance))
    out = np.zeros(len(errors))
    for side in (range(middle - 1, -1, -1), range(middle + 1, len(errors))):
        last, last_distance = 0.0, 0.0
        for place in side:
            per_unit = last / last_distance if last_distance else UNMEASURED_ESTIMATE_ERROR
            error = errors[place] if np.isfinite(errors[place]) else per_unit * distance[place]
            last, last_distance = max(float(error), last), distance[place]
            out[place] = last
    return out


def shape_uncertainty(pooled: Pooled, ends_ln_p: Array, places: NDArray[np.int64], T_K: Array, ln_p: Array) -> Array:
    """Standard uncertainty in ln p of the pooled curves at some places, one temperature and ln p each.

    `ends_ln_p` (N, 2): ln p at the ends of all that was fitted, boiling point included.
    """
    T_r = T_K / pooled.table["T_c_K"].to_numpy()[places]
    x = terms(np.minimum(T_r, 1.0)) / T_r[:, np.newaxis]
    posterior = np.einsum("ni,nij,nj->n", x, pooled.covariance[places], x)
    excess = pooled.excess[places, band_of(ln_p)]
    beyond = np.maximum(ends_ln_p[places, 0] - ln_p, 0.0) + np.maximum(ln_p - ends_ln_p[places, 1], 0.0)
    least = LEAST_SCATTER * np.abs(ln_p - LN_ATMOSPHERE)
    return np.sqrt(np.maximum(posterior, 0.0) * excess**2 + (SLOPE_BEYOND_DATA * beyond) ** 2 + least**2)


def ends_of_data(table: pd.DataFrame, points: pd.DataFrame) -> Array:
    """Lowest and highest ln p that speak for each component of the table, its boiling point included; shape (N, 2)."""
    ends = points.groupby("cas")["ln_p"].agg(["min", "max"]).reindex(table.index)
    return np.column_stack([ends["min"].clip(upper=LN_ATMOSPHERE), ends["max"].clip(lower=LN_ATMOSPHERE)])


def zones(ln_p: Array) -> NDArray[np.int64]:
    """Zone of pressure: the place among `ZONE_BOUNDS_PA`."""
    return np.searchsorted(np.log(ZONE_BOUNDS_PA), ln_p)


def calibrate(out: pd.DataFrame) -> Calibration:
    """What `held_out` points teach."""
    zones_told = len(ZONE_BOUNDS_PA) + 1
    factors = np.full((MOST_HOUSES, zones_told), UNMEASURED_FACTOR)
    lone_errors = np.full(zones_told, UNMEASURED_LONE_ERROR)
    for place, zone in np.ndindex(factors.shape):
        part = out[(out["houses"] == place + 1) & (out["zone"] == zone)]
        if part["candidate"].nunique() < LEAST_MEASURED:
            continue
        factors[place, zone] = _weighted_quantile(part["factor"], part["weight"])
        if place == 0:
            lone_errors[zone] = _weighted_quantile(part["deviation"].abs(), part["weight"])
    return Calibration(np.maximum(factors, COVERAGE_FACTOR), np.maximum(lone_errors, UNMEASURED_LONE_ERROR))


def held_out(used: pd.DataFrame, constants: pd.DataFrame, model: Model) -> pd.DataFrame:
    """Points of correlations whose house had no part in the curve they are compared with.

    Columns: cas, way, source, candidate, houses (in the curve, at most
    `MOST_HOUSES`), ln_p, zone, deviation (in ln p), u_shape, U_own (twice the
    source's scatter, and the boiling point's U95 for correlations that do not
    cover it), factor (the least coverage factor that holds the point), and
    weight: one for each correlation, shared by its points.
    """
    used = used[used.groupby("cas")["house"].transform("nunique") > 1]
    kept, tested = [], []
    for house in sorted(used["house"].unique()):
        concerned = used[used["cas"].isin(used.loc[used["house"] == house, "cas"])]
        key = concerned["cas"] + " without " + house
        is_tested = concerned["house"] == house
        kept.append(concerned.assign(key=key)[~is_tested])
        tested.append(concerned.assign(key=key)[is_tested])
    if not kept:
        return pd.DataFrame({"houses": [], "zone": [], "candidate": []})
    rest = pd.concat(kept).rename(columns={"cas": "component", "key": "cas"})
    others = rest.reset_index(drop=True)
    table = constants.loc[others["component"]].set_index(pd.Index(others["cas"]))
    table = table[~table.index.duplicated()].sort_index()
    points = sampled(others)
    pooled = pool(table, points, model)
    return _compared(pooled, points, pd.concat(tested, ignore_index=True), others, model)


def _compared(
    pooled: Pooled, points: pd.DataFrame, tested: pd.DataFrame, others: pd.DataFrame, model: Model
) -> pd.DataFrame:
    out = sampled(tested).join(tested[["key", "way", "T_b_K", "T_b_u95_K", "stretch"]], on="candidate")
    places = pooled.table.index.get_indexer(pd.Index(out["key"]))
    out, places = out[places >= 0], places[places >= 0]
    T_K, ln_p = out["T_K"].to_numpy(), out["ln_p"].to_numpy()
    curves = pooled_curves(pooled).iloc[places]
    u_shape = shape_uncertainty(pooled, ends_of_data(pooled.table, points), places, T_K, ln_p)
    boiling = ln_pressure_slopes(curves, T_K) * T_K * out["T_b_u95_K"] / out["T_b_K"]
    U_own = np.hypot(COVERAGE_FACTOR * scatter_of(out, model), boiling.where(out["stretch"] == 1.0, 0.0))
    deviation = ln_pressures(curves, T_K) - ln_p
    houses = others.groupby("cas")["house"].nunique().reindex(out["key"]).clip(upper=MOST_HOUSES)
    return out.assign(
        houses=houses.to_numpy(),
        zone=zones(ln_p),
        deviation=deviation,
        u_shape=u_shape,
        U_own=U_own,
        factor=np.sqrt(np.maximum(deviation**2 - U_own**2, 0.0)) / np.maximum(u_shape, 1e-12),
        weight=1.0 / out.groupby("candidate")["ln_p"].transform("size"),
    ).reset_index(drop=True)


def _weighted_quantile(values: pd.Series, weights: pd.Series) -> float:
    """The value that `HELD_OUT_COVERAGE` of the weight does not exceed."""
    order = np.argsort(values.to_numpy(), kind="stable")
    cumulative = np.cumsum(weights.to_numpy()[order])
    return float(values.to_numpy()[order][np.searchsorted(cumulative, HELD_OUT_COVERAGE * cumulative[-1])])


def band_of_pooled(
    pooled: Pooled, used: pd.DataFrame, points: pd.DataFrame, calibration: Calibration, errors: pd.DataFrame
) -> Array:
    """Expanded uncertainty in ln p of the pooled curves (N) at `BAND_PRESSURES_PA`; shape (N, knots).

    `used` and `points` are the correlations behind the curves and their points,
    `errors` those of estimates as `estimate_errors` gives them.
    """
    curves = pooled_curves(pooled)
    houses = used.groupby("cas")["house"].nunique().reindex(curves.index).clip(upper=MOST_HOUSES).to_numpy() - 1
    off = (used["stretch"] - 1.0).abs().where(~used["sound"], 0.0).groupby(used["cas"]).max().reindex(curves.index)
    ends_ln_p, places = ends_of_data(pooled.table, points), np.arange(len(curves))
    T_K = _temperatures_at_knots(curves, pooled.table)
    relative_u95 = (pooled.table["T_b_u95_K"] / pooled.table["T_b_K"]).to_numpy()
    most = ALLOWED_ESTIMATE_ERRORS * errors.loc[pooled.table["way"]].to_numpy()
    band = np.full((len(curves), len(KNOTS_LN_P)), np.nan)
    for knot, ln_p in enumerate(KNOTS_LN_P):
        at_knot = np.full(len(curves), ln_p)
        factor = calibration.factors[houses, zones(at_knot)]
        shape = factor * shape_uncertainty(pooled, ends_ln_p, places, T_K[knot], at_knot)
        shape = np.minimum(shape, most[:, knot])
        steepness = ln_pressure_slopes(curves, T_K[knot]) * T_K[knot]
        stretched = steepness * off.to_numpy() * min(abs(ln_p - LN_ATMOSPHERE), 1.0)
        boiling = steepness * relative_u95
        band[:, knot] = boiling if ln_p == LN_ATMOSPHERE else np.sqrt(shape**2 + stretched**2 + boiling**2)
    return _held_at_ends(band)


def band_of_estimates(curves: pd.DataFrame, constants: pd.DataFrame, errors: pd.DataFrame) -> Array:
    """Expanded uncertainty in ln p of estimated curves (N) at `BAND_PRESSURES_PA`; shape (N, knots)."""
    T_K = _temperatures_at_knots(curves, constants)
    relative_u95 = (constants["T_b_u95_K"] / constants["T_b_K"]).to_numpy()
    boiling = ln_pressure_slopes(curves, T_K) * T_K * relative_u95
    return _held_at_ends(np.hypot(boiling, errors.loc[constants["way"]].to_numpy().T).T)


def band_of_chosen(ends_ln_p: Array, residuals: Array, calibration: Calibration) -> Array:
    """The same of correlations (N) that stand alone without a boiling point, from ln p at their ends (N, 2).

    `residuals` (N): relative deviation of other correlations, 0 without any.
    """
    inside = np.maximum(calibration.lone_errors[zones(KNOTS_LN_P)], COVERAGE_FACTOR * residuals[:, np.newaxis])
    beyond = np.maximum(ends_ln_p[:, :1] - KNOTS_LN_P, 0.0) + np.maximum(KNOTS_LN_P - ends_ln_p[:, 1:], 0.0)
    return np.hypot(inside, COVERAGE_FACTOR * SLOPE_BEYOND_DATA * beyond)


def _temperatures_at_knots(curves: pd.DataFrame, constants: pd.DataFrame) -> Array:
    """Where curves reach each of `BAND_PRESSURES_PA`, K; NaN where they do not. Shape (knots, N)."""
    T_c_K, T_b_K = constants["T_c_K"].to_numpy(), constants["T_b_K"].to_numpy()
    low_K, _ = rising_span(curves, T_b_K, LOWEST_REDUCED_TEMPERATURE * T_c_K, T_c_K)
    return np.array([temperatures_at(curves, p_Pa, low_K, T_c_K) for p_Pa in BAND_PRESSURES_PA])


def _held_at_ends(band: Array) -> Array:
    """The band with the nearest value told where the curve does not reach a pressure."""
    return pd.DataFrame(band).ffill(axis=1).bfill(axis=1).to_numpy()

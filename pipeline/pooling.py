"""Many correlations of a component become one Wagner curve through its boiling point and its critical point.

The coefficients of the Wagner form (`wagner`) are the posterior mean of a linear
Gaussian model (A. Gelman et al., Bayesian Data Analysis, 3rd edition, 2013,
chapters 5 and 14):

- the prior is corresponding states, with a covariance of the departures from
  it for each way in which the critical constants are known. That covariance is
  learned from all components at once (empirical Bayes: expectation
  maximisation, A. P. Dempster, N. M. Laird, D. B. Rubin, J. R. Stat. Soc. B 39
  (1977) 1-38), so it also holds what wrong critical constants do;
- each correlation is `POINTS` points inside its range, which together count for
  `INDEPENDENT_POINTS`, with the scatter of its source in that band of pressure:
  robustly, how far the source is from curves that other houses take part in;
- where several correlations speak, one that is further off than its source
  should be loses weight, as under Student's t distribution with
  `DEGREES_OF_FREEDOM` (K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am.
  Stat. Assoc. 84 (1989) 881-896);
- last, the posterior is conditioned on passing through the evaluated boiling
  point exactly. What that point's own uncertainty leaves open is added later.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.properties import ATMOSPHERE_PA

from .critical_constants import EVALUATED
from .curve_forms import ln_pressures, rising_span
from .voices import ROBUST_SIGMA, house_of
from .wagner import AMBROSE_WALTON, acentric_factor_from_boiling_point, corresponding_states, terms, wagner_curves

Array = NDArray[np.float64]
Places = NDArray[np.int64]

POINTS = 16
INDEPENDENT_POINTS = 4.0
DEGREES_OF_FREEDOM = 2.0
PRESSURE_BOUNDS_PA = (1e0, 1e2, 1e3, 1e4, 2e5)
"""Bounds between which the scatter of a source is learned apart: every table is poorer at low pressure."""
FIRST_SCATTER = 0.01
LEAST_SCATTER = 0.002
LEAST_LEARNED = 25
"""With fewer correlations a scatter is `FIRST_SCATTER`; with fewer components a covariance is that of all ways, and
with fewer still `UNLEARNED_COVARIANCE`."""
TRUSTED_T_B_U95 = 0.01
"""Only components whose boiling point is known to a hundredth teach the prior."""
FIRST_COVARIANCE = np.diag((0.25 * AMBROSE_WALTON[0]) ** 2)
UNLEARNED_COVARIANCE = np.array(
    [[6.2, -13.2, 4.9, 12.1], [-13.2, 28.5, -11.3, -27.4], [4.9, -11.3, 6.5, 14.4], [12.1, -27.4, 14.4, 35.1]]
)
"""With too little to learn from: near what the full store gives where the critical constants are held at grade D."""
LEAST_VARIANCE = 1e-3
"""Of a coefficient of the prior in any direction: keeps its inverse exact, and is below what any real data leave."""
LEAST_RISING_PA = 1e3
LOWEST_REDUCED_TEMPERATURE = 0.3
RAISING = 1.5
RAISINGS = 8
NARROWING = 0.25
NARROWINGS = 12
LEARNING_ROUNDS = 3
"""Learning starts narrow and ends early: with more rounds the prior goes on widening, and held-out points at high
pressure, beyond the range of the other correlations, are hit worse; those between 1 and 10 kPa better."""
WEIGHING_ROUNDS = 5


@dataclass(frozen=True)
class Model:
    """What all components teach: the prior covariance of each way, and the scatter of each source by band."""

    covariance: dict[str, Array]
    scatter: pd.Series


class Pooled(NamedTuple):
    """Curves of N components, in the order of `table`.

    `table`: T_b_K, T_b_u95_K, T_c_K, p_c_Pa, omega, way, by CAS number.
    `coefficients` (N, 4) and their `covariance` (N, 4, 4), given the boiling
    point; `excess` (N, bands): by how much the correlations disagree more than
    their sources should, in each band of pressure and never below 1.
    """

    table: pd.DataFrame
    coefficients: Array
    covariance: Array
    excess: Array


class _Equations(NamedTuple):
    """The linear model: group of each point, its terms x, its value y = T_r ln(p/p_c), and T_r."""

    group: Places
    x: Array
    y: Array
    T_r: Array


def pooled_curves(pooled: Pooled) -> pd.DataFrame:
    """The pooled curves as a frame of curves, by CAS number."""
    return wagner_curves(pooled.coefficients, pooled.table)


def band_of(ln_p: Array) -> Places:
    """Band of pressure: the place among `PRESSURE_BOUNDS_PA`."""
    return np.searchsorted(np.log(PRESSURE_BOUNDS_PA), ln_p)


def learn(table: pd.DataFrame, points: pd.DataFrame) -> Model:
    """The model that these components teach; columns as in `pool`."""
    equations = _equations(table, points)
    covariance = dict.fromkeys(table["way"].unique(), FIRST_COVARIANCE)
    scatter = pd.Series(dtype=np.float64)
    departure_from = corresponding_states(table["omega"].to_numpy())
    for _ in range(LEARNING_ROUNDS):
        model = Model(covariance, scatter)
        u = scatter_of(points, model)
        coefficients, left_open = _solve(table, equations, u, model)
        covariance = _departures(table, coefficients - departure_from, left_open)
        scatter = _scatters(points, _deviations(equations, coefficients))
    return Model(covariance, scatter)


def pool(table: pd.DataFrame, points: pd.DataFrame, model: Model) -> Pooled:
    """The curves of all components of `table` that have points.

    `table` as in `Pooled`; `points` needs cas, source, candidate (the number of
    the correlation), T_K, ln_p and band. A curve that would not rise from
    `LEAST_RISING_PA`, and from its lowest point, to the critical one is made
    anew until it does: first with a higher critical pressure, unless that is
    evaluated, since steep correlations speak against one that is too low; then
    with a narrower prior, which at last leaves corresponding states.
    """
    pooled = _pool(table, points, model)
    given = pooled.table.copy()
    raised = [(_raised(given, RAISING**step), model) for step in range(1, RAISINGS + 1)]
    narrowed = [(given, _scaled(model, NARROWING**step)) for step in range(1, NARROWINGS + 1)]
    for constants, prior in [*raised, *narrowed]:
        bent = ~_rises(pooled, points)
        if not bent.any():
            break
        again = _pool(constants[bent], points, prior)
        pooled.table.loc[bent], pooled.coefficients[bent] = again.table, again.coefficients
        pooled.covariance[bent], pooled.excess[bent] = again.covariance, again.excess
    return pooled


def _raised(table: pd.DataFrame, factor: float) -> pd.DataFrame:
    """The table with higher critical pressures, where they are not evaluated."""
    p_c_Pa = table["p_c_Pa"] * np.where(table["way"] == EVALUATED, 1.0, factor)
    omega = acentric_factor_from_boiling_point(table["T_b_K"].to_numpy(), table["T_c_K"].to_numpy(), p_c_Pa.to_numpy())
    return table.assign(p_c_Pa=p_c_Pa, omega=omega)


def _scaled(model: Model, factor: float) -> Model:
    """The model with prior covariances multiplied."""
    return Model({way: each * factor for way, each in model.covariance.items()}, model.scatter)


def _pool(table: pd.DataFrame, points: pd.DataFrame, model: Model) -> Pooled:
    group = table.index.get_indexer(pd.Index(points["cas"]))
    table, points = table.iloc[np.unique(group[group >= 0])], points[group >= 0]
    equations = _equations(table, points)
    u = scatter_of(points, model)
    several = (points.groupby("cas")["candidate"].transform("nunique") > 1).to_numpy()
    wider = np.ones(len(points))
    for _ in range(WEIGHING_ROUNDS):
        coefficients, covariance = _solve(table, equations, u * np.sqrt(wider), model)
        squares = (_deviations(equations, coefficients) / u) ** 2
        off = pd.Series(squares).groupby(points["candidate"].to_numpy()).transform("mean").to_numpy()
        likely = (DEGREES_OF_FREEDOM + INDEPENDENT_POINTS * off) / (DEGREES_OF_FREEDOM + INDEPENDENT_POINTS)
        wider = np.where(several, likely, 1.0)
    excess = _excess(len(table), equations.group, points["band"].to_numpy(), squares)
    return Pooled(table, coefficients, covariance, excess)


def _rises(pooled: Pooled, points: pd.DataFrame) -> NDArray[np.bool_]:
    """Whether each curve rises to its critical point, from `LEAST_RISING_PA` and from its lowest point on."""
    curves, T_c_K = pooled_curves(pooled), pooled.table["T_c_K"].to_numpy()
    lowest_K = points.groupby("cas")["T_K"].min().reindex(pooled.table.index).to_numpy()
    floor_K = np.minimum(lowest_K, LOWEST_REDUCED_TEMPERATURE * T_c_K)
    low_K, high_K = rising_span(curves, pooled.table["T_b_K"].to_numpy(), floor_K, T_c_K)
    reached = ln_pressures(curves, low_K) <= np.log(LEAST_RISING_PA)
    return (low_K <= lowest_K) & reached & (high_K >= T_c_K)


def _equations(table: pd.DataFrame, points: pd.DataFrame) -> _Equations:
    group = table.index.get_indexer(pd.Index(points["cas"]))
    T_r = points["T_K"].to_numpy() / table["T_c_K"].to_numpy()[group]
    y = T_r * (points["ln_p"].to_numpy() - np.log(table["p_c_Pa"].to_numpy()[group]))
    return _Equations(group, terms(T_r), y, T_r)


def _deviations(equations: _Equations, coefficients: Array) -> Array:
    """Deviation of each point from its curve, in ln p."""
    return (equations.y - np.sum(equations.x * coefficients[equations.group], axis=1)) / equations.T_r


def _solve(table: pd.DataFrame, equations: _Equations, u_ln_p: Array, model: Model) -> tuple[Array, Array]:
    """Posterior mean and covariance of the coefficients, given the boiling point exactly."""
    mean = corresponding_states(table["omega"].to_numpy())
    precision = {way: np.linalg.inv(covariance) for way, covariance in model.covariance.items()}
    matrix = np.array([precision[way] for way in table["way"]]).reshape(-1, *FIRST_COVARIANCE.shape)
    right = np.einsum("nij,nj->ni", matrix, mean)
    weight = INDEPENDENT_POINTS / POINTS / (u_ln_p * equations.T_r) ** 2
    np.add.at(matrix, equations.group, weight[:, None, None] * equations.x[:, :, None] * equations.x[:, None, :])
    np.add.at(right, equations.group, (weight * equations.y)[:, None] * equations.x)
    covariance = np.linalg.inv(matrix)
    coefficients = np.einsum("nij,nj->ni", covariance, right)
    T_b_r = (table["T_b_K"] / table["T_c_K"]).to_numpy()
    boiling, y_b = terms(T_b_r), T_b_r * np.log(ATMOSPHERE_PA / table["p_c_Pa"].to_numpy())
    gain = np.einsum("nij,nj->ni", covariance, boiling)
    variance = np.sum(gain * boiling, axis=1)
    miss = y_b - np.sum(coefficients * boiling, axis=1)
    coefficients = coefficients + gain * (miss / variance)[:, None]
    covariance = covariance - gain[:, :, None] * gain[:, None, :] / variance[:, None, None]
    return coefficients, covariance


def scatter_of(points: pd.DataFrame, model: Model) -> Array:
    """Scatter of each point's source in its band; `FIRST_SCATTER` where the model tells none."""
    key = pd.MultiIndex.from_frame(points[["source", "band"]])
    told = model.scatter.reindex(key) if len(model.scatter) else pd.Series(np.nan, index=key)
    return np.asarray(told.fillna(FIRST_SCATTER), dtype=np.float64)


def _scatters(points: pd.DataFrame, deviations: Array) -> pd.Series:
    """Robust scatter of each source in each band, by (source, band), where other houses speak of the component, too."""
    compared = points.assign(deviation=np.abs(deviations), house=house_of(points["source"]))
    compared = compared[compared.groupby("cas")["house"].transform("nunique") > 1]
    grouped = compared.groupby(["source", "band"])
    enough = grouped["candidate"].nunique() >= LEAST_LEARNED
    return (ROBUST_SIGMA * grouped["deviation"].median())[enough].clip(lower=LEAST_SCATTER)


def _departures(table: pd.DataFrame, departures: Array, left_open: Array) -> dict[str, Array]:
    """Covariance (4, 4) of the true coefficients about corresponding states, for each way.

    One step of expectation maximisation, with departures clipped at five robust
    standard deviations, so that no single misfit widens the prior.
    """
    taught = (table["T_b_u95_K"] / table["T_b_K"] <= TRUSTED_T_B_U95).to_numpy()
    ways = table["way"].to_numpy()
    found = {}
    for way in table["way"].unique():
        mine = taught & (ways == way)
        mine = mine if mine.sum() >= LEAST_LEARNED else taught
        if mine.sum() < LEAST_LEARNED:
            found[way] = UNLEARNED_COVARIANCE
            continue
        spread = 5.0 * ROBUST_SIGMA * np.median(np.abs(departures[mine]), axis=0)
        clipped = np.clip(departures[mine], -spread, spread)
        covariance = clipped.T @ clipped / mine.sum() + np.mean(left_open[mine], axis=0)
        found[way] = 0.5 * (covariance + covariance.T) + LEAST_VARIANCE * np.eye(len(covariance))
    return found


def _excess(n: int, group: Places, band: Places, squares: Array) -> Array:
    """Root mean square of the standardised deviations by component and band; over all bands where one is empty."""
    bands = len(PRESSURE_BOUNDS_PA) + 1
    total, count = np.zeros((n, bands)), np.zeros((n, bands))
    np.add.at(total, (group, band), squares)
    np.add.at(count, (group, band), 1.0)
    overall = total.sum(axis=1, keepdims=True) / count.sum(axis=1, keepdims=True)
    with np.errstate(invalid="ignore"):
        mean = np.where(count > 0.0, total / count, overall)
    return np.sqrt(np.maximum(mean, 1.0))

"""What speaks for a component's vapour-pressure curve: its correlations, which of them are sound, and points of them.

A correlation is held against the evaluated normal boiling point. Where its own
range covers one atmosphere it gives a boiling point itself. Otherwise it is
continued from its nearest end along the estimated curve
(`wagner.estimated_curves`); twice the estimate's own expanded uncertainty
there, in kelvins, is allowed for.

*Sound* is a correlation that boils no further from the evaluated boiling point
than its expanded uncertainty, and never less than 0.5 K, plus that allowance.
One that is off by more than a twentieth of the boiling point plus the allowance
contradicts the evaluation, and is not used. Where none is sound the nearest
that does not contradict stands alone.

What covers one atmosphere, or ends within a tenth of it, is used for its shape:
it is stretched in temperature so that it gives the evaluated boiling point, and
so is what stands alone. The others stay as they are.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.properties import ATMOSPHERE_PA

from .curve_forms import ln_pressure_slopes, ln_pressures, stretch, temperatures_at
from .pooling import POINTS, band_of
from .voices import house_of
from .wagner import estimated_curves

Array = NDArray[np.float64]

KNOTS_LN_P = np.log(np.array(BAND_PRESSURES_PA))
LN_ATMOSPHERE = float(np.log(ATMOSPHERE_PA))
SOUND_K = 0.5
LARGEST_STRETCH = 0.05
ALLOWED_ESTIMATE_ERRORS = 2.0
NEARLY_COVERED = 0.1
HIGHEST_REDUCED_TEMPERATURE = 0.99
LEAST_SAMPLED_PA = 0.01
"""Below this pressure correlations are extrapolations of their own authors', and take no part in the fit."""


def described(correlations: pd.DataFrame, constants: pd.DataFrame) -> pd.DataFrame:
    """The correlations with their house, their component's constants, and the boiling point `own_T_b_K` they cover.

    `constants` as in `pooling.Pooled.table`; NaN where a component has none.
    """
    table = correlations.join(constants, on="cas").assign(house=house_of(correlations["source"]))
    low, high = table["T_min_K"].to_numpy(), table["T_max_K"].to_numpy()
    return table.assign(own_T_b_K=temperatures_at(table, ATMOSPHERE_PA, low, high))


def judged(table: pd.DataFrame, estimate_errors: pd.DataFrame) -> pd.DataFrame:
    """Described correlations with own_T_b_K wherever they can tell one, `covers`, `distance_K`, `sound`, `contradicts`.

    Those of components without a boiling point are sound. `estimate_errors` are
    expanded uncertainties in ln p of the estimated curve, by way (rows) at
    `BAND_PRESSURES_PA` (columns).
    """
    own_K, allowance_K = table["own_T_b_K"].copy(), pd.Series(0.0, index=table.index)
    covers = own_K.notna()
    rest = table[own_K.isna() & table["T_b_K"].notna()]
    if not rest.empty:
        found = _continued(rest, estimate_errors)
        own_K.loc[rest.index], allowance_K.loc[rest.index], covers.loc[rest.index] = found
    distance_K = (own_K - table["T_b_K"]).abs()
    tolerance_K = np.maximum(table["T_b_u95_K"], SOUND_K) + allowance_K
    contradicts = distance_K > LARGEST_STRETCH * table["T_b_K"] + allowance_K
    sound = ~(distance_K > tolerance_K) & ~contradicts
    return table.assign(own_T_b_K=own_K, covers=covers, distance_K=distance_K, sound=sound, contradicts=contradicts)


def _continued(rest: pd.DataFrame, estimate_errors: pd.DataFrame) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Boiling points of correlations that do not reach one, continued along the estimated curve; what is allowed; K.

    Last, whether they end so near to one atmosphere that this is as good as covering it.
    """
    ceiling = HIGHEST_REDUCED_TEMPERATURE * rest["T_c_K"].to_numpy()
    ends_K = np.minimum(rest[["T_min_K", "T_max_K"]].to_numpy().T, ceiling)
    ends_ln_p = ln_pressures(rest, ends_K)
    nearest = np.argmin(np.abs(ends_ln_p - LN_ATMOSPHERE), axis=0), np.arange(len(rest))
    T_K, ln_p = ends_K[nearest], ends_ln_p[nearest]
    estimate = estimated_curves(rest)
    error = [np.interp(each, KNOTS_LN_P, estimate_errors.loc[way]) for each, way in zip(ln_p, rest["way"], strict=True)]
    T_b_K = rest["T_b_K"].to_numpy()
    per_kelvin = ln_pressure_slopes(estimate, T_K) * T_K / T_b_K
    own_K = T_b_K - (ln_p - ln_pressures(estimate, T_K)) / per_kelvin
    allowance_K = ALLOWED_ESTIMATE_ERRORS * np.array(error) / per_kelvin
    return own_K, allowance_K, np.abs(ln_p - LN_ATMOSPHERE) <= NEARLY_COVERED


def used(table: pd.DataFrame) -> pd.DataFrame:
    """The judged correlations that make the curves, stretched where the rule says so, with `stretch`, the factor.

    Correlations of components without a boiling point are all taken as they are.
    """
    nearest = table[~table["contradicts"]].sort_values(["cas", "distance_K", "source"], kind="stable")
    nearest = nearest.drop_duplicates("cas")
    alone = table.index.isin(nearest.index[~nearest["cas"].isin(table.loc[table["sound"], "cas"])])
    kept = table[table["sound"] | alone]
    factor = (kept["T_b_K"] / kept["own_T_b_K"]).where(kept["covers"] | ~kept["sound"]).fillna(1.0)
    return stretch(kept, factor.to_numpy()).assign(stretch=factor)


def sampled(table: pd.DataFrame) -> pd.DataFrame:
    """`POINTS` points of each correlation inside its own range, evenly in 1/T.

    Columns: candidate (index of the correlation), cas, source, T_K, ln_p and
    band. A range is cut at `LEAST_SAMPLED_PA` and just below T_c.
    """
    ceiling = table["T_c_K"].fillna(np.inf).to_numpy() * HIGHEST_REDUCED_TEMPERATURE
    low, high = table["T_min_K"].to_numpy(), np.minimum(table["T_max_K"].to_numpy(), ceiling)
    reaching = high > low
    table, low, high = table[reaching], low[reaching], high[reaching]
    cut = temperatures_at(table, LEAST_SAMPLED_PA, low, high)
    low = np.where(np.isfinite(cut), cut, low)
    steps = np.linspace(0.0, 1.0, POINTS)[:, np.newaxis]
    T_K = 1.0 / ((1.0 - steps) / low + steps / high)
    ln_p = ln_pressures(table, T_K)
    points = pd.DataFrame(
        {
            "candidate": np.repeat(table.index.to_numpy(), POINTS),
            "cas": np.repeat(table["cas"].to_numpy(), POINTS),
            "source": np.repeat(table["source"].to_numpy(), POINTS),
            "T_K": T_K.T.ravel(),
            "ln_p": ln_p.T.ravel(),
        }
    )
    points = points[points["ln_p"] >= np.log(LEAST_SAMPLED_PA) - 1e-6].reset_index(drop=True)
    return points.assign(band=band_of(points["ln_p"].to_numpy()))

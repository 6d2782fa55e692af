"""Single points of vapour-pressure curves, held against the curve: what lies far off it is an outlier.

A source that states a pressure and the temperature that goes with it gives a
point. The curves are made from correlations, boiling points and structures;
points take no part in them, and do not judge them either.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.properties import PROPERTIES

from .curve_forms import ln_pressure_slopes, ln_pressures

LARGEST_DISTANCE_K = PROPERTIES["normal_boiling_point"].grade_limits[2]
"""Beside the curve's own uncertainty, K: grade C's limit of a boiling point."""


def off_the_curve(observations: pd.DataFrame, curves: pd.DataFrame) -> pd.Series:
    """The reason for each accepted point that lies far from its component's curve, by index of the observation.

    `observations` and `curves` are the tables `observation` and `vapour_curve`.
    Points beyond the temperatures to which a curve may be asked are left alone.
    """
    points = observations[
        (observations["property"] == "vapour_pressure")
        & (observations["status"] == "accepted")
        & observations["equation"].isna()
    ]
    points = points[["cas", "value", "temperature_K"]].reset_index(names="observation")
    both = points.merge(curves, on="cas")
    both = both[both["temperature_K"].between(both["T_lowest_K"], both["T_highest_K"])].reset_index(drop=True)
    if both.empty:
        return pd.Series(dtype="object")
    T_K, ln_p = both["temperature_K"].to_numpy(), np.log(both["value"].to_numpy())
    ln_curve, slope = ln_pressures(both, T_K), ln_pressure_slopes(both, T_K)
    knots = np.log(np.array(BAND_PRESSURES_PA))
    band = np.array([np.interp(at, knots, row) for at, row in zip(ln_curve, both["band_u95_relative"], strict=True)])
    distance_K = np.abs(ln_p - ln_curve) / slope
    far = distance_K > LARGEST_DISTANCE_K + np.log1p(band) / slope
    pressures = [f"off its curve: {np.exp(each):.4g} Pa at that temperature" for each in ln_curve[far]]
    return pd.Series(pressures, index=both.loc[far, "observation"].to_numpy(), dtype="object")

"""From observations to witnesses: every number that speaks for one property of one component.

A plain value is a witness as it stands. A vapour-pressure correlation whose
stated range covers one atmosphere, or nearly does, is a witness for the normal boiling point;
an enthalpy or density correlation is one at the reference temperature; a molar
volume becomes a density through the molar mass.
"""

from __future__ import annotations

from typing import cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import FORMS, WIDTH, ln_pressure, temperature_at
from cutpoint.schema.properties import (
    ATMOSPHERE_PA,
    DENSITY_TEMPERATURE_K,
    PROPERTIES,
    STANDARD_TEMPERATURE_K,
)

from .correlations import value_at
from .resolution import printed_step

EXPANSIVITY_PER_K = (0.9e-3, 0.8e-3)
"""Isobaric expansivity of a liquid near 20 °C and the width of its distribution over liquids, 1/K (common practice,
no source); it carries densities stated within `DENSITY_REACH_K` of 293.15 K there."""

NEARLY_COVERS = 0.5
"""Largest distance in ln p between one atmosphere and the end of a correlation's range that may be bridged: many
tables let a range end at the boiling point, rounded down."""
LEAST_REACH, LARGEST_REACH = 0.9, 1.1
"""Temperatures to which a correlation is followed for that, relative to the ends of its range."""

DENSITY_REACH_K = 10.0
"""Also the width of the temperatures that a density without a stated one may belong to."""


def stacked(coefficients: pd.Series) -> NDArray[np.float64]:
    """Coefficient lists as one array (rows, WIDTH); NULL becomes NaN."""
    if coefficients.empty:
        return np.empty((0, WIDTH))
    return np.array(coefficients.tolist(), dtype=np.float64)


def gather(observations: pd.DataFrame, molar_mass_g_mol: pd.Series) -> pd.DataFrame:
    """Witnesses of every property, one row each, with the index of their observation.

    `fitted` tells those that speak through a correlation; `step` is the width
    over which the value is open: that of the last printed digit, or of a
    conversion; `beyond` a correlation that is followed a little beyond its
    range. `molar_mass_g_mol` is indexed by CAS number. Estimates are no witnesses.
    """
    accepted = observations[(observations["status"] == "accepted") & (observations["basis"] != "estimated")]
    parts = [
        _plain_values(accepted),
        _boiling_points_of_curves(accepted),
        _enthalpies_of_correlations(accepted),
        _densities(accepted, molar_mass_g_mol),
    ]
    witnesses = _joined(parts)
    low = witnesses["property"].map({name: entry.plausible[0] for name, entry in PROPERTIES.items()}).astype(float)
    high = witnesses["property"].map({name: entry.plausible[1] for name, entry in PROPERTIES.items()}).astype(float)
    plausible = witnesses["value"].between(low, high)
    return witnesses[plausible].reset_index(drop=True)


def _joined(parts: list[pd.DataFrame]) -> pd.DataFrame:
    """The parts one below the other; without any, a frame of no witnesses."""
    nobody = pd.DataFrame(
        {
            "observation": pd.Series(dtype=np.int64),
            "source": pd.Series(dtype=str),
            "cas": pd.Series(dtype=str),
            "property": pd.Series(dtype=str),
            "value": pd.Series(dtype=np.float64),
            "temperature_K": pd.Series(dtype=np.float64),
            "fitted": pd.Series(dtype=bool),
            "step": pd.Series(dtype=np.float64),
            "beyond": pd.Series(dtype=bool),
        }
    )
    return pd.concat([part for part in parts if not part.empty] or [nobody], ignore_index=True)


def _witnesses(rows: pd.DataFrame, name: str, value: NDArray[np.float64], temperature_K: float) -> pd.DataFrame:
    table = pd.DataFrame(
        {
            "observation": rows.index,
            "source": rows["source"].to_numpy(),
            "cas": rows["cas"].to_numpy(),
            "property": name,
            "value": value,
            "temperature_K": temperature_K,
            "fitted": rows["equation"].notna().to_numpy(),
            "step": 0.0,
            "beyond": False,
        }
    )
    return table[np.isfinite(table["value"])]


def _plain_values(accepted: pd.DataFrame) -> pd.DataFrame:
    carried_elsewhere = ("liquid_density", "liquid_molar_volume", "exposure_limit", "peroxide_former")
    plain = accepted[accepted["value"].notna() & ~accepted["property"].isin(carried_elsewhere)]
    at_standard = plain["temperature_K"].isna() | ((plain["temperature_K"] - STANDARD_TEMPERATURE_K).abs() < 0.01)
    usable = plain[(plain["property"] != "enthalpy_of_vaporization") | at_standard]
    table = usable[["source", "cas", "property", "value", "temperature_K"]].copy()
    table.insert(0, "observation", usable.index)
    return table.assign(fitted=False, step=printed_step(usable), beyond=False)


def _boiling_points_of_curves(accepted: pd.DataFrame) -> pd.DataFrame:
    curves = accepted[(accepted["property"] == "vapour_pressure") & accepted["equation"].isin(tuple(FORMS))]
    parts = []
    for equation, rows in curves.groupby("equation", sort=True):
        form, coefficients = cast(str, equation), stacked(rows["coefficients"])
        low, high = rows["T_min_K"].to_numpy(), rows["T_max_K"].to_numpy()
        inside_K = temperature_at(form, coefficients, ATMOSPHERE_PA, low, high)
        with np.errstate(all="ignore"):
            beyond_K = temperature_at(form, coefficients, ATMOSPHERE_PA, LEAST_REACH * low, LARGEST_REACH * high)
            ends = ln_pressure(form, coefficients, np.clip(beyond_K, low, high))
            near = np.abs(ends - np.log(ATMOSPHERE_PA)) <= NEARLY_COVERS
        covers = np.isfinite(inside_K)
        told = _witnesses(rows, "normal_boiling_point", np.where(covers | ~near, inside_K, beyond_K), np.nan)
        told["beyond"] = pd.Series(~covers, index=rows.index).reindex(told["observation"]).to_numpy()
        parts.append(told)
    return _joined(parts)


def _within_range(rows: pd.DataFrame, T_K: float) -> pd.DataFrame:
    return rows[(rows["T_min_K"].fillna(0.0) <= T_K) & (rows["T_max_K"].fillna(np.inf) >= T_K)]


def _values_of_correlations(rows: pd.DataFrame, name: str, T_K: float) -> pd.DataFrame:
    parts = [
        _witnesses(part, name, value_at(cast(str, form), stacked(part["coefficients"]), T_K), T_K)
        for form, part in _within_range(rows, T_K).groupby("equation", sort=True)
    ]
    return _joined(parts)


def _enthalpies_of_correlations(accepted: pd.DataFrame) -> pd.DataFrame:
    rows = accepted[(accepted["property"] == "enthalpy_of_vaporization") & accepted["equation"].notna()]
    return _values_of_correlations(rows, "enthalpy_of_vaporization", STANDARD_TEMPERATURE_K)


def _densities(accepted: pd.DataFrame, molar_mass_g_mol: pd.Series) -> pd.DataFrame:
    rows = accepted[accepted["property"].isin(("liquid_density", "liquid_molar_volume"))]
    molar_mass_kg_mol = rows["cas"].map(molar_mass_g_mol).astype(float) / 1000.0

    stated = rows[rows["value"].notna()]
    stated_mass = molar_mass_kg_mol[stated.index]
    is_molar = stated["property"] == "liquid_molar_volume"
    density = stated["value"].where(~is_molar, stated_mass / stated["value"])
    warmer_K = stated["temperature_K"] - DENSITY_TEMPERATURE_K
    typical, width = EXPANSIVITY_PER_K
    carried = (density * (1.0 + typical * warmer_K.fillna(0.0))).where(~(warmer_K.abs() > DENSITY_REACH_K))
    values = _witnesses(stated, "liquid_density", carried.to_numpy(dtype=np.float64), DENSITY_TEMPERATURE_K)
    open_width = (density * (width * warmer_K.abs()).fillna(typical * DENSITY_REACH_K)).reindex(values["observation"])
    values["step"] = open_width.to_numpy()

    fitted = _values_of_correlations(rows[rows["equation"].notna()], "liquid_density", DENSITY_TEMPERATURE_K)
    molar = rows["equation"].reindex(fitted["observation"]).to_numpy() == "molar_density_rackett"
    fitted_mass = molar_mass_kg_mol.reindex(fitted["observation"]).to_numpy(dtype=np.float64)
    fitted["value"] = np.where(molar, fitted["value"] * fitted_mass, fitted["value"])
    return _joined([values, fitted[np.isfinite(fitted["value"])]])

"""Rules of physics as judges: what an evaluated value or curve must mean for another.

- Clausius-Clapeyron: the evaluated enthalpy of vaporisation, at 298.15 K and at
  the boiling point, against the slope of the curve there, inside its range.
- Acentric factor: the evaluated one against its definition, on the curve.
- End of the curve: the evaluated critical pressure against a curve that was
  fitted without it, at the critical temperature.
- Order of temperatures: melting before boiling, boiling and flashing below what
  they must stay below. The deviation is the part that breaks the order.

The tolerance is what the expanded uncertainties of both sides leave open
together. A comparison that leaves more open than `TELLING` says nothing and is
not made. No enthalpy is compared where molecules associate in the vapour, of
which no equation of state knows: carboxylic acids and hydrogen fluoride.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rdkit import Chem

from cutpoint.schema.equations import LN10
from cutpoint.schema.properties import STANDARD_TEMPERATURE_K

from .bands import band_u95, pressures_and_slopes
from .enthalpy import from_slope
from .structure import silence

Array = NDArray[np.float64]

CLAUSIUS_CLAPEYRON = "Clausius-Clapeyron: slope of the curve"
ACENTRIC_FACTOR = "acentric factor: definition, on the curve"
END_OF_CURVE = "critical pressure: end of the curve"
ORDERS = (
    ("melting_point", "normal_boiling_point", "order: melts before it boils"),
    ("normal_boiling_point", "critical_temperature", "order: boils below the critical temperature"),
    ("flash_point", "normal_boiling_point", "order: flashes below its boiling point"),
)
"""The property that must be lower, the one that must be higher, and the name of the rule."""

COMPARISON = ("cas", "property", "temperature_K", "ours", "reference_value", "deviation", "tolerance", "reference")
"""Columns of a comparison: those of `crosscheck` without the verdict."""

TELLING = 0.2
"""Widest tolerance, relative to the value, or in the unit of the acentric factor, with which a rule still tells."""
LEAST_TOLERANCE_K = 0.5
"""Temperatures of two properties are never held against each other more narrowly: grade A's limit."""
REDUCED_TEMPERATURE_OF_OMEGA = 0.7
HIGHEST_REDUCED_TEMPERATURE = 0.95
"""Nearer to the critical point no slope tells an enthalpy."""

_CARBOXYLIC_ACID = Chem.MolFromSmarts("C(=O)[OX2H]")
_HYDROGEN_FLUORIDE = "7664-39-3"


def with_constants(curves: pd.DataFrame, evaluations: pd.DataFrame) -> pd.DataFrame:
    """The curves, indexed anew, with the evaluated `T_b_K`, `T_c_K` and `p_c_Pa` of their components."""
    table = curves.reset_index(drop=True)
    names = {"normal_boiling_point": "T_b_K", "critical_temperature": "T_c_K", "critical_pressure": "p_c_Pa"}
    for name, symbol in names.items():
        values = evaluations[evaluations["property"] == name].set_index("cas")["value"]
        table[symbol] = table["cas"].map(values).astype(float)
    return table


def comparisons(evaluations: pd.DataFrame, curves: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """Every comparison that the rules can make, with the columns of `COMPARISON`."""
    silence()
    described = with_constants(curves, evaluations)
    parts = [
        enthalpies(evaluations, described, components)[list(COMPARISON)],
        _acentric_factors(evaluations, described),
        _ends_of_curves(evaluations, described),
        *(_order(evaluations, *rule) for rule in ORDERS),
    ]
    return pd.concat([part for part in parts if not part.empty] or parts[:1], ignore_index=True)


def enthalpies(evaluations: pd.DataFrame, described: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """Evaluated enthalpies against the slopes of the curves: `COMPARISON`, and all that both sides hold beside it.

    `described` is what `with_constants` gives; its columns get the suffix `_curve` where the evaluation has the same.
    """
    parts = []
    for name in ("enthalpy_of_vaporization", "enthalpy_of_vaporization_at_boiling_point"):
        values = evaluations[evaluations["property"] == name].drop(columns="temperature_K")
        pairs = values.merge(described, on="cas", suffixes=("", "_curve"))
        at_standard = name == "enthalpy_of_vaporization"
        parts.append(pairs.assign(temperature_K=STANDARD_TEMPERATURE_K if at_standard else pairs["T_b_K"]))
    table = pd.concat(parts, ignore_index=True)
    table = table[table["temperature_K"].between(table["T_min_K"], table["T_max_K"])].reset_index(drop=True)
    by_slope = from_slope(table, table["temperature_K"])
    table["ours"], table["reference_value"] = table["value"], by_slope["enthalpy_J_mol"]
    table["deviation"] = table["ours"] / table["reference_value"] - 1.0
    table["tolerance"] = np.hypot(table["u95"] / table["value"], by_slope["u95_relative"])
    table["reference"] = CLAUSIUS_CLAPEYRON
    cool = ~(table["temperature_K"] > HIGHEST_REDUCED_TEMPERATURE * table["T_c_K"])
    telling = table[cool & table["reference_value"].notna() & (table["tolerance"] <= TELLING)]
    smiles = telling["cas"].map(components.set_index("cas")["smiles"])
    return telling[~_associates(telling["cas"], smiles)].reset_index(drop=True)


def _associates(cas: pd.Series, smiles: pd.Series) -> pd.Series:
    """Whether the molecules associate in the vapour."""
    distinct = {text: Chem.MolFromSmiles(text) for text in smiles.dropna().unique()}
    acids = {text for text, molecule in distinct.items() if molecule and molecule.HasSubstructMatch(_CARBOXYLIC_ACID)}
    return smiles.isin(acids) | (cas == _HYDROGEN_FLUORIDE)


def _acentric_factors(evaluations: pd.DataFrame, described: pd.DataFrame) -> pd.DataFrame:
    omega = evaluations[evaluations["property"] == "acentric_factor"].drop(columns="temperature_K")
    table = omega.merge(described, on="cas", suffixes=("", "_curve")).dropna(subset=["T_c_K", "p_c_Pa"])
    table["temperature_K"] = REDUCED_TEMPERATURE_OF_OMEGA * table["T_c_K"]
    table = table[table["temperature_K"].between(table["T_min_K"], table["T_max_K"])].reset_index(drop=True)
    T_K = table["temperature_K"].to_numpy(np.float64)
    p_Pa, slope = pressures_and_slopes(table, T_K)
    u95 = _relative_u95(evaluations, table["cas"])
    # Through the curve, through the critical pressure, and through the temperature at which it is read.
    of_curve = np.hypot(band_u95(table, p_Pa), u95["critical_pressure"])
    of_definition = np.hypot(of_curve, slope * T_K * u95["critical_temperature"]) / LN10
    by_definition = -np.log10(p_Pa / table["p_c_Pa"].to_numpy(np.float64)) - 1.0
    tolerance = np.hypot(table["u95"].to_numpy(np.float64), of_definition)
    return _told(table, by_definition, table["value"] - by_definition, tolerance, ACENTRIC_FACTOR)


def _ends_of_curves(evaluations: pd.DataFrame, described: pd.DataFrame) -> pd.DataFrame:
    p_c = evaluations[evaluations["property"] == "critical_pressure"].drop(columns="temperature_K")
    table = p_c.merge(described, on="cas", suffixes=("", "_curve"))
    without_it = ~table["equation"].str.startswith("wagner") & table["T_c_K"].between(
        table["T_min_K"], table["T_highest_K"]
    )
    table = table.assign(temperature_K=table["T_c_K"])[without_it].reset_index(drop=True)
    T_K = table["temperature_K"].to_numpy(np.float64)
    p_Pa, slope = pressures_and_slopes(table, T_K)
    u95 = _relative_u95(evaluations, table["cas"])
    of_curve = np.hypot(band_u95(table, p_Pa), slope * T_K * u95["critical_temperature"])
    tolerance = np.hypot((table["u95"] / table["value"]).to_numpy(np.float64), of_curve)
    return _told(table, p_Pa, table["value"] / p_Pa - 1.0, tolerance, END_OF_CURVE)


def _relative_u95(evaluations: pd.DataFrame, cas: pd.Series) -> dict[str, Array]:
    """Relative expanded uncertainties of the critical constants of each component."""
    relative = evaluations.assign(relative=evaluations["u95"] / evaluations["value"].abs())
    return {
        name: cas.map(relative[relative["property"] == name].set_index("cas")["relative"]).to_numpy(np.float64)
        for name in ("critical_temperature", "critical_pressure")
    }


def _order(evaluations: pd.DataFrame, lower: str, higher: str, rule: str) -> pd.DataFrame:
    low = evaluations[evaluations["property"] == lower]
    table = low.merge(evaluations[evaluations["property"] == higher], on="cas", suffixes=("", "_higher"))
    broken_by = (table["value"] - table["value_higher"]).clip(lower=0.0)
    tolerance = np.maximum(np.hypot(table["u95"], table["u95_higher"]), LEAST_TOLERANCE_K)
    told = table.assign(temperature_K=0.0, ours=table["value"], reference_value=table["value_higher"])
    return told.assign(deviation=broken_by, tolerance=tolerance, reference=rule)[list(COMPARISON)]


def _told(
    table: pd.DataFrame, reference_value: Array, deviation: pd.Series, tolerance: Array, rule: str
) -> pd.DataFrame:
    told = table.assign(
        ours=table["value"], reference_value=reference_value, deviation=deviation, tolerance=tolerance, reference=rule
    )
    return told.loc[told["tolerance"] <= TELLING, list(COMPARISON)]

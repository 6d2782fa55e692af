"""Statements of the knowledge base become observations in SI units; the rest is refused aloud.

One row of `wikidata_values` is one value of one item, with its unit, its
pressure, temperature and phase, and its rank. It is kept as it is stated:
several values of an item are several observations.

* A boiling point at another pressure than one atmosphere is a point of the
  vapour-pressure curve. So near to it as `NEAR_ATMOSPHERE` the pressure is that
  of a barometer or of another convention, and the value a normal boiling point.
* A density is the liquid's if the statement says so, or if the same item melts
  below its temperature; of any other the phase is not known.
* An item with several CAS numbers is a group of substances or one of several
  forms: its values belong to none of the numbers for certain.
* Digits finer than anybody measures come from conversions, and are rounded away;
  a whole degree Fahrenheit is known to a degree Celsius, from which most came
  (common practice, no source).
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.properties import ATMOSPHERE_PA, DENSITY_TEMPERATURE_K, ICE_POINT_K, PROPERTIES

from . import wikidata_terms as terms
from .normalise import WHOLE_ROW
from .unit_items import converted, symbol

NEAR_ATMOSPHERE = 0.015
"""Largest relative difference from 101 325 Pa of the pressure of a normal boiling point: 1 bar counts (-0.4 K), and
so does a barometer at sea level."""
AS_FOR_MELTING = (3e4, 3e5)
"""Pressures, Pa, over which a melting point hardly moves (some 0.03 K per bar; common practice, no source)."""
FINEST_TEMPERATURE_K = 0.01
SIGNIFICANT_DIGITS = 6
"""Of values that are no temperatures: more than any of them is known to."""

LIQUID = "Q11435"
"""The item "liquid", as a phase of matter: https://www.wikidata.org/wiki/Q11435."""

IN_FAHRENHEIT_DEGREES = ("Q42289", "Q37732658")
"""Units whose degree is 5/9 K."""

DIMENSIONS = {"K": "temperature", "Pa": "pressure", "kg_m3": "density", "1": "fraction"}
"""Dimension of a value by the unit of its property."""


def observed(values: pd.DataFrame, items: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Observations and whole refused rows of the table `wikidata_values`.

    `values` has the columns of `snapshot.SCHEMAS["wikidata_values"]` as text,
    missing cells empty, and the index `source_row`; `items` those of
    `wikidata_items`. The frames lack the column `source`; without values both are empty.
    """
    if values.empty:
        return pd.DataFrame(), pd.DataFrame()
    rows = values.assign(property=values["property"].map(terms.PROPERTIES), statement_of=values["property"])
    known = rows["property"].notna()
    rows.loc[~known, "property"] = "normal_boiling_point"  # any: these rows are refused below
    unit = rows["property"].map({name: entry.unit for name, entry in PROPERTIES.items()})
    stated = converted(rows["amount"], rows["unit"], unit.map(DIMENSIONS))
    at_pressure = converted(rows["pressure_amount"], rows["pressure_unit"], _all(rows, "pressure"))
    at_temperature = converted(rows["temperature_amount"], rows["temperature_unit"], _all(rows, "temperature"))
    numbers_of_item = items.groupby("item")["cas"].agg(lambda numbers: sorted(set(numbers)))
    cas = rows["item"].map(numbers_of_item).map(lambda numbers: numbers if isinstance(numbers, list) else [])

    table = pd.DataFrame(
        {
            "item": rows["item"],
            "field": rows["statement_of"],
            "cas": cas.map(lambda numbers: numbers[0] if len(numbers) == 1 else None),
            "property": rows["property"],
            "value": _without_false_precision(stated.value, unit.to_numpy(), _step_K(rows)),
            "unit": unit,
            "temperature_K": at_temperature.value,
            "pressure_Pa": at_pressure.value,
            "basis": "compiled",
            "raw": rows["amount"],
        }
    )
    table = _points_of_the_curve(table)
    reason = _first_reason(
        (rows["rank"] == "deprecated", "deprecated in the knowledge base"),
        (~known, "a property that is not read"),
        (cas.map(len) == 0, "its item has no CAS number"),
        (cas.map(len) > 1, "its item has several CAS numbers: " + cas.map(", ".join)),
        (rows["amount"] == "", "no number is stated"),
        (stated.refusal != "", pd.Series(stated.refusal, index=rows.index)),
        (at_pressure.refusal != "", "its pressure: " + pd.Series(at_pressure.refusal, index=rows.index)),
        (at_temperature.refusal != "", "its temperature: " + pd.Series(at_temperature.refusal, index=rows.index)),
        *_physics(table),
    )
    reason = _of_no_liquid(table, rows, reason)
    passed = reason == ""
    refused = pd.DataFrame(
        {
            "source_row": rows.index[~passed],
            "field": WHOLE_ROW,
            "cas": table.loc[~passed, "cas"].to_numpy(),
            "raw": _written(rows[~passed]),
            "reason": reason[~passed].to_numpy(),
        }
    )
    return table[passed].drop(columns="item").rename_axis("source_row").reset_index(), refused


def _first_reason(*cases: tuple[pd.Series, str | pd.Series]) -> pd.Series:
    """The words of the first case that holds for each row, empty where none does."""
    reason = pd.Series("", index=cases[0][0].index)
    for holds, words in reversed(cases):
        reason = reason.mask(holds, words)
    return reason


def _all(rows: pd.DataFrame, text: str) -> pd.Series:
    return pd.Series(text, index=rows.index)


def _step_K(rows: pd.DataFrame) -> NDArray[np.float64]:
    """Width to which a temperature is known: `FINEST_TEMPERATURE_K`, or the tenfold that holds a printed °F or °R."""
    decimals = rows["amount"].str.extract(r"\.(\d*)$")[0].fillna("").str.len()
    larger = np.maximum(10.0 ** -decimals.to_numpy(dtype=np.float64), FINEST_TEMPERATURE_K)
    return np.where(rows["unit"].isin(IN_FAHRENHEIT_DEGREES), larger, FINEST_TEMPERATURE_K)


def _without_false_precision(
    value: NDArray[np.float64], unit: NDArray[np.object_], step_K: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Temperatures to the step, on the grid of degrees Celsius; the others to `SIGNIFICANT_DIGITS`."""
    digits = [float(f"{number:.{SIGNIFICANT_DIGITS}g}") for number in value]
    with np.errstate(over="ignore", invalid="ignore"):  # what is absurd is refused by its range
        celsius = np.round((value - ICE_POINT_K) / step_K) * step_K
        fine = np.round(value / FINEST_TEMPERATURE_K) * FINEST_TEMPERATURE_K
        kelvins = np.where(step_K > FINEST_TEMPERATURE_K, celsius + ICE_POINT_K, fine)
        return np.where(unit == "K", kelvins, digits).round(12)


def _points_of_the_curve(table: pd.DataFrame) -> pd.DataFrame:
    """The table with boiling points at other pressures turned into vapour pressures."""
    off = (table["pressure_Pa"] / ATMOSPHERE_PA - 1.0).abs()
    point = (table["property"] == "normal_boiling_point") & (off > NEAR_ATMOSPHERE)
    turned = table.loc[point]
    return table.assign(
        property=table["property"].mask(point, "vapour_pressure"),
        unit=table["unit"].mask(point, "Pa"),
        temperature_K=table["temperature_K"].mask(point, turned["value"]),
        value=table["value"].mask(point, turned["pressure_Pa"]),
    )


def _physics(table: pd.DataFrame) -> list[tuple[pd.Series, str | pd.Series]]:
    """Why a number that could be read is still none of its property."""
    low = table["property"].map({name: entry.plausible[0] for name, entry in PROPERTIES.items()})
    high = table["property"].map({name: entry.plausible[1] for name, entry in PROPERTIES.items()})
    melting = table["property"] == "melting_point"
    pressed = melting & table["pressure_Pa"].notna() & ~table["pressure_Pa"].between(*AS_FOR_MELTING)
    cold = (table[["temperature_K", "pressure_Pa"]] <= 0.0).any(axis=1)
    outside = (table["value"] < low) | (table["value"] > high)
    return [
        (cold, "its temperature or pressure is not positive"),
        (outside, "outside the plausible range: " + low.map("{:g}".format) + " to " + high.map("{:g}".format)),
        (pressed, "a melting point under pressure"),
        (
            (table["property"] == "vapour_pressure") & table["temperature_K"].isna(),
            "a vapour pressure without a temperature",
        ),
    ]


def _of_no_liquid(table: pd.DataFrame, rows: pd.DataFrame, reason: pd.Series) -> pd.Series:
    """The reasons, with those of densities that are not, or not known to be, the liquid's."""
    density = (table["property"] == "liquid_density") & (reason == "")
    unsaid = density & (rows["phase"] == "") & ~_melts_below(table, table[reason == ""])
    reason = reason.mask(density & ~rows["phase"].isin(("", LIQUID)), "a density of another phase than the liquid")
    return reason.mask(unsaid, "a density without its phase, and its item has no melting point below the temperature")


def _melts_below(table: pd.DataFrame, kept: pd.DataFrame) -> pd.Series:
    """Whether the item melts below the temperature of each row; without one, below that of evaluated densities."""
    melting = kept.loc[kept["property"] == "melting_point"].groupby("item")["value"].max()
    at_K = table["temperature_K"].fillna(DENSITY_TEMPERATURE_K)
    return table["item"].map(melting).astype(float) < at_K


def _written(rows: pd.DataFrame) -> list[str]:
    """The statements as they are written, with unit and conditions."""
    columns = [
        *("item", "statement_of", "amount", "unit", "pressure_amount", "pressure_unit"),
        *("temperature_amount", "temperature_unit", "rank"),
    ]
    lines = []
    for item, of, amount, unit, p, p_unit, T, T_unit, rank in rows[columns].itertuples(index=False):
        parts = [f"{item} {of}", f"{amount} {symbol(unit)}".strip()]
        parts += [f"at {p} {symbol(p_unit)}"] * bool(p) + [f"at {T} {symbol(T_unit)}"] * bool(T)
        lines.append("\t".join([*parts, rank]))
    return lines

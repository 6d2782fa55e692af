"""Units of the knowledge base: what they are in SI, and what is refused."""

from __future__ import annotations

import math

import pandas as pd
import pint
import pytest

from cutpoint.pipeline.unit_items import UNIT_ITEMS, converted, symbol

REGISTRY = pint.UnitRegistry()
NAMES = {
    "K": "kelvin", "°C": "degree_Celsius", "°F": "degree_Fahrenheit", "°R": "degree_Rankine", "Pa": "pascal",
    "hPa": "hectopascal", "kPa": "kilopascal", "bar": "bar", "mbar": "millibar", "atm": "standard_atmosphere",
    "Torr": "torr", "mmHg": "millimeter_Hg", "psi": "psi", "kg/m³": "kilogram/meter**3", "g/cm³": "gram/centimeter**3",
    "g/L": "gram/liter", "%": "percent", "vol. %": "percent", "ppm": "ppm",
}  # fmt: skip
"""By symbol: how the library of units calls it."""
SI = {"temperature": "kelvin", "pressure": "pascal", "density": "kilogram/meter**3", "fraction": "dimensionless"}


def convert(amount: str, unit: str, dimension: str) -> tuple[float, str]:
    got = converted(pd.Series([amount]), pd.Series([unit]), pd.Series([dimension]))
    return float(got.value[0]), str(got.refusal[0])


@pytest.mark.parametrize("item", UNIT_ITEMS)
def test_every_unit_is_what_the_library_of_units_says(item: str) -> None:
    unit = UNIT_ITEMS[item]
    there = REGISTRY.Quantity(37.5, NAMES[unit.symbol]).to(SI[unit.dimension]).magnitude
    value, refusal = convert("+37.5", item, unit.dimension)
    assert refusal == ""
    assert value == pytest.approx(there, rel=2e-7)  # the library rounds the millimetre of mercury


@pytest.mark.parametrize(
    ("amount", "unit", "words"),
    [
        ("+56.1", "1", "no unit is stated"),
        ("+56.1", "", "no unit is stated"),
        ("+56.1", "Q99999999", "a unit that is not known: Q99999999"),
        ("+56.1", "Q103510", "its unit is none of a temperature: bar"),
        ("about 56", "Q25267", "not a number"),
        ("1_0", "Q25267", "not a number"),
        ("NaN", "Q25267", "not a number"),
    ],
)
def test_nothing_is_guessed(amount: str, unit: str, words: str) -> None:
    value, refusal = convert(amount, unit, "temperature")
    assert math.isnan(value)
    assert refusal == words


def test_nothing_stated_is_nothing_refused() -> None:
    value, refusal = convert("", "", "pressure")
    assert math.isnan(value)
    assert refusal == ""


def test_an_unknown_unit_is_written_as_its_item() -> None:
    assert symbol("Q25267") == "°C"
    assert symbol("1") == ""
    assert symbol("Q99999999") == "Q99999999"

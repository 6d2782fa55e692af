"""The unit items of the knowledge base: which unit each is, and how it becomes SI.

A unit is a number of an item, as `Q25267`; `1` stands for no unit. Only those
listed here are read: a value in any other is refused, never guessed. Factors:
A. Thompson, B. N. Taylor, Guide for the Use of the International System of
Units, NIST Special Publication 811, 2008 edition, appendix B.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.properties import ATMOSPHERE_PA, ICE_POINT_K

from .normalise import NUMBER

NO_UNIT = "1"
RANKINE_PER_KELVIN = 1.8
FAHRENHEIT_ZERO_K = ICE_POINT_K - 32.0 / RANKINE_PER_KELVIN
MMHG_PA = 133.322387415
"""Conventional millimetre of mercury, Pa: 13.5951 g/cm3 times 9.80665 m/s2, exact."""
PSI_PA = 6894.757293168
"""Pound-force per square inch, Pa: 0.45359237 kg times 9.80665 m/s2 over (0.0254 m)2, rounded."""


@dataclass(frozen=True)
class UnitItem:
    """A unit: SI = amount * scale + offset; `dimension` is temperature, pressure, density or fraction."""

    symbol: str
    dimension: str
    scale: float
    offset: float = 0.0


UNIT_ITEMS = {
    "Q11579": UnitItem("K", "temperature", 1.0),
    "Q25267": UnitItem("°C", "temperature", 1.0, ICE_POINT_K),
    "Q42289": UnitItem("°F", "temperature", 1.0 / RANKINE_PER_KELVIN, FAHRENHEIT_ZERO_K),
    "Q37732658": UnitItem("°R", "temperature", 1.0 / RANKINE_PER_KELVIN),
    "Q44395": UnitItem("Pa", "pressure", 1.0),
    "Q5139563": UnitItem("hPa", "pressure", 100.0),
    "Q21064807": UnitItem("kPa", "pressure", 1000.0),
    "Q103510": UnitItem("bar", "pressure", 1e5),
    "Q3495543": UnitItem("mbar", "pressure", 100.0),
    "Q177974": UnitItem("atm", "pressure", ATMOSPHERE_PA),
    "Q185648": UnitItem("Torr", "pressure", ATMOSPHERE_PA / 760.0),
    "Q6859652": UnitItem("mmHg", "pressure", MMHG_PA),
    "Q626299": UnitItem("psi", "pressure", PSI_PA),
    "Q844211": UnitItem("kg/m³", "density", 1.0),
    "Q13147228": UnitItem("g/cm³", "density", 1000.0),
    "Q834105": UnitItem("g/L", "density", 1.0),
    "Q11229": UnitItem("%", "fraction", 0.01),
    "Q2080811": UnitItem("vol. %", "fraction", 0.01),
    "Q21006887": UnitItem("ppm", "fraction", 1e-6),
}
"""By item. A fraction of vapour in air without a unit is refused: it may be a fraction or a percentage."""


@dataclass(frozen=True)
class Converted:
    """Amounts in SI, NaN where there is none, and why not: empty where there is one, or where nothing is stated."""

    value: NDArray[np.float64]
    refusal: NDArray[np.str_]


def symbol(unit: str) -> str:
    """How a unit is written, for people; the item itself if it is not known."""
    known = UNIT_ITEMS.get(unit)
    return known.symbol if known else ("" if unit == NO_UNIT else unit)


def converted(amount: pd.Series, unit: pd.Series, dimension: pd.Series) -> Converted:
    """Amounts as text, with their unit items, in the SI unit of the dimension asked of each row."""
    cases = [_convert(*cells) for cells in zip(amount, unit, dimension, strict=True)]
    return Converted(
        np.array([value for value, _ in cases], dtype=np.float64),
        np.array([refusal for _, refusal in cases], dtype=np.str_),
    )


def _convert(amount: object, unit: object, dimension: object) -> tuple[float, str]:
    if not isinstance(amount, str) or not amount:
        return math.nan, ""
    if not NUMBER.fullmatch(amount):
        return math.nan, "not a number"
    if unit == NO_UNIT or not isinstance(unit, str) or not unit:
        return math.nan, "no unit is stated"
    known = UNIT_ITEMS.get(unit)
    if known is None:
        return math.nan, f"a unit that is not known: {unit}"
    if known.dimension != dimension:
        return math.nan, f"its unit is none of a {dimension}: {known.symbol}"
    return float(amount) * known.scale + known.offset, ""

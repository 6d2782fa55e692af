"""Quantities as people type them, and the pressure of the standard atmosphere.

A quantity is one number and one unit: "84 kPa", "640 mmHg", "5 K", "1600m",
"95%". Everything that comes out is in SI.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import ImpossibleQuantity, OutOfRange, WrongUnit

if TYPE_CHECKING:
    from pint import Unit, UnitRegistry

_MINUS_SIGNS = str.maketrans("−–", "--")
_NUMBER_AND_UNIT = re.compile(
    r"""\s*
    (?P<number>
        [+-]?
        (?: \d{1,3} (?:[ \u00a0\u2009\u202f]\d{3})+ | \d+ | (?=[.,]\d) )  # 84, 101 325, or nothing before a point
        (?: [.,]\d* )?
        (?: [eE][+-]?\d+ )?
    )
    \s* (?P<unit> .*? ) \s*""",
    re.VERBOSE | re.ASCII,
)
_BARE_UNIT = re.compile(r"[^\W\d_]+|%|°[^\W\d_]+")

USUAL_UNITS = {
    "pressure": "kPa, mbar, mmHg, bar, atm or psi",
    "temperature": "degC, K or degF",
    "temperature difference": "K, degC or degF",
    "time": "s, min or h",
    "length": "cm, m, km or ft",
    "fraction": "%",
    "mass": "g, kg or lb",
    "volume": "mL, L or cm³",
    "flow": "mL/min, mL/h or L/h",
    "power": "W or kW",
}
"""What each kind of quantity is usually given in, for people who are to write one."""

_DIMENSIONS = {
    "[mass] / [length] / [time] ** 2": "pressure",
    "[temperature]": "temperature",
    "[length]": "length",
    "dimensionless": "fraction",
    "[mass]": "mass",
    "[time]": "time",
    "[length] ** 3": "volume",
    "[length] ** 3 / [time]": "flow",
    "[mass] * [length] ** 2 / [time] ** 3": "power",
}
_OTHER_SPELLINGS = {
    "C": "degC",
    "F": "degF",
    "mm Hg": "mmHg",
    "in Hg": "inHg",
    "psia": "psi",
    "bara": "bar",
    "cm3": "cm³",
    "dm3": "dm³",
}
"""Spellings of the bench that mean something else, or nothing, in the unit registry."""
_TYPED_IN_ANY_CASE = (
    "kPa", "hPa", "Pa", "mbar", "bar", "mmHg", "torr", "inHg", "atm", "psi", "degC", "degF", "K", "m", "km", "ft",
    "cm", "mm", "kg", "g", "mg", "lb", "mL", "L", "W", "kW", "s", "min", "h",
)  # fmt: skip
_CASELESS = {unit.lower(): unit for unit in _TYPED_IN_ANY_CASE}
_GAUGE_PRESSURES = ("psig", "barg", "kPag", "mbarg")
_DIFFERENCE_UNITS = {"degree_Celsius": "delta_degree_Celsius", "degree_Fahrenheit": "delta_degree_Fahrenheit"}

# ISO 2533:1975, Standard Atmosphere, table 1 and clause 2: constants of the atmosphere and of its lowest layer.
_SEA_LEVEL_PRESSURE_PA = 101_325.0
_SEA_LEVEL_TEMPERATURE_K = 288.15
_TEMPERATURE_GRADIENT_K_M = -0.0065
_ACCELERATION_OF_FREE_FALL_M_S2 = 9.806_65
_SPECIFIC_GAS_CONSTANT_OF_AIR_J_KG_K = 287.052_87
_NOMINAL_EARTH_RADIUS_M = 6_356_766.0
_LOWEST_ALTITUDE_M = -2_000.0
_TROPOPAUSE_ALTITUDE_M = 11_000.0


def pressure_Pa(text: str) -> float:
    """Absolute pressure in Pa from text such as "84 kPa" or "640 mmHg".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    value = _value(text, "pressure", "pascal")
    if value <= 0.0:
        raise ImpossibleQuantity(f"A pressure must be greater than zero, and {text!r} is not.")
    return value


def temperature_K(text: str) -> float:
    """Thermodynamic temperature in K from text such as "-20 degC" or "70 degF".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity below 0 K.
    """
    value = _value(text, "temperature", "kelvin")
    if value < 0.0:
        raise ImpossibleQuantity(f"{text!r} lies below absolute zero (0 K, -273.15 °C).")
    return value


def temperature_difference_K(text: str) -> float:
    """Difference of two temperatures in K from text such as "5 K" or "9 degF".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    value = _value(text, "temperature difference", "kelvin")
    if value <= 0.0:
        raise ImpossibleQuantity(f"The width of a temperature range must be greater than zero, and {text!r} is not.")
    return value


def temperature_correction_K(text: str) -> float:
    """Correction of a thermometer in K, of either sign or zero, from text such as "+0.5 K" or "-1 degF".

    Raises WrongUnit for a missing, unknown or other unit.
    """
    return _value(text, "temperature difference", "kelvin")


def length_m(text: str) -> float:
    """Length in m from text such as "30 cm".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    return _positive(_value(text, "length", "metre"), "length", text)


def mass_kg(text: str) -> float:
    """Mass in kg from text such as "1.5 kg" or "400 g".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    return _positive(_value(text, "mass", "kilogram"), "mass", text)


def volume_m3(text: str) -> float:
    """Volume in m3 from text such as "2 L" or "500 mL".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    return _positive(_value(text, "volume", "metre ** 3"), "volume", text)


def mass_kg_or_volume_m3(text: str) -> tuple[float | None, float | None]:
    """Mass in kg and volume in m3 of text that gives either, such as "400 g" or "500 mL"; the other is None.

    Raises as `mass_kg` and `volume_m3`; for a unit of neither, as the latter.
    """
    with suppress(WrongUnit):
        return mass_kg(text), None
    return None, volume_m3(text)


def holdup_m3(text: str) -> float:
    """Volume of the liquid in a column in m3 from text such as "5 mL"; it may be zero.

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity below zero.
    """
    value = _value(text, "volume", "metre ** 3")
    if value < 0.0:
        raise ImpossibleQuantity(f"A volume is not negative, and {text!r} is.")
    return value


def flow_m3_s(text: str) -> float:
    """Volume flow in m3/s from text such as "2 mL/min".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    volume, stroke, time = text.partition("/")
    if stroke and time.strip():
        value = _value(volume, "volume", "metre ** 3") / _value(f"1 {time}", "time", "second")
    else:
        value = _value(text, "flow", "metre ** 3 / second")
    return _positive(value, "flow", text)


def power_W(text: str) -> float:
    """Power in W from text such as "150 W".

    Raises WrongUnit for a missing, unknown or other unit, ImpossibleQuantity for zero or less.
    """
    return _positive(_value(text, "power", "watt"), "power", text)


def altitude_m(text: str) -> float:
    """Altitude above sea level in m, negative below it, from text such as "1600m" or "5200 ft".

    Raises WrongUnit for a missing, unknown or other unit.
    """
    return _value(text, "length", "metre")


def fraction(text: str) -> float:
    """Fraction between 0 and 1, both excluded, from a percentage such as "95%".

    Raises WrongUnit without the percent sign, ImpossibleQuantity outside 0 % to 100 %.
    """
    value = _value(text, "fraction", "percent") / 100.0
    if not 0.0 < value < 1.0:
        raise ImpossibleQuantity(f"A purity lies between 0 % and 100 %, and {text!r} does not.")
    return value


def share(text: str) -> float:
    """Share between 0, excluded, and 1, included, from a percentage such as "60 %".

    Raises WrongUnit without the percent sign, ImpossibleQuantity outside 0 % to 100 %.
    """
    value = _value(text, "fraction", "percent") / 100.0
    if not 0.0 < value <= 1.0:
        raise ImpossibleQuantity(f"A share lies above 0 % and is 100 % at most, and {text!r} is not so.")
    return value


def standard_atmosphere_pressure_Pa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere in Pa at an altitude in m, by ISO 2533:1975.

    With H = r h / (r + h), the geopotential altitude of the geometric altitude h,
    p = p0 (1 + β H / T0) ** (-g / (β R)): the standard's lowest layer, in which the
    temperature falls by 6.5 K per 1000 m. It holds from -2000 m to 11 000 m; raises
    OutOfRange beyond. Weather moves the true pressure by a few per cent, so a
    barometer at the bench is better.
    """
    if not _LOWEST_ALTITUDE_M <= altitude_m <= _TROPOPAUSE_ALTITUDE_M:
        raise OutOfRange(
            f"An altitude of {altitude_m:.0f} m is outside the lowest layer of the standard atmosphere, "
            "which reaches from -2000 m to 11 000 m. Give the pressure itself instead."
        )
    geopotential_m = _NOMINAL_EARTH_RADIUS_M * altitude_m / (_NOMINAL_EARTH_RADIUS_M + altitude_m)
    exponent = -_ACCELERATION_OF_FREE_FALL_M_S2 / (_TEMPERATURE_GRADIENT_K_M * _SPECIFIC_GAS_CONSTANT_OF_AIR_J_KG_K)
    temperature_ratio = 1.0 + _TEMPERATURE_GRADIENT_K_M * geopotential_m / _SEA_LEVEL_TEMPERATURE_K
    return float(_SEA_LEVEL_PRESSURE_PA * temperature_ratio**exponent)


def _positive(value: float, dimension: str, text: str) -> float:
    if value == math.inf:
        raise ImpossibleQuantity(f"{text!r} is too large a number.")
    if value <= 0.0:
        raise ImpossibleQuantity(f"A {dimension} must be greater than zero, and {text!r} is not.")
    return value


def _value(text: str, dimension: str, si_unit: str) -> float:
    """The number of `text` in the SI unit, after checking that its unit is of the dimension."""
    number, unit = _split(text, dimension)
    readings = _readings(unit)
    if not readings:
        raise WrongUnit(
            f"The unit {unit!r} in {text!r} is not known; usual for a {dimension} are {USUAL_UNITS[dimension]}."
        )
    dimensions = [reading_dimension for _, reading_dimension in readings]
    wanted = dimension.removesuffix(" difference")
    if wanted not in dimensions:
        raise WrongUnit(
            f"A {dimension} is asked for, but {text!r} is a {dimensions[0]}. Usual units are {USUAL_UNITS[dimension]}."
        )
    known, _ = readings[dimensions.index(wanted)]
    if dimension == "temperature difference":
        known = _registry().parse_units(_DIFFERENCE_UNITS.get(str(known), str(known)))
    value = float(_registry().Quantity(number, known).to(si_unit).magnitude)
    if not math.isfinite(value):
        raise ImpossibleQuantity(f"{text!r} is too large a number.")
    return value


def _split(text: str, dimension: str) -> tuple[float, str]:
    """Number and unit of the text; a decimal comma is understood where it cannot be a thousands sign."""
    found = _NUMBER_AND_UNIT.fullmatch(text.translate(_MINUS_SIGNS))
    if found is None:
        raise WrongUnit(
            f"{text!r} is not a {dimension}: write a number and a unit; usual are {USUAL_UNITS[dimension]}."
        )
    digits, unit = re.sub(r"\s", "", found["number"]), found["unit"]
    if not unit:
        raise WrongUnit(f"{text!r} has no unit: a {dimension} needs one; usual are {USUAL_UNITS[dimension]}.")
    if re.search(r",\d{3}(?!\d)", digits):
        raise WrongUnit(
            f"The comma in {text!r} may be a decimal or a thousands sign: write the number with a point, or without."
        )
    return float(digits.replace(",", ".")), unit


@lru_cache
def _readings(unit: str) -> tuple[tuple[Unit, str], ...]:
    """The units that the text may mean, as written, then without regard to case; each with what it measures."""
    if unit in _GAUGE_PRESSURES:
        raise WrongUnit(f"{unit} is a gauge pressure: give the absolute pressure, with the atmosphere's added.")
    import pint  # here, not above: it takes half a second, and most questions hold no quantity

    readings = []
    for spelling in (_OTHER_SPELLINGS.get(unit, unit), _CASELESS.get(unit.lower().replace(" ", ""), "")):
        # Only bare unit names reach the parser: it would also work out powers and products.
        if _BARE_UNIT.fullmatch(spelling):
            with suppress(pint.UndefinedUnitError):
                reading = _registry().parse_units(spelling)
                readings.append((reading, _DIMENSIONS.get(str(reading.dimensionality), "quantity of another kind")))
    return tuple(readings)


@cache
def _registry() -> UnitRegistry[Any]:
    import pint  # see _readings

    return pint.UnitRegistry()

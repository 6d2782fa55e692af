"""Figures as people read them: °C, kPa and mmHg, and no more digits than the uncertainty bears.

Uncertainties are given to two significant digits and values to the same place,
as JCGM 100:2008 (GUM), 7.2.6, suggests.
"""

from __future__ import annotations

import math

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import ICE_POINT_K

PASCALS_PER_MMHG = 133.322_387_415
"""Conventional millimetre of mercury, Pa: 13 595.1 kg/m3 × 9.806 65 m/s2 × 1 mm (ISO 80000-4:2019 remarks)."""

READING_UNITS = {
    "K": ("°C", 1.0),
    "Pa": ("kPa", 1e-3),
    "m3_mol": ("cm³/mol", 1e6),
    "J_mol": ("kJ/mol", 1e-3),
    "kg_m3": ("g/mL", 1e-3),
    "1": ("", 1.0),
}
"""Canonical unit → the unit people read, and how many of it make one canonical unit."""

READING_UNITS_OF_PROPERTIES = {
    ("lower_flammability_limit", "1"): ("vol %", 100.0),
    ("upper_flammability_limit", "1"): ("vol %", 100.0),
    ("exposure_limit", "1"): ("ppm", 1e6),
    ("exposure_limit", "kg_m3"): ("mg/m³", 1e6),
}
"""Where the habit differs for a property, by its canonical unit too: sources state exposure limits in either."""


def rounded(value: float, u95: float) -> tuple[str, str]:
    """A value and its uncertainty, the latter to two significant digits, the former to the same place.

    >>> rounded(350.2566, 0.2468)
    ('350.26', '0.25')
    >>> rounded(4123.4, 98.0)
    ('4123', '98')
    """
    if not u95 > 0.0:
        return f"{value:.6g}", "0"
    decimals = _decimals(u95)
    # 0.0996 becomes 0.10, which has one decimal less than it seemed to need.
    decimals = _decimals(round(u95, decimals))
    shown = max(decimals, 0)
    return f"{round(value, decimals) + 0.0:.{shown}f}", f"{round(u95, decimals):.{shown}f}"


def _decimals(u95: float) -> int:
    """Decimals that show two significant digits; negative above 100."""
    return 1 - math.floor(math.log10(u95))


def reading_unit(property: str, unit: str) -> tuple[str, float]:
    """The unit in which people read a property, and the factor to it; temperatures also change their zero."""
    return READING_UNITS_OF_PROPERTIES.get((property, unit)) or READING_UNITS.get(unit, (unit, 1.0))


def quantity(property: str, value: float, u95: float, unit: str) -> str:
    """An evaluated value with its uncertainty, in the unit people read."""
    name, factor = reading_unit(property, unit)
    zero = ICE_POINT_K if name == "°C" else 0.0
    shown, spread = rounded((value - zero) * factor, u95 * factor)
    return f"{shown} ± {spread} {name}".rstrip()


def plain_quantity(property: str, value: float, unit: str) -> str:
    """A value without an uncertainty, in the unit people read: four significant digits, or 0.1 °C."""
    name, factor = reading_unit(property, unit)
    if name == "°C":
        return celsius(value)
    return f"{significant(value * factor)} {name}".rstrip()


def observed_quantity(property: str, value: float, unit: str) -> str:
    """A value as a source gives it, in the unit people read: six significant digits, or 0.01 °C."""
    name, factor = reading_unit(property, unit)
    if name == "°C":
        return f"{round(value - ICE_POINT_K, 2) + 0.0:.2f} °C"
    return f"{significant(value * factor, 6)} {name}".rstrip()


def pressure(p_Pa: float) -> str:
    """A pressure in kPa and mmHg, to four significant digits.

    >>> pressure(101325.0)
    '101.3 kPa (760 mmHg)'
    """
    return f"{significant(p_Pa / 1e3)} kPa ({significant(p_Pa / PASCALS_PER_MMHG)} mmHg)"


def percent(fraction: float) -> str:
    """A fraction of a mixture in percent to three significant digits; near 100 % to two of what is left.

    >>> percent(0.6), percent(0.000_002_3), percent(0.99987), percent(0.0)
    ('60.0 %', '0.000230 %', '99.987 %', '0 %')
    """
    if fraction > 0.99:
        return f"{100.0 - float(f'{100.0 * (1.0 - fraction):.2g}'):.10g} %"
    decimals = 0 if fraction == 0.0 else 2 - math.floor(math.log10(100.0 * fraction))
    return f"{100.0 * fraction:.{decimals}f} %"


def significant(value: float, digits: int = 4) -> str:
    """A number to so many significant digits, without a power of ten unless it is very small.

    >>> significant(14_405.2), significant(2.0), significant(0.069_36)
    ('14405', '2', '0.06936')
    """
    if abs(value) < 1e-4:
        return f"{value:.{digits}g}"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{value:.{max(decimals, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text

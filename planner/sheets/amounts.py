"""Figures of a sheet as people read them: °C, mL, g, hours, and how sure each is.

An interval that lies evenly about its value is written value ± half its width,
any other value (low–high), both to two digits of the half width.
"""

from __future__ import annotations

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import ICE_POINT_K

from ..figures import rounded, significant
from ..render import NONE_HELD
from ..stills.results import Interval

UNEVEN = 0.25
"""Share of the half width by which the middle of an interval may miss the value before both ends are written."""
FINEST = 5e-4
"""Half width as a share of the value below which nobody at a bench can tell the ends apart."""
FINEST_K, READABLE_K = 0.005, 0.1
"""Half widths of temperatures: below the first there is none, and below the second no thermometer of a bench reads."""

ML_PER_M3, G_PER_KG, KJ_PER_J = 1e6, 1e3, 1e-3
SECONDS_PER_MINUTE, SECONDS_PER_HOUR = 60.0, 3600.0
MINUTES_UP_TO_S = 5400.0
"""An hour and a half: what takes longer is told in hours."""


def interval(found: Interval | None, factor: float = 1.0, unit: str = "") -> str:
    """An interval in a unit of which `factor` make one SI unit; a dash for None.

    >>> interval(Interval(0.000_35, 0.000_33, 0.000_37), 1e6, "mL")
    '350 ± 20 mL'
    >>> interval(Interval(0.995, 0.97, 0.999), 100.0, "%")
    '99.5 (97.0–99.9) %'
    """
    if found is None:
        return NONE_HELD
    value, low, high = (factor * number for number in (found.value, found.low, found.high))
    is_exact = high - low <= 2.0 * FINEST * abs(value)
    said = (significant(value) if value else "0") if is_exact else _with_ends(value, low, high)
    return f"{said} {unit}".rstrip()


def temperature(found: Interval | None) -> str:
    """A temperature in °C; a dash for None.

    >>> temperature(Interval(331.35, 330.95, 331.75))
    '58.20 ± 0.40 °C'
    """
    if found is None:
        return NONE_HELD
    if found.high - found.low <= 2.0 * FINEST_K:
        return celsius(found.value)
    if found.high - found.low < 2.0 * READABLE_K:
        return f"{found.value - ICE_POINT_K:.1f} ± {READABLE_K:.1f} °C"
    return f"{_with_ends(*(number - ICE_POINT_K for number in (found.value, found.low, found.high)))} °C"


def ends(low: float, high: float) -> str:
    """Both ends of a range, to two digits of its half width."""
    half = 0.5 * (high - low)
    low_text, high_text = rounded(low, half)[0], rounded(high, half)[0]
    # "-20 to -5": a dash between signed numbers is misread.
    return f"{low_text}–{high_text}" if low >= 0.0 else f"{low_text} to {high_text}"


def percent(found: Interval | None) -> str:
    """A share in percent."""
    return interval(found, 100.0, "%")


def volume(found: Interval | None) -> str:
    """A volume of liquid in mL."""
    return interval(found, ML_PER_M3, "mL")


def mass(found: Interval | None) -> str:
    """A mass in g."""
    return interval(found, G_PER_KG, "g")


def energy(found: Interval | None) -> str:
    """Heat in kJ."""
    return interval(found, KJ_PER_J, "kJ")


def duration(found: Interval | None) -> str:
    """A time in minutes, or in hours where it is long."""
    if found is not None and found.value < MINUTES_UP_TO_S:
        return interval(found, 1.0 / SECONDS_PER_MINUTE, "min")
    return interval(found, 1.0 / SECONDS_PER_HOUR, "h")


def bare_duration(time_s: float | None) -> str:
    """A time of the central composition, whose interval is not known: to two digits."""
    if time_s is None:
        return NONE_HELD
    if time_s < MINUTES_UP_TO_S:
        return f"about {significant(time_s / SECONDS_PER_MINUTE, 2)} min"
    return f"about {significant(time_s / SECONDS_PER_HOUR, 2)} h"


def _with_ends(value: float, low: float, high: float) -> str:
    half = 0.5 * (high - low)
    if abs(0.5 * (high + low) - value) <= UNEVEN * half:
        return " ± ".join(rounded(value, half))
    return f"{rounded(value, half)[0]} ({ends(low, high)})"

"""Figures and times of day as they are written down at a bench."""

from __future__ import annotations

import re

from cutpoint.schema.errors import WrongRun
from cutpoint.schema.properties import ICE_POINT_K

from .columns import READING, TIME, VOLUME, Column

LOWEST_CELSIUS, HIGHEST_CELSIUS = -100.0, 500.0
"""Between these a thermometer in a still head reads; common practice, no source."""
MOST_M3 = 1.0
LONGEST_S = 1_000.0 * 3_600.0

_MISSING = {"", "-", "--", "–", "—", "?", "x", "n/a", "na", "nan", "none", "null", "nil", "missing", ".", "…", "..."}
_NUMBER = re.compile(
    r"(?:[~≈]|ca\.?|c\.)?\s*(?P<sign>[+-]?)(?P<digits>\d{1,3}(?: \d{3})+|\d+)?(?:(?P<mark>[.,])(?P<decimals>\d*))?"
    r"\s*(?P<unit>°?[CFK]|deg ?[CF]|m[lL]|L|cm3|min|h|s)?",
    re.ASCII,
)
_ENGLISH_THOUSANDS = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+\.\d*", re.ASCII)
_CLOCK = re.compile(
    r"(?:\d{4}-\d\d-\d\d[ T])?(\d{1,3})[:h](\d{1,2})(?::(\d{1,2})(?:[.,]\d+)?)?\s*([ap])?\.?(?:m\.?)?",
    re.ASCII | re.IGNORECASE,
)
_SIGNS = str.maketrans({"−": "-", "–": "-", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "º": "°"})
_CELL_UNITS = {
    READING: {"°C": "°C", "C": "°C", "degC": "°C", "°F": "°F", "F": "°F", "degF": "°F", "K": "K", "°K": "K"},
    VOLUME: {"ml": "mL", "mL": "mL", "cm3": "mL", "L": "L"},
    TIME: {"min": "min", "h": "h", "s": "s"},
}
_M3 = {"mL": 1e-6, "cL": 1e-5, "L": 1e-3}
_S = {"s": 1.0, "min": 60.0, "h": 3_600.0}


def is_missing(cell: str) -> bool:
    """Whether a cell says that nothing was noted."""
    return cell.strip().casefold() in _MISSING


def reading_K(cell: str, column: Column, line: int) -> float | None:
    """A head temperature in K, None where none was noted; raises WrongRun for what no thermometer reads."""
    told = _number(cell, column, line)
    if told is None:
        return None
    value, unit = told
    celsius = {"°C": value, "°F": (value - 32.0) / 1.8, "K": value - ICE_POINT_K}[unit]
    if not LOWEST_CELSIUS <= celsius <= HIGHEST_CELSIUS:
        raise WrongRun(
            f"Line {line}: a head temperature of {_short(cell)} is {celsius:.5g} °C, and no thermometer in a still "
            f"head reads below {LOWEST_CELSIUS:g} or above {HIGHEST_CELSIUS:g} °C. Correct it, name the unit in the "
            "header of the column (°C, °F or K), or leave the cell empty."
        )
    return celsius + ICE_POINT_K


def volume_m3(cell: str, column: Column, line: int) -> float | None:
    """A volume in m3, None where none was noted; raises WrongRun for what no receiver holds."""
    told = _number(cell, column, line)
    if told is None:
        return None
    value, unit = told
    if value < 0.0 or value * _M3[unit] > MOST_M3:
        why = "negative" if value < 0.0 else f"more than {1e3 * MOST_M3:g} L"
        raise WrongRun(f"Line {line}: the volume {_short(cell)} is {why}. Correct it, or leave the cell empty.")
    return value * _M3[unit]


def time_s(cell: str, column: Column, line: int) -> tuple[float, bool] | None:
    """A time in s as it was noted, and whether it was told with a colon; None where none was noted.

    "14:05" and "1:30" are hours and minutes unless the header says mm:ss.
    """
    if is_missing(cell):
        return None
    found = _CLOCK.fullmatch(cell.strip())
    if found is None:
        told = _number(cell, column, line)
        if told is None:
            return None
        value, unit = told
        seconds = value * _S.get(unit, _S["min"])
        is_clock = False
    else:
        first, second, third = (int(part or 0) for part in found.groups()[:3])
        if column.unit == "mm:ss" and found[3] is None:
            seconds, is_clock = 60.0 * first + second, False
        else:
            half = (found[4] or "").lower()
            hours = first % 12 + (12 if half == "p" else 0) if half and first <= 12 else first
            seconds, is_clock = 3_600.0 * hours + 60.0 * second + third, True
        if max(second, third) > 59:
            raise WrongRun(f"Line {line}: {_short(cell)} is no time: minutes and seconds end at 59. Correct it.")
    if not 0.0 <= seconds <= LONGEST_S:
        raise WrongRun(f"Line {line}: a time of {_short(cell)} cannot be. Correct it, or leave the cell empty.")
    return seconds, is_clock


def _number(cell: str, column: Column, line: int) -> tuple[float, str] | None:
    """A number and its unit: that of the cell, else that of the column."""
    text = cell.strip().translate(_SIGNS)
    if is_missing(text):
        return None
    if _ENGLISH_THOUSANDS.fullmatch(text):
        text = text.replace(",", "")
    found = _NUMBER.fullmatch(text)
    unit = column.unit if found is None or not found["unit"] else _unit(found["unit"], column.kind)
    if found is None or unit is None or not (found["digits"] or found["decimals"]):
        raise WrongRun(
            f"Line {line}: the {column.kind} {_short(cell)} is no number. Correct it, or leave the cell empty and put "
            "the words into a column 'remark'."
        )
    digits, decimals = (found["digits"] or "0").replace(" ", ""), found["decimals"] or "0"
    if found["mark"] == "," and len(decimals) == 3 and 1 <= len(digits) <= 3 and digits.strip("0"):
        raise WrongRun(
            f"Line {line}: the comma in the {column.kind} {_short(cell)} may be a decimal or a thousands sign. Write "
            "the number with a point, or without."
        )
    return float(f"{found['sign']}{digits}.{decimals}"), unit


def _unit(text: str, kind: str) -> str | None:
    return _CELL_UNITS[kind].get(text.replace(" ", ""))


def _short(cell: str) -> str:
    text = cell.strip()
    return repr(text if len(text) <= 40 else f"{text[:39]}…")

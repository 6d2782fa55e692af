"""Which column of the notes is which, from headers as people write them: "t/min", "head °C", "mL collected"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cutpoint.schema.errors import WrongRun

TIME, READING, VOLUME, RECEIVER, REMARK = "time", "head temperature", "volume", "receiver", "remark"

EXAMPLE = "time/min; head °C; volume/mL; receiver; remark"
"""A header that is understood."""

_UNITS = {
    TIME: {
        "min": "min", "mins": "min", "minute": "min", "minutes": "min",
        "h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
        "s": "s", "sec": "s", "secs": "s", "second": "s", "seconds": "s",
        "h:mm": "clock", "hh:mm": "clock", "h:min": "clock", "h:m": "clock",
        "hh:mm:ss": "clock", "h:mm:ss": "clock", "h:m:s": "clock", "mm:ss": "mm:ss", "m:ss": "mm:ss",
    },
    READING: {
        "°c": "°C", "c": "°C", "degc": "°C", "celsius": "°C", "centigrade": "°C", "ºc": "°C", "℃": "°C",
        "°f": "°F", "f": "°F", "degf": "°F", "fahrenheit": "°F", "ºf": "°F", "℉": "°F",
        "k": "K", "kelvin": "K",
    },
    VOLUME: {
        "ml": "mL", "mls": "mL", "millilitres": "mL", "milliliters": "mL", "cm3": "mL", "cm³": "mL", "cc": "mL",
        "l": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "dm3": "L", "dm³": "L", "cl": "cL",
    },
}  # fmt: skip
_USUAL = {TIME: "min", READING: "°C", VOLUME: "mL"}
"""Taken, and said, where a header names no unit."""

_NAMES = {
    TIME: {"time", "clock", "elapsed"},
    READING: {"temp", "temperature", "head", "thermometer", "reading"},
    VOLUME: {"volume", "vol", "collected", "distillate", "distilled"},
    RECEIVER: {"receiver", "receivers", "fraction", "vessel", "vial", "bottle", "cut"},
    REMARK: {"note", "notes", "remark", "remarks", "comment", "comments", "observation", "observations"},
}
_LETTERS = {"t": TIME, "T": READING, "V": VOLUME, "v": VOLUME, "θ": READING}
_ELSEWHERE = {"pot", "bath", "flask", "mantle", "boiler", "jacket", "coolant", "room", "rate", "reflux", "pressure"}
"""Words of columns that tell of another place or quantity; they are left out."""
_MASSES = {"g", "kg", "mg", "gram", "grams", "mass", "weight", "wt"}
_SEPARATORS = re.compile(r"[\s/()\[\]{},;_.=|-]+")


@dataclass(frozen=True)
class Column:
    """A column that is read: what it tells, its place, and the unit of its figures ("" where it has none)."""

    kind: str
    place: int
    unit: str
    is_assumed: bool
    header: str


def find_columns(headers: Sequence[str], line: int) -> tuple[dict[str, Column], list[str]]:
    """The columns by what they tell, and remarks on what was assumed or left out.

    Raises WrongRun where head temperature or volume is missing, or told twice.
    """
    found: dict[str, list[Column]] = {}
    remarks = []
    for place, header in enumerate(headers):
        column = _column(header.strip(), place, line)
        if column is not None:
            found.setdefault(column.kind, []).append(column)
        elif header.strip():
            remarks.append(f"The column {header.strip()[:40]!r} was left out.")
    for kind in (READING, VOLUME):
        if kind not in found:
            raise WrongRun(
                f"Line {line} should name the columns, and none of them is the {kind}. A header such as '{EXAMPLE}' "
                "is understood; time, receiver and remark may be left out; other lines above it begin with #."
            )
    chosen = {kind: _one(columns, line) for kind, columns in found.items()}
    assumed = [f"{one.header!r} in {one.unit}" for one in chosen.values() if one.is_assumed]
    if assumed:
        remarks.append(f"Taken for want of a unit in the header: {', '.join(assumed)}.")
    return chosen, remarks


def is_header(cells: Sequence[str]) -> bool:
    """Whether a row names columns: no cell of it begins with a figure."""
    return not any(re.match(r"\s*[+-]?[.,]?\d", cell) for cell in cells)


def is_units(cells: Sequence[str]) -> bool:
    """Whether a row below the header holds units alone."""
    words = [word.strip("[]() ").casefold() for word in cells if word.strip()]
    return bool(words) and all(any(word in known for known in _UNITS.values()) for word in words)


def _column(header: str, place: int, line: int) -> Column | None:
    words = [word for word in (part.strip(":") for part in _SEPARATORS.split(header)) if word]
    lower = {word.casefold() for word in words}
    units = {kind: [known[word] for word in lower if word in known] for kind, known in _UNITS.items()}
    named = [kind for kind, names in _NAMES.items() if lower & names]
    if lower & _ELSEWHERE or (units[VOLUME] and units[TIME] and VOLUME not in named):
        return None
    if lower & _MASSES and VOLUME in named:
        raise WrongRun(
            f"Line {line}: the column {header!r} seems to be a mass. What has distilled is compared by volume: give "
            "millilitres."
        )
    kind = _kind(words, units, named)
    if kind is None:
        return None
    if kind in (RECEIVER, REMARK):
        return Column(kind, place, "", False, header)
    unit = units[kind][0] if units[kind] else _USUAL[kind]
    return Column(kind, place, unit, not units[kind] and kind != TIME, header)


def _kind(words: Sequence[str], units: dict[str, list[str]], named: Sequence[str]) -> str | None:
    """What the column tells: by its name, else by its letter, else by its unit."""
    told = [kind for kind in named if kind in (TIME, READING, VOLUME)]
    if told:
        with_unit = [kind for kind in told if units[kind]]
        return (with_unit or told)[0]
    of_unit = [kind for kind in (VOLUME, READING, TIME) if units[kind]]
    letters = [_LETTERS[word] for word in words if word in _LETTERS]
    if REMARK in named or (RECEIVER in named and not units[VOLUME]):
        return named[0]
    agreed = [kind for kind in letters if kind in of_unit]
    return next(iter(agreed or of_unit or letters), None)


def _one(columns: list[Column], line: int) -> Column:
    """The one column that tells something: of several temperatures that of the head, of several times the first."""
    if len(columns) == 1 or columns[0].kind in (TIME, REMARK, RECEIVER):
        return columns[0]
    head = [one for one in columns if "head" in one.header.casefold()]
    if columns[0].kind == READING and len(head) == 1:
        return head[0]
    both = " and ".join(repr(one.header[:40]) for one in columns)
    raise WrongRun(f"Line {line}: the columns {both} both seem to be the {columns[0].kind}. Rename one of them.")

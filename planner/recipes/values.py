"""Kinds of values that a recipe holds: what each looks like, and how it is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from cutpoint.planner.units import USUAL_UNITS
from cutpoint.schema.errors import WrongUsage

_LONGEST_QUANTITY = 60
_LONGEST_SHOWN = 40


class NotOfKind(WrongUsage):
    """A value of another type than its key takes; an example helps."""


@dataclass(frozen=True)
class Kind:
    """A kind of value: in words, with what units, and its reader.

    The reader takes what TOML made of the value and answers in SI units; it
    raises CutpointError, namely NotOfKind where the type is another.
    """

    words: str
    units: str
    read: Callable[[object], Any]


def shown(value: object) -> str:
    """A value as an error shows it: short, and on one line."""
    if isinstance(value, str):
        return repr(value if len(value) <= _LONGEST_SHOWN else f"{value[:_LONGEST_SHOWN]}…")
    if isinstance(value, bool):
        return "true" if value else "false"
    # Python refuses to write whole numbers of thousands of digits.
    if isinstance(value, int) and abs(value) > 10**_LONGEST_SHOWN:
        return "a huge number"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list):
        return "a list"
    return "a table" if isinstance(value, dict) else "a date or time"


def text(most: int) -> Kind:
    """Text of one character at least and `most` at most; space around it is taken away."""

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise NotOfKind(f"{shown(value)} is no text in quotation marks.")
        if not value.strip():
            raise WrongUsage("the text is empty.")
        if len(value) > most:
            raise WrongUsage(f"the text is longer than {most} characters.")
        return value.strip()

    return Kind("text", "", read)


def long_text() -> Kind:
    """Text of several lines, left as it is; not empty."""

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise NotOfKind(f"{shown(value)} is no text in quotation marks.")
        if not value.strip():
            raise WrongUsage("the text is empty.")
        return value

    return Kind("text of several lines", "", read)


def choice(*options: str) -> Kind:
    """One of some words, whatever its case."""
    told = " or ".join(f'"{option}"' for option in options)

    def read(value: object) -> str:
        if not isinstance(value, str):
            raise NotOfKind(f"{shown(value)} is neither {told}.")
        word = value.strip().casefold()
        if word not in options:
            near = get_close_matches(word, options, n=1)
            raise WrongUsage(f"{shown(value)} is not {told}." + (f' Is "{near[0]}" meant?' if near else ""))
        return word

    return Kind(told, "", read)


def quantity(dimension: str, read_quantity: Callable[[str], Any], units: str | None = None) -> Kind:
    """A number and a unit in quotation marks, read by a function of `cutpoint.planner.units`."""

    def read(value: object) -> Any:
        if isinstance(value, int | float) and not isinstance(value, bool):
            raise NotOfKind(f"{shown(value)} has no unit: write number and unit, in quotation marks.")
        if not isinstance(value, str):
            raise NotOfKind(f"{shown(value)} is no {dimension}: write number and unit, in quotation marks.")
        if len(value) > _LONGEST_QUANTITY:
            raise WrongUsage(f"{shown(value)} is too long for a {dimension}.")
        return read_quantity(value)

    return Kind(dimension, USUAL_UNITS[dimension] if units is None else units, read)


def number(least: float, most: float) -> Kind:
    """A bare number within limits, both included."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise NotOfKind(f"{shown(value)} is no bare number.")
        if not least <= value <= most:  # what is not a number fails too
            raise WrongUsage(f"{shown(value)} is not between {least:.0f} and {most:.0f}.")
        return float(value)

    return Kind(f"number from {least:.0f} to {most:.0f}", "", read)


def count(least: int, most: int) -> Kind:
    """A bare whole number within limits, both included."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise NotOfKind(f"{shown(value)} is no bare whole number.")
        if not least <= value <= most:
            raise WrongUsage(f"{shown(value)} is not between {least} and {most}.")
        return value

    return Kind(f"whole number from {least} to {most}", "", read)

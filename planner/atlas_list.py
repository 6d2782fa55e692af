"""The list of an atlas: one component per line, each looked up in the store, what is not one told and left out."""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path
from re import split
from typing import TYPE_CHECKING

from cutpoint.schema.errors import CutpointError, NoSuchComponent, WrongUsage

if TYPE_CHECKING:
    from collections.abc import Iterator

    from cutpoint.db import Component, Store

STANDARD_INPUT = Path("-")


@dataclass(frozen=True)
class Listed:
    """A component of the list: where it stands, as it is written there, and which one it is."""

    line_number: int
    text: str
    cas: str
    name: str
    note: str | None


@dataclass(frozen=True)
class Skipped:
    """A line that names no component of the store, several, or one that an earlier line named; and why."""

    line_number: int
    text: str
    reason: str


def read_list(path: Path) -> list[tuple[int, str]]:
    """Lines that name something, with their numbers; `-` is standard input.

    `#` opens a comment at the start of a line or after a space (within a
    SMILES it is a triple bond). Raises WrongUsage if the text cannot be read.
    """
    try:
        content = sys.stdin.buffer.read() if path == STANDARD_INPUT else path.read_bytes()
        lines = content.decode("utf-8-sig").splitlines()
    except OSError as error:
        raise WrongUsage(f"The list {str(path)!r} cannot be read: {error.strerror or error}.") from error
    except UnicodeDecodeError as error:
        place = error.object[: error.start].count(b"\n") + 1
        raise WrongUsage(f"The list {str(path)!r} is no UTF-8 text: see line {place}.") from error
    bare = (split(r"(?:^|\s)#", line, maxsplit=1)[0].strip() for line in lines)
    return [(number, text) for number, text in enumerate(bare, 1) if text]


def resolve(store: Store, lines: list[tuple[int, str]]) -> tuple[list[Listed], list[Skipped]]:
    """The components that the lines name, ordered by CAS number, and the lines that were left out.

    Raises NoSuchComponent if fewer than two components are left.
    """
    found: dict[str, Listed] = {}
    skipped: list[Skipped] = []
    for number, text in lines:
        try:
            component = _component(store, text)
        except CutpointError as error:
            skipped.append(Skipped(number, text, error.message))
            continue
        earlier = found.get(component.cas)
        if earlier is not None:
            reason = f"It is {component.name} ({component.cas}), which line {earlier.line_number} names already."
            skipped.append(Skipped(number, text, reason))
        else:
            found[component.cas] = Listed(number, text, component.cas, component.name, component.note)
    if len(found) < 2:
        told = "".join(f" Line {line.line_number}: {line.reason}" for line in skipped[:3])
        raise NoSuchComponent(f"The list names {len(found)} components of the store; pairs need two at least.{told}")
    return [found[cas] for cas in sorted(found)], skipped


def _component(store: Store, text: str) -> Component:
    """The component that a line means: by all of it, else by the first field of a CSV file.

    A comma is as likely part of a name (1,4-dioxane), so the whole line comes
    first. Raises as `Store.component`, about the reading that has the nearest
    names, else about the whole line.
    """
    failures: list[CutpointError] = []
    for reading in _readings(text):
        try:
            return store.component(reading)
        except CutpointError as error:
            failures.append(error)
    raise next((error for error in failures if error.candidates), failures[0])


def _readings(text: str) -> Iterator[str]:
    if not text.startswith('"'):
        yield text
    for delimiter in ",;\t":
        first = next(csv.reader([text], delimiter=delimiter), [""])[0].strip()
        if first and (first != text):
            yield first

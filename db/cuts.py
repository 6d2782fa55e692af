"""Cuts: what is sold under one CAS number and boils over a range, and the pure components that stand for each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import AmbiguousComponent
from cutpoint.schema.names import search_key
from cutpoint.schema.properties import ICE_POINT_K

if TYPE_CHECKING:
    from .store import Store

_CUTS = """
    SELECT name, cas, also_called, definition, initial_boiling_point_K, final_boiling_point_K, source
    FROM cut ORDER BY initial_boiling_point_K, final_boiling_point_K, name
"""
_SURROGATES = """
    SELECT s.cut, s.surrogate_cas, c.name, s.mass_fraction
    FROM cut_surrogate s JOIN component c ON c.cas = s.surrogate_cas
    JOIN evaluation b ON b.cas = c.cas AND b.property = 'normal_boiling_point'
    ORDER BY b.value, c.cas
"""

_CELSIUS_AFTER_RANGE = re.compile(r"(?<=\d)\s*(?:[°º]|deg\.?)\s*C\.?\s*$", re.IGNORECASE)
"""The unit of a boiling range that ends a name, as in "petroleum ether 60-80 °C"; the names of grades have none."""

MOST_TOLD = 5
"""Grades that a sentence lists by name."""


@dataclass(frozen=True)
class Surrogate:
    """A pure component that stands for a part of a cut's mass."""

    cas: str
    name: str
    mass_fraction: float


@dataclass(frozen=True)
class Cut:
    """A grade of a stream: its boiling range at 101 325 Pa, and its surrogates, lowest boiling point first.

    Several may share a CAS number; the name is the key. The mass fractions of the surrogates sum to one.
    """

    cas: str
    name: str
    definition: str
    initial_boiling_point_K: float
    final_boiling_point_K: float
    source: str
    surrogates: tuple[Surrogate, ...]
    also_called: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.name} [{self.cas}] {told_range(self)}: {self.definition}"


def load(store: Store) -> tuple[Cut, ...]:
    """Every cut of the store, lowest boiling first."""
    of_cut: dict[str, list[Surrogate]] = {}
    for cut, *row in store.rows(_SURROGATES):
        of_cut.setdefault(cut, []).append(Surrogate(*row))
    return tuple(
        Cut(
            cas, name, definition, initial_K, final_K, source, tuple(of_cut.get(name, ())),
            tuple(also_called.split("|")) if also_called else (),
        )
        for name, cas, also_called, definition, initial_K, final_K, source in store.rows(_CUTS)
    )  # fmt: skip


def meant(store: Store, query: str) -> Cut | None:
    """The cut that a text means; see `Store.cut`."""
    query = _CELSIUS_AFTER_RANGE.sub("", query)
    key = search_key(query)
    by_name = [cut for cut in store.cuts() if search_key(cut.name) == key]
    named = by_name or [cut for cut in store.cuts() if key in map(search_key, cut.also_called)]
    if len(named) == 1:
        return named[0]
    component = store.component(query)
    grades = [cut for cut in store.cuts() if cut.cas == component.cas]
    if len(grades) > 1:
        raise AmbiguousComponent(
            f"{len(grades)} grades are sold as {component.name} ({component.cas}); name one: {listed(grades)}.",
            [_candidate(cut) for cut in grades],
        )
    return grades[0] if grades else None


def told_range(cut: Cut) -> str:
    """The boiling range for people.

    >>> told_range(Cut("8052-41-3", "Stoddard solvent", "", 427.15, 475.15, "", ()))
    '154 to 202 °C'
    """
    ends = (round(end_K - ICE_POINT_K, 1) + 0.0 for end_K in (cut.initial_boiling_point_K, cut.final_boiling_point_K))
    return f"{' to '.join(f'{end:g}' for end in ends)} °C"


def told_ranges(grades: Sequence[Cut]) -> str:
    """A sentence on where a stream boils, by grade if it has several; empty if nothing is held."""
    if len(grades) == 1:
        return f" It boils from {told_range(grades[0])}."
    if not grades:
        return ""
    more = f"; {len(grades) - MOST_TOLD} more grades are on its card" if len(grades) > MOST_TOLD else ""
    return f" Its grades boil over different ones: {listed(grades[:MOST_TOLD])}{more}."


def listed(grades: Sequence[Cut]) -> str:
    """Names and ranges of grades in a sentence."""
    return "; ".join(f"{cut.name}, {told_range(cut)}" for cut in grades)


def _candidate(cut: Cut) -> dict[str, Any]:
    fields = ("cas", "name", "initial_boiling_point_K", "final_boiling_point_K")
    return {field: getattr(cut, field) for field in fields}

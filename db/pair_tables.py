"""What the store holds about pairs: groups of the molecules, and what was measured of azeotropes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .activity import Counts, GroupBook, group_counts
from .binodal import binodal
from .results import Azeotrope

if TYPE_CHECKING:
    from .store import Store

SAME_PRESSURE = 0.01
"""Pressures that differ by less, relative, count as one: an azeotrope's temperature then moves by some 0.3 K."""

WATER = "7732-18-5"
ROOM_TEMPERATURE_K = 298.15

_MEASURED = """
    SELECT cas_a, cas_b, kind, temperature_K, mass_fraction_a, mole_fraction_a, source, pressure_Pa
    FROM azeotrope WHERE basis = 'measured' ORDER BY cas_a, cas_b, pressure_Pa, ordinal
"""
_ZEOTROPIC = "SELECT cas_a, cas_b, pressure_Pa, source FROM zeotropic_pair ORDER BY cas_a, cas_b, pressure_Pa"


@dataclass(frozen=True)
class Zeotropic:
    """A pair that was measured at a pressure and forms no azeotrope there."""

    pressure_Pa: float
    source: str


class PairTables:
    """The groups' book, the group counts as they are asked for, and all that was measured; loaded once."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self.book = GroupBook.load(store)
        self._counts: dict[str, Counts | None] = {}
        self._in_water: dict[str, float | None] = {}
        self._measured: dict[tuple[str, str], list[Azeotrope]] = {}
        for cas_a, cas_b, *row in store.rows(_MEASURED):
            self._measured.setdefault((cas_a, cas_b), []).append(Azeotrope("measured", *row))
        self._zeotropic: dict[tuple[str, str], list[Zeotropic]] = {}
        for cas_a, cas_b, *row in store.rows(_ZEOTROPIC):
            self._zeotropic.setdefault((cas_a, cas_b), []).append(Zeotropic(*row))

    def pairs_measured(self) -> list[tuple[str, str]]:
        """Every pair of which an azeotrope is held, or that none is formed."""
        return sorted({*self._measured, *self._zeotropic})

    def load_counts(self, cas: Sequence[str]) -> None:
        """Look up the groups of many components in one query."""
        asked = [one for one in cas if one not in self._counts]
        if asked:
            found = group_counts(self._store, asked)
            self._counts |= {one: found.get(one) for one in asked}

    def counts(self, cas: str) -> Counts | None:
        """The groups of a component; None where its molecule is not covered whole."""
        self.load_counts([cas])
        return self._counts[cas]

    def solubility_in_water(self, cas: str) -> float | None:
        """Predicted mole fraction in water at 25 °C, 1 for what mixes in any amount; None without a prediction."""
        if cas not in self._in_water:
            self._in_water[cas] = self._computed_solubility(cas)
        return self._in_water[cas]

    def _computed_solubility(self, cas: str) -> float | None:
        counts, water = self.counts(cas), self.counts(WATER)
        if not counts or not water or self.book.unknown_interactions([counts, water]):
            return None
        lean, _ = binodal(self.book.model([[counts, water]]), np.array([[ROOM_TEMPERATURE_K]]))
        return 1.0 if np.isnan(lean[0, 0]) else float(lean[0, 0])

    def measured(self, cas_a: str, cas_b: str) -> tuple[Azeotrope, ...]:
        """Measured azeotropes of two components at all pressures; fractions are those of the first one named."""
        if cas_a > cas_b:
            return tuple(mirrored(azeotrope) for azeotrope in reversed(self.measured(cas_b, cas_a)))
        return tuple(self._measured.get((cas_a, cas_b), ()))

    def zeotropic(self, cas_a: str, cas_b: str) -> tuple[Zeotropic, ...]:
        """At which pressures two components were found to form no azeotrope."""
        low, high = sorted((cas_a, cas_b))
        return tuple(self._zeotropic.get((low, high), ()))


def mirrored(azeotrope: Azeotrope) -> Azeotrope:
    """The same azeotrope with the two components named the other way round."""
    return Azeotrope(
        azeotrope.basis, azeotrope.kind, azeotrope.temperature_K, 1.0 - azeotrope.mass_fraction_a,
        1.0 - azeotrope.mole_fraction_a, azeotrope.source, azeotrope.pressure_Pa,
    )  # fmt: skip


def lowest_boiling(azeotropes: Sequence[Azeotrope]) -> Azeotrope | None:
    """Of several azeotropes the one that boils lowest, with which every distillation of the pair begins."""
    return min(azeotropes, key=lambda one: one.temperature_K, default=None)


def same_pressure(one_Pa: float, other_Pa: float) -> bool:
    """Whether what was measured at one pressure holds at the other."""
    return math.isclose(one_Pa, other_Pa, rel_tol=SAME_PRESSURE)


def nearby_pressure(azeotropes: Sequence[Azeotrope], pressure_Pa: float) -> bool:
    """Whether one of the azeotropes is at a pressure within a factor of two; common practice, no source."""
    return any(0.5 <= one.pressure_Pa / pressure_Pa <= 2.0 for one in azeotropes)

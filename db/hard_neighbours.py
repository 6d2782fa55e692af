"""What boils near a component and cannot be parted from it: frozen dataclasses in SI units."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .matches import celsius, kilopascal
from .results import Azeotrope


@dataclass(frozen=True)
class HardNeighbour:
    """A component that distillation does not part from another.

    `delta_K` is its boiling point minus the other's. `verdict` is `azeotrope`,
    `close-boiling` or `undecided`, `reason` the sentence for it. In
    `azeotrope` the fractions are those of the component asked about.
    `equivalent_difference_K` is the difference of boiling points of an ideal
    pair that needs as many plates, None where none is known.
    """

    cas: str
    name: str
    boiling_point_K: float
    delta_K: float
    grade: str
    verdict: str
    azeotrope: Azeotrope | None
    equivalent_difference_K: float | None
    reason: str

    def __str__(self) -> str:
        at = f"{self.delta_K:+.1f} K  {celsius(self.boiling_point_K)}"
        return f"{self.verdict}  {at}  {self.name} [{self.cas}]: {self.reason}"


@dataclass(frozen=True)
class HardNeighbours:
    """Of everything that boils within a window, what cannot be parted from a component, the hardest first.

    `examined` counts all that boil there, `parted` those that distillation
    parts, `not_predictable` those of whose mixtures nothing is predicted or
    measured; they are not among the neighbours.
    """

    cas: str
    pressure_Pa: float
    within_K: float
    neighbours: tuple[HardNeighbour, ...]
    examined: int
    parted: int
    not_predictable: int

    def __str__(self) -> str:
        head = f"within {self.within_K:g} K at {kilopascal(self.pressure_Pa)}: {self.examined} examined"
        counts = f"{self.parted} parted, {self.not_predictable} not predictable"
        return "\n".join([f"{head}, {counts}", *(str(neighbour) for neighbour in self.neighbours)])


_RANKS = {"azeotrope": 0, "close-boiling": 1, "undecided": 2}


def hardest_first(neighbours: Iterable[HardNeighbour]) -> tuple[HardNeighbour, ...]:
    """The order of `HardNeighbours`: azeotropes, of which those that fall into two liquids come last, as a decanter
    parts them; then close-boiling ones by the equivalent difference; then what is undecided. Among equals the nearest.
    """

    def hardness(one: HardNeighbour) -> tuple[int, bool, float, float, str]:
        two_liquids = one.azeotrope is not None and one.azeotrope.kind == "heterogeneous"
        difference_K = one.equivalent_difference_K if one.verdict == "close-boiling" else None
        return _RANKS[one.verdict], two_liquids, difference_K or 0.0, abs(one.delta_K), one.cas

    return tuple(sorted(neighbours, key=hardness))

"""What a boiling-point diagram of a pair is drawn from: frozen dataclasses in SI units, with the unit in the name."""

from __future__ import annotations

from dataclasses import dataclass

from .results import Azeotrope


@dataclass(frozen=True)
class MeasuredPoint:
    """A measured azeotrope; `kind` is that of `Azeotrope`, `source` the publication."""

    mole_fraction_a: float
    temperature_K: float
    kind: str
    source: str


@dataclass(frozen=True)
class PairDiagram:
    """Boiling liquid and vapour of a pair at one pressure, from pure b (0) to pure a (1).

    `a` and `b` hold `cas` and `name`. `mole_fraction_a` is that of the liquid
    as a whole, rising from 0 to 1; at each the other sequences tell where it
    boils, the expanded uncertainty of that (coverage 95 %), and the mole
    fraction of a in the vapour in equilibrium with it. Where there are two
    liquids the bubble temperature and the vapour stay the same; `two_liquids`
    are their mole fractions of a, rising, None where there is one liquid only.
    `azeotropes` are predicted ones; `model` says by what.
    """

    a: dict[str, str]
    b: dict[str, str]
    pressure_Pa: float
    mole_fraction_a: tuple[float, ...]
    bubble_temperature_K: tuple[float, ...]
    vapour_fraction_a: tuple[float, ...]
    u95_K: tuple[float, ...]
    two_liquids: tuple[float, float] | None
    azeotropes: tuple[Azeotrope, ...]
    measured: tuple[MeasuredPoint, ...]
    model: str

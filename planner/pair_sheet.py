"""What the picture of a pair shows, in numbers: lines, points, and how far the axis of temperatures goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.results import told_apart
from cutpoint.schema.properties import ICE_POINT_K

if TYPE_CHECKING:
    from cutpoint.db import PairDiagram

Array = NDArray[np.float64]

LEAST_BAND_K = 1.0
"""A band is shown whole up to the height of the lines, or up to this."""
AIR = 0.06
"""Share of the axis of temperatures left free above and below."""


@dataclass(frozen=True)
class PairSheet:
    """A diagram to be drawn, with the molar masses of a and b, None where not known, and the cautions of both."""

    diagram: PairDiagram
    molar_masses_g_mol: tuple[float | None, float | None]
    cautions: tuple[str, ...] = ()

    @property
    def labels(self) -> tuple[str, str]:
        """What to call the two."""
        a, b = self.diagram.a, self.diagram.b
        return told_apart(a["name"], a["cas"], b["name"], b["cas"])

    @property
    def liquid(self) -> Array:
        """Mole fractions of a in the liquid, of the shape (compositions,)."""
        return np.array(self.diagram.mole_fraction_a)

    @property
    def vapour(self) -> Array:
        """Mole fractions of a in the vapour above each liquid."""
        return np.array(self.diagram.vapour_fraction_a)

    @property
    def bubble_celsius(self) -> Array:
        """Where each liquid boils, °C."""
        return np.array(self.diagram.bubble_temperature_K) - ICE_POINT_K

    @property
    def u95_K(self) -> Array:
        """Expanded uncertainty of that, coverage 95 %."""
        return np.array(self.diagram.u95_K)

    @property
    def pure_ends(self) -> tuple[int | None, int | None]:
        """Places of pure b and pure a; None where a vapour-pressure curve does not carry so far."""
        x = self.diagram.mole_fraction_a
        return (0 if x[0] == 0.0 else None), (len(x) - 1 if x[-1] == 1.0 else None)

    def two_liquids(self) -> tuple[Array, float, float] | None:
        """The mole fractions of a in two liquids that boil together, their temperature in °C, and their vapour."""
        if self.diagram.two_liquids is None:
            return None
        ends = np.array(self.diagram.two_liquids)
        there = float(ends.mean())
        boiling, vapour = (float(np.interp(there, self.liquid, of)) for of in (self.bubble_celsius, self.vapour))
        return ends, boiling, vapour

    def mass_fraction_a(self, mole_fraction_a: float) -> float | None:
        """Mass fraction of a; None where a molar mass is not known."""
        mass_a, mass_b = self.molar_masses_g_mol
        if mass_a is None or mass_b is None:
            return None
        return mole_fraction_a * mass_a / (mole_fraction_a * mass_a + (1.0 - mole_fraction_a) * mass_b)

    def temperature_limits_celsius(self) -> tuple[float, float]:
        """Ends of the axis: around all lines and points, and the band unless it would squash them."""
        points_K = [one.temperature_K for one in self.diagram.azeotropes]
        points_K += [one.temperature_K for one in self.diagram.measured]
        told = np.concatenate([self.bubble_celsius, np.array(points_K) - ICE_POINT_K])
        low, high = float(told.min()), float(told.max())
        band = min(float(self.u95_K.max()), max(high - low, LEAST_BAND_K))
        air = AIR * (high - low + 2.0 * band)
        return low - band - air, high + band + air

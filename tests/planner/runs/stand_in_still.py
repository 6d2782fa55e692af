"""A still that needs no store: ideal liquids of constant volatility, distilled by Rayleigh's equation, and its notes.

Lord Rayleigh, Philos. Mag. 4 (1902) 521-537. All substances are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from cutpoint.planner.runs.fitting import Curves

Array = NDArray[np.float64]

DENSITY_KG_M3 = 800.0
MASS_KG = 0.4
STEPS = 200


@dataclass
class RayleighStill:
    """Ingredients of equal molar mass and density, whose head temperature is the boiling point of the vapour's mean."""

    names: tuple[str, ...]
    boiling_K: Array
    volatility: Array
    lower: Array
    upper: Array
    curve_u95_K: float = 0.2
    batches: int = field(default=0)

    def run(self, mass_fractions: Array) -> Curves:
        """The batches of compositions, (S, k), each to 2 % left."""
        self.batches += len(mass_fractions)
        left = MASS_KG * mass_fractions.copy()
        step = 0.98 * MASS_KG / STEPS
        head, distilled = [], [np.zeros_like(left)]
        for _ in range(STEPS):
            vapour = left * self.volatility
            vapour /= vapour.sum(axis=1, keepdims=True)
            head.append(vapour @ self.boiling_K)
            taken = np.minimum(step * vapour, left)
            left = left - taken
            distilled.append(distilled[-1] + taken)
        kg = np.stack(distilled[:-1], axis=1)
        return Curves(
            kg.sum(axis=2) / DENSITY_KG_M3, np.stack(head, axis=1), kg, MASS_KG * mass_fractions, self.curve_u95_K
        )

    def sample(self, n: int, seed: int) -> Array:
        """Compositions within the bounds, drawn uniformly by refusing the others."""
        rng = np.random.default_rng(seed)
        kept = np.zeros((0, len(self.names)))
        while len(kept) < n:
            w = self.lower + (self.upper - self.lower) * rng.random((4096, len(self.names)))
            w[:, -1] = 1.0 - w[:, :-1].sum(axis=1)
            kept = np.concatenate([kept, w[(w[:, -1] >= self.lower[-1]) & (w[:, -1] <= self.upper[-1])]])
        return kept[:n]


def two() -> RayleighStill:
    """A light and a heavy one that part well."""
    return RayleighStill(
        ("estrane ether", "florol"), np.array([330.0, 372.0]), np.array([12.0, 1.0]), np.array([0.2, 0.3]),
        np.array([0.7, 0.8]),
    )  # fmt: skip


def four() -> RayleighStill:
    """Four of them, the label wide."""
    return RayleighStill(
        ("avane", "borrane", "corrol", "dorrol"), np.array([315.0, 335.0, 356.0, 381.0]),
        np.array([200.0, 60.0, 8.0, 1.0]), np.array([0.0, 0.1, 0.1, 0.05]), np.array([0.3, 0.6, 0.7, 0.5]),
    )  # fmt: skip

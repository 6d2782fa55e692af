"""Pressures over S liquids, each with a composition, a temperature and draws of its own.

Modified Raoult's law, the vapour taken as ideal and the liquid as one:

    p y_i = x_i γ_i(x, T) p*_i(T).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.volatile_liquid import VolatileLiquid

Array = NDArray[np.float64]

TINY = 1e-300
"""Mole fractions and amounts are kept above it where one divides by them."""


class LiquidModel(Protocol):
    """What is asked of the liquids of S batches; row s has draws of its own, so all rows are asked together."""

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """Logarithms of the activity coefficients, (S, N), of liquids (S, N) at temperatures (S,)."""
        ...

    def ln_p(self, T_K: Array) -> Array:
        """Logarithms of the vapour pressures in Pa, (S, N), at temperatures (S,)."""
        ...


@dataclass(frozen=True)
class DrawnLiquid:
    """A `LiquidModel` of one liquid with draws: of each ln p*, (S, N), and of the scale of each ln γ, (S, N)."""

    liquid: VolatileLiquid
    ln_p_draw: Array
    gamma_scale: Array

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """As the protocol says."""
        return self.gamma_scale * self.liquid.ln_gamma(x, T_K)

    def ln_p(self, T_K: Array) -> Array:
        """As the protocol says."""
        return self.liquid.ln_pressures(T_K) + self.ln_p_draw


def partial_pressures_Pa(liquid: LiquidModel, x: Array, T_K: Array) -> Array:
    """Partial pressures, (S, N), over liquids (S, N) at temperatures (S,); their sum is the bubble pressure."""
    return np.asarray(x * np.exp(liquid.ln_gamma(x, T_K) + liquid.ln_p(T_K)))


def mole_fractions(amounts_mol: Array) -> Array:
    """Of amounts (S, N); all 0 where nothing is there."""
    return np.asarray(amounts_mol / np.maximum(amounts_mol.sum(axis=1, keepdims=True), TINY))

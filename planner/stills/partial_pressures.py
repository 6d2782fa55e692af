"""Pressures over S liquids, each with a composition, a temperature and draws of its own, and where vapours condense.

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
_MOST_ROUNDS, _TOLERANCE_K = 300, 1e-6
_HALF = 0.5
"""How far activity coefficients follow the drop in one round: wholly they may swing for ever."""
_RELATIVE_STEP = 1e-5


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
    """A `LiquidModel` of one liquid with draws: of each ln p*, (S, N), and of the scale of ln γ, (S, 1)."""

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


def dew_points_K(liquid: LiquidModel, y: Array, pressure_Pa: Array, start_K: Array) -> Array:
    """Temperatures, (S,), at which vapours (S, N) begin to condense at pressures (S,), searched from near by.

    The vapour over the top plate of a column is at its dew point, so the head
    temperature needs no search. NaN where none was found.
    """
    ln_partial = np.log(np.maximum(y * pressure_Pa[:, None], TINY))
    T, ln_gamma = np.array(start_K, dtype=np.float64), np.zeros_like(y)
    moved = np.full(T.shape, np.inf)
    for _ in range(_MOST_ROUNDS):
        ln_p = liquid.ln_p(T)
        slope = (liquid.ln_p(T * (1.0 + _RELATIVE_STEP)) - ln_p) / (T * _RELATIVE_STEP)[:, None]
        drop = np.exp(ln_partial - ln_gamma - ln_p)
        total = drop.sum(axis=1, keepdims=True)
        drop /= total
        # Newton's method in 1/T, in which ln p is nearly straight, for ln Σ x_i = 0.
        new = 1.0 / (1.0 / T - np.log(total[:, 0]) / (T**2 * (drop * slope).sum(axis=1)))
        new = np.where(new > 0.0, np.clip(new, 0.8 * T, 1.25 * T), T)
        asked = liquid.ln_gamma(drop, new)
        moved = np.abs(new - T) + np.abs((drop * (asked - ln_gamma)).sum(axis=1)) * T
        ln_gamma, T = ln_gamma + _HALF * (asked - ln_gamma), new
        if (moved < _TOLERANCE_K).all():
            break
    return np.where(moved < _TOLERANCE_K, T, np.nan)

"""All azeotropes of pairs at one pressure, by modified Raoult's law.

A homogeneous azeotrope is where ln α changes its sign along the composition; a
heterogeneous one where two liquids boil together and their vapour lies between
them. A sign change between the two liquids is of a liquid that does not exist.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .newton import newton
from .pair_equilibrium import Boiling, Pairs, boil
from .two_liquids import Split

Array = NDArray[np.float64]
Places = NDArray[np.int64]

ROUNDS = 12
TOLERANCE = 1e-9
"""How far ln γ p* of either component may be from ln p at an azeotrope."""
HALVINGS = 40
KINDS = ("minimum", "maximum", "heterogeneous")

SCAN = np.concatenate(
    [[0.0, 1e-7, 1e-6, 1e-5, 1e-4, 3e-4, 1e-3, 3e-3, 0.01, 0.02, 0.035, 0.055, 0.08, 0.11, 0.15, 0.2, 0.26, 0.32, 0.38,
      0.44, 0.5]]
)  # fmt: skip
SCAN = np.concatenate([SCAN, 1.0 - SCAN[-2::-1]])
"""Mole fractions at which pairs are looked at, close together at both ends, where azeotropes of unlike boilers hide."""


@dataclass(frozen=True)
class Found:
    """Azeotropes of pairs, one per element: the pair's place, mole fraction of a, K, and the place in `KINDS`."""

    pair: Places
    x: Array
    T_K: Array
    kind: Places


def find_azeotropes(pairs: Pairs, boiling: Boiling, split: Split) -> Found:
    """Every azeotrope of every pair, by pair and then by rising mole fraction of a."""
    homogeneous = _homogeneous(pairs, boiling)
    lean, rich = split.x_lean[homogeneous.pair], split.x_rich[homogeneous.pair]
    real = ~((homogeneous.x > lean) & (homogeneous.x < rich))
    together = np.flatnonzero((split.x_lean < split.y) & (split.y < split.x_rich))
    pair = np.concatenate([homogeneous.pair[real], together])
    x = np.concatenate([homogeneous.x[real], split.y[together]])
    T = np.concatenate([homogeneous.T_K[real], split.T_K[together]])
    kind = np.concatenate([homogeneous.kind[real], np.full(together.size, KINDS.index("heterogeneous"))])
    order = np.lexsort((x, pair))
    return Found(pair[order], x[order], T[order], kind[order])


def _homogeneous(pairs: Pairs, boiling: Boiling) -> Found:
    """Sign changes of ln α, each settled where γ_a p*_a = γ_b p*_b = p, by Newton's method inside its bracket."""
    f = boiling.ln_alpha
    with np.errstate(invalid="ignore"):
        pair, left = np.nonzero((f[:, :-1] * f[:, 1:] < 0.0) | ((f[:, :-1] == 0.0) & (f[:, 1:] != 0.0)))
    low, high = boiling.x[pair, left], boiling.x[pair, left + 1]
    f_low, f_high = f[pair, left], f[pair, left + 1]
    share = f_low / (f_low - f_high)
    x = low + share * (high - low)
    T = (1.0 - share) * boiling.T_K[pair, left] + share * boiling.T_K[pair, left + 1]
    kind = np.where(f_low > f_high, KINDS.index("minimum"), KINDS.index("maximum"))
    if pair.size:
        some = pairs if np.array_equal(pair, np.arange(len(pairs))) else pairs.take(pair)
        x, T, settled = _settle(some, x, T, low, high)
        left = np.flatnonzero(~settled)
        if left.size:
            x[left], T[left] = _halve(some.take(left), low[left], high[left], f_low[left])
    found = ~np.isnan(T)
    return Found(pair[found], x[found], T[found], kind[found])


def _halve(pairs: Pairs, low: Array, high: Array, f_low: Array) -> tuple[Array, Array]:
    """The sign change by halving its bracket, where Newton's method did not end; NaN where no bubble point is found."""
    for _ in range(HALVINGS):
        x = 0.5 * (low + high)
        there = boil(pairs, x[:, None])
        same = there.ln_alpha[:, 0] * f_low > 0.0
        low, high = np.where(same, x, low), np.where(same, high, x)
    return x, np.where(np.isnan(there.ln_alpha[:, 0]), np.nan, there.T_K[:, 0])


def _settle(pairs: Pairs, x: Array, T: Array, low: Array, high: Array) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Mole fraction, temperature, and whether both equations hold there."""

    def missed(u: Array) -> Array:
        return np.moveaxis(pairs.ln_fugacities(u[..., 0], u[..., 1]) - pairs.ln_p[:, None], 0, -1)

    def moved(u: Array, step: Array, miss: Array, slopes: Array) -> Array:
        (x, T), (step_x, step_T) = u.T, step.T
        new = x - step_x
        # A step out of the bracket, or of no size, goes half way to the end that it was heading for.
        wild = ~((new >= low) & (new <= high))
        new = np.where(wild, np.where(step_x > 0.0, 0.5 * (x + low), 0.5 * (x + high)), new)
        alone = miss.sum(axis=1) / slopes[:, :, 1].sum(axis=1)
        return np.stack([new, T - np.where(wild, alone, np.clip(step_T, -20.0, 20.0))], axis=1)

    h_x, h_T = 1e-6, 1e-4
    h = np.stack([np.where(high + h_x < 1.0, h_x, -h_x), np.full(len(x), h_T)], axis=1)
    u, worst = newton(missed, np.stack([x, T], axis=1), h, moved, 1e-2 * TOLERANCE, ROUNDS)
    x, T = u.T.copy()
    return x, T, (worst < TOLERANCE) & pairs.carried(T[:, None])[:, 0]

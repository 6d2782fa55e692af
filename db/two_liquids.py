"""Two liquids that boil together, for many pairs at once; shapes as in `pair_equilibrium`."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .newton import newton
from .pair_equilibrium import Array, Boiling, Bools, Pairs, both_fractions

TOLERANCE = 1e-10
"""How far the logarithms of activities of two liquids, and of their pressure, may miss one another."""
MOST_ROUNDS = 40
LONGEST = np.array([1.5, 1.5, 0.05])
"""Longest step in logit x of either liquid and in ln T: near a critical solution point they would be far too long."""
_H = np.full(3, 1e-6)


@dataclass(frozen=True)
class Split:
    """Two liquids that boil together: mole fractions of a in each and in the vapour, K; NaN where there is none.

    Shape (P,). `unsettled` marks the pairs of which the search found an
    unstable liquid, but no two liquids in equilibrium.
    """

    x_lean: Array
    x_rich: Array
    y: Array
    T_K: Array
    unsettled: Bools


def split_at_boiling(pairs: Pairs, boiling: Boiling) -> Split:
    """Where each pair boils as two liquids; from the isotherm of the lowest bubble point.

    A liquid is unstable where the activity of a falls as its fraction rises.
    """
    P = len(pairs)
    x_lean, x_rich, y, T = np.full((4, P), np.nan)
    split = Split(x_lean, x_rich, y, T, np.zeros(P, dtype=np.bool_))
    known = ~np.isnan(boiling.ln_alpha)
    T_least = np.where(known, boiling.T_K, np.inf).min(axis=1)
    asked = np.flatnonzero(np.isfinite(T_least))
    if not asked.size:
        return split
    some = pairs if asked.size == P else pairs.take(asked)
    x = boiling.x[asked, 1:-1]
    isotherm = some.model.ln_gamma_isotherms(both_fractions(x)[:, None], T_least[asked][:, None])[:, 0]
    ln_a, ln_b = np.log(x) + isotherm[..., 0], np.log1p(-x) + isotherm[..., 1]
    falling = np.diff(ln_a, axis=1) < 0.0
    torn = np.flatnonzero(falling.any(axis=1))
    if not torn.size:
        return split
    T_bubble = np.where(known, boiling.T_K, T_least[:, None])[asked[torn], 1:-1]
    start = _first_guess(x[torn], ln_a[torn], ln_b[torn], falling[torn], T_bubble)
    found = _settle(some if torn.size == asked.size else some.take(torn), start)
    for whole, part in zip((split.x_lean, split.x_rich, split.y, split.T_K), found, strict=True):
        whole[asked[torn]] = part
    split.unsettled[asked[torn]] = np.isnan(found[0])
    return split


def _first_guess(x: Array, ln_a: Array, ln_b: Array, falling: Bools, T_bubble: Array) -> Array:
    """Where the search for two liquids starts: logit x of both and ln T, (P, 3).

    The two compositions of the grid, one on either side of the unstable ones,
    whose activities are most alike, moved by what ideal dilute solutions would
    need; and the mean of their bubble points.
    """
    S = x.shape[1]
    first = falling.argmax(axis=1)
    last = S - 1 - falling[:, ::-1].argmax(axis=1)
    unlike = np.abs(ln_a[:, :, None] - ln_a[:, None, :]) + np.abs(ln_b[:, :, None] - ln_b[:, None, :])
    place = np.arange(S)
    outside = (place[None, :, None] > first[:, None, None]) | (place[None, None, :] < last[:, None, None])
    best = np.where(outside, np.inf, unlike).reshape(len(x), -1).argmin(axis=1)
    rows = np.arange(len(x))
    lean, rich = (rows, best // S), (rows, best % S)
    u_lean = _logit(x[lean]) + np.clip(ln_a[rich] - ln_a[lean], -1.5, 1.5)
    u_rich = _logit(x[rich]) + np.clip(ln_b[rich] - ln_b[lean], -1.5, 1.5)
    return np.stack([u_lean, u_rich, np.log(0.5 * (T_bubble[lean] + T_bubble[rich]))], axis=1)


def _settle(pairs: Pairs, u: Array) -> tuple[Array, Array, Array, Array]:
    """The two liquids, the vapour and the temperature; NaN where the liquids become one or the search fails."""
    equations = _TwoLiquids(pairs)
    u, worst = newton(equations.missed, u, _H, _moved, TOLERANCE, MOST_ROUNDS)
    lean, rich, T = _expit(u[:, 0]), _expit(u[:, 1]), np.exp(u[:, 2])
    fine = (worst < 1e3 * TOLERANCE) & (u[:, 1] - u[:, 0] > 1e-4) & pairs.carried(T[:, None])[:, 0]
    lean, rich, y, T = (np.where(fine, value, np.nan) for value in (lean, rich, equations.y, T))
    return lean, rich, y, T


def _moved(u: Array, step: Array, miss: Array, slopes: Array) -> Array:
    u = u - np.clip(np.nan_to_num(step), -LONGEST, LONGEST)
    u[:, :2] = np.clip(u[:, :2], -34.0, 34.0)
    return u


class _TwoLiquids:
    """Equal activities in both liquids and the pressure asked, for logit x of both and ln T."""

    def __init__(self, pairs: Pairs) -> None:
        self._pairs = pairs
        self.y = np.full(len(pairs), np.nan)
        """The vapour at the points last asked, (P,)."""

    def missed(self, u: Array) -> Array:
        """By how much the equations are missed at M points, (P, M, 3), in the same shape."""
        P, M, _ = u.shape
        logit = u[:, :, :2].reshape(P, 2 * M)
        ln_f = self._pairs.ln_fugacities(_expit(logit), np.repeat(np.exp(u[:, :, 2]), 2, axis=1))
        # ln x from the logit, which keeps its digits where x is all but 1.
        ln_f = (ln_f - np.logaddexp(0.0, np.stack([-logit, logit]))).reshape(2, P, M, 2)
        unlike = ln_f[..., 0] - ln_f[..., 1]
        total = np.logaddexp(ln_f[0], ln_f[1]).sum(axis=-1) * 0.5
        self.y = np.exp(0.5 * ln_f[0, :, 0].sum(axis=-1) - total[:, 0])
        return np.stack([*unlike, total - self._pairs.ln_p[:, None]], axis=-1)


def _logit(x: Array) -> Array:
    return np.log(x) - np.log1p(-x)


def _expit(u: Array) -> Array:
    return 1.0 / (1.0 + np.exp(-u))

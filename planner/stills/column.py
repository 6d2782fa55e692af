"""Batch distillation through a column with reflux, for many compositions at once.

The pot is one equilibrium stage and each plate of the column another; above
them stands a total condenser that returns L = R D of the V = (R + 1) D moles
that it condenses. The molar flows are the same everywhere in the column
(constant molal overflow, W. L. McCabe and E. W. Thiele, Ind. Eng. Chem. 17
(1925) 605-611), and the column keeps up with the pot: at every moment it is in
the steady state over it,

    L (x_{n+1} - x_n) + V (y_{n-1} - y_n) = 0,    x_{N+1} = x_D = y_N,

while the H moles of liquid on each plate are counted: of the m_i moles of a
component that are left, M_0 x_0,i + H Σ x_n,i = m_i. Without plates this is the
equation of Lord Rayleigh, Phil. Mag. 4 (1902) 521-537.

In τ, with dM = -M dτ, the amounts left go as d ln m_i = -E_i dτ with
E_i = x_D,i M / m_i, which Heun's method integrates: no amount becomes negative,
and what has left the apparatus is what has been distilled. The profile of the
column follows by Newton's method, one step at a time, whose linear systems
have the shape of the column: blocks on three diagonals.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.int64]


_LEAST = 1e-250
"""Moles and mole fractions are kept above it, so that logarithms of their changes exist."""
_STEADY = 1e-8
"""Largest imbalance of a stage, as a share of the vapour that passes it, in a steady state that was searched for."""
_FOLLOWED = 2e-2
"""Imbalance that a moving profile may show before it is mended by further rounds."""
_HELD_BACK = 0.5
"""How much the steps towards a steady state are held back per imbalance: so they are Newton's own at the end."""
_LEAST_REFLUX = 0.01
"""Plates without any liquid would not be plates."""
_START_ROUNDS, _MENDING_ROUNDS = 80, 25


class Equilibrium(Protocol):
    """What a column asks of the liquids of S batches; row s has pressure and draws of its own."""

    def vapour(self, x: Array, T_K: Array) -> tuple[Array, Array]:
        """Vapours over liquids (A, S, N), mole fractions that sum to 1, and bubble points (A, S), from near by."""
        ...

    def slopes(self) -> Array:
        """∂y_i/∂x_j within the sum of 1 at the liquids asked last, (A, S, N, N)."""
        ...

    def take(self, rows: Places) -> Equilibrium:
        """The same of some of the batches."""
        ...


@dataclass(frozen=True)
class Still:
    """`plates` theoretical plates above the pot; reflux ratio and holdup of each plate, mol, of each batch, (S,)."""

    plates: int
    reflux_ratio: Array
    holdup_mol: Array

    def take(self, rows: Places) -> Still:
        """The stills of some of the batches."""
        return Still(self.plates, self.reflux_ratio[rows], self.holdup_mol[rows])


@dataclass(frozen=True)
class Batch:
    """S batches at V moments: the first before anything is distilled.

    `left_mol`, (V, S, N), is what is still in the apparatus, column included;
    `vapour` and `pot`, (V, S, N), are the mole fractions of what comes over and
    of the pot, `head_K` and `pot_K`, (V, S), the temperatures. `imbalance`,
    (S,), is the largest that a stage showed, as a share of the vapour.
    """

    left_mol: Array
    vapour: Array
    pot: Array
    head_K: Array
    pot_K: Array
    imbalance: Array

    @property
    def distilled_mol(self) -> Array:
        """What has come over, (V, S, N)."""
        return self.left_mol[0] - self.left_mol

    def rows(self, rows: Places | slice) -> Batch:
        """Some of the batches."""
        return Batch(
            self.left_mol[:, rows], self.vapour[:, rows], self.pot[:, rows], self.head_K[:, rows],
            self.pot_K[:, rows], self.imbalance[rows],
        )  # fmt: skip

    @classmethod
    def joined(cls, parts: Sequence[Batch]) -> Batch:
        """The batches of all parts, in order."""
        return cls(
            np.concatenate([part.left_mol for part in parts], axis=1),
            np.concatenate([part.vapour for part in parts], axis=1),
            np.concatenate([part.pot for part in parts], axis=1),
            np.concatenate([part.head_K for part in parts], axis=1),
            np.concatenate([part.pot_K for part in parts], axis=1),
            np.concatenate([part.imbalance for part in parts]),
        )


class _Column:
    """Mole fractions of all stages, (J, S, N), pot first, the vapours over them, and what is left, (S, N), over all."""

    def __init__(self, equilibrium: Equilibrium, still: Still, m: Array, x: Array, T_K: Array) -> None:
        self._equilibrium, self._still, self.m, self.x, self.T_K = equilibrium, still, m, x, T_K
        ratio = np.maximum(still.reflux_ratio[:, None], _LEAST_REFLUX)
        self._L = ratio / (ratio + 1.0)
        self._H = still.holdup_mol[:, None]
        self._holds = bool(still.plates and self._H.any())
        self.look()

    def look(self) -> None:
        """Work out the vapours, and with them what each plate gains and the pot lacks, per mole of vapour."""
        self.y, self.T_K = self._equilibrium.vapour(self.x, self.T_K)
        from_above = np.concatenate([self.x[2:], self.y[-1:]])
        self.gain = self._L * (from_above - self.x[1:]) + self.y[:-1] - self.y[1:]
        left = self.m.sum(axis=1, keepdims=True)
        self._in_pot = left - self._still.plates * self._H
        self.lack = (self.m - self._in_pot * self.x[0] - self._H * self.x[1:].sum(axis=0)) / left

    @property
    def imbalance(self) -> Array:
        """The largest of any stage, (S,)."""
        return np.maximum(np.abs(self.gain).max(axis=(0, 2), initial=0.0), np.abs(self.lack).max(axis=1))

    def factorise(self, held_back: Array | None = None) -> None:
        """Eliminate from the head down: plate n needs the change of plate n - 1 below it alone.

        `held_back`, (S,), damps the changes, as if each plate held that much per step.
        """
        J, N = len(self.x), self.x.shape[2]
        if J == 1:
            return
        L, identity = self._L[:, :, None].astype(np.float32), np.eye(N, dtype=np.float32)
        L_held = L if held_back is None else L + held_back[:, None, None].astype(np.float32)
        # Single precision is enough for the steps: what they lead to is judged in double.
        slopes = self._equilibrium.slopes().astype(np.float32)
        self._inverse, self._below = np.empty_like(slopes[1:]), np.empty_like(slopes[1:])
        above = slopes[-1]
        for n in range(J - 1, 0, -1):
            self._inverse[n - 1] = _inverse(L_held * identity + slopes[n] - L * above)
            above = self._below[n - 1] = np.matmul(self._inverse[n - 1], slopes[n - 1])

    def follow(self, m: Array) -> None:
        """Let the profile follow what is left, by one Newton step with the last Jacobian."""
        M = m.sum(axis=1, keepdims=True)
        self.m, self._in_pot = m, M - self._still.plates * self._H
        if len(self.x) == 1:
            self.x[0] = m / M
            return
        own = self._own_changes()
        if self._holds:
            lack = m - self._in_pot * self.x[0] - self._H * (self.x[1:] + own).sum(axis=0)
            pot_change = _times(_inverse(self._per_pot_change()), lack)
        else:
            pot_change = m / M - self.x[0]
        change = np.concatenate([pot_change[None], own])
        for n in range(1, len(change)):
            change[n] += _times(self._below[n - 1], change[n - 1])
        # Downwards as an exponential, so that nothing falls below zero.
        x = np.where(change < 0.0, self.x * np.exp(np.minimum(change, 0.0) / self.x), self.x + change)
        self.x = np.maximum(x / x.sum(axis=2, keepdims=True), _LEAST)
        if not self._holds:
            self.x[0] = m / M

    def _own_changes(self) -> Array:
        """What the plates' own imbalance asks of them while the plate below stays as it is."""
        own = np.empty_like(self.gain)
        asked = self.gain[-1]
        for n in range(len(own) - 1, -1, -1):
            own[n] = _times(self._inverse[n], asked)
            if n:
                asked = self.gain[n - 1] + self._L * own[n]
        return own

    def _per_pot_change(self) -> Array:
        """What pot and plates take up per change of the pot's mole fractions, (S, N, N)."""
        S, N = self.m.shape
        carried = np.broadcast_to(np.eye(N), (S, N, N))
        taken_up = self._in_pot[:, :, None] * carried
        for below in self._below:
            carried = np.matmul(below, carried)
            taken_up = taken_up + self._H[:, :, None] * carried
        return taken_up

    def mend(self, limit: float, rounds: int) -> None:
        """Go on with Newton's steps in the batches that are out of balance."""
        rows = np.flatnonzero(self.imbalance > limit)
        if not rows.size:
            return
        part = _Column(
            self._equilibrium.take(rows), self._still.take(rows), self.m[rows], self.x[:, rows], self.T_K[:, rows]
        )
        # A further step with the Jacobian at hand mends most of them, at a small part of the cost of a new one.
        part._inverse, part._below = self._inverse[:, rows], self._below[:, rows]
        part.follow(part.m)
        part.look()
        part.settle(limit, rounds)
        self.x[:, rows], self.T_K[:, rows], self.y[:, rows] = part.x, part.T_K, part.y
        self.gain[:, rows], self.lack[rows] = part.gain, part.lack

    def settle(self, limit: float, rounds: int) -> None:
        """Newton's steps until each batch is in balance, held back in proportion to what is amiss.

        A batch that is in balance rests, so that its state does not hang on the company that it is computed in.
        """
        for _ in range(rounds):
            imbalance = self.imbalance
            off = imbalance > limit
            if not off.any():
                break
            before = self.x, self.T_K, self.y, self.gain
            lack = self.lack
            self.factorise(np.where(off, _HELD_BACK * imbalance, 0.0))
            self.follow(self.m)
            self.look()
            for now, then in zip((self.x, self.T_K, self.y, self.gain), before, strict=True):
                now[:, ~off] = then[:, ~off]
            self.lack[~off] = lack[~off]


def _inverse(blocks: Array) -> Array:
    """The inverses of (S, N, N); of a block that has none, what comes nearest to one."""
    try:
        return np.asarray(np.linalg.inv(blocks))
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.pinv(np.nan_to_num(blocks)))


def _times(matrices: Array, vectors: Array) -> Array:
    """The products (S, N, N) by (S, N)."""
    return np.asarray(np.matmul(matrices, vectors[:, :, None])[:, :, 0])


def distil(
    feed_mol: Array,
    still: Still,
    equilibrium: Equilibrium,
    start_K: Array,
    *,
    steps: int,
    least_left: Array | float = 0.03,
) -> Batch:
    """Distil S feeds, (S, N) in mol, until a share of the moles, `least_left`, is left in the pot.

    `start_K`, (S,), are temperatures to start the search of the pot's bubble
    point from. A row whose column holds more than is to be distilled is not
    distilled at all: all its moments are the same.
    """
    whole = feed_mol.sum(axis=1)
    step_mol = np.maximum(whole * (1.0 - least_left) - still.plates * still.holdup_mol, 0.0) / steps
    m = np.maximum(feed_mol, _LEAST)
    column = _Column(equilibrium, still, m, *_total_reflux(equilibrium, still, m, start_K))
    column.settle(_STEADY, _START_ROUNDS)
    moments, imbalance = [_moment(column)], column.imbalance
    for k in range(1, steps + 1):
        M = m.sum(axis=1)
        tau = np.log(M / np.minimum(whole - k * step_mol, M))[:, None]
        column.factorise()
        first = column.y[-1] * M[:, None] / m
        ahead = np.maximum(m * np.exp(-first * tau), _LEAST)
        column.follow(ahead)
        column.look()
        second = column.y[-1] * ahead.sum(axis=1)[:, None] / ahead
        m = np.maximum(m * np.exp(-0.5 * (first + second) * tau), _LEAST)
        column.follow(m)
        column.look()
        column.mend(_FOLLOWED, _MENDING_ROUNDS)
        imbalance = np.maximum(imbalance, column.imbalance)
        moments.append(_moment(column))
    left, vapour, pot, head_K, pot_K = (np.stack(part) for part in zip(*moments, strict=True))
    return Batch(left, vapour, pot, head_K, pot_K, imbalance)


def _total_reflux(equilibrium: Equilibrium, still: Still, m: Array, start_K: Array) -> tuple[Array, Array]:
    """Where a column without take-off stands: each plate's liquid is the vapour from below; (J, S, N) and (J, S)."""
    x = np.broadcast_to(m / m.sum(axis=1, keepdims=True), (still.plates + 1, *m.shape)).copy()
    T = np.broadcast_to(start_K, x.shape[:2]).copy()
    for n in range(len(x)):
        for _ in range(30):
            y, new = equilibrium.vapour(x[n : n + 1], T[n : n + 1])
            moved = np.abs(new - T[n]).max()
            T[n] = new[0]
            if moved < 1e-7:
                break
        if n + 1 < len(x):
            x[n + 1], T[n + 1] = np.maximum(y[0], _LEAST), T[n]
    return x, T


def _moment(column: _Column) -> tuple[Array, Array, Array, Array, Array]:
    return column.m, column.y[-1].copy(), column.x[0].copy(), column.T_K[-1].copy(), column.T_K[0].copy()

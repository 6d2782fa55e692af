"""K-values of one liquid mixture at very many states, fast: the equilibrium under which a column is computed.

Modified Raoult's law as in `db.equilibrium`, K_i = γ_i(x, T) p*_i(T) / p, for
states that each have a temperature of their own. What depends on the
temperature alone, the vapour pressures and the activities of the groups in the
pure components, is read from a table over 1/T (four-point interpolation), and
only the mixture's own part is computed at each state.

Beyond its ends a vapour-pressure curve goes on straight in 1/T: a light gas
dissolved in a warm liquid is met there. `outside` tells where that is so.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .activity import ActivityModel, GroupStates
from .curves import Array, CurveBank

_NODES = 512
"""Enough for 1e-9 in the logarithm of a K-value over some 400 K."""
_MARGIN = 2
_MOST_STEPS, _TOLERANCE_K = 50, 1e-8


class Boiling(NamedTuple):
    """Liquids at their bubble points: temperatures (S,), vapours and K-values (S, N), and what slopes are made of.

    `modelled`, (S, 1), is how much of each liquid the activity model covers.
    """

    T_K: Array
    y: Array
    K: Array
    groups: GroupStates | None
    modelled: Array | None
    gamma_scale: Array


class VolatileLiquid:
    """Liquids of N components between two temperatures.

    `bank` holds their N curves, `model` the activity model of the components at
    the places `modelled`; the others mix ideally and do not change how these
    mix with one another (their excess Gibbs energy is that of the modelled
    ones among themselves, so the Gibbs-Duhem equation holds).
    """

    def __init__(
        self, bank: CurveBank, model: ActivityModel | None, modelled: list[int], low_K: float, high_K: float
    ) -> None:
        self._bank, self._model, self._modelled = bank, model, modelled
        self._everywhere = len(modelled) == len(bank)
        self._low_K, self._high_K = low_K, high_K
        step = (1.0 / low_K - 1.0 / high_K) / (_NODES - 1 - 2 * _MARGIN)
        self._start, self._step = 1.0 / high_K - _MARGIN * step, step
        T: Array = 1.0 / (self._start + step * np.arange(_NODES, dtype=np.float64))
        columns = [_straight_ln_pressures(bank, T)]
        if model is not None:
            columns.append(model.ln_residual_pure(T))
        self._table = _cubics(np.concatenate(columns, axis=1))

    @property
    def n_components(self) -> int:
        """N."""
        return len(self._bank)

    def vapour(self, x: Array, T_K: Array, ln_p: Array, gamma_scale: Array) -> Boiling:
        """One Newton step towards the bubble points of liquids x (S, N) from temperatures (S,), and the vapours there.

        `ln_p` is (S, 1), or (S, N) where the vapour pressures are shifted, by
        component; `gamma_scale`, (S, N), multiplies each ln γ. Asked again with the
        temperatures that it gave, it ends at the bubble points; the mole
        fractions of the vapour sum to 1 at once.
        """
        N = self.n_components
        read, slope = self._read(T_K)
        ln_K, groups, total = read[:, :N] - ln_p, None, None
        if self._model is not None:
            shares, total = self._shares(x)
            groups = self._model.groups_at(shares, T_K)
            ln_gamma = self._model.ln_gamma_states(groups, read[:, N:])
            if self._everywhere:
                ln_K += gamma_scale * ln_gamma
            else:
                ln_K[:, self._modelled] += gamma_scale[:, self._modelled] * ln_gamma
        K = np.exp(ln_K)
        y = x * K
        sum_y = y.sum(axis=1)
        # Newton's method in 1/T, in which ln p is nearly straight; γ moves little with T.
        u = 1.0 / T_K - np.log(sum_y) * sum_y / (y * slope).sum(axis=1)
        T = 1.0 / np.clip(u, 1.0 / self._high_K, 1.0 / self._low_K)
        K *= np.exp(slope * (1.0 / T - 1.0 / T_K)[:, None])
        y = x * K
        sum_y = y.sum(axis=1, keepdims=True)
        return Boiling(T, y / sum_y, K / sum_y, groups, total, gamma_scale)

    def vapour_slopes(self, at: Boiling) -> Array:
        """∂y_i/∂x_j at bubble points, (S, N, N), within the sums of 1; relative volatilities do not move with T."""
        N = self.n_components
        ln_slopes = np.zeros((len(at.y), N, N))
        if self._model is not None and at.groups is not None and at.modelled is not None:
            own = self._model.ln_gamma_slopes(at.groups)
            own = (own - np.matmul(own, at.groups.x[:, :, None])) / at.modelled[:, :, None]
            if self._everywhere:
                ln_slopes = own * at.gamma_scale[:, :, None]
            else:
                ln_slopes[np.ix_(range(len(own)), self._modelled, self._modelled)] = own
                ln_slopes *= at.gamma_scale[:, :, None]
        slopes = at.y[:, :, None] * ln_slopes
        slopes[:, range(N), range(N)] += at.K
        slopes -= at.y[:, :, None] * slopes.sum(axis=1)[:, None, :]
        return slopes

    def bubble_points_K(self, x: Array, start_K: Array, ln_p: Array, gamma_scale: Array) -> Array:
        """Bubble points, (S,), searched from the starts; arguments as in `vapour`."""
        T = start_K
        for _ in range(_MOST_STEPS):
            before, T = T, self.vapour(x, T, ln_p, gamma_scale).T_K
            if np.abs(T - before).max(initial=0.0) < _TOLERANCE_K:
                break
        return T

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """ln γ of all components, 0 for those that are not modelled: (S, N)."""
        ln_gamma = np.zeros_like(x)
        if self._model is not None:
            groups = self._model.groups_at(self._shares(x)[0], T_K)
            ln_gamma[:, self._modelled] = self._model.ln_gamma_states(
                groups, self._read(T_K)[0][:, self.n_components :]
            )
        return ln_gamma

    def ln_pressures(self, T_K: Array) -> Array:
        """ln(p* / Pa) of all components, (S, N)."""
        return self._read(T_K)[0][:, : self.n_components]

    def outside(self, T_K: Array, x: Array, least: float = 1e-3) -> Array:
        """Which components that are present by more than `least` are asked beyond their curves; (S, N) of bool."""
        low, high = self._bank.limits_K()
        beyond = (T_K[:, None] < low) | (T_K[:, None] > high)
        return np.asarray(beyond & (x > least))

    def _read(self, T_K: Array) -> tuple[Array, Array]:
        """The table at temperatures, and the slope of the vapour pressures in 1/T."""
        place = (1.0 / T_K - self._start) / self._step
        first = np.clip(place.astype(np.int64) - 1, 0, _NODES - 4)
        c0, c1, c2, c3 = np.moveaxis(self._table.take(first, axis=0), 1, 0)
        t = (place - first - 1.0)[:, None]
        N = self.n_components
        value = c0 + t * (c1 + t * (c2 + t * c3))
        slope = c1[:, :N] + t * (2.0 * c2[:, :N] + 3.0 * t * c3[:, :N])
        return value, slope / self._step

    def _shares(self, x: Array) -> tuple[Array, Array]:
        """Mole fractions of the modelled components among themselves, (S, M), and their sum, (S, 1)."""
        part = x if self._everywhere else x[:, self._modelled]
        # A step of an integration may leave a trace below zero; where nothing is there, any composition will do.
        part = np.maximum(part, 1e-30)
        total = part.sum(axis=1, keepdims=True)
        return part / total, total


def _straight_ln_pressures(bank: CurveBank, T_K: Array) -> Array:
    """ln p* at temperatures (S,), straight in 1/T beyond each curve's limits; (S, N)."""
    low, high = bank.limits_K()
    at = np.clip(T_K[:, None], low, high)
    ln_p, slope = bank.clipped_ln_pressures(T_K[:, None]), bank.clipped_slopes(T_K[:, None])
    return ln_p + slope * at**2 * (1.0 / at - 1.0 / T_K[:, None])


def _cubics(values: Array) -> Array:
    """Coefficients of Lagrange's cubic through four nodes, about the second of them, for each node: (S, 4, C)."""
    a = values
    b, c, d = (np.concatenate([values[k:], np.repeat(values[-1:], k, axis=0)]) for k in (1, 2, 3))
    d1, d2, d3 = c - b, 0.5 * (c - 2.0 * b + a), (d - 3.0 * c + 3.0 * b - a) / 6.0
    # Newton's form b + t (d1 + (t - 1) (d2 + (t + 1) d3)), in powers of t.
    return np.stack([b, d1 - d2 - d3, d2, d3], axis=1)

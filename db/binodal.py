"""The miscibility gap of two liquids: the compositions that are in equilibrium, for many pairs at once.

The compositions touch a common tangent of the Gibbs energy of mixing g(x).
In u = ln(x_a / x_b) traces keep their digits, and with the slope μ = dg/dx =
ln a_a - ln a_b and the thermodynamic factor Q = dμ/du the Gibbs-Duhem equation
gives dln a_b/du = -x_a Q, so that a Newton step of both compositions needs Q alone.
Near a critical solution point, where Q ≈ Q_0 + ½ Q_2 (u - u_c)², the two lie
√3 times as far from u_c as the limits of stability do (the parabola of mean-field theory).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class ActivityModel(Protocol):
    """Activity coefficients of P mixtures of N components each."""

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        """ln γ, (P, S, N), at mole fractions (P, S, N) and temperatures (P, S)."""
        ...


_GRID = np.concatenate([np.linspace(-16.0, -5.0, 12)[:-1], np.linspace(-5.0, 5.0, 41), np.linspace(5.0, 16.0, 12)[1:]])
"""Compositions u = ln(x_a/x_b) at which a gap is looked for; further out solutions are dilute and stable."""
_PROBE = 1e-4
"""Half the distance in u over which Q is taken."""
_CURVATURE_PROBE = 0.05
_STABLE = 1e-7
"""Q below this is not told from zero: the two liquids are the same to the digits that a difference leaves."""
_LEAST_SLOPE = 0.3
"""Where the slope between grid points nowhere falls below this, it is nowhere negative between them."""
_ZOOM = np.linspace(0.0, 1.0, 9)
_MOST_STEPS = 100
_SETTLED = 1e-11
"""Largest difference of ln activity between the liquids of an answer."""


def binodal(model: ActivityModel, T_K: ArrayLike) -> tuple[Array, Array]:
    """Mole fractions of the first component in the two liquids, the poorer one first; NaN where there is one liquid.

    `model` holds P pairs, `T_K` has the shape (P, K), as both answers have.
    """
    liquids = miscibility_gap(model, T_K)
    return liquids[0, ..., 0], liquids[1, ..., 0]


def miscibility_gap(model: ActivityModel, T_K: ArrayLike) -> Array:
    """Both mole fractions in the two liquids of P pairs at temperatures (P, K); shape (2, P, K, 2).

    The first liquid is the poorer in the first component. Traces keep all
    their digits, also where a mole fraction is 1 to the last digit of a
    double. NaN where there is one liquid, or where the model gives NaN.
    """
    pairs = _Pairs(model, np.asarray(T_K, dtype=np.float64))
    u_c, Q_c = pairs.least_stable()
    parted = Q_c < -_STABLE
    if parted.any():
        u, met = pairs.common_tangent(pairs.starts(u_c, Q_c), u_c, parted)
    else:
        u, met = np.stack([u_c, u_c]), parted
    x = np.stack([1.0 / (1.0 + np.exp(-u)), 1.0 / (1.0 + np.exp(u))], axis=-1)
    x[:, ~met] = np.nan
    return np.asarray(x)


class _Pairs:
    """P pairs at K temperatures each; compositions u of shape (..., P, K)."""

    def __init__(self, model: ActivityModel, T_K: Array) -> None:
        self._model, self._T = model, T_K

    def log_activities(self, u: Array) -> tuple[Array, Array]:
        """ln a_a and ln a_b at compositions (M, P, K)."""
        M, (P, K) = len(u), self._T.shape
        ln_x = np.stack([-np.logaddexp(0.0, -u), -np.logaddexp(0.0, u)], axis=-1)
        x = np.moveaxis(np.exp(ln_x), 0, 1).reshape(P, M * K, 2)
        T = np.broadcast_to(self._T[:, None, :], (P, M, K)).reshape(P, M * K)
        ln_gamma = np.moveaxis(self._model.ln_gamma(x, T).reshape(P, M, K, 2), 1, 0)
        ln_a = ln_x + ln_gamma
        return ln_a[..., 0], ln_a[..., 1]

    def slope(self, u: Array) -> Array:
        """μ = dg/dx_a."""
        ln_a, ln_b = self.log_activities(u)
        return ln_a - ln_b

    def factor(self, u: Array) -> Array:
        """Q = dμ/du, by a central difference."""
        upper, lower = np.split(self.slope(np.concatenate([u + _PROBE, u - _PROBE])), 2)
        return np.asarray((upper - lower) / (2.0 * _PROBE))

    def least_stable(self) -> tuple[Array, Array]:
        """Where Q is least, and Q there, (P, K): on the grid, then ever nearer."""
        everywhere = np.broadcast_to(_GRID[:, None, None], (len(_GRID), *self._T.shape))
        mean = np.diff(self.slope(everywhere), axis=0) / np.diff(_GRID)[:, None, None]
        least = np.argmin(np.nan_to_num(mean, nan=np.inf), axis=0)
        low, high = _GRID[np.maximum(least - 1, 0)], _GRID[np.minimum(least + 2, len(_GRID) - 1)]
        u_c, Q_c = 0.5 * (low + high), np.take_along_axis(mean, least[None], axis=0)[0]
        if not (Q_c < _LEAST_SLOPE).any():
            return u_c, Q_c
        for _ in range(6):
            u = low + (high - low) * _ZOOM[:, None, None]
            Q = self.factor(u)
            least = np.argmin(np.nan_to_num(Q, nan=np.inf), axis=0)[None]
            u_c, Q_c = np.take_along_axis(u, least, axis=0)[0], np.take_along_axis(Q, least, axis=0)[0]
            step = (high - low) / (len(_ZOOM) - 1)
            low, high = u_c - step, u_c + step
        return u_c, Q_c

    def starts(self, u_c: Array, Q_c: Array) -> Array:
        """First compositions of the two liquids, (2, P, K): the least distances from the tangent plane at u_c."""
        h = _CURVATURE_PROBE
        Q_2 = (self.factor(u_c[None] + h)[0] - 2.0 * Q_c + self.factor(u_c[None] - h)[0]) / h**2
        with np.errstate(divide="ignore", invalid="ignore"):
            width = np.sqrt(np.maximum(-2.0 * Q_c / Q_2, 0.0))
        width = np.where(np.isfinite(width), width, 0.1)
        near = width[None] * np.array([1.2, 3.0**0.5, 2.5, 4.0])[:, None, None]
        far = np.broadcast_to(np.exp(np.linspace(-2.0, 3.4, 24))[:, None, None], (24, *u_c.shape))
        out = np.concatenate([near, far])
        ln_a, ln_b = self.log_activities(u_c[None])
        found = []
        for side in (-1.0, 1.0):
            u = u_c + side * out
            trial_a, trial_b = self.log_activities(u)
            x_a, x_b = 1.0 / (1.0 + np.exp(-u)), 1.0 / (1.0 + np.exp(u))
            distance = x_a * (trial_a - ln_a) + x_b * (trial_b - ln_b)
            least = np.argmin(np.nan_to_num(distance, nan=np.inf), axis=0)[None]
            found.append(np.take_along_axis(u, least, axis=0)[0])
        return np.stack(found)

    def common_tangent(self, u: Array, u_c: Array, parted: NDArray[np.bool_]) -> tuple[Array, NDArray[np.bool_]]:
        """Newton steps of both compositions, held on their own sides of u_c; and which of those `parted` got there."""
        met = np.zeros_like(parted)
        for _ in range(_MOST_STEPS):
            ln_a, ln_b = self.log_activities(u)
            Q = np.maximum(self.factor(u), 1e-12)
            x = 1.0 / (1.0 + np.exp(-u))
            r_slope, r_b = (ln_a - ln_b)[0] - (ln_a - ln_b)[1], ln_b[0] - ln_b[1]
            with np.errstate(divide="ignore", invalid="ignore"):
                step = np.stack([-(r_b + x[1] * r_slope), -(r_b + x[0] * r_slope)]) / (Q * (x[1] - x[0]))
            # At most half the way to the unstable composition between them.
            room = 0.5 * np.abs(u - u_c)
            step = np.clip(np.stack([np.minimum(step[0], room[0]), np.maximum(step[1], -room[1])]), -2.0, 2.0)
            apart = np.maximum(np.abs(r_b + r_slope), np.abs(r_b))  # of ln a_a and of ln a_b
            met = parted & ((np.abs(step) <= 1e-11).all(axis=0) | (apart <= 1e-15)) & (apart <= _SETTLED)
            if (met | ~parted).all():
                break
            u = np.where(parted & ~met, u + np.nan_to_num(step), u)
        return u, met

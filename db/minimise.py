"""Many small minimisation problems at once: the quasi-Newton method of Broyden, Fletcher, Goldfarb and Shanno.

The inverse Hessian of each problem is built up from its own gradients, as in
J. Nocedal, S. J. Wright, Numerical Optimization, 2nd edition, 2006, chapter 6.
It starts as the identity, so the variables are to be scaled such that the
Hessian is nearly that; the square roots of amounts do it for Gibbs energies
(M. L. Michelsen, Fluid Phase Equilib. 9 (1982) 1-19).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Places = NDArray[np.int64]
Objective = Callable[[Array, Places], tuple[Array, Array]]
"""Values (A,) and gradients (A, N) at the points (A, N) of the problems at A places."""

MOST_STEPS = 200
_MOST_HALVINGS = 20
_LONGEST_STEP = 0.7
_SHARE_OF_BOUND = 0.9
_NOISE = 1e-13
"""Differences of values below this are rounding; there the gradient tells whether a step was good."""


def minimise(objective: Objective, start: Array, upper: Array, tolerance: float) -> tuple[Array, Array]:
    """Local minima of R problems in N variables between 0 and `upper`, downhill from `start`, all (R, N).

    A search ends where no gradient component exceeds the tolerance, or where
    rounding lets it go no further down. Answers the points and their largest
    gradient component, (R,). The bounds
    are never reached: a step goes at most nine tenths of the way. A variable
    whose bound is 0 stays where it is.
    """
    point = start.copy()
    value, gradient = objective(point, np.arange(len(point)))
    inverse = np.tile(np.eye(point.shape[1]), (len(point), 1, 1))
    active = np.flatnonzero(_largest(gradient) > tolerance)
    for _ in range(MOST_STEPS):
        if not active.size:
            break
        step, inverse[active] = _direction(point[active], gradient[active], inverse[active], upper[active])
        share, new_value, new_gradient = _searched(
            objective, active, point[active], step, value[active], gradient[active]
        )
        moved = share > 0.0
        active, step = active[moved], step[moved] * share[moved, None]
        inverse[active] = _updated(inverse[active], step, new_gradient[moved] - gradient[active])
        point[active] += step
        value[active], gradient[active] = new_value[moved], new_gradient[moved]
        active = active[_largest(gradient[active]) > tolerance]
    return point, _largest(gradient)


def _largest(gradient: Array) -> Array:
    return np.abs(gradient).max(axis=-1, initial=0.0)


def _direction(point: Array, gradient: Array, inverse: Array, upper: Array) -> tuple[Array, Array]:
    """Downhill steps within the bounds, and the inverse Hessians, the identity where the old one led uphill."""
    step = _allowed(point, -np.einsum("aij,aj->ai", inverse, gradient), upper)
    uphill = (step * gradient).sum(-1) >= 0.0
    step[uphill] = _allowed(point[uphill], -gradient[uphill], upper[uphill])
    inverse[uphill] = np.eye(gradient.shape[1])
    return step, inverse


def _allowed(point: Array, step: Array, upper: Array) -> Array:
    """The steps made so short that they can be trusted, and each variable's such that it stays inside its bounds.

    Each for itself, so that a variable at its bound does not hold up the others.
    """
    longest = np.abs(step).max(axis=-1, initial=0.0, keepdims=True)
    step = step * np.minimum(1.0, _LONGEST_STEP / np.maximum(longest, _LONGEST_STEP))
    return np.clip(step, -_SHARE_OF_BOUND * point, _SHARE_OF_BOUND * (upper - point))


def _searched(
    objective: Objective, places: Places, point: Array, step: Array, value: Array, gradient: Array
) -> tuple[Array, Array, Array]:
    """Shares of the steps that lead downhill enough, by halving (Armijo), with values and gradients; 0 if none does."""
    slope = (step * gradient).sum(-1)
    share, found_value, found_gradient = np.ones(len(point)), value.copy(), gradient.copy()
    open_ = np.arange(len(point))
    for _ in range(_MOST_HALVINGS):
        new_value, new_gradient = objective(point[open_] + share[open_, None] * step[open_], places[open_])
        enough = new_value <= value[open_] + 1e-4 * share[open_] * slope[open_]
        calmer = _largest(new_gradient) < _largest(gradient[open_])
        good = enough | (calmer & (new_value <= value[open_] + _NOISE))
        found_value[open_[good]], found_gradient[open_[good]] = new_value[good], new_gradient[good]
        open_ = open_[~good]
        if not open_.size:
            break
        share[open_] *= 0.5
    share[open_] = 0.0
    return share, found_value, found_gradient


def _updated(inverse: Array, step: Array, change: Array) -> Array:
    """Inverse Hessians after steps that changed the gradients; as before where the curvature is not positive."""
    curvature = (step * change).sum(-1)
    curved = curvature > 1e-12 * np.sqrt((step**2).sum(-1) * (change**2).sum(-1))
    rho = np.where(curved, 1.0 / np.where(curved, curvature, 1.0), 0.0)[:, None, None]
    left = np.eye(step.shape[1]) - rho * step[:, :, None] * change[:, None, :]
    return np.matmul(np.matmul(left, inverse), np.swapaxes(left, -1, -2)) + rho * step[:, :, None] * step[:, None, :]

"""Compositions near the best: drawn from what a linear model of the curve makes of the readings.

Within the label's ranges the model's density is a normal one in the directions
that the readings tell of, and even in those they do not. It is drawn from by
hit-and-run (R. L. Smith, Oper. Res. 32 (1984) 1296-1308), each step by a slice
(R. M. Neal, Ann. Stat. 31 (2003) 705-767), which is exact for a normal density
between bounds and needs no special function.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .likelihood import Explained

Array = NDArray[np.float64]

WIDER = 0.6
"""The model's precision is taken as so much of itself: a proposal must be wider than what it stands for."""
STEPS = 150
_NEIGHBOURS = 60
_TINY = 1e-12


def propose(
    w: Array, explained: Explained, lower: Array, upper: Array, n: int, rng: np.random.Generator
) -> tuple[Array, Array]:
    """n compositions within the bounds, (n, k), from those tried, (S, k), and their log density, but for a constant."""
    known = np.isfinite(explained.log_posterior)
    best = int(np.argmax(explained.log_posterior))
    jacobian = _jacobian(w[known], explained, known)
    precision = explained.precision[best]
    # The shift is free to follow: its own share of the information is taken out.
    information = np.diag(precision) - np.outer(precision, precision) / (
        precision.sum() + 1.0 / explained.shift_prior_variance_K2
    )
    A = WIDER * jacobian @ information @ jacobian.T
    g = WIDER * jacobian @ information @ explained.residual_K[best]
    drawn = _hit_and_run(np.repeat(w[best][None], n, axis=0), w[best], A, g, lower, upper, rng)
    step = drawn - w[best]
    return drawn, -0.5 * np.einsum("si,ij,sj->s", step, A, step) + step @ g


def _jacobian(w: Array, explained: Explained, known: NDArray[np.bool_]) -> Array:
    """How the curve at the readings moves with the composition, (k, n), by least squares on the likeliest tried."""
    log_posterior = explained.log_posterior[known]
    weights = _tempered(log_posterior, min(max(_NEIGHBOURS, 2 * w.shape[1]), 0.8 * len(w)))
    curve = -explained.residual_K[known]
    root = np.sqrt(weights)[:, None]
    return np.asarray(np.linalg.lstsq(root * (w - weights @ w), root * (curve - weights @ curve), rcond=1e-6)[0])


def _tempered(log_posterior: Array, size: float) -> Array:
    """Weights in the order of likelihood, worth at least so many compositions."""
    gap = log_posterior - log_posterior.max()
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        weights = np.exp(middle * gap)
        low, high = (middle, high) if weights.sum() ** 2 / np.square(weights).sum() > size else (low, middle)
    weights = np.exp(low * gap)
    return weights / weights.sum()


def _hit_and_run(
    w: Array, centre: Array, A: Array, g: Array, lower: Array, upper: Array, rng: np.random.Generator
) -> Array:
    """Chains, (n, k), after all their steps with the density exp(-½ dᵀA d + gᵀd), d from the centre."""
    free = np.flatnonzero(upper - lower > _TINY)
    root = _root(A, lower, upper, free)
    for turn in range(STEPS):
        along = np.zeros(w.shape)
        if turn % 2:
            one, other = np.argsort(rng.random((len(w), len(free))), axis=1)[:, :2].T
            along[np.arange(len(w)), free[one]] = 1.0
            along[np.arange(len(w)), free[other]] = -1.0
        else:
            along[:, free] = rng.standard_normal((len(w), root.shape[0])) @ root
        w = _moved(w, along, centre, A, g, lower, upper, rng)
    return np.clip(w, lower, upper)


def _root(A: Array, lower: Array, upper: Array, free: NDArray[np.intp]) -> Array:
    """R with RᵀR the covariance of the density, bounds taken for their variance, within the sum of 1."""
    k = len(free)
    within = np.eye(k) - 1.0 / k
    bounded = A[np.ix_(free, free)] + np.diag(12.0 / (upper - lower)[free] ** 2)
    values, vectors = np.linalg.eigh(within @ bounded @ within)
    kept = values > values.max() * 1e-12
    return (vectors[:, kept] / np.sqrt(values[kept])).T


def _moved(
    w: Array, along: Array, centre: Array, A: Array, g: Array, lower: Array, upper: Array, rng: np.random.Generator
) -> Array:
    """One step of each chain along its own direction, (n, k)."""
    is_still = np.abs(along) < _TINY
    safe = np.where(is_still, 1.0, along)
    to_lower, to_upper = (lower - w) / safe, (upper - w) / safe
    least = np.where(is_still, -np.inf, np.minimum(to_lower, to_upper)).max(axis=1)
    most = np.where(is_still, np.inf, np.maximum(to_lower, to_upper)).min(axis=1)
    curvature = np.maximum(np.einsum("si,ij,sj->s", along, A, along), _TINY)
    slope = ((g - (w - centre) @ A) * along).sum(axis=1)
    peak = slope / curvature
    half = np.sqrt(peak**2 + 2.0 * rng.exponential(size=len(w)) / curvature)
    low, high = np.maximum(least, peak - half), np.minimum(most, peak + half)
    step = np.where(high > low, low + rng.random(len(w)) * (high - low), 0.0)
    return w + step[:, None] * along

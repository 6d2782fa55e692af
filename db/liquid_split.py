"""Whether a liquid stays one, and the two liquids into which it splits.

Both rest on the distance of the Gibbs energy from a tangent plane, in units of RT,

    D(w) = Σ_i w_i (ln w_i + ln γ_i(w) - d_i),

for a trial liquid w. A liquid z with d_i = ln z_i γ_i(z) is stable where no
trial has a negative distance: M. L. Michelsen, Fluid Phase Equilib. 9 (1982)
1-19. Amounts of two liquids follow from the least Gibbs energy, M. L.
Michelsen, ibid. 21-40, in variables of our own: the amount of i in the first
liquid is n'_i = z_i sin² θ_i, which keeps the balance whatever the angles, and
φ_i = 2 √z_i θ_i make the Hessian of the ideal part the identity.

States stand in rows: mole fractions (S, N), temperatures (S,). `ln_gamma`
gives the activity coefficients of one mixture, (S, N) and (S,) to (S, N).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .minimise import Array, Places, minimise

LnGamma = Callable[[Array, Array], Array]

DISTANCE_TOLERANCE = 1e-12
"""A distance below minus this is no rounding: the liquid splits."""
ACTIVITY_TOLERANCE = 1e-9
"""Largest difference of ln activity between two liquids in equilibrium."""
_OTHER_LIQUID = 1e-9
"""The same between liquids in equilibrium, whose own activities are equal to about this."""
_TRIAL_GRADIENT = 1e-10
_SPLIT_GRADIENT = 1e-13
"""Smaller, for it counts for less in a liquid of which there is little."""
_EXCHANGED = 1e-14
"""Difference of ln activity at which exchanges end: rounding."""
_MOST_TRIALS = 2
_NEXT_TO_NOTHING = 1e-200
_TRACE = 1e-3
"""Mole fraction below which a component no longer changes the activity coefficients much."""

UNKNOWN_ACTIVITY = "the activity coefficients are not known here"
THIRD_LIQUID = "a third liquid would form"
UNSETTLED = "the two liquids could not be settled"


@dataclass(frozen=True)
class Stability:
    """Whether liquids stay one. `distance` is the least found, over RT, at the composition `trial`; NaN if unknown."""

    stable: NDArray[np.bool_]
    distance: Array
    trial: Array


@dataclass(frozen=True)
class LiquidSplit:
    """The liquids that a liquid forms, the larger one first.

    Mole fractions `first` and `second` have the components on the last axis;
    `first_amount` and `second_amount` are moles per mole of the whole. Where
    there is one liquid, it is the first, and `second` is NaN. Where `converged`
    is false everything is NaN and `reason` says why.
    """

    temperature_K: Array
    first: Array
    second: Array
    first_amount: Array
    second_amount: Array
    two_liquids: NDArray[np.bool_]
    converged: NDArray[np.bool_]
    reason: NDArray[np.object_]


def log_of(amounts: Array) -> Array:
    """Logarithms, minus infinity for nothing."""
    with np.errstate(divide="ignore"):
        return np.log(amounts)


def _weighted(amounts: Array, logarithms: Array) -> Array:
    """Σ n_i l_i over the last axis, in which a component of which there is nothing counts nothing."""
    return (amounts * np.where(amounts == 0.0, 0.0, logarithms)).sum(-1)


def nearest_trial(ln_gamma: LnGamma, d: Array, T_K: Array, starts: Array) -> tuple[Array, Array, Array]:
    """Least D of S states from M starts each: the trial (S, N), D and its largest gradient (S,).

    `d` has the shape (S, N), minus infinity where a component is absent, `starts` (S, M, N).
    At a minimum ln w_i + ln γ_i - d_i = D for every component.
    """
    S, M, N = starts.shape
    trials, D, gradient = _descended(ln_gamma, np.repeat(d, M, axis=0), np.repeat(T_K, M), starts.reshape(S * M, N))
    rows, best = np.arange(S), np.argmin(np.nan_to_num(D, nan=np.inf).reshape(S, M), axis=1)
    return (trials.reshape(S, M, N)[rows, best], D.reshape(S, M)[rows, best], gradient.reshape(S, M)[rows, best])


def trial_starts(z: Array, own: Array) -> Array:
    """Starts of trials, (S, N + 2, N): nearly each pure component, `own` and what is equimolar in what is present."""
    S, N = z.shape
    near_pure = 0.99 * np.eye(N) + 0.01 * z[:, None, :]
    near_pure = np.where(z[:, None, :] > 0.0, near_pure, 0.0)
    equimolar = (z > 0.0) / np.maximum((z > 0.0).sum(-1, keepdims=True), 1)
    starts = np.concatenate([near_pure, own[:, None, :], equimolar[:, None, :]], axis=1)
    total = starts.sum(-1, keepdims=True)
    return np.where(total > 0.0, starts / np.where(total > 0.0, total, 1.0), z[:, None, :]).reshape(S, N + 2, N)


def _descended(ln_gamma: LnGamma, d: Array, T_K: Array, w: Array) -> tuple[Array, Array, Array]:
    """Trials (R, N) downhill of the starts, D and its largest gradient, (R,)."""
    present = ~np.isneginf(d)
    for _ in range(3):
        w = _substituted(ln_gamma, d, T_K, w)
    shifted = np.where(
        present, d + _weighted(w, log_of(w) + ln_gamma(w, T_K) - np.where(present, d, 0.0))[:, None], 0.0
    )

    def objective(alpha: Array, places: Places) -> tuple[Array, Array]:
        W = 0.25 * alpha**2
        total = W.sum(-1, keepdims=True)
        excess = log_of(W) + ln_gamma(W / total, T_K[places]) - shifted[places]
        excess = np.where(W > 0.0, excess, 0.0)
        return 1.0 + (W * (excess - 1.0)).sum(-1), 0.5 * alpha * excess

    alpha, gradient = minimise(objective, 2.0 * np.sqrt(w), np.where(present, np.inf, 0.0), _TRIAL_GRADIENT)
    w = 0.25 * alpha**2
    w /= w.sum(-1, keepdims=True)
    for _ in range(2):  # what is hardly there has next to no weight in the gradient, and is exact by substitution
        w = np.where(w < _TRACE, _substituted(ln_gamma, d, T_K, w), w)
        w /= w.sum(-1, keepdims=True)
    D = _weighted(w, log_of(w) + ln_gamma(w, T_K) - np.where(present, d, 0.0))
    return w, D, gradient


def _substituted(ln_gamma: LnGamma, d: Array, T_K: Array, w: Array) -> Array:
    """w_i proportional to exp(d_i - ln γ_i(w)), which a minimum of D leaves as it is."""
    ln_w = d - ln_gamma(w, T_K)
    new = np.exp(ln_w - ln_w.max(axis=-1, keepdims=True))
    # A component that is there stays there, if only just, or no later step could bring it back.
    new = np.where(~np.isneginf(d), np.maximum(new, _NEXT_TO_NOTHING), 0.0)
    return np.asarray(new / new.sum(-1, keepdims=True))


def stability(ln_gamma: LnGamma, z: Array, T_K: Array) -> Stability:
    """Whether the liquids z stay one, by the tangent-plane distance from N + 2 starts each."""
    d = log_of(z) + ln_gamma(z, T_K)
    own = np.exp(d - d.max(axis=-1, keepdims=True, initial=-np.inf))
    trial, D, _ = nearest_trial(ln_gamma, d, T_K, trial_starts(z, own / own.sum(-1, keepdims=True)))
    return Stability(-DISTANCE_TOLERANCE <= D, D, trial)


def split(ln_gamma: LnGamma, z: Array, T_K: Array) -> LiquidSplit:
    """The liquids that z forms at the temperatures."""
    S, N = z.shape
    found = stability(ln_gamma, z, T_K)
    first, second = z.copy(), np.full((S, N), np.nan)
    amount = np.column_stack([np.ones(S), np.zeros(S)])
    reason = np.full(S, "", dtype=object)
    reason[np.isnan(found.distance)] = UNKNOWN_ACTIVITY
    unstable = np.flatnonzero(found.distance < -DISTANCE_TOLERANCE)
    if unstable.size:
        n, reason[unstable] = _two_liquids(ln_gamma, z[unstable], T_K[unstable], found.trial[unstable])
        amount[unstable] = n.sum(-1).T
        first[unstable], second[unstable] = fractions(n)
    converged = reason == ""
    first[~converged], second[~converged], amount[~converged] = np.nan, np.nan, np.nan
    two = converged & (found.distance < -DISTANCE_TOLERANCE)
    return LiquidSplit(T_K.copy(), first, second, amount[:, 0], amount[:, 1], two, converged, reason)


def _two_liquids(ln_gamma: LnGamma, z: Array, T_K: Array, trial: Array) -> tuple[Array, NDArray[np.object_]]:
    """Amounts of both liquids, (2, S, N), the larger one first, and why they are no equilibrium."""
    n = settled(ln_gamma, z, T_K, _parted(ln_gamma, z, T_K, trial))
    reason, trial = _why_not(ln_gamma, T_K, fractions(n))
    for _ in range(_MOST_TRIALS):
        # Two liquids from which a third would part may only be the wrong two, so that one is tried instead.
        places = np.flatnonzero(reason == THIRD_LIQUID)
        z_p, T_p = z[places], T_K[places]
        other = settled(ln_gamma, z_p, T_p, _parted(ln_gamma, z_p, T_p, trial[places]))
        why, trial[places] = _why_not(ln_gamma, T_p, fractions(other))
        good = why == ""
        n[:, places[good]], reason[places[good]] = other[:, good], ""
    return np.where((n[0].sum(-1) < n[1].sum(-1))[:, None], n[::-1], n), reason


def fractions(n: Array) -> Array:
    """Mole fractions of amounts; of nothing, NaN."""
    with np.errstate(invalid="ignore"):
        return np.asarray(n / n.sum(-1, keepdims=True))


def _log_activities(ln_gamma: LnGamma, n: Array, T_K: Array) -> Array:
    """ln x_i γ_i of both liquids of amounts n, (2, S, N)."""
    x = fractions(n)
    both = ln_gamma(x.reshape(-1, x.shape[-1]), np.concatenate([T_K, T_K])).reshape(x.shape)
    return log_of(x) + both


def _gibbs(ln_gamma: LnGamma, n: Array, T_K: Array) -> Array:
    """Gibbs energy of mixing of two liquids, over RT, per mole of the whole, (S,)."""
    return np.asarray(_weighted(n, _log_activities(ln_gamma, n, T_K)).sum(0))


def _parted(ln_gamma: LnGamma, z: Array, T_K: Array, trial: Array) -> Array:
    """Amounts of two liquids, (2, S, N), with less Gibbs energy than z: as much of the trial as does best."""
    with np.errstate(divide="ignore", invalid="ignore"):
        most = np.where(trial > 0.0, z / trial, np.inf).min(axis=-1)
    best, lowest = np.stack([z, np.zeros_like(z)]), np.full(len(z), np.inf)
    for share in (0.99, 0.9, 0.7, 0.5, 0.3, 0.1, 0.03, 0.01, 1e-3, 1e-4):
        taken = (share * most)[:, None] * trial
        n = np.stack([z - taken, taken])
        G = _gibbs(ln_gamma, n, T_K)
        lower = lowest > G
        best[:, lower], lowest[lower] = n[:, lower], G[lower]
    return best


def settled(ln_gamma: LnGamma, z: Array, T_K: Array, n: Array) -> Array:
    """Amounts of both liquids, (2, S, N), at the least Gibbs energy downhill of the amounts n."""
    n = _exchanged(ln_gamma, z, T_K, n, 5)
    root = np.sqrt(z)
    present = root > 0.0
    twice = np.where(present, 2.0 * root, 1.0)

    def amounts(phi: Array, places: Places) -> tuple[Array, Array, Array]:
        sine, cosine = np.sin(phi / twice[places]), np.cos(phi / twice[places])
        return z[places] * np.maximum(np.stack([sine**2, cosine**2]), _NEXT_TO_NOTHING), sine, cosine

    def objective(phi: Array, places: Places) -> tuple[Array, Array]:
        n, sine, cosine = amounts(phi, places)
        ln_a = _log_activities(ln_gamma, n, T_K[places])
        apart = np.where(present[places], ln_a[0] - np.where(present[places], ln_a[1], 0.0), 0.0)
        return _weighted(n, ln_a).sum(0), root[places] * sine * cosine * apart

    upper = np.where(present, np.pi * root, 0.0)
    phi = np.clip(twice * np.arctan2(np.sqrt(n[0]), np.sqrt(n[1])), 1e-100 * upper, (1.0 - 1e-12) * upper)
    phi, _ = minimise(objective, phi, upper, _SPLIT_GRADIENT)
    n = amounts(phi, np.arange(len(z)))[0]
    return _exchanged(ln_gamma, z, T_K, n, 10)  # by which what is hardly there in one liquid is exact


def _apart(ln_gamma: LnGamma, n: Array, T_K: Array, present: NDArray[np.bool_]) -> Array:
    """ln of the activities in the first liquid over those in the second, (S, N)."""
    ln_a = _log_activities(ln_gamma, n, T_K)
    return np.where(present, ln_a[0] - np.where(present, ln_a[1], 0.0), 0.0)


def _exchanged(ln_gamma: LnGamma, z: Array, T_K: Array, n: Array, most: int) -> Array:
    """Amounts after at most so many exchanges with the partition ratios, as long as these bring the activities nearer.

    This is the successive substitution of M. L. Michelsen, Fluid Phase Equilib. 9 (1982) 21-40.
    """
    present, n = z > 0.0, n.copy()
    apart = _apart(ln_gamma, n, T_K, present)
    active = np.flatnonzero(np.abs(apart).max(axis=-1) > _EXCHANGED)
    for _ in range(most):
        if not active.size:
            break
        new, usable = _partitioned(z[active], fractions(n[:, active]), apart[active])
        active, new = active[usable], new[:, usable]
        then = _apart(ln_gamma, new, T_K[active], present[active])
        largest = np.abs(then).max(axis=-1)
        nearer = largest < np.abs(apart[active]).max(axis=-1)
        n[:, active[nearer]], apart[active[nearer]] = new[:, nearer], then[nearer]
        active = active[nearer & (largest > _EXCHANGED)]
    return n


def _partitioned(z: Array, x: Array, apart: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Amounts of both liquids with the partition ratios at x, and which of them are usable."""
    present = z > 0.0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        K = np.where(present, x[0] / x[1] * np.exp(-apart), 1.0)
        beta = rachford_rice(z, K)[:, None]
        below = 1.0 - beta + beta * K
        new = np.stack([z * beta * K / below, z * (1.0 - beta) / below])
    usable = np.isfinite(new) & ((new > 0.0) | ~present)
    return new, np.asarray(usable.all(axis=(0, 2)))


def rachford_rice(z: Array, K: Array) -> Array:
    """Amount β of the phase that K favours, Σ z_i (K_i - 1) / (1 + β (K_i - 1)) = 0, (S,); NaN outside 0 < β < 1.

    H. H. Rachford, J. D. Rice, J. Pet. Technol. 4 (10) (1952) 19. The sum falls with β, so Newton's
    method is held between bounds.
    """
    low, high = np.zeros(len(z)), np.ones(len(z))
    excess = K - 1.0
    two = ((z * excess).sum(-1) > 0.0) & ((z * excess / K).sum(-1) < 0.0)
    beta = np.full(len(z), 0.5)
    for _ in range(60):
        terms = excess / (1.0 + beta[:, None] * excess)
        over, slope = (z * terms).sum(-1), -(z * terms**2).sum(-1)
        low, high = np.where(over > 0.0, beta, low), np.where(over > 0.0, high, beta)
        newton = beta - over / slope
        new = np.where((newton > low) & (newton < high), newton, 0.5 * (low + high))
        finished = ~two | (np.abs(new - beta) <= 1e-15 * new)
        beta = new
        if finished.all():
            break
    return np.where(two, beta, np.nan)


def _why_not(ln_gamma: LnGamma, T_K: Array, x: Array) -> tuple[NDArray[np.object_], Array]:
    """Why pairs of liquids (2, S, N) are no equilibrium, empty where they are; and the liquid that would part next."""
    ln_a = log_of(x) + np.stack([ln_gamma(of_one, T_K) for of_one in x])
    present = (x > 0.0).all(axis=0)
    apart = np.where(present, np.abs(ln_a[0] - np.where(present, ln_a[1], 0.0)), 0.0).max(axis=-1)
    found = stability(ln_gamma, x[0], T_K)
    reason = np.full(len(T_K), "", dtype=object)
    reason[found.distance < -_OTHER_LIQUID] = THIRD_LIQUID
    reason[~(apart <= ACTIVITY_TOLERANCE)] = UNSETTLED
    return reason, found.trial

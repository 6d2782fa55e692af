"""Boiling liquids of two components, for many pairs at once: bubble points and relative volatilities.

Modified Raoult's law, y_i p = x_i γ_i p*_i(T): the vapour is taken as ideal.
Arrays are of shape (P, S): P pairs, S states of each. x is the mole fraction of
a; ln α is ln(γ_a p*_a / γ_b p*_b), positive where a is the more volatile.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from .activity import ActivityModel
from .curves import CurveBank

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Places = NDArray[np.int64]

MOST_ROUNDS = 40
NEARLY = 1e-6
"""How near ln p of a bubble point comes to the pressure asked before the last correction, which leaves some 1e-10."""
LARGEST_STEP = 0.15
"""Largest change of 1/T in one round of the bubble point, relative: some 50 K at 350 K."""


@dataclass(frozen=True)
class Boiling:
    """Bubble points of pairs; shape (P, S). `ln_alpha` is NaN where a curve does not carry or no bubble point is found.

    `non_ideality` is |ln γ_a| + |ln γ_b|, `least_ln_gamma` the lesser of the two.
    `ln_p` are the vapour pressures of a and of b there, (2, P, S). Inside a
    `split` the values are those of a single liquid.
    """

    x: Array
    T_K: Array
    ln_p: Array
    ln_alpha: Array
    non_ideality: Array
    least_ln_gamma: Array

    def first(self, n: int) -> Boiling:
        """The first n states of each pair."""
        return Boiling(*(getattr(self, field.name)[..., :n] for field in fields(self)))


class Pairs:
    """P pairs, each at its pressure (P,), Pa: the curves of their components and the model of their liquids.

    What is said of both components has the shape (2, P, S), a before b.
    """

    def __init__(self, curves: CurveBank, model: ActivityModel, pressure_Pa: Array) -> None:
        """`curves` are those of every a and, after them, of every b: one bank answers for both in one call."""
        self._curves, self.model = curves, model
        self.pressure_Pa = pressure_Pa
        self.ln_p = np.log(pressure_Pa)

    def __len__(self) -> int:
        return len(self.model)

    def take(self, places: Places) -> Pairs:
        """The pairs at some places."""
        curves = self._curves.take(np.concatenate([places, places + len(self)]))
        return Pairs(curves, self.model.take(places), self.pressure_Pa[places])

    def rough_boiling_points_K(self) -> Array:
        """Boiling points of both at the pair's pressure, some kelvins off, (2, P, 1); NaN where a curve ends before."""
        T: Array = self._curves.rough_boiling_points(np.concatenate([self.ln_p, self.ln_p])).reshape(2, -1, 1)
        return T

    def ln_pressures(self, T_K: Array) -> Array:
        """ln p* of both at temperatures (P, S) or (2, P, S); beyond a curve's end p* is held."""
        return self._of_both(self._curves.clipped_ln_pressures, T_K)

    def slopes(self, T_K: Array) -> Array:
        """d ln p*/dT of both, 1/K, at temperatures (P, S) or (2, P, S); beyond a curve's end that of the end."""
        return self._of_both(self._curves.clipped_slopes, T_K)

    def relative_u95(self, ln_p: Array) -> Array:
        """Relative expanded uncertainty of both vapour pressures where their logarithms are `ln_p`, (2, P, S)."""
        return self._of_both(self._curves.relative_u95_at, ln_p)

    def _of_both(self, ask: Callable[[Array], Array], values: Array) -> Array:
        """What the bank says at values (P, S), the same for both, or (2, P, S)."""
        each = np.concatenate([values, values]) if values.ndim == 2 else values.reshape(-1, values.shape[-1])
        return ask(each.T).T.reshape(2, len(self), -1)

    def ln_fugacities(self, x: Array, T_K: Array) -> Array:
        """ln γ p* of both at mole fractions of a and temperatures (P, S)."""
        return np.moveaxis(self.model.ln_gamma(both_fractions(x), T_K), -1, 0) + self.ln_pressures(T_K)

    def carried(self, T_K: Array) -> Bools:
        """Where both curves carry to the temperatures (P, S)."""
        carried = self._curves.carries(np.concatenate([T_K, T_K]).T).T
        both: Bools = carried[: len(self)] & carried[len(self) :]
        return both


def both_fractions(x: Array) -> Array:
    """The mole fractions of a and of b from those of a: (...) gives (..., 2)."""
    return np.stack([x, 1.0 - x], axis=-1)


def boil(pairs: Pairs, x: Array) -> Boiling:
    """Bubble points of single liquids; Newton's method in 1/T, in which ln p is nearly a straight line.

    Pairs that are settled are not computed again: most are after half of the rounds that the last one takes.
    """
    search = _BubblePoints(pairs, x)
    T, found, state = np.empty(x.shape), np.zeros(x.shape, dtype=np.bool_), np.empty((4, *x.shape))
    left = np.arange(len(pairs))
    for _ in range(MOST_ROUNDS):
        near = search.advance()
        settled = (near | np.isnan(search.miss)).all(axis=1)
        T[left], state[:, left] = search.corrected()
        found[left] = near
        if settled.all():
            break
        if settled.any():
            left = left[~settled]
            search = search.take(np.flatnonzero(~settled))
    ln_gamma, ln_f = state[:2], state[2:]
    spread = np.abs(ln_gamma).sum(axis=0)
    ln_alpha = np.where(found & pairs.carried(T), ln_f[0] - ln_f[1], np.nan)
    return Boiling(x, T, ln_f - ln_gamma, ln_alpha, spread, np.minimum(ln_gamma[0], ln_gamma[1]))


class _BubblePoints:
    """The search for bubble points, one round at a time, in u = 1/T.

    `state` holds ln γ of a and of b, then ln γ p* of both, `rate` its slopes
    against u: shape (4, P, S). What is of both components has the shape (2, P, S), all else (P, S).
    """

    def __init__(self, pairs: Pairs, x: Array) -> None:
        self._pairs, fractions = pairs, both_fractions(x)
        self._liquids = pairs.model.liquids(fractions)
        with np.errstate(divide="ignore"):
            self._ln_x = np.log(np.moveaxis(fractions, -1, 0))
        self._u = self._state = np.empty(0)
        self._next_u, self._rate = self._start(x)
        self._slopes = self._rate[2:]

    def _start(self, x: Array) -> tuple[Array, Array]:
        """First 1/T and rates: ln p* straight about each boiling point, ln γ straight through two isotherms."""
        pairs, ln_p = self._pairs, self._pairs.ln_p[:, None]
        rough_K = pairs.rough_boiling_points_K()
        heat = pairs.slopes(rough_K) * rough_K**2  # -d ln p*/du
        with np.errstate(all="ignore"):
            u_pure = 1.0 / rough_K + (pairs.ln_pressures(rough_K) - ln_p) / heat
            cool, hot = u_pure.max(axis=0) / 0.8, u_pure.min(axis=0)
            isotherms = np.moveaxis(self._liquids.along(1.0 / np.concatenate([cool, hot], axis=1)), -1, 0)
            at_cool, at_hot = isotherms[:, :, 0], isotherms[:, :, 1]
            slopes = -heat * np.minimum(np.maximum(1.0 - (at_cool - at_hot) / (cool - hot) / heat, 0.3), 3.0)
            part = self._ln_x + at_cool + ln_p - heat * (cool - u_pure)
            # From where the one component alone has the pressure, Newton's method overshoots nowhere: ln p is convex.
            v = ((ln_p - part) / slopes).max(axis=0)
            for _ in range(3):
                there = part + slopes * v
                share = 1.0 / (1.0 + np.exp(there[1] - there[0]))
                v = v - (np.logaddexp(there[0], there[1]) - ln_p) / _shared(share, slopes)
            u = cool + v
            fine = (u > 0.5 * hot) & (u < 2.0 * cool)
            u = np.where(fine, u, 1.0 / (x / u_pure[0] + (1.0 - x) / u_pure[1]))
        return u, np.concatenate([slopes + heat, slopes])

    def take(self, places: Places) -> _BubblePoints:
        """The search for the pairs at some places, as far as it is."""
        part = copy(self)
        part._pairs, part._liquids = self._pairs.take(places), self._liquids.take(places)
        for name in ("_u", "_next_u", "miss"):
            setattr(part, name, getattr(self, name)[places])
        for name in ("_ln_x", "_state", "_rate", "_slopes"):
            setattr(part, name, getattr(self, name)[:, places])
        return part

    def advance(self) -> Bools:
        """One round; says which states are so near that `corrected` is enough."""
        u, pairs, is_first = self._next_u, self._pairs, not self._state.size
        state = np.empty((4, *u.shape))
        T = 1.0 / u
        state[:2] = np.moveaxis(self._liquids.ln_gamma(T), -1, 0)
        np.add(state[:2], pairs.ln_pressures(T), out=state[2:])
        with np.errstate(all="ignore"):
            ln_parts = self._ln_x + state[2:]
            share = 1.0 / (1.0 + np.exp(ln_parts[1] - ln_parts[0]))
            self.miss = np.logaddexp(ln_parts[0], ln_parts[1]) - pairs.ln_p[:, None]
            if not is_first:
                rate = (state - self._state) / (u - self._u)
                slope, expected = _shared(share, rate[2:]), _shared(share, self._slopes)
                self._rate = np.where((slope < 0.3 * expected) & (slope > 3.0 * expected), rate, self._rate)
            step = self.miss / _shared(share, self._rate[2:])
        self._u, self._state = u, state
        self._next_u = u - np.minimum(np.maximum(step, -LARGEST_STEP * u), LARGEST_STEP * u)
        near: Bools = np.abs(self.miss) < (0.0 if is_first else NEARLY)
        return near

    def corrected(self) -> tuple[Array, Array]:
        """T and `state` after the step that the last round would have taken, without computing either again."""
        return 1.0 / self._next_u, self._state + self._rate * (self._next_u - self._u)


def _shared(share: Array, of_both: Array) -> Array:
    """The mean of what is of a and of b, (2, P, S), by the share of a, (P, S)."""
    mean: Array = share * of_both[0] + (1.0 - share) * of_both[1]
    return mean

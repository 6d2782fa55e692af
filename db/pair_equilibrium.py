"""Boiling liquids of two components, for many pairs at once: bubble points, relative volatilities, two liquids.

Modified Raoult's law, y_i p = x_i γ_i p*_i(T): the vapour is taken as ideal.
Arrays are of shape (P, S): P pairs, S states of each. x is the mole fraction of
a; ln α is ln(γ_a p*_a / γ_b p*_b), positive where a is the more volatile.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from .activity import ActivityModel
from .curves import CurveBank

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Places = NDArray[np.int64]

MOST_ROUNDS = 40
LN_P_TOLERANCE = 1e-9
"""How near ln p of a bubble point comes to the pressure asked: some 1e-8 K."""
TWO_LIQUIDS_TOLERANCE = 1e-10
"""How far the logarithms of activities of two liquids, and of their pressure, may miss one another."""
LARGEST_STEP = 0.15
"""Largest change of 1/T in one round of the bubble point, relative: some 50 K at 350 K."""


@dataclass(frozen=True)
class Boiling:
    """Bubble points of pairs; shape (P, S). `ln_alpha` is NaN where a curve does not carry or no bubble point is found.

    `non_ideality` is |ln γ_a| + |ln γ_b|, `least_ln_gamma` the lesser of the two.
    Inside a `split` the values are those of a single liquid.
    """

    x: Array
    T_K: Array
    ln_alpha: Array
    non_ideality: Array
    least_ln_gamma: Array

    def first(self, n: int) -> Boiling:
        """The first n states of each pair."""
        return Boiling(*(getattr(self, field.name)[:, :n] for field in fields(self)))


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


class Pairs:
    """P pairs, each at its pressure (P,), Pa: the curves of their components and the model of their liquids."""

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

    def boiling_points_K(self) -> tuple[Array, Array]:
        """Boiling points of a and of b at the pair's pressure; (P,) each."""
        T = self._curves.boiling_points(np.concatenate([self.pressure_Pa, self.pressure_Pa])).value
        return T[: len(self)], T[len(self) :]

    def ln_gammas(self, x: Array, T_K: Array) -> tuple[Array, Array]:
        """ln γ of a and of b."""
        ln_gamma = self.model.ln_gamma(np.stack([x, 1.0 - x], axis=-1), T_K)
        return ln_gamma[..., 0], ln_gamma[..., 1]

    def ln_pressures(self, T_K: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """ln p* and d ln p*/dT, 1/K, of a and of b; beyond a curve's end p* is held."""
        n = len(self)
        ln_p, slope = (value.T for value in self._curves.clipped_ln_pressures(np.concatenate([T_K, T_K]).T))
        return (ln_p[:n], slope[:n]), (ln_p[n:], slope[n:])

    def relative_u95(self, T_K: Array) -> tuple[Array, Array]:
        """Relative expanded uncertainty of both vapour pressures at the temperatures."""
        there = self._curves.vapour_pressures(np.concatenate([T_K, T_K]).T)
        relative = (there.u95 / there.value).T
        return relative[: len(self)], relative[len(self) :]

    def ln_fugacities(self, x: Array, T_K: Array) -> tuple[Array, Array]:
        """ln γ p* of a and of b."""
        (ln_gamma_a, ln_gamma_b), ((ln_p_a, _), (ln_p_b, _)) = self.ln_gammas(x, T_K), self.ln_pressures(T_K)
        return ln_gamma_a + ln_p_a, ln_gamma_b + ln_p_b

    def carried(self, T_K: Array) -> Bools:
        """Where both curves carry to the temperatures."""
        carried = self._curves.carries(np.concatenate([T_K, T_K]).T).T
        both: Bools = carried[: len(self)] & carried[len(self) :]
        return both


def boil(pairs: Pairs, x: Array) -> Boiling:
    """Bubble points of single liquids; Newton's method in 1/T, in which ln p is nearly a straight line.

    Pairs that are settled are not computed again: most are after half of the rounds that the last one takes.
    """
    T_a, T_b = pairs.boiling_points_K()
    start = x * T_a[:, None] + (1.0 - x) * T_b[:, None]
    answer = Boiling(x, start.copy(), *(np.full(x.shape, np.nan) for _ in range(3)))
    search = _BubblePoints(pairs, x, start)
    left = np.arange(len(pairs))
    for _ in range(MOST_ROUNDS):
        settled = search.advance()
        answer.T_K[left], answer.ln_alpha[left], answer.non_ideality[left] = search.T_K, search.ln_alpha, search.spread
        answer.least_ln_gamma[left] = search.least_ln_gamma
        unsettled = ~(settled | np.isnan(search.miss)).all(axis=1)
        if not unsettled.any():
            break
        if len(left) > 1 and not unsettled.all():
            left = left[unsettled]
            search = search.take(np.flatnonzero(unsettled))
    return answer


class _BubblePoints:
    """The search for bubble points, one round at a time; every array has the shape (P, S)."""

    def __init__(self, pairs: Pairs, x: Array, T_K: Array) -> None:
        self.pairs, self.x, self._next_T = pairs, x, T_K
        with np.errstate(divide="ignore"):
            self._ln_x, self._ln_rest = np.log(x), np.log(1.0 - x)
        self._before: tuple[Array, Array] | None = None
        self.T_K = self.miss = self.ln_alpha = self.spread = self.least_ln_gamma = T_K

    def take(self, places: Places) -> _BubblePoints:
        """The search for the pairs at some places, as far as it is."""
        part = _BubblePoints(self.pairs.take(places), self.x[places], self._next_T[places])
        if self._before is not None:
            part._before = self._before[0][places], self._before[1][places]
        return part

    def advance(self) -> Bools:
        """One round; says which states are settled."""
        T, pairs = self._next_T, self.pairs
        ln_gamma_a, ln_gamma_b = pairs.ln_gammas(self.x, T)
        (ln_p_a, slope_a), (ln_p_b, slope_b) = pairs.ln_pressures(T)
        part_a, part_b = self._ln_x + ln_gamma_a + ln_p_a, self._ln_rest + ln_gamma_b + ln_p_b
        with np.errstate(invalid="ignore"):  # a curve that does not reach the pressure has no start
            miss = np.logaddexp(part_a, part_b) - pairs.ln_p[:, None]
        settled = np.abs(miss) < LN_P_TOLERANCE
        with np.errstate(over="ignore"):
            y = 1.0 / (1.0 + np.exp(part_b - part_a))
        slope = -(y * slope_a + (1.0 - y) * slope_b) * T * T
        with np.errstate(divide="ignore", invalid="ignore"):
            if self._before is not None:
                # The secant knows how γ changes with temperature, which the slope leaves out.
                secant = (miss - self._before[1]) / (1.0 / T - self._before[0])
                slope = np.where((secant < 0.3 * slope) & (secant > 3.0 * slope), secant, slope)
            move = np.where(settled, 0.0, miss / slope)
        self._before = (1.0 / T, miss)
        self._next_T = 1.0 / (1.0 / T - np.clip(move, -LARGEST_STEP / T, LARGEST_STEP / T))
        found = (np.abs(miss) < 1e3 * LN_P_TOLERANCE) & pairs.carried(T)
        self.T_K, self.miss = T, miss
        self.ln_alpha = np.where(found, ln_gamma_a + ln_p_a - ln_gamma_b - ln_p_b, np.nan)
        self.spread = np.abs(ln_gamma_a) + np.abs(ln_gamma_b)
        self.least_ln_gamma = np.minimum(ln_gamma_a, ln_gamma_b)
        return settled


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
    some = pairs.take(asked)
    x = boiling.x[asked, 1:-1]
    isotherm = some.model.ln_gamma_isotherms(np.stack([x, 1.0 - x], -1)[:, None], T_least[asked][:, None])[:, 0]
    ln_a, ln_b = np.log(x) + isotherm[..., 0], np.log1p(-x) + isotherm[..., 1]
    falling = np.diff(ln_a, axis=1) < 0.0
    torn = np.flatnonzero(falling.any(axis=1))
    if not torn.size:
        return split
    start = _first_guess(x[torn], ln_a[torn], ln_b[torn], falling[torn])
    found = _settle(some.take(torn), *start, T_least[asked[torn]])
    for whole, part in zip((split.x_lean, split.x_rich, split.y, split.T_K), found, strict=True):
        whole[asked[torn]] = part
    split.unsettled[asked[torn]] = np.isnan(found[0])
    return split


def _first_guess(x: Array, ln_a: Array, ln_b: Array, falling: Bools) -> tuple[Array, Array]:
    """The two compositions of the grid, one on either side of the unstable ones, whose activities are most alike."""
    S = x.shape[1]
    first = falling.argmax(axis=1)
    last = S - 1 - falling[:, ::-1].argmax(axis=1)
    unlike = np.abs(ln_a[:, :, None] - ln_a[:, None, :]) + np.abs(ln_b[:, :, None] - ln_b[:, None, :])
    place = np.arange(S)
    outside = (place[None, :, None] > first[:, None, None]) | (place[None, None, :] < last[:, None, None])
    best = np.where(outside, np.inf, unlike).reshape(len(x), -1).argmin(axis=1)
    rows = np.arange(len(x))
    return x[rows, best // S], x[rows, best % S]


def _settle(pairs: Pairs, x_lean: Array, x_rich: Array, T_K: Array) -> tuple[Array, Array, Array, Array]:
    """Equal activities in both liquids and the pressure asked, by Newton's method in logit x and ln T.

    Gives the two liquids, the vapour and the temperature; NaN where the liquids become one or the search fails.
    """
    u = np.stack([_logit(x_lean), _logit(x_rich), np.log(T_K)], axis=1)
    for _ in range(MOST_ROUNDS):
        miss, jacobian, y = _two_liquids(pairs, u)
        worst = np.abs(miss).max(axis=1)
        if not (worst > TWO_LIQUIDS_TOLERANCE).any():
            break
        with np.errstate(all="ignore"):
            step = np.linalg.solve(jacobian + 1e-14 * np.eye(3), miss[:, :, None])[:, :, 0]
        # Near a critical point of solution the first steps are far too long.
        u = u - np.where(worst[:, None] > TWO_LIQUIDS_TOLERANCE, np.clip(np.nan_to_num(step), -_LONGEST, _LONGEST), 0.0)
        u[:, :2] = np.clip(u[:, :2], -34.0, 34.0)
    lean, rich, T = _expit(u[:, 0]), _expit(u[:, 1]), np.exp(u[:, 2])
    fine = (worst < 1e3 * TWO_LIQUIDS_TOLERANCE) & (u[:, 1] - u[:, 0] > 1e-4) & pairs.carried(T[:, None])[:, 0]
    lean, rich, y, T = (np.where(fine, value, np.nan) for value in (lean, rich, y, T))
    return lean, rich, y, T


_LONGEST = np.array([1.5, 1.5, 0.05])


def _two_liquids(pairs: Pairs, u: Array) -> tuple[Array, Array, Array]:
    """By how much two liquids (logit x, logit x, ln T) miss equal activities and the pressure; its Jacobian; y.

    Shapes (P, 3), (P, 3, 3) and (P,).
    """
    h = 1e-6
    moved = np.stack(
        [u, u + np.array([h, h, 0.0]), u + np.array([0.0, 0.0, h])], axis=1
    )  # the liquids do not act on one another
    logit = moved[:, :, :2]
    T = np.broadcast_to(np.exp(moved[:, :, 2:]), logit.shape)
    ln_a, ln_b = (
        value.reshape(logit.shape)
        for value in pairs.ln_fugacities(_expit(logit).reshape(len(u), 6), T.reshape(len(u), 6))
    )
    # ln x from the logit, which keeps its digits where x is all but 1.
    ln_f = np.stack([ln_a - np.logaddexp(0.0, -logit), ln_b - np.logaddexp(0.0, logit)], axis=-1)
    total = np.logaddexp(ln_f[..., 0], ln_f[..., 1])
    by = (ln_f[:, 1:] - ln_f[:, :1]) / h  # [logit or ln T, liquid, component]
    total_by = (total[:, 1:] - total[:, :1]) / h
    unlike = ln_f[:, 0, 0] - ln_f[:, 0, 1]
    miss = np.concatenate([unlike, total[:, 0].mean(axis=1, keepdims=True) - pairs.ln_p[:, None]], axis=1)
    rows = np.stack([by[:, 0, 0], -by[:, 0, 1], by[:, 1, 0] - by[:, 1, 1]], axis=2)
    last = np.stack([0.5 * total_by[:, 0, 0], 0.5 * total_by[:, 0, 1], total_by[:, 1].mean(axis=1)], axis=1)
    y = np.exp(ln_f[:, 0, :, 0].mean(axis=1) - total[:, 0].mean(axis=1))
    return miss, np.concatenate([rows, last[:, None]], axis=1), y


def _logit(x: Array) -> Array:
    return np.log(x) - np.log1p(-x)


def _expit(u: Array) -> Array:
    return 1.0 / (1.0 + np.exp(-u))

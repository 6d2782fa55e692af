"""The distribution of the true value, given what several voices say of it, by numerical integration.

A voice with the value x, the scatter u, the chance of a blunder ε and the width
of blunders w says of the true value T

    p(x | T) = (1 - ε) t_ν((x - T)/u)/u + ε t_1((x - T)/w)/w,

t_ν being Student's distribution with ν degrees of freedom. With a flat prior
the distribution of T is the product over the voices. It is integrated on a
grid of its own for each component, dense about every voice. Voices that agree
give one narrow peak; voices that contradict one another several peaks, and so
a wide interval.

A mixture of a sound and a blundering part for each datum: W. H. Press, in:
Unsolved Problems in Astrophysics, Princeton 1997, 49-60 (arXiv
astro-ph/9604126). Bayesian evaluation of measurements: GUM Supplement 1, JCGM
101:2008.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

Array = NDArray[np.float64]

COVERAGE = 0.95
SCALE_COVERAGE = 0.5
"""Probability within one scale of a Cauchy distribution, as the scatters of voices are."""

_NEAR = np.linspace(0.15, 1.5, 8)
_FAR = np.geomspace(2.0, 4000.0, 18)
OFFSETS = np.concatenate([-_FAR[::-1], -_NEAR[::-1], [0.0], _NEAR, _FAR])
"""Places of the grid about each voice, in its scatter."""
STARTS = np.linspace(0.0, 0.5, 41)
"""Lower ends, as probabilities, of the intervals among which the shortest half is sought."""
AS_SHORT = 1e-9
"""Relative difference of two widths that is none."""
NEIGHBOURS = 0.05
"""Starts that belong to one peak, as probabilities."""
EVALUATIONS_AT_ONCE = 4_000_000
"""Densities held in memory at a time."""
BISECTIONS = 40


@dataclass(frozen=True)
class Posterior:
    """Per component: the value, its expanded uncertainty and its scale; per voice: the probability that it is sound.

    The value is the median within the shortest half of the distribution, so
    that it lies in the heavier peak where there are several, and in that of the
    first voice where two are alike.
    """

    value: Array
    u95: Array
    u: Array
    sound: Array


@dataclass(frozen=True)
class Voices:
    """What several components' voices say; arrays of one length, `group` ascending from 0 without gaps.

    `value`, `scatter` and `blunder_width` are in one unit per component.
    """

    group: NDArray[np.int64]
    value: Array
    scatter: Array
    freedom: Array
    blunder_probability: Array
    blunder_width: Array


def log_student(z: Array, freedom: Array | float) -> Array:
    """Logarithm of the density of Student's distribution."""
    nu = np.asarray(freedom, dtype=np.float64)
    constant = gammaln((nu + 1.0) / 2.0) - gammaln(nu / 2.0) - 0.5 * np.log(nu * np.pi)
    return np.asarray(constant - (nu + 1.0) / 2.0 * np.log1p(z * z / nu))


def sound_and_blunder(
    distance: Array, scatter: Array, freedom: Array | float, probability: Array, width: Array
) -> tuple[Array, Array]:
    """Logarithms of the two parts of p(x | T) for distances x - T."""
    sound = np.log1p(-probability) + log_student(distance / scatter, freedom) - np.log(scatter)
    blunder = np.log(probability / (np.pi * width)) - np.log1p((distance / width) ** 2)
    return sound, blunder


def posterior(said: Voices, about: Array | None = None) -> Posterior:
    """Distribution of the true value of every component.

    With `about`, one number per component, the uncertainties are half-widths
    about it instead of about the posterior's own value.
    """
    counts = np.bincount(said.group)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    n = len(counts)
    answer = Posterior(np.empty(n), np.empty(n), np.empty(n), np.empty(len(said.value)))
    for size in np.unique(counts):
        alike = np.flatnonzero(counts == size)
        at_once = max(1, EVALUATIONS_AT_ONCE // (size * size * len(OFFSETS)))
        for first in range(0, len(alike), at_once):
            groups = alike[first : first + at_once]
            _solve(said, groups, starts[groups][:, np.newaxis] + np.arange(size), about, answer)
    return answer


def _solve(
    said: Voices, groups: NDArray[np.int64], rows: NDArray[np.int64], about: Array | None, answer: Posterior
) -> None:
    """Fill in the answer for components with equally many voices; `rows` has the shape (components, voices)."""
    x, u = said.value[rows], said.scatter[rows]
    T = np.sort((x[:, :, np.newaxis] + u[:, :, np.newaxis] * OFFSETS).reshape(len(groups), -1), axis=1)
    sound, blunder = sound_and_blunder(
        T[:, np.newaxis, :] - x[:, :, np.newaxis],
        u[:, :, np.newaxis],
        said.freedom[rows][:, :, np.newaxis],
        said.blunder_probability[rows][:, :, np.newaxis],
        said.blunder_width[rows][:, :, np.newaxis],
    )
    each = np.logaddexp(sound, blunder)
    ln_p = each.sum(axis=1)
    p = np.exp(ln_p - ln_p.max(axis=1, keepdims=True))
    mass = 0.5 * (p[:, 1:] + p[:, :-1]) * np.diff(T, axis=1)
    cumulated = np.concatenate([np.zeros((len(groups), 1)), np.cumsum(mass, axis=1)], axis=1)
    total = cumulated[:, -1:]
    cumulated = cumulated / total
    centre = _median_of_shortest_half(T, cumulated, x[:, 0])
    answer.value[groups] = centre
    if about is not None:
        centre = about[groups]
    answer.u95[groups] = _half_width(T, cumulated, centre, COVERAGE)
    answer.u[groups] = _half_width(T, cumulated, centre, SCALE_COVERAGE)
    share = np.zeros_like(T)
    share[:, 1:] += 0.5 * mass
    share[:, :-1] += 0.5 * mass
    answer.sound[rows] = np.einsum("gvt,gt->gv", np.exp(sound - each), share / total)


def _median_of_shortest_half(T: Array, cumulated: Array, first: Array) -> Array:
    """The median of each shortest half; `first` is the value of each component's first voice."""
    starts = np.broadcast_to(STARTS, (len(T), len(STARTS)))
    low, high = _interpolate(starts, cumulated, T), _interpolate(starts + 0.5, cumulated, T)
    width = high - low
    # Of neighbours that are as short, to a thousandth, the middle one: the grid must not choose. Of two peaks that
    # are as narrow that of the first voice: the last bits, which machines round differently, must not choose either.
    least = width.min(axis=1, keepdims=True)
    distance = np.where(width <= (1.0 + AS_SHORT) * least, np.abs(0.5 * (low + high) - first[:, np.newaxis]), np.inf)
    nearest = STARTS[np.argmin(distance, axis=1)][:, np.newaxis]
    shortest = (width <= 1.001 * least) & (np.abs(STARTS - nearest) <= NEIGHBOURS)
    start = (shortest * STARTS).sum(axis=1) / shortest.sum(axis=1)
    return _interpolate(start[:, np.newaxis] + 0.25, cumulated, T)[:, 0]


def _half_width(T: Array, cumulated: Array, centre: Array, coverage: float) -> Array:
    """Half-width of the interval about the centre that holds the probability."""
    low, high = np.zeros(len(T)), np.maximum(T[:, -1] - centre, centre - T[:, 0])
    for _ in range(BISECTIONS):
        # The widths sought span many decades: the geometric mean halves their logarithm.
        half = np.where(low > 0.0, np.sqrt(low * high), high / 1024.0)
        ends = np.stack([centre - half, centre + half], axis=1)
        below, above = np.moveaxis(_interpolate(ends, T, cumulated), 1, 0)
        enough = above - below >= coverage
        low, high = np.where(enough, low, half), np.where(enough, half, high)
    return high


def _interpolate(x: Array, xp: Array, fp: Array) -> Array:
    """Linear interpolation row by row: x (rows, m) in ascending xp (rows, n) with values fp (rows, n)."""
    low = np.zeros(x.shape, dtype=np.int64)
    high = np.full(x.shape, xp.shape[1] - 1, dtype=np.int64)
    for _ in range(int(np.ceil(np.log2(xp.shape[1]))) + 1):
        middle = (low + high) // 2
        below = np.take_along_axis(xp, middle, axis=1) < x
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    low = np.minimum(low, xp.shape[1] - 2)
    x_low, x_high = (np.take_along_axis(xp, place, axis=1) for place in (low, low + 1))
    f_low, f_high = (np.take_along_axis(fp, place, axis=1) for place in (low, low + 1))
    span = np.where(x_high > x_low, x_high - x_low, 1.0)
    return f_low + np.clip((x - x_low) / span, 0.0, 1.0) * (f_high - f_low)

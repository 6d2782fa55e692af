"""Which composition, and which offset of the thermometer, explain the noted readings.

    reading = head temperature(volume; composition) - correction + offset + noise

Every composition that the label allows is as likely as any other before the
run; the offset is normal about 0 with the standard deviation of a bench
thermometer. The noise follows Student's t, so that a few wrong readings do not
pull (K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84
(1989) 881-896). Compositions are weighed by importance sampling: first those
of the label, then some near the best, drawn from a linear model of the curve
(`proposals`). Rounds count in proportion to their effective sizes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import NoValue

from ..stills.feed import COVERAGE_FACTOR
from .likelihood import Explained, Readings, explain, thinned
from .proposals import propose

Array = NDArray[np.float64]
Sampler = Callable[[int, int], Array]
"""(n, seed) to n compositions drawn uniformly from all that the label allows, (n, k)."""

COMPOSITIONS, FIRST_SHARE, ROUNDS = 600, 0.4, 3
"""Compositions tried in all, the share of them that is drawn from the label at first, and the rounds that follow."""
SEED = 2533
"""Any number; the same one gives the same answer."""


@dataclass(frozen=True)
class Curves:
    """S batches at V moments: volume distilled so far (liquid at 20 °C) and true head temperature, (S, V).

    `distilled_kg`, (S, V, k), is what has distilled of each ingredient,
    `charged_kg`, (S, k), what was put in. `curve_u95_K` is how sure the head temperature is, from data and model.
    """

    volume_m3: Array
    head_K: Array
    distilled_kg: Array
    charged_kg: Array
    curve_u95_K: float


class Still(Protocol):
    """The still of a recipe at its settings.

    Compositions are shares of k ingredients between `lower` and `upper`, by
    mass or volume as the label has them.
    """

    @property
    def lower(self) -> Array:
        """Smallest shares that the label allows, (k,)."""

    @property
    def upper(self) -> Array:
        """Largest shares that the label allows, (k,)."""

    @property
    def names(self) -> tuple[str, ...]:
        """Of the ingredients."""

    def run(self, shares: Array) -> Curves:
        """The batches of compositions, (S, k)."""


@dataclass(frozen=True)
class Fit:
    """Compositions tried, (S, k), with their batches and weights, (S,), which sum to 1; `best` is the likeliest.

    `offset_K` is reading minus true temperature beyond the correction that the
    recipe states; its uncertainty holds that of the curve. `prior` are the
    compositions of the label, (P, k), before the run. `effective_size` says how
    many independent compositions the weights are worth.
    """

    compositions: Array
    curves: Curves
    weights: Array
    best: int
    shift_K: float
    offset_K: float
    offset_u95_K: float
    prior: Array
    effective_size: float

    def mass_fractions(self) -> Array:
        """The compositions by mass, (S, k)."""
        charged = self.curves.charged_kg
        return np.asarray(charged / charged.sum(axis=1, keepdims=True))

    def best_curve(self) -> tuple[Array, Array]:
        """Volume, m3, and head temperature, K, of the likeliest composition, (V,) each."""
        return self.curves.volume_m3[self.best], self.curves.head_K[self.best]


@dataclass(frozen=True)
class _Round:
    """Compositions, their batches, how they explain the readings, and weights that sum to 1."""

    w: Array
    curves: Curves
    explained: Explained
    weights: Array

    @property
    def effective_size(self) -> float:
        return float(1.0 / np.square(self.weights).sum())


def fit(
    still: Still,
    sampler: Sampler,
    volume_m3: Array,
    reading_K: Array,
    correction_K: float,
    compositions: int = COMPOSITIONS,
) -> Fit:
    """Fit readings, (n,), at volumes distilled, (n,), of a thermometer that lacks `correction_K`.

    So many compositions are tried in all, one where the label leaves no choice.

    Raises NoValue where the still gives no curve for any composition.
    """
    noted = thinned(Readings(volume_m3, reading_K + correction_K))
    lower, upper = np.asarray(still.lower), np.asarray(still.upper)
    is_fixed = np.count_nonzero(upper > lower) < 2
    first = 1 if is_fixed else round(FIRST_SHARE * compositions)
    each = (compositions - first) // ROUNDS
    rounds = [_weighed(still, sampler(first, SEED), noted, None)]
    rng = np.random.default_rng(SEED)
    for _ in range(0 if is_fixed else ROUNDS):
        w = np.concatenate([one.w for one in rounds])
        w, log_density = propose(w, Explained.joined([one.explained for one in rounds]), lower, upper, each, rng)
        rounds.append(_weighed(still, w, noted, log_density))
    return _combined(rounds)


def _weighed(still: Still, w: Array, noted: Readings, log_density: Array | None) -> _Round:
    """One round; `log_density`, (S,), is that of the proposal, None for the label's own uniform one."""
    curves = still.run(w)
    explained = explain(curves.volume_m3, curves.head_K, curves.curve_u95_K / COVERAGE_FACTOR, noted)
    log_weight = explained.log_posterior - (0.0 if log_density is None else log_density)
    if not np.isfinite(log_weight).any():
        raise NoValue("No composition that the label allows could be distilled in the computation.")
    weights = np.exp(log_weight - log_weight[np.isfinite(log_weight)].max())
    return _Round(w, curves, explained, weights / weights.sum())


def _combined(rounds: Sequence[_Round]) -> Fit:
    sizes = np.array([one.effective_size for one in rounds])
    weights = np.concatenate([share * one.weights for share, one in zip(sizes / sizes.sum(), rounds, strict=True)])
    explained = Explained.joined([one.explained for one in rounds])
    curves = Curves(
        np.concatenate([one.curves.volume_m3 for one in rounds]),
        np.concatenate([one.curves.head_K for one in rounds]),
        np.concatenate([one.curves.distilled_kg for one in rounds]),
        np.concatenate([one.curves.charged_kg for one in rounds]),
        rounds[0].curves.curve_u95_K,
    )
    shift = float(weights @ explained.shift_K)
    variance = float(weights @ (explained.shift_variance_K2 + (explained.shift_K - shift) ** 2))
    # The curve's own error and the thermometer's look alike: the shift is their sum, parted by their variances.
    share = explained.offset_share
    spread = np.sqrt(share**2 * variance + share * (1.0 - share) * explained.shift_prior_variance_K2)
    return Fit(
        np.concatenate([one.w for one in rounds]), curves, weights, int(np.argmax(explained.log_posterior)), shift,
        share * shift, COVERAGE_FACTOR * float(spread), rounds[0].w, float(sizes.sum()),
    )  # fmt: skip

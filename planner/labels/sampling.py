"""Compositions drawn uniformly from all that a label allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from .ranges import central

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .ranges import Bounds

_NOTHING = 1e-13

MEETINGS = 8
"""How often each ingredient shares anew with each other; against exact samples, three already show no difference."""


def sample(allowed: Bounds, n: int, seed: int) -> NDArray[np.float64]:
    """Draw n compositions, shape (n, k), uniform on {lower <= w <= upper, sum of w = 1}; one seed, one result.

    Hit-and-run (R. L. Smith, Oper. Res. 32 (1984) 1296-1308) in n chains side
    by side, each from the central composition. A step takes two ingredients
    and parts their common share anew between them, uniformly within their
    bounds; disjoint pairs step at once, and each pair has its turn as in a
    round robin. Every edge of the polytope runs along such a pair's direction,
    so no corner of it is hard to come by.
    """
    random = np.random.default_rng(seed)
    composition = np.repeat(central(allowed)[:, None], n, axis=1)
    free = np.flatnonzero(allowed.upper - allowed.lower > _NOTHING)
    if len(free) > 1:
        composition[free] = _walked(composition[free], allowed.lower[free, None], allowed.upper[free, None], random)
    return np.clip(composition, allowed.lower[:, None], allowed.upper[:, None]).T.copy()


def _walked(
    chains: NDArray[np.float64],
    lower: NDArray[np.float64],
    upper: NDArray[np.float64],
    random: np.random.Generator,
) -> NDArray[np.float64]:
    """The chains, shape (free, n), after all their steps; walks in place."""
    rounds = [(one, other, lower[one], upper[one], lower[other], upper[other]) for one, other in _rounds(len(chains))]
    place = np.empty((len(chains) // 2, chains.shape[1]))
    for one, other, one_lower, one_upper, other_lower, other_upper in rounds * MEETINGS:
        common = chains[one]
        common += chains[other]
        least = common - other_upper
        np.maximum(least, one_lower, out=least)
        room = common - other_lower
        np.minimum(room, one_upper, out=room)
        room -= least
        random.random(out=place)
        room *= place
        room += least
        chains[one] = room
        common -= room
        chains[other] = common
    return chains


def _rounds(count: int) -> list[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """A round robin by the circle method: in all rounds together each meets each other once."""
    seats = count + count % 2  # with an odd count the last seat is empty, and who meets it rests
    circle = list(range(1, seats))
    rounds = []
    for turn in range(seats - 1):
        order = np.array([0, *circle[turn:], *circle[:turn]])
        pairs = np.stack([order[: seats // 2], order[: seats // 2 - 1 : -1]])
        rounds.append(tuple(pairs[:, (pairs < count).all(axis=0)]))
    return rounds

"""Of everything that boils near a component, what distillation does not part from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .blocks import judge_block
from .hard_neighbours import HardNeighbour, HardNeighbours, hardest_first
from .pair_tables import lowest_boiling
from .verdicts import AZEOTROPE, CLOSE, UNDECIDED

if TYPE_CHECKING:
    from .store import Store

HARD = (AZEOTROPE, CLOSE, UNDECIDED)


def hard_neighbours(store: Store, query: str, within_K: float, pressure_Pa: float) -> HardNeighbours:
    """The answer of `Store.hard_neighbours`; see there."""
    near = store.near(query, within_K, pressure_Pa)
    judged = judge_block(store, [(near.cas, other.cas) for other in near.neighbours], pressure_Pa)
    hard = []
    parted = unknown = 0
    for place, other in enumerate(near.neighbours):
        verdict, azeotropes = judged["verdict"][place], judged["azeotropes"][place]
        # Without a prediction or a measurement nothing is known but how near the two boil.
        if not judged["predictable"][place] and not azeotropes:
            unknown += 1
        elif verdict in HARD:
            hard.append(
                HardNeighbour(
                    other.cas, other.name, other.boiling_point_K, other.delta_K, other.grade, verdict,
                    lowest_boiling(azeotropes), judged["equivalent_difference_K"][place],
                    judged["reason"][place],
                )
            )  # fmt: skip
        else:
            parted += 1
    return HardNeighbours(
        near.cas, near.pressure_Pa, near.within_K, hardest_first(hard), len(near.neighbours), parted, unknown
    )

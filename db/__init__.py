"""The read side: opens a component store and answers.

>>> from cutpoint import db
>>> with db.open() as store:                               # doctest: +SKIP
...     print(store.component("141-78-6").boiling_point())

Importing this imports nothing heavy: the names below come when they are first
used, DuckDB with `open` and NumPy with the first curve, so that a single
look-up from a shell is quick.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .component import Component
    from .crosschecks import Crosscheck
    from .curves import CurveBank, CurveValues
    from .diagram_results import MeasuredPoint, PairDiagram
    from .hard_neighbours import HardNeighbour, HardNeighbours
    from .matches import Match, Matches
    from .results import (
        Azeotrope,
        Curve,
        Evaluated,
        Evaluation,
        Hazard,
        Neighbour,
        Neighbours,
        Observation,
        Pair,
        RelativeVolatility,
        Thresholds,
    )
    from .store import Store, default_path, open

_HOMES = {
    "Component": "component",
    "Crosscheck": "crosschecks",
    "CurveBank": "curves",
    "CurveValues": "curves",
    "HardNeighbour": "hard_neighbours",
    "HardNeighbours": "hard_neighbours",
    "Match": "matches",
    "Matches": "matches",
    "MeasuredPoint": "diagram_results",
    "PairDiagram": "diagram_results",
    "Store": "store",
    "default_path": "store",
    "open": "store",
}
"""Modules of the names that do not stand in `results`."""

__all__ = [
    "Azeotrope",
    "Component",
    "Crosscheck",
    "Curve",
    "CurveBank",
    "CurveValues",
    "Evaluated",
    "Evaluation",
    "HardNeighbour",
    "HardNeighbours",
    "Hazard",
    "Match",
    "Matches",
    "MeasuredPoint",
    "Neighbour",
    "Neighbours",
    "Observation",
    "Pair",
    "PairDiagram",
    "RelativeVolatility",
    "Store",
    "Thresholds",
    "default_path",
    "open",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES.get(name, 'results')}", __name__), name)

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
    from .atlas import Atlas, AtlasAzeotrope, AtlasPair, open_atlas
    from .component import Component
    from .crosschecks import Crosscheck
    from .curves import CurveBank, CurveValues
    from .matches import Match, Matches
    from .results import (
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
    "Atlas": "atlas",
    "AtlasAzeotrope": "atlas",
    "AtlasPair": "atlas",
    "Component": "component",
    "Crosscheck": "crosschecks",
    "CurveBank": "curves",
    "CurveValues": "curves",
    "Match": "matches",
    "Matches": "matches",
    "Store": "store",
    "default_path": "store",
    "open": "store",
    "open_atlas": "atlas",
}
"""Modules of the names that do not stand in `results`."""

__all__ = [
    "Atlas",
    "AtlasAzeotrope",
    "AtlasPair",
    "Component",
    "Crosscheck",
    "Curve",
    "CurveBank",
    "CurveValues",
    "Evaluated",
    "Evaluation",
    "Hazard",
    "Match",
    "Matches",
    "Neighbour",
    "Neighbours",
    "Observation",
    "Pair",
    "RelativeVolatility",
    "Store",
    "Thresholds",
    "default_path",
    "open",
    "open_atlas",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES.get(name, 'results')}", __name__), name)

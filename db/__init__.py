"""The read side: opens a component store and answers.

>>> from cutpoint import db
>>> with db.open() as store:                               # doctest: +SKIP
...     print(store.component("141-78-6").boiling_point())

Importing this imports neither NumPy nor anything heavier than DuckDB, so that
a single look-up from a shell is quick; NumPy comes with the first curve, and
the names below that a search does not need come when they are first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .matches import Match, Matches
from .store import Store, default_path, open

if TYPE_CHECKING:
    from .component import Component
    from .curves import CurveBank, CurveValues
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

_ON_FIRST_USE = {"Component": "component", "CurveBank": "curves", "CurveValues": "curves"}

__all__ = [
    "Component",
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
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_ON_FIRST_USE.get(name, 'results')}", __name__), name)

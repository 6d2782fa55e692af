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
    from .boiling_liquid import BoilingLiquid
    from .component import Component
    from .crosschecks import Crosscheck
    from .curves import CurveBank, CurveValues
    from .cuts import Cut, Surrogate
    from .diagram_results import MeasuredPoint, PairDiagram
    from .equilibrium import PhaseEquilibrium
    from .hard_neighbours import HardNeighbour, HardNeighbours
    from .liquid_split import LiquidSplit, Stability
    from .matches import Match, Matches
    from .mixtures import Mixture
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
    "Atlas": "atlas",
    "AtlasAzeotrope": "atlas",
    "AtlasPair": "atlas",
    "BoilingLiquid": "boiling_liquid",
    "Component": "component",
    "Crosscheck": "crosschecks",
    "CurveBank": "curves",
    "CurveValues": "curves",
    "Cut": "cuts",
    "HardNeighbour": "hard_neighbours",
    "HardNeighbours": "hard_neighbours",
    "LiquidSplit": "liquid_split",
    "Match": "matches",
    "Matches": "matches",
    "MeasuredPoint": "diagram_results",
    "Mixture": "mixtures",
    "PairDiagram": "diagram_results",
    "PhaseEquilibrium": "equilibrium",
    "Stability": "liquid_split",
    "Store": "store",
    "Surrogate": "cuts",
    "default_path": "store",
    "open": "store",
    "open_atlas": "atlas",
}
"""Modules of the names that do not stand in `results`."""

__all__ = [
    "Atlas",
    "AtlasAzeotrope",
    "AtlasPair",
    "Azeotrope",
    "BoilingLiquid",
    "Component",
    "Crosscheck",
    "Curve",
    "CurveBank",
    "CurveValues",
    "Cut",
    "Evaluated",
    "Evaluation",
    "HardNeighbour",
    "HardNeighbours",
    "Hazard",
    "LiquidSplit",
    "Match",
    "Matches",
    "MeasuredPoint",
    "Mixture",
    "Neighbour",
    "Neighbours",
    "Observation",
    "Pair",
    "PairDiagram",
    "PhaseEquilibrium",
    "RelativeVolatility",
    "Stability",
    "Store",
    "Surrogate",
    "Thresholds",
    "default_path",
    "open",
    "open_atlas",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{_HOMES.get(name, 'results')}", __name__), name)

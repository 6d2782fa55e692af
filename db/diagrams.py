"""The boiling-point diagram of a pair: bubble points and vapours from one pure component to the other."""

from __future__ import annotations

import math

import numpy as np

from cutpoint.schema.errors import NoValue, WrongUsage

from .activity import SCHEME
from .azeotropes import SCAN
from .component import Component
from .diagram_results import MeasuredPoint, PairDiagram
from .pair_equilibrium import boil
from .pair_tables import PairTables, same_pressure
from .pairs import Predictor
from .parting import of_the_whole
from .predictions import azeotropes_of
from .results import told_apart
from .two_liquids import split_at_boiling

_GRID = np.unique(np.concatenate([SCAN, np.linspace(0.0, 1.0, 201)]))


def pair_diagram(tables: PairTables, a: Component, b: Component, pressure_Pa: float) -> PairDiagram:
    """The answer of `Store.pair_diagram`; see there."""
    if a.cas == b.cas:
        raise WrongUsage(f"{a.name} ({a.cas}) was named twice; a pair needs two different components.")
    for component in (a, b):
        component.boiling_point(pressure_Pa)
    labels = told_apart(a.name, a.cas, b.name, b.cas)
    predictor = Predictor(tables, a, b, labels)
    pairs = predictor.pairs([pressure_Pa])
    if pairs is None:
        raise NoValue(f"{predictor.problem}, so there is no diagram to draw.")
    boiling = boil(pairs, _GRID[None])
    split = split_at_boiling(pairs, boiling)
    known = ~np.isnan(boiling.ln_alpha[0])
    if not known.any():
        raise NoValue(
            f"The vapour-pressure curves of {labels[0]} and {labels[1]} do not carry to where their mixtures boil, "
            "so there is no diagram to draw."
        )
    x = _GRID[known]
    ln_alpha = of_the_whole(boiling, split)[0, known]
    torn = (x > split.x_lean[0]) & (x < split.x_rich[0])
    T = np.where(torn, split.T_K[0], boiling.T_K[0, known])
    ratio = np.exp(ln_alpha)
    y = ratio * x / (ratio * x + 1.0 - x)
    slope_a, slope_b = pairs.slopes(T[None])[:, 0]
    u95 = pairs.relative_u95(pairs.ln_pressures(T[None]))[:, 0]
    # Each component's part of the pressure carries its own uncertainty (GUM, JCGM 100:2008, 5.1.2).
    u95_K = np.hypot(y * u95[0], (1.0 - y) * u95[1]) / (y * slope_a + (1.0 - y) * slope_b)
    measured = tuple(
        MeasuredPoint(one.mole_fraction_a, one.temperature_K, one.kind, one.source)
        for one in tables.measured(a.cas, b.cas)
        if same_pressure(one.pressure_Pa, pressure_Pa)
    )
    liquids = float(split.x_lean[0]), float(split.x_rich[0])
    return PairDiagram(
        {"cas": a.cas, "name": a.name}, {"cas": b.cas, "name": b.name}, float(pressure_Pa), tuple(x.tolist()),
        tuple(T.tolist()), tuple(y.tolist()), tuple(u95_K.tolist()), None if math.isnan(liquids[0]) else liquids,
        azeotropes_of(pairs, boiling, split, [predictor.molecules]).get(0, ()), measured, SCHEME,
    )  # fmt: skip

"""Predicted azeotropes against the measured ones, and the uncertainty that the model is credited with.

The measurements are rows of `pipeline/sources/measured_azeotropes.csv` and `zeotropic_pairs.csv`, the publication in
each; no prediction has seen them.
"""

from __future__ import annotations

import numpy as np

from cutpoint import db
from cutpoint.db.mixing_evidence import measured_pairs, mixing_targets
from cutpoint.db.pair_equilibrium import boil
from cutpoint.db.pairs import Predictor
from cutpoint.db.parting import MODEL_U95


def test_the_goals_are_reached(store: db.Store) -> None:
    figures = mixing_targets(measured_pairs(store))
    assert [figure.key for figure in figures if not figure.met] == []


def test_what_the_model_is_credited_with_holds_nineteen_times_in_twenty(store: db.Store) -> None:
    """At a measured azeotrope ln α is 0: the model's is to lie within its U95, joined with that of the curves."""
    inside = []
    for pair in measured_pairs(store):
        if pair.problem is not None:
            continue
        a, b = store.component(pair.cas_a), store.component(pair.cas_b)
        ready = Predictor(store.pair_tables, a, b, (a.name, b.name)).pairs([pair.pressure_Pa])
        assert ready is not None
        for azeotrope in pair.measured:
            if azeotrope.kind == "heterogeneous":
                continue  # the liquids are not of its composition
            there = boil(ready, np.array([[azeotrope.mole_fraction_a]]))
            of_curves = np.hypot(*ready.relative_u95(there.T_K))[0, 0]
            u95 = np.hypot(of_curves, MODEL_U95 * there.non_ideality[0, 0])
            inside.append(abs(there.ln_alpha[0, 0]) <= u95)
    assert len(inside) >= 40
    assert 0.92 <= np.mean(inside) <= 0.98

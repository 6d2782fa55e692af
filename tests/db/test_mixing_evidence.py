"""Predicted azeotropes beside measured ones: each pair, and the goals."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.db.mixing_evidence import measured_pairs, mixing_targets
from cutpoint.db.predicted_rows import predicted_azeotropes


def test_every_measured_pair_has_its_prediction(store: db.Store) -> None:
    pairs = {(pair.name_a, pair.name_b): pair for pair in measured_pairs(store)}
    assert set(pairs) == {("ethanol", "water"), ("hexane", "ethyl acetate"), ("acetone", "water")}
    spirit = pairs["ethanol", "water"]
    assert spirit.existence_right and spirit.kind_right and spirit.problem is None
    assert spirit.off_K == pytest.approx(0.0, abs=1.0)
    assert spirit.off_mass_fraction == pytest.approx(0.0, abs=0.02)
    none = pairs["acetone", "water"]
    assert none.measured == () and none.predicted == () and none.existence_right and none.off_K is None


def test_the_goals(store: db.Store) -> None:
    figures = {figure.key: figure for figure in mixing_targets(measured_pairs(store))}
    assert (figures["azeotropes_predicted"].reached, figures["azeotropes_predicted"].n) == (1.0, 2)
    assert (figures["zeotropic_predicted"].reached, figures["zeotropic_predicted"].n) == (1.0, 1)
    assert figures["azeotrope_temperature"].met is True
    assert figures["azeotrope_composition"].n == 2
    assert [figure.met for figure in mixing_targets(())] == [None] * 4


def test_rows_for_the_store(small_store_path: Path) -> None:
    rows = predicted_azeotropes(small_store_path)
    assert [(row["cas_a"], row["cas_b"], row["ordinal"]) for row in rows] == [
        ("110-54-3", "141-78-6", 1),
        ("64-17-5", "7732-18-5", 1),
    ]
    assert all(row["basis"] == "predicted" and row["source"] == "modified UNIFAC (Dortmund)" for row in rows)

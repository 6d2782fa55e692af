"""The atlas holds what `pair` says of each pair."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import duckdb
import pytest

from cutpoint import db
from cutpoint.planner.atlas_making import make_atlas

LIQUIDS = ("ethanol", "water", "hexane", "ethyl acetate", "acetone", "toluene", "benzene", "1,4-dioxane", "methanol")


def test_each_pair_is_as_pair_says(small_store: Path, tmp_path: Path) -> None:
    liquids = tmp_path / "liquids.txt"
    liquids.write_text("\n".join(LIQUIDS), encoding="utf-8")
    path = Path(shutil.copy(small_store, tmp_path / "store.duckdb"))
    with duckdb.connect(str(path)) as connection:
        connection.execute("INSERT INTO build VALUES ('digest', 'c0ffee')")
    done = make_atlas(liquids, tmp_path / "atlas.duckdb", store=path, processes=1)
    assert (done.components, done.pairs, done.problems) == (9, 36, ())
    with db.open(small_store) as store, db.open_atlas(tmp_path / "atlas.duckdb") as atlas:
        for a, b in itertools.combinations(LIQUIDS, 2):
            alone, held = store.pair(a, b), atlas.pair(store.component(a).cas, store.component(b).cas)
            assert held.verdict == alone.verdict
            assert held.delta_boiling_point_K == pytest.approx(alone.delta_boiling_point_K)
            assert held.alpha_middle == pytest.approx(alone.relative_volatility.middle)
            assert [one.kind for one in held.azeotropes] == [one.kind for one in alone.azeotropes]

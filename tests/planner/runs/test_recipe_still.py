"""The still of a recipe on the real store: it distils as the sheet does, and finds an invented batch again."""

from __future__ import annotations

import numpy as np
import pytest

from cutpoint import db
from cutpoint.planner.recipes.reading import read_recipe
from cutpoint.planner.runs.recipe_still import expected_of
from cutpoint.planner.runs.report import Expected, make_report
from cutpoint.planner.runs.run import Row, Run

RECIPE = """
title = "Used eluent of an invented course"
label = '''
n-Hexane        40 - 70 %
Ethyl acetate   20 - 50 %
Toluene          2 - 12 %
'''
[feed]
basis = "volume"
volume = "1 L"
[target]
ingredient = "ethyl acetate"
purity = "80 %"
[place]
pressure = "83.5 kPa"
[column]
plates = 3
reflux_ratio = 3
[cooling]
coolant = "10 degC"
[thermometer]
correction = "+0.5 K"
"""
CORRECTION_K = 0.5


@pytest.fixture(scope="module")
def known(store: db.Store, tmp_path_factory: pytest.TempPathFactory) -> Expected:
    """What the recipe lets expect, few compositions tried."""
    path = tmp_path_factory.mktemp("runs") / "eluent.toml"
    path.write_text(RECIPE, encoding="utf-8")
    whole = expected_of(store, read_recipe(path))
    assert whole.compositions == 600
    return whole._replace(compositions=80)


def test_the_middle_of_the_label_distils_as_on_the_sheet(known: Expected) -> None:
    still, plan = known.still, known.plan
    shares = still.lower + (still.upper - still.lower) * (1.0 - still.lower.sum()) / (still.upper - still.lower).sum()
    curves = still.run(shares[None])
    head_K = np.interp(plan.curve.volume_m3, curves.volume_m3[0], curves.head_K[0]) - CORRECTION_K
    off_K = np.abs(head_K - plan.curve.reading_K)
    # Both follow the column to 2 % of the vapour, which shows where the reading climbs steeply, and only there.
    assert np.quantile(off_K, 0.9) < 0.05
    assert off_K.max() < 1.0
    by_mass = curves.charged_kg[0] / curves.charged_kg[0].sum()
    np.testing.assert_allclose(by_mass, [row.mass_fraction.value for row in plan.ingredients], atol=1e-9)
    assert curves.distilled_kg[0, -1].sum() <= curves.charged_kg[0].sum()
    assert 0.2 < curves.curve_u95_K < 4.0


def test_an_invented_batch_is_found_again(known: Expected) -> None:
    w = np.array([[0.5, 0.42, 0.08]])
    curves = known.still.run(w)
    volume = np.linspace(0.02, 0.95, 40) * curves.volume_m3[0, -1]
    reading = np.interp(volume, curves.volume_m3[0], curves.head_K[0]) - CORRECTION_K - 1.0
    reading += np.random.default_rng(1).normal(0.0, 0.2, len(volume))
    noted = zip(volume, reading, strict=True)
    rows = tuple(Row(line, None, float(T), float(v), None, None) for line, (v, T) in enumerate(noted, start=2))
    report = make_report(Run(rows, ()), known)
    assert abs(report.offset_K + 1.0) < report.offset_u95_K
    by_mass = curves.charged_kg[0] / curves.charged_kg[0].sum()
    for row, true in zip(report.composition, by_mass, strict=True):
        assert row.estimate.low - 0.005 <= true <= row.estimate.high + 0.005
    assert report.rows_off <= 2

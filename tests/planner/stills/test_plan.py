"""Whole sheets on the store of all real data: what must hold for any, and what a chemist would expect of some."""

import json
from dataclasses import asdict
from itertools import pairwise

import numpy as np
import pytest

from cutpoint.planner.recipes.reading import parse_recipe
from cutpoint.planner.stills.plan import make_plan
from cutpoint.schema.errors import CutpointError, NotSeparable, WrongLabel, WrongRecipe

RECIPE = """
label = '''
{label}
'''
{meanings}[feed]
volume = "2 L"
price = 5
currency = "EUR"
[target]
ingredient = "{target}"
purity = "{purity}"
[place]
pressure = "{pressure}"
[column]
plates = {plates}
reflux_ratio = {reflux}
[heat]
power = "150 W"
price_per_kWh = 0.3
[cooling]
coolant = "{coolant}"
"""


def recipe(label, target, purity="95 %", pressure="101.325 kPa", plates=10, reflux=4, coolant="5 degC", more=""):
    text = RECIPE.format(
        meanings='[meanings]\n"resin" = "not volatile"\n' if "resin" in label else "",
        label=label,
        target=target,
        purity=purity,
        pressure=pressure,
        plates=plates,
        reflux=reflux,
        coolant=coolant,
    )
    return parse_recipe((text + more).encode(), "recipe.toml")


THINNER = "acetone 40-50 %\ntoluene 30-40 %\np-xylene 10-30 %\nresin < 3 %"
SPRAY = "dimethyl ether 40-60 %\npropane 10-20 %\nacetone 15-25 %\n2-propanol balance"


@pytest.fixture(scope="module")
def thinner(store):
    return make_plan(store, recipe(THINNER, "acetone"))


def test_an_easy_mixture_works(thinner):
    assert thinner.product.reached
    assert thinner.product.recovery.value > 0.9
    assert thinner.product.purity.low >= 0.95
    assert thinner.verdict.startswith("It should work")
    assert thinner.n_compositions == 200


def test_mass_is_closed(thinner):
    assert thinner.mass_closure < 1e-6
    mass = sum(fraction.mass_kg.value for fraction in thinner.fractions)
    assert mass == pytest.approx(thinner.feed_mass_kg.value, rel=1e-6)
    for fraction in thinner.fractions:
        assert sum(share.mass_fraction.value for share in fraction.contents) == pytest.approx(1.0)


def test_every_interval_holds_its_value(thinner):
    def intervals(thing):
        if isinstance(thing, dict):
            if set(thing) == {"value", "low", "high"}:
                yield thing
            for part in thing.values():
                yield from intervals(part)
        elif isinstance(thing, (list, tuple)):
            for part in thing:
                yield from intervals(part)

    found = list(intervals(asdict(thinner)))
    assert len(found) > 40
    assert all(one["low"] <= one["value"] <= one["high"] for one in found)


def test_the_plateau_is_the_boiling_point_and_the_sheet_is_json(thinner, store):
    boils_K = store.component("acetone").boiling_point().value
    product = next(one for one in thinner.fractions if one.name == "product")
    head = np.interp(0.5 * product.to_volume_m3.value, thinner.curve.volume_m3, thinner.curve.reading_K)
    assert head == pytest.approx(boils_K, abs=0.3)
    json.dumps(asdict(thinner), allow_nan=False)


def test_what_does_not_distil_stays(thinner):
    for fraction in thinner.fractions:
        share = next(one for one in fraction.contents if one.name == "resin")
        assert (share.mass_fraction.value > 0.0) == (fraction.name == "residue")


def test_the_same_recipe_makes_the_same_sheet(thinner, store):
    assert make_plan(store, recipe(THINNER, "acetone")) == thinner


def test_what_cannot_be_had_is_told_with_the_best_that_can(store):
    plan = make_plan(store, recipe("ethanol 50-60 %\nwater 40-50 %", "ethanol", purity="99 %", plates=20))
    assert not plan.product.reached
    assert 0.93 < plan.product.best_purity < 0.965  # the azeotrope: 95.6 % by mass
    assert "cannot be had" in plan.verdict
    assert any("azeotrope" in told for told in plan.not_parted)


def test_a_spray_is_opened_first(store):
    plan = make_plan(store, recipe(SPRAY, "acetone", purity="80 %", more='[package]\ntemperature = "20 degC"\n'))
    opening = plan.opening
    assert opening is not None
    assert opening.target_lost_with_column.value < opening.target_lost_bare.value
    assert 0.5 < opening.leaves_bare.value < 0.8
    assert plan.charge_volume_m3.value < 0.5 * plan.feed_volume_m3.value


@pytest.mark.parametrize(
    ("case", "error", "told"),
    [
        ({"label": SPRAY, "target": "acetone"}, WrongRecipe, "boils away"),
        ({"label": THINNER, "target": "hexane"}, WrongRecipe, "not on the label"),
        ({"label": THINNER, "target": "resin"}, NotSeparable, "stays in the flask"),
        ({"label": "", "target": "acetone"}, CutpointError, ""),
        ({"label": "acetone 80 %\ntoluene 60 %", "target": "acetone"}, WrongLabel, "140"),
        ({"label": "resin 100 %", "target": "resin"}, CutpointError, ""),
    ],
)
def test_nonsense_is_refused_in_words(store, case, error, told):
    with pytest.raises(error, match=told):
        make_plan(store, recipe(**case))


def test_a_coolant_warmer_than_the_product_is_told(store):
    plan = make_plan(store, recipe("diethyl ether 50-60 %\ntoluene 40-50 %", "diethyl ether", coolant="40 degC"))
    assert plan.holding.condenser_holds is False
    assert "condenser" in plan.verdict


def test_a_bare_still_head_needs_no_reflux(store):
    plan = make_plan(store, recipe(THINNER, "acetone", purity="70 %", plates=0, reflux=0))
    assert plan.reflux_ratio == 0.0
    assert plan.reflux_scan == ()


def test_more_reflux_gives_more_of_a_close_boiler(store):
    plan = make_plan(store, recipe("heptane 40-60 %\ntoluene 40-60 %", "heptane", purity="85 %"))
    had = [row.recovery for row in plan.reflux_scan]
    assert all(more >= less - 0.02 for less, more in pairwise(had))
    assert had[-1] > had[0]


def test_forty_ingredients_are_planned(store):
    solvents = store.sql(
        "SELECT c.name FROM component c JOIN evaluation e ON e.cas = c.cas AND e.property = 'normal_boiling_point' "
        "JOIN vapour_curve v ON v.cas = c.cas JOIN hazard h ON h.cas = c.cas AND h.property = 'flash_point' "
        "WHERE e.value BETWEEN 320 AND 450 AND e.grade = 'A' AND c.kind = 'pure' ORDER BY c.cas LIMIT 40"
    ).fetchall()
    label = "\n".join(f"{name} 1-5 %" for (name,) in solvents)
    target = solvents[0][0]
    plan = make_plan(store, recipe(label, target, purity="30 %", plates=5))
    assert len(plan.ingredients) == 40
    assert plan.mass_closure < 1e-6


@pytest.mark.parametrize(
    ("label", "told"),
    [
        ("acetone 40-60 %\nhydrogen peroxide 5-10 %\nwater 30-55 %", "hydrogen peroxide"),
        ("acetic anhydride 20-30 %\nmethanol 70-80 %", "anhydride"),
    ],
)
def test_what_reacts_is_not_to_be_distilled(store, label, told):
    target = "acetone" if "acetone" in label else "methanol"
    with pytest.raises(NotSeparable, match=f"(?s)Do not distil this.*{told}"):
        make_plan(store, recipe(label, target, purity="80 %"))


def test_two_lines_of_the_same_are_refused_with_their_sum(store):
    with pytest.raises(WrongLabel, match="70 - 90"):
        make_plan(store, recipe("acetone 40-50 %\n2-propanone 30-40 %\ntoluene 10-30 %", "acetone"))


def test_a_column_without_reflux_does_what_a_bare_head_does(store):
    without, bare = (
        make_plan(store, recipe(THINNER, "acetone", purity="70 %", plates=plates, reflux=0)) for plates in (5, 0)
    )
    assert without.product.purity.value == pytest.approx(bare.product.purity.value, abs=0.02)


def test_a_package_that_boils_away_is_told(store):
    label = "propane 60-70 %\nbutane 30-40 %"
    with pytest.raises(NotSeparable, match="boils away"):
        make_plan(store, recipe(label, "butane", more='[package]\ntemperature = "20 degC"\n'))


def test_a_cut_that_holds_the_target_is_told(store):
    plan = make_plan(store, recipe("petroleum ether 60-80 40-60 %\nhexane 40-60 %", "hexane", purity="95 %"))
    assert not plan.product.reached
    assert any("hold" in row.reason for row in plan.pairs)

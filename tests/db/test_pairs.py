"""What can be parted: the verdict of a pair, its numbers, and what it stands on."""

from __future__ import annotations

import dataclasses
import itertools
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.db.blocks import COLUMNS, judge_block
from cutpoint.db.pair_tables import lowest_boiling
from cutpoint.db.results import Azeotrope
from cutpoint.schema.errors import ImpossibleQuantity, NoValue, WrongUsage

COVERED = ("64-17-5", "141-78-6", "110-54-3", "67-64-1", "108-88-3", "71-43-2", "110-82-7", "67-56-1", "7732-18-5")


def said(pair: db.Pair) -> str:
    return " ".join(pair.reasons)


def test_benzene_and_toluene(store: db.Store) -> None:
    """Relative volatility of benzene over toluene is about 2.3 to 2.7 at one atmosphere; common practice, no source."""
    pair = store.pair("benzene", "toluene")
    assert all(2.25 < alpha < 2.7 for alpha in dataclasses.astuple(pair.relative_volatility))
    assert pair.delta_boiling_point_K == pytest.approx(30.51)
    assert pair.delta_u95_K == pytest.approx(math.hypot(0.1, 0.2))
    assert pair.verdict == "simple distillation"
    assert pair.azeotrope is None and pair.azeotropes == ()
    assert pair.equivalent_difference_K == pytest.approx(30.5, abs=1.5)
    assert "modified UNIFAC (Dortmund)" in said(pair)


def test_fenske_is_the_integral_of_the_varying_volatility(store: db.Store) -> None:
    """Between the plates of the greatest and of the least volatility of the span, and near those of their mean."""
    pair = store.pair("benzene", "toluene")
    alphas = dataclasses.astuple(pair.relative_volatility)
    ends = [2.0 * math.log(19.0) / math.log(alpha) for alpha in (max(alphas), min(alphas))]
    assert pair.minimum_plates is not None
    assert ends[0] < pair.minimum_plates < ends[1]
    assert pair.minimum_plates == pytest.approx(2 * math.log(19) / math.log(math.prod(alphas) ** (1 / 3)), rel=0.03)


@settings(deadline=None)
@given(
    names=st.sampled_from(list(itertools.combinations(COVERED, 2))),
    pressure_Pa=st.floats(30e3, 110e3),
    purity_a=st.floats(0.6, 0.999),
    purity_b=st.floats(0.6, 0.999),
)
def test_mirror(store: db.Store, names: tuple[str, str], pressure_Pa: float, purity_a: float, purity_b: float) -> None:
    a, b = names
    one = store.pair(a, b, pressure_Pa, purity_a=purity_a, purity_b=purity_b)
    other = store.pair(b, a, pressure_Pa, purity_a=purity_b, purity_b=purity_a)
    assert one.delta_boiling_point_K == -other.delta_boiling_point_K
    assert one.delta_u95_K == pytest.approx(other.delta_u95_K)
    assert one.verdict == other.verdict
    first, second = one.relative_volatility, other.relative_volatility
    for alpha, mirrored in (
        (first.a_lean, second.a_rich),
        (first.middle, second.middle),
        (first.a_rich, second.a_lean),
    ):
        assert (alpha is None) == (mirrored is None)
        if alpha is not None and mirrored is not None:
            assert alpha == pytest.approx(1.0 / mirrored, rel=1e-6)
    assert (one.minimum_plates is None) == (other.minimum_plates is None)
    if one.minimum_plates is not None:
        assert one.minimum_plates == pytest.approx(other.minimum_plates, rel=1e-6)
    for left, right in zip(one.azeotropes, reversed(other.azeotropes), strict=True):
        assert left.kind == right.kind
        assert left.temperature_K == pytest.approx(right.temperature_K, abs=1e-5)
        assert left.mole_fraction_a == pytest.approx(1.0 - right.mole_fraction_a, abs=1e-6)
        assert left.mass_fraction_a == pytest.approx(1.0 - right.mass_fraction_a, abs=1e-6)


def test_a_measured_azeotrope_wins(store: db.Store) -> None:
    pair = store.pair("ethanol", "water")
    assert pair.verdict == "azeotrope"
    assert pair.azeotrope is not None
    assert (pair.azeotrope.basis, pair.azeotrope.source) == ("measured", "demo_azeotropes")
    assert pair.minimum_plates is None
    turned = store.pair("water", "ethanol").azeotrope
    assert turned is not None
    assert turned.mole_fraction_a == pytest.approx(1.0 - pair.azeotrope.mole_fraction_a)
    predicted = store.pair("ethanol", "water", basis="predicted").azeotrope
    assert predicted is not None and predicted.basis == "predicted"
    assert predicted.temperature_K == pytest.approx(pair.azeotrope.temperature_K, abs=1.0)


def test_what_was_measured_to_form_none_forms_none(store: db.Store) -> None:
    pair = store.pair("acetone", "water")
    assert pair.azeotrope is None
    assert "Measured to form no azeotrope at 101" in said(pair)


def test_a_measured_azeotrope_elsewhere_is_told_but_does_not_decide(store: db.Store) -> None:
    pair = store.pair("hexane", "ethyl acetate", 50e3)
    assert pair.azeotrope is not None and pair.azeotrope.basis == "predicted"
    assert ", measured: azeotrope" in said(pair)


def test_two_liquids(store: db.Store) -> None:
    pair = store.pair("toluene", "water")
    assert pair.verdict == "azeotrope"
    assert pair.azeotrope is not None and pair.azeotrope.kind == "heterogeneous"
    assert "two liquid layers" in said(pair) and "decanter" in said(pair)


def test_washing_with_water_is_offered_where_it_helps(store: db.Store) -> None:
    """Ethanol and hexane: water takes the one and leaves the other; common practice, no source."""
    assert "Washing with water: at 25 °C it takes up ethanol in any amount" in said(store.pair("hexane", "ethanol"))
    assert "Washing" not in said(store.pair("benzene", "cyclohexane"))
    assert "Washing" not in said(store.pair("ethanol", "water"))


def test_verdicts_follow_the_thresholds(store: db.Store) -> None:
    assert store.pair("hexane", "methanol", basis="predicted").verdict == "azeotrope"
    assert store.pair("o-xylene", "p-xylene").verdict in ("fractional distillation", "undecided")
    loose, strict = db.Thresholds(simple_K=20.0), db.Thresholds(simple_K=40.0)
    assert store.pair("benzene", "toluene", thresholds=loose).verdict == "simple distillation"
    assert store.pair("benzene", "toluene", thresholds=strict).verdict == "fractional distillation"
    equivalent_K = store.pair("benzene", "toluene").equivalent_difference_K
    assert equivalent_K is not None
    astride = store.pair("benzene", "toluene", thresholds=db.Thresholds(simple_K=equivalent_K))
    assert astride.verdict == "undecided"
    assert "allows both fractional distillation and simple distillation" in said(astride)
    assert "would settle it" in said(astride)


@pytest.mark.parametrize("other", ["diisopropyl ether", "1,4-dioxane"])
def test_what_cannot_be_predicted_is_undecided(store: db.Store, other: str) -> None:
    """No groups are held of these two: no number is made up."""
    pair = store.pair("ethanol", other)
    assert pair.verdict == "undecided"
    assert dataclasses.astuple(pair.relative_volatility) == (None, None, None)
    assert pair.minimum_plates is None and pair.equivalent_difference_K is None
    assert "no prediction is made" in said(pair) and "would settle it" in said(pair)


def test_far_apart_the_boiling_points_carry_a_verdict_but_not_beside_water(store: db.Store) -> None:
    assert store.pair("diisopropyl ether", "glycerol").verdict == "simple distillation"
    assert store.pair("carbon monoxide", "water").verdict == "undecided"


def test_a_gas(store: db.Store) -> None:
    pair = store.pair("carbon monoxide", "toluene")
    assert pair.verdict == "simple distillation"
    assert pair.minimum_plates is None


def test_far_apart_says_where_a_curve_ends(store: db.Store) -> None:
    pair = store.pair("diethyl ether", "o-xylene")
    assert pair.relative_volatility.a_lean is None
    assert pair.minimum_plates is None
    assert "the curve of diethyl ether does not carry there" in said(pair)


def test_pair_fields(store: db.Store) -> None:
    told = json.loads(json.dumps(dataclasses.asdict(store.pair("hexane", "ethyl acetate"))))
    assert told["a"] == {"cas": "110-54-3", "name": "hexane"}
    assert set(told) >= {
        "a", "b", "pressure_Pa", "delta_boiling_point_K", "delta_u95_K", "relative_volatility", "azeotrope",
        "minimum_plates", "verdict", "reasons",
    }  # fmt: skip
    assert set(told["relative_volatility"]) == {"a_lean", "middle", "a_rich"}
    assert set(told["azeotrope"]) >= {
        "basis", "kind", "temperature_K", "mass_fraction_a", "mole_fraction_a", "source",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("a", "b", "error"),
    [
        ("ethanol", "ethyl alcohol", WrongUsage),
        ("ethanol", "petroleum ether", NoValue),
        ("ethanol", "glucose", NoValue),
        ("ethanol", "carbon dioxide", NoValue),
        ("ethanol", "ammonium bromide", NoValue),
    ],
)
def test_pairs_that_are_none(store: db.Store, a: str, b: str, error: type[Exception]) -> None:
    with pytest.raises(error):
        store.pair(a, b)


def test_purities_and_basis(store: db.Store) -> None:
    with pytest.raises(ImpossibleQuantity):
        store.pair("ethanol", "hexane", purity_a=1.0)
    with pytest.raises(WrongUsage):
        store.pair("ethanol", "hexane", purity_a=0.3, purity_b=0.4)
    with pytest.raises(WrongUsage):
        store.pair("ethanol", "hexane", basis="guessed")
    assert store.pair("ethanol", "hexane", basis="predicted").verdict == store.pair("ethanol", "hexane").verdict


def test_a_pair_says_what_would_be_a_solid(store: db.Store) -> None:
    assert "1,4-dioxane is below the melting point" in said(store.pair("toluene", "1,4-dioxane", 2e3))


def test_two_components_of_one_name_are_told_apart(store: db.Store) -> None:
    pair = store.pair("78918-91-9", "589-34-4")
    assert pair.relative_volatility.middle is not None
    assert pair.labels == ("3-methylhexane [78918-91-9]", "3-methylhexane [589-34-4]")
    assert pair.reasons[0].startswith("3-methylhexane [589-34-4] boils")
    assert "3-methylhexane [78918-91-9] is of grade D" in said(pair)


def test_a_pair_says_what_rests_on_an_estimate(store: db.Store) -> None:
    at_one_atmosphere, reduced = store.pair("glycerol", "o-xylene"), store.pair("glycerol", "o-xylene", 50e3)
    for pair in (at_one_atmosphere, reduced):
        assert (
            "The relative volatility rests on an estimated curve of glycerol: "
            "no correlation of that vapour pressure is held." in pair.reasons
        )
        assert not any("grade D" in reason for reason in pair.reasons)
    assert any("glycerol is estimated from the normal boiling point" in reason for reason in reduced.reasons)
    assert "estimated" not in said(store.pair("benzene", "toluene"))


def test_a_block_says_what_each_pair_says(store: db.Store) -> None:
    pairs = list(itertools.combinations((*COVERED, "123-91-1", "630-08-0", "57-50-1"), 2))
    block = judge_block(store, pairs)
    assert tuple(block) == COLUMNS and {len(column) for column in block.values()} == {len(pairs)}
    for place, (a, b) in enumerate(pairs):
        row = {name: column[place] for name, column in block.items()}
        if "57-50-1" in (a, b):
            assert row["verdict"] is None and "sucrose" in row["problem"]
            continue
        alone = store.pair(a, b)
        assert (row["cas_a"], row["cas_b"], row["verdict"]) == (a, b, alone.verdict)
        assert row["predictable"] == (alone.relative_volatility.middle is not None)
        assert (row["minimum_plates"] is None) == (alone.minimum_plates is None)
        if alone.minimum_plates is not None:
            assert row["minimum_plates"] == pytest.approx(alone.minimum_plates, rel=1e-6)
        assert [one.kind for one in row["azeotropes"]] == [one.kind for one in alone.azeotropes]


def test_of_several_azeotropes_the_lowest_boiling_is_named() -> None:
    high = Azeotrope("predicted", "maximum", 353.5, 0.4, 0.3, "a model", 101325.0)
    low = dataclasses.replace(high, kind="minimum", temperature_K=352.6, mole_fraction_a=0.8)
    assert lowest_boiling((high, low)) is low
    assert lowest_boiling(()) is None


def test_a_curve_that_ends_does_not_make_two_liquids_close_boiling(store: db.Store) -> None:
    """The single liquid between two layers would boil where a curve has ended; the layers do not."""
    for a, b in itertools.permutations(COVERED, 2):
        assert "nan" not in said(store.pair(a, b, pressure_Pa=30e3))

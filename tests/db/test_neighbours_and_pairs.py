"""What boils near what, and what can be parted."""

from __future__ import annotations

import dataclasses
import itertools
import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.schema.errors import CutpointError, ImpossibleQuantity, NoValue, OutOfRange, WrongUsage

CURVED = ("64-17-5", "141-78-6", "110-54-3", "67-64-1", "108-88-3", "71-43-2", "110-82-7", "67-56-1")


def test_near(store: db.Store) -> None:
    told = store.near("141-78-6")
    assert [neighbour.cas for neighbour in told.neighbours] == ["64-17-5", "71-43-2", "110-82-7"]
    assert told.neighbours[0].delta_K == pytest.approx(351.44 - 350.25)
    assert json.loads(json.dumps(dataclasses.asdict(told)))["neighbours"][0].keys() >= {
        "cas", "name", "boiling_point_K", "delta_K", "grade",
    }  # fmt: skip


@pytest.mark.parametrize("pressure_Pa", [20e3, 50e3, 84e3])
def test_near_elsewhere_agrees_with_each_curve(store: db.Store, pressure_Pa: float) -> None:
    told = store.near("ethyl acetate", within_K=30.0, pressure_Pa=pressure_Pa)
    assert told.neighbours
    for neighbour in told.neighbours:
        boiling = store.component(neighbour.cas).boiling_point(pressure_Pa)
        assert neighbour.boiling_point_K == pytest.approx(boiling.value, rel=1e-12)
        assert neighbour.grade == boiling.grade
        assert neighbour.delta_K == pytest.approx(boiling.value - told.boiling_point_K)
    distances = [abs(neighbour.delta_K) for neighbour in told.neighbours]
    assert distances == sorted(distances) and distances[-1] <= 30.0
    assert told.without_curve > 0


def test_near_bad_input(store: db.Store) -> None:
    with pytest.raises(ImpossibleQuantity):
        store.near("ethanol", pressure_Pa=0.0)
    with pytest.raises(WrongUsage):
        store.near("ethanol", within_K=0.0)
    with pytest.raises(NoValue):
        store.near("petroleum ether")
    with pytest.raises(OutOfRange):
        store.near("ethanol", pressure_Pa=1e-6)


def test_benzene_and_toluene(store: db.Store) -> None:
    """Relative volatility of benzene over toluene is about 2.4 to 2.6 at one atmosphere; common practice, no source."""
    pair = store.pair("benzene", "toluene")
    alphas = dataclasses.astuple(pair.relative_volatility)
    assert all(2.3 < alpha < 2.65 for alpha in alphas)
    assert pair.delta_boiling_point_K == pytest.approx(30.51)
    assert pair.delta_u95_K == pytest.approx(math.hypot(0.1, 0.2))
    assert pair.verdict == "simple distillation"
    mean = math.prod(alphas) ** (1 / 3)
    assert pair.minimum_plates == pytest.approx(2 * math.log(19) / math.log(mean))
    assert pair.azeotrope is None
    assert "azeotropes are not yet looked at" in pair.reasons[-1]


@given(
    names=st.sampled_from(list(itertools.combinations(CURVED, 2))),
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
        if alpha is None:
            assert mirrored is None
        else:
            assert alpha == pytest.approx(1.0 / mirrored, rel=1e-9)
    if one.minimum_plates is not None:
        assert one.minimum_plates == pytest.approx(other.minimum_plates, rel=1e-9)


def test_verdicts_follow_the_thresholds(store: db.Store) -> None:
    assert store.pair("benzene", "cyclohexane").verdict == "close-boiling"
    assert store.pair("hexane", "ethyl acetate").verdict == "fractional distillation"
    assert (
        store.pair("hexane", "ethyl acetate", thresholds=db.Thresholds(simple_K=8.0)).verdict == "simple distillation"
    )
    astride = store.pair("hexane", "ethyl acetate", thresholds=db.Thresholds(simple_K=8.4))
    assert astride.verdict == "undecided"
    assert any("both fractional distillation and simple distillation" in reason for reason in astride.reasons)


def test_without_a_curve_the_difference_still_stands(store: db.Store) -> None:
    pair = store.pair("ethanol", "butanoic acid")
    assert pair.verdict == "simple distillation"
    assert dataclasses.astuple(pair.relative_volatility) == (None, None, None)
    assert pair.minimum_plates is None
    assert any("butanoic acid" in reason and "no relative volatility" in reason for reason in pair.reasons)


def test_far_apart_says_where_a_curve_ends(store: db.Store) -> None:
    pair = store.pair("diethyl ether", "o-xylene")
    assert pair.relative_volatility.a_lean is None
    assert pair.minimum_plates is None
    assert any("does not carry to" in reason for reason in pair.reasons)


def test_pair_fields(store: db.Store) -> None:
    told = json.loads(json.dumps(dataclasses.asdict(store.pair("hexane", "ethyl acetate"))))
    assert told["a"] == {"cas": "110-54-3", "name": "hexane"}
    assert set(told) >= {
        "a", "b", "pressure_Pa", "delta_boiling_point_K", "delta_u95_K", "relative_volatility", "azeotrope",
        "minimum_plates", "verdict", "reasons",
    }  # fmt: skip
    assert set(told["relative_volatility"]) == {"a_lean", "middle", "a_rich"}


@pytest.mark.parametrize(
    ("a", "b", "error"),
    [
        ("ethanol", "ethyl alcohol", WrongUsage),
        ("ethanol", "petroleum ether", NoValue),
        ("ethanol", "glucose", NoValue),
        ("ethanol", "carbon dioxide", NoValue),
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


def test_near_leaves_out_what_would_be_a_solid(store: db.Store) -> None:
    told = {neighbour.cas for neighbour in store.near("toluene", 25.0, 2e3).neighbours}
    at_20_kPa = {neighbour.cas for neighbour in store.near("toluene", 25.0, 20e3).neighbours}
    assert "123-91-1" in at_20_kPa and "123-91-1" not in told


def test_a_pair_says_what_would_be_a_solid(store: db.Store) -> None:
    pair = store.pair("toluene", "1,4-dioxane", 2e3)
    assert any("1,4-dioxane is below the melting point" in reason for reason in pair.reasons)


def test_two_components_of_one_name_are_told_apart(store: db.Store) -> None:
    pair = store.pair("78918-91-9", "589-34-4")
    assert pair.relative_volatility.middle is not None
    assert pair.labels == ("3-methylhexane [78918-91-9]", "3-methylhexane [589-34-4]")
    assert pair.reasons[0].startswith("3-methylhexane [589-34-4] boils")
    assert "3-methylhexane [78918-91-9] is of grade D" in " ".join(pair.reasons)


def names_and_temperatures(store: db.Store, cas: str, within_K: float, pressure_Pa: float) -> dict[str, float]:
    """What `near` has to find, by asking every other component itself."""
    own_K = store.component(cas).boiling_point(pressure_Pa).value
    found = {}
    for other in store.curve_bank.cas:
        component = store.component(other)
        melting = component.held("melting_point")
        try:
            T_K = component.boiling_point(pressure_Pa).value
        except CutpointError:
            continue
        is_solid = melting is not None and melting.value - melting.u95 > T_K
        if other != cas and abs(T_K - own_K) <= within_K and not is_solid:
            found[other] = T_K
    return found


@given(cas=st.sampled_from(CURVED), pressure_Pa=st.floats(15e3, 100e3), within_K=st.floats(0.5, 200.0))
def test_near_finds_what_asking_each_component_finds(
    store: db.Store, cas: str, pressure_Pa: float, within_K: float
) -> None:
    told = store.near(cas, within_K, pressure_Pa)
    expected = names_and_temperatures(store, cas, within_K, pressure_Pa)
    assert {neighbour.cas for neighbour in told.neighbours} == set(expected)
    for neighbour in told.neighbours:
        assert neighbour.boiling_point_K == pytest.approx(expected[neighbour.cas], rel=1e-12)
    assert [abs(other.delta_K) for other in told.neighbours] == sorted(abs(other.delta_K) for other in told.neighbours)


def test_near_counts_what_no_curve_reaches(store: db.Store) -> None:
    bank = store.curve_bank
    for pressure_Pa in (300.0, 20e3, 84e3):
        reached = {cas for cas, T_K in zip(bank.cas, bank.boiling_points(pressure_Pa).value, strict=True) if T_K > 0.0}
        normal = {row[0] for row in store.rows("SELECT cas FROM evaluation WHERE property = 'normal_boiling_point'")}
        assert store.near("toluene", 5.0, pressure_Pa).without_curve == len(normal - reached)


def test_near_marks_estimates(store: db.Store) -> None:
    told = store.near("o-xylene", 160.0, 50e3)
    marked = {neighbour.cas: neighbour.grade for neighbour in told.neighbours if neighbour.is_estimate}
    assert marked == {"56-81-5": "D"}
    assert "glycerol [56-81-5], grade D, an estimate" in str(told)
    assert told.remark is None and told.grade == "A"
    own = store.near("glycerol", 160.0, 50e3)
    assert own.grade == "D" and own.remark is not None and own.remark.startswith("estimated from")


def test_what_sublimes_is_near_where_its_liquid_is(store: db.Store) -> None:
    """It boils at 233.0 K at 1 MPa; R. Span, W. Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, from memory."""
    told = store.near("carbon dioxide", 500.0, 1e6)
    assert told.boiling_point_K == pytest.approx(233.0, abs=0.5)
    assert "56-81-5" in {neighbour.cas for neighbour in told.neighbours}
    back = store.near("glycerol", 500.0, 1e6)
    assert "124-38-9" in {neighbour.cas for neighbour in back.neighbours}
    assert "124-38-9" not in {neighbour.cas for neighbour in store.near("glycerol", 500.0, 3e5).neighbours}


def test_a_pair_says_what_rests_on_an_estimate(store: db.Store) -> None:
    at_one_atmosphere, reduced = store.pair("glycerol", "o-xylene"), store.pair("glycerol", "o-xylene", 50e3)
    for pair in (at_one_atmosphere, reduced):
        told = [reason for reason in pair.reasons if reason.startswith("The relative volatility rests on an estimated")]
        assert told == [
            "The relative volatility rests on an estimated curve of glycerol: "
            "no correlation of that vapour pressure is held."
        ]
        assert not any("grade D" in reason for reason in pair.reasons)
    assert any("glycerol is estimated from the normal boiling point" in reason for reason in reduced.reasons)
    assert not any("estimated" in reason for reason in store.pair("benzene", "toluene").reasons)

"""What boils near what."""

from __future__ import annotations

import dataclasses
import json

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


def test_near_leaves_out_what_would_be_a_solid(store: db.Store) -> None:
    told = {neighbour.cas for neighbour in store.near("toluene", 25.0, 2e3).neighbours}
    at_20_kPa = {neighbour.cas for neighbour in store.near("toluene", 25.0, 20e3).neighbours}
    assert "123-91-1" in at_20_kPa and "123-91-1" not in told


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

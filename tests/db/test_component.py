"""Boiling points and vapour pressures of one component, and what has none."""

from __future__ import annotations

import dataclasses
import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from cutpoint import db
from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.errors import ImpossibleQuantity, NoValue, OutOfRange
from cutpoint.schema.properties import ATMOSPHERE_PA

WITH_CURVE = ("7732-18-5", "64-17-5", "141-78-6", "110-54-3", "67-64-1", "108-88-3", "71-43-2", "110-82-7", "60-29-7")


def test_normal_boiling_point_is_the_evaluated_one(store: db.Store) -> None:
    told = store.component("141-78-6").boiling_point()
    assert (told.value, told.u95, told.unit, told.grade, told.n_sources) == (350.25, 0.3, "K", "A", 5)
    assert told.sources == ("demo_a", "demo_b")
    assert not told.extrapolated


@pytest.mark.parametrize("cas", WITH_CURVE)
def test_the_two_answers_meet_at_one_atmosphere(store: db.Store, cas: str) -> None:
    component = store.component(cas)
    at, beside = component.boiling_point(), component.boiling_point(ATMOSPHERE_PA * (1 - 1e-9))
    assert beside.value == pytest.approx(at.value, rel=1e-9)
    assert beside.u95 == pytest.approx(at.u95, rel=1e-6)
    assert component.vapour_pressure(at.value) == pytest.approx(ATMOSPHERE_PA, rel=1e-9)


def test_water_under_reduced_pressure(store: db.Store) -> None:
    """Saturation at 84 kPa is 368.0 K; W. Wagner, A. Pruß, J. Phys. Chem. Ref. Data 31 (2002) 387, from memory."""
    told = store.component("water").boiling_point(84_000)
    assert told.value == pytest.approx(368.0, abs=0.2)
    assert 0.05 < told.u95 < 0.5
    assert told.sources == ("demo_a", "demo_b", "demo_curves")


def test_uncertainty_grows_with_distance_and_beyond_the_range(store: db.Store) -> None:
    ethyl_acetate = store.component("ethyl acetate")
    told = [ethyl_acetate.boiling_point(p) for p in (95e3, 60e3, 10e3, 3e3)]
    assert [value.extrapolated for value in told] == [False, False, False, True]
    widths = [value.u95 / value.value for value in told]
    assert widths[0] < widths[1]
    inside, outside = (ethyl_acetate.evaluated_vapour_pressure(T) for T in (300.0, 262.0))
    assert outside.extrapolated and outside.u95 / outside.value > inside.u95 / inside.value


@pytest.mark.parametrize("pressure_Pa", [0.0, -1.0, math.nan, math.inf])
def test_impossible_pressure(store: db.Store, pressure_Pa: float) -> None:
    with pytest.raises(ImpossibleQuantity):
        store.component("ethanol").boiling_point(pressure_Pa)


@pytest.mark.parametrize("T_K", [0.0, -5.0, math.nan, [300.0, -1.0]])
def test_impossible_temperature(store: db.Store, T_K: float | list[float]) -> None:
    with pytest.raises(ImpossibleQuantity):
        store.component("ethanol").vapour_pressure(T_K)


def test_beyond_the_range(store: db.Store) -> None:
    ethanol = store.component("ethanol")
    spans = (
        r"It is valid from -57\.0 °C \(7\.08 Pa\) to 80\.0 °C \(108 kPa\)\. Beyond that, down to -78\.6 °C "
        r"\(0\.316 Pa\) and up to 115\.3 °C \(377 kPa\), its answers are extrapolated and marked so\."
    )
    with pytest.raises(OutOfRange, match=rf"does not carry to 0\.001 Pa\. {spans}"):
        ethanol.boiling_point(1e-3)
    with pytest.raises(OutOfRange, match="critical pressure, 6140 kPa"):
        ethanol.boiling_point(8e6)
    with pytest.raises(OutOfRange, match=r"326\.9 °C \(600 K\): above its critical temperature, 240\.8 °C"):
        ethanol.vapour_pressure(600.0)
    with pytest.raises(OutOfRange, match=rf"does not carry to -153\.1 °C \(120 K\)\. {spans}"):
        ethanol.vapour_pressure([300.0, 120.0])


@pytest.mark.parametrize(
    ("cas", "words"),
    [
        ("124-38-9", "sublimes"),
        ("57-50-1", "decomposes"),
        ("8032-32-4", "boiling range"),
        ("50-99-7", "no boiling point"),
    ],
)
def test_what_does_not_boil(store: db.Store, cas: str, words: str) -> None:
    with pytest.raises(NoValue, match=words):
        store.component(cas).boiling_point()


def test_without_a_curve(store: db.Store) -> None:
    butanoic = store.component("butanoic acid")
    assert butanoic.boiling_point().value == 436.9
    assert butanoic.curve is None
    with pytest.raises(NoValue, match="normal boiling point"):
        butanoic.boiling_point(50_000)
    with pytest.raises(NoValue):
        butanoic.vapour_pressure(400.0)


def test_stream_has_no_vapour_pressure(store: db.Store) -> None:
    with pytest.raises(NoValue, match="stream"):
        store.component("petroleum ether").vapour_pressure(300.0)


def test_number_gives_number(store: db.Store) -> None:
    assert type(store.component("water").vapour_pressure(300.0)) is float


@given(
    T_K=hnp.arrays(np.float64, hnp.array_shapes(min_dims=1, max_dims=3, max_side=4), elements=st.floats(280.0, 370.0))
)
def test_array_keeps_its_shape(store: db.Store, T_K: np.ndarray) -> None:
    water = store.component("water")
    pressures = water.vapour_pressure(T_K)
    assert isinstance(pressures, np.ndarray) and pressures.shape == T_K.shape
    assert pressures.flat[0] == water.vapour_pressure(float(T_K.flat[0]))


@given(cas=st.sampled_from(WITH_CURVE), share=st.floats(0.0, 1.0))
def test_temperature_to_pressure_and_back(store: db.Store, cas: str, share: float) -> None:
    component = store.component(cas)
    assert component.curve_bank is not None
    low, high = (float(limit[0]) for limit in component.curve_bank.limits_K())
    T_K = low + share * (high - low)
    pressure_Pa = component.vapour_pressure(T_K)
    assert component.boiling_point(pressure_Pa).value == pytest.approx(T_K, rel=1e-9)


def test_bank_agrees_with_single_curves(store: db.Store) -> None:
    bank = store.curve_bank
    at_300 = bank.vapour_pressures(300.0).value
    assert at_300.shape == (len(bank),)
    for cas, pressure_Pa in zip(bank.cas, at_300, strict=True):
        if cas == "56-81-5":  # its curve begins higher up
            assert np.isnan(pressure_Pa)
            continue
        assert pressure_Pa == pytest.approx(store.component(cas).vapour_pressure(300.0), rel=1e-12)
    both = bank.vapour_pressures(np.array([[290.0], [300.0]])).value
    assert both.shape == (2, len(bank))
    np.testing.assert_allclose(both[1], at_300)


def test_evidence(store: db.Store) -> None:
    ethanol = store.component("ethanol")
    assert {seen.status for seen in ethanol.observations()} == {"accepted", "outlier"}
    assert [held.property for held in ethanol.evaluations()] == [
        "critical_pressure", "critical_temperature", "normal_boiling_point",
    ]  # fmt: skip
    assert ethanol.evaluated("critical_temperature").value == 513.9
    with pytest.raises(NoValue):
        ethanol.evaluated("melting_point")


def test_prints_and_converts(store: db.Store) -> None:
    ethanol = store.component("ethanol")
    assert str(ethanol) == "ethanol [64-17-5] C2H6O, 46.069 g/mol, boils at 78.3 °C ± 0.2 K (grade A)"
    assert str(ethanol.boiling_point()) == "78.3 °C ± 0.2 K at 101.325 kPa, grade A"
    assert "kPa" in str(ethanol.evaluated_vapour_pressure(300.0))
    for result in (ethanol, ethanol.boiling_point(), ethanol.curve, *ethanol.evaluations(), *ethanol.observations()):
        assert result is not None
        json.dumps(dataclasses.asdict(result))
        assert str(result)
    with pytest.raises(dataclasses.FrozenInstanceError):
        ethanol.name = "spirit"  # type: ignore[misc]


def test_a_refused_boiling_point_does_not_come_back_through_the_curve(store: db.Store) -> None:
    ammonium_bromide = store.component("ammonium bromide")
    assert ammonium_bromide.curve is not None
    for ask in (ammonium_bromide.boiling_point, lambda: ammonium_bromide.boiling_point(50e3)):
        with pytest.raises(NoValue, match="boils below its melting point"):
            ask()
    with pytest.raises(NoValue, match="refused"):
        ammonium_bromide.vapour_pressure(500.0)
    with pytest.raises(NoValue, match="refused"):
        store.near("ammonium bromide", pressure_Pa=50e3)
    with pytest.raises(NoValue, match="refused"):
        store.pair("ammonium bromide", "toluene", 50e3)
    assert ammonium_bromide.curve_bank is None and "12124-97-9" not in store.curve_bank.cas


def test_below_the_melting_point_is_said(store: db.Store) -> None:
    dioxane, p_xylene = store.component("1,4-dioxane"), store.component("p-xylene")
    assert dioxane.boiling_point(20e3).remark is None
    told = dioxane.boiling_point(2e3)
    assert told.remark is not None and told.remark.startswith("below the melting point (11.8 °C): a solid there")
    assert told.remark in str(told)
    with pytest.raises(OutOfRange, match=r"melting point, 11\.8 °C.* from about 2\.\d kPa up"):
        dioxane.boiling_point(1e3)
    # A melting point of grade D is doubted rather than obeyed.
    doubtful = p_xylene.boiling_point(3e2)
    assert 286.4 - doubtful.value > 5.0 and doubtful.remark is not None


def test_empty_arrays_are_answered_with_empty_arrays(store: db.Store) -> None:
    none = store.component("water").vapour_pressure(np.empty((0, 3)))
    assert isinstance(none, np.ndarray) and none.shape == (0, 3)


def test_the_curve_as_the_store_holds_it(store: db.Store) -> None:
    curve = store.component("ethanol").curve
    assert curve is not None and not curve.is_estimate
    assert (curve.rule, curve.basis, curve.grade, curve.n_sources) == ("chosen", "correlated", "B", 2)
    assert curve.T_lowest_K < curve.T_min_K < curve.T_max_K < curve.T_highest_K
    assert curve.band_pressures_Pa == BAND_PRESSURES_PA and len(curve.band_u95_relative) == len(BAND_PRESSURES_PA)
    assert str(curve).startswith("antoine (chosen) from demo_curves, -57.0 °C to 80.0 °C")

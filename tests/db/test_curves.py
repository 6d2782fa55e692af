"""Many curves at once: values, bands, limits, and the search for those that boil in a window."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.schema.equations import BAND_PRESSURES_PA, ln_pressure, ln_pressure_slope, pad

BAND = (0.09, 0.08, 0.06, 0.04, 0.03, 0.01, 0.02, 0.07)

# Invented curves, of the usual size of the constants.
FORMS = {
    "antoine": ((20.7, 2697.5, -48.8), 250.0, 380.0, 225.0, 418.0),
    "antoine_extended": ((21.0, 2800.0, -50.0, 562.0, 80.0, 2.4, 40.0, -900.0), 290.0, 500.0, 261.0, 540.0),
    "wagner_3_6": ((-7.3, 1.4, -2.8, -2.8, 591.7, 4.1e6), 309.0, 591.7, 278.0, 591.7),
    "wagner_2.5_5": ((-7.9, 1.8, -2.5, -3.3, 560.0, 4.5e6), 290.0, 560.0, 180.0, 560.0),
    "kirchhoff": ((73.6, -7258.2, -7.3, 4.2e-6, 2.0), 280.0, 600.0, 260.0, 640.0),
}


def row(name: str, equation: str, stretch: float = 1.0) -> tuple[object, ...]:
    """A curve with its temperatures stretched, as far as its form lets them be."""
    coefficients, *ends_K = FORMS[equation]
    if equation == "antoine":
        a, b, c = coefficients
        coefficients = (a, b * stretch, c * stretch)
    elif equation.startswith("wagner"):
        coefficients = (*coefficients[:4], coefficients[4] * stretch, coefficients[5])
    else:
        stretch = 1.0
    return (name, equation, pad(coefficients), *(end_K * stretch for end_K in ends_K), BAND, 3)


@pytest.fixture(scope="module")
def bank() -> db.CurveBank:
    """Every form, most of them at many stretches."""
    stretches = np.linspace(0.6, 1.6, 41)
    rows = [row(f"{equation} {stretch:.3f}", equation, stretch) for equation in FORMS for stretch in stretches]
    return db.CurveBank(rows)


@pytest.mark.parametrize("equation", FORMS)
def test_a_lone_curve_answers_as_it_does_among_others(bank: db.CurveBank, equation: str) -> None:
    lone = db.CurveBank([row(f"{equation} 1.000", equation)])
    [place] = [place for place, name in enumerate(bank.cas) if name == f"{equation} 1.000"]
    for of_lone, of_all in (
        (lone.boiling_points(84e3), bank.boiling_points(84e3)),
        (lone.vapour_pressures(350.0), bank.vapour_pressures(350.0)),
    ):
        assert of_lone.value[0] == pytest.approx(of_all.value[place], rel=1e-12)
        assert of_lone.u95[0] == pytest.approx(of_all.u95[place], rel=1e-12)
        assert of_lone.extrapolated[0] == of_all.extrapolated[place]
    coefficients = pad(FORMS[equation][0])
    assert lone.pressures_Pa(350.0)[0] == pytest.approx(math.exp(ln_pressure(equation, coefficients, 350.0)), rel=1e-12)


@pytest.mark.parametrize("equation", FORMS)
def test_the_band_at_its_pressures_between_and_beyond(equation: str) -> None:
    """Linear in ln p between the stated pressures, the end values beyond."""
    lone = db.CurveBank([row("any", equation)])
    coefficients = pad(FORMS[equation][0])
    between = np.sqrt(np.array(BAND_PRESSURES_PA[:-1]) * np.array(BAND_PRESSURES_PA[1:]))
    halves = (np.array(BAND[:-1]) + np.array(BAND[1:])) / 2.0
    told = 0
    for pressure_Pa, band in [*zip(BAND_PRESSURES_PA, BAND, strict=True), *zip(between, halves, strict=True)]:
        boiling = lone.boiling_points(pressure_Pa)
        if math.isnan(boiling.value[0]):
            continue
        told += 1
        slope = float(ln_pressure_slope(equation, coefficients, boiling.value[0]))
        assert boiling.u95[0] == pytest.approx(band / slope, rel=1e-9)
        pressures = lone.vapour_pressures(boiling.value[0])
        assert pressures.u95[0] / pressures.value[0] == pytest.approx(band, rel=1e-6)
    assert told >= 5


def test_the_band_holds_its_end_values() -> None:
    coefficients, *_ = FORMS["wagner_2.5_5"]
    dense = (*coefficients[:5], 5e7)
    lone = db.CurveBank([("dense", "wagner_2.5_5", pad(dense), 150.0, 560.0, 120.0, 560.0, BAND, 3)])
    low, high = lone.vapour_pressures(125.0), lone.vapour_pressures(559.0)
    assert low.value[0] < BAND_PRESSURES_PA[0] and high.value[0] > BAND_PRESSURES_PA[-1]
    assert low.u95[0] / low.value[0] == pytest.approx(BAND[0])
    assert high.u95[0] / high.value[0] == pytest.approx(BAND[-1])


def test_limits_mark_and_end_a_curve() -> None:
    lone = db.CurveBank([row("any", "antoine")])
    T_K = np.array([[224.9], [225.0], [249.9], [250.0], [380.0], [380.1], [418.0], [418.1], [math.nan], [-5.0]])
    values = lone.vapour_pressures(T_K)
    assert np.isnan(values.value[:, 0]).tolist() == [True, *[False] * 6, True, True, True]
    assert values.extrapolated[:, 0].tolist() == [False, True, True, False, False, True, True, False, False, False]
    assert np.isnan(values.u95[:, 0]).tolist() == np.isnan(values.value[:, 0]).tolist()
    np.testing.assert_array_equal(lone.pressures_Pa(T_K), values.value)
    assert lone.carries(T_K)[:, 0].tolist() == [False, *[True] * 6, False, False, False]
    assert [float(end[0]) for end in (*lone.range_K(), *lone.limits_K())] == [250.0, 380.0, 225.0, 418.0]


def test_shapes(bank: db.CurveBank) -> None:
    assert bank.pressures_Pa(350.0).shape == (len(bank),)
    assert bank.pressures_Pa(np.full((2, 3, 1), 350.0)).shape == (2, 3, len(bank))
    assert bank.vapour_pressures(np.full((4, len(bank)), 350.0)).u95.shape == (4, len(bank))
    assert bank.pressures_Pa(np.empty((0, 1))).shape == (0, len(bank))
    empty = db.CurveBank([])
    assert empty.boiling_points(1e5).value.shape == (0,) and empty.pressures_Pa(300.0).shape == (0,)
    places, none = empty.boiling_between(1e5, 300.0, 310.0)
    assert places.shape == none.value.shape == (0,)


@given(pressure_Pa=st.floats(-5.0, 17.0).map(math.exp))
def test_what_reaches_a_pressure_boils_there(bank: db.CurveBank, pressure_Pa: float) -> None:
    np.testing.assert_array_equal(bank.reaches(pressure_Pa), np.isfinite(bank.boiling_points(pressure_Pa).value))


@given(
    pressure_Pa=st.floats(-3.0, 16.0).map(math.exp),
    centre_K=st.floats(100.0, 900.0),
    within_K=st.floats(1e-3, 300.0),
)
def test_the_window_gives_what_inverting_every_curve_gives(
    bank: db.CurveBank, pressure_Pa: float, centre_K: float, within_K: float
) -> None:
    places, there = bank.boiling_between(pressure_Pa, centre_K - within_K, centre_K + within_K)
    everywhere = bank.boiling_points(pressure_Pa)
    off_K = np.abs(everywhere.value - centre_K)
    # On the very edge either answer is right: the two searches round differently.
    assert set(np.flatnonzero(off_K <= within_K - 1e-9)) <= set(places.tolist())
    assert set(places.tolist()) <= set(np.flatnonzero(off_K <= within_K + 1e-6))
    np.testing.assert_allclose(there.value, everywhere.value[places], rtol=1e-12)
    np.testing.assert_allclose(there.u95, everywhere.u95[places], rtol=1e-9)
    np.testing.assert_array_equal(there.extrapolated, everywhere.extrapolated[places])


def test_a_part_of_a_bank(bank: db.CurveBank) -> None:
    places = np.array([3, 50, 130, 200])
    part = bank.take(places)
    assert part.cas == tuple(bank.cas[place] for place in places)
    np.testing.assert_allclose(part.pressures_Pa(360.0), bank.pressures_Pa(360.0)[places])
    assert len(bank) == 205 and part.n_sources.tolist() == [3] * 4

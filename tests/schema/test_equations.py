"""Vapour-pressure equations: published values, slopes, and temperature → pressure → temperature."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.schema.equations import (
    COEFFICIENT_NAMES,
    FORMS,
    WIDTH,
    ln_pressure,
    ln_pressure_slope,
    pad,
    temperature_at,
)

LN10 = np.log(10.0)

# One substance each, with the range in which the curve holds, K.
CURVES = {
    # Water, from memory (log10 of mmHg against °C: 8.07131, 1730.63, 233.426).
    "antoine": ([8.07131 * LN10 + np.log(133.322), 1730.63 * LN10, 233.426 - 273.15], 274.0, 373.15),
    # Invented, of the usual size of the constants, joined at t0 = 80 °C.
    "antoine_extended": ([21.0, 2800.0, -50.0, 562.0, 80.0, 2.4, 40.0, -900.0], 290.0, 540.0),
    # Toluene, J. McGarry, Ind. Eng. Chem. Process Des. Dev. 22 (1983) 313-322.
    "wagner_3_6": ([-7.28607, 1.38091, -2.83433, -2.79168, 591.72, 4.10645e6], 309.0, 591.0),
    # Toluene, Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, 5th edition, 2001, appendix A.
    "wagner_2.5_5": ([-7.316, 1.59425, -1.93165, -3.7222, 591.8, 4.106e6], 178.18, 591.0),
    # Water, Green and Perry, Perry's Chemical Engineers' Handbook, 8th edition, table 2-8; from memory.
    "kirchhoff": ([73.649, -7258.2, -7.3037, 4.1653e-6, 2.0], 273.16, 647.0),
}


def test_every_form_is_tested() -> None:
    assert set(CURVES) == set(FORMS) == set(COEFFICIENT_NAMES)
    for equation, (coefficients, _, _) in CURVES.items():
        assert len(coefficients) == len(COEFFICIENT_NAMES[equation])


@pytest.mark.parametrize("equation", ["antoine", "kirchhoff"])
def test_water_boils_at_one_atmosphere(equation: str) -> None:
    """373.124 K at 101 325 Pa on ITS-90 (W. Wagner, A. Pruß, J. Phys. Chem. Ref. Data 31 (2002) 387)."""
    coefficients, low, high = CURVES[equation]
    T_K = temperature_at(equation, pad(coefficients), 101_325.0, low, high + 1.0)
    assert float(T_K) == pytest.approx(373.124, abs=0.2)


@pytest.mark.parametrize("equation", ["wagner_3_6", "wagner_2.5_5"])
def test_toluene_boils_at_one_atmosphere(equation: str) -> None:
    """383.75 K, CRC Handbook of Chemistry and Physics, from memory."""
    coefficients, low, high = CURVES[equation]
    T_K = temperature_at(equation, pad(coefficients), 101_325.0, low, high)
    assert float(T_K) == pytest.approx(383.75, abs=0.15)


@given(equation=st.sampled_from(sorted(CURVES)), share=st.floats(0.0, 1.0))
def test_there_and_back(equation: str, share: float) -> None:
    coefficients, low, high = CURVES[equation]
    T_K = low + share * (high - low)
    pressure_Pa = np.exp(ln_pressure(equation, pad(coefficients), T_K))
    back = temperature_at(equation, pad(coefficients), pressure_Pa, low, high)
    assert float(back) == pytest.approx(T_K, rel=1e-9)


@given(equation=st.sampled_from(sorted(CURVES)), share=st.floats(0.01, 0.99))
def test_slope_is_the_derivative(equation: str, share: float) -> None:
    coefficients, low, high = CURVES[equation]
    T_K, step = low + share * (high - low), 1e-4
    above, below = (ln_pressure(equation, pad(coefficients), T) for T in (T_K + step, T_K - step))
    slope = float(ln_pressure_slope(equation, pad(coefficients), T_K))
    assert slope == pytest.approx(float(above - below) / (2 * step), rel=1e-4)
    assert slope > 0.0


@pytest.mark.parametrize("equation", sorted(CURVES))
def test_outside_the_bounds_is_nan(equation: str) -> None:
    coefficients, low, high = CURVES[equation]
    pressures = np.exp(ln_pressure(equation, pad(coefficients), np.array([low, high])))
    outside = temperature_at(equation, pad(coefficients), pressures * [0.5, 2.0], low, high)
    assert np.isnan(outside).all()


@given(shape=st.lists(st.integers(1, 4), max_size=2).map(tuple))
def test_broadcasting(shape: tuple[int, ...]) -> None:
    coefficients = np.stack([pad(CURVES["antoine"][0])] * 3)
    T_K = np.full((*shape, 1), 320.0)
    assert ln_pressure("antoine", coefficients, T_K).shape == (*shape, 3)
    pressures = np.full((*shape, 1), 20_000.0)
    assert temperature_at("antoine", coefficients, pressures, 280.0, 370.0).shape == (*shape, 3)


def test_pad() -> None:
    assert pad([1.0, 2.0]).shape == (WIDTH,)
    assert np.isnan(pad([1.0, 2.0])[2:]).all()

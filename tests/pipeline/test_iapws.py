"""The saturation line of water against the check values of the release."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.iapws import (
    CRITICAL_PRESSURE_PA,
    CRITICAL_TEMPERATURE_K,
    T_MIN_K,
    saturation_pressure,
    saturation_temperature,
)

# IAPWS R7-97(2012), tables 35 and 36 (from memory), to the digits printed.
PRESSURES = [(300.0, 0.353658941e4), (500.0, 0.263889776e7), (600.0, 0.123443146e8)]
TEMPERATURES = [(0.1e6, 0.372755919e3), (1e6, 0.453035632e3), (10e6, 0.584149488e3)]


@pytest.mark.parametrize(("T_K", "p_Pa"), PRESSURES)
def test_check_values_of_the_pressure(T_K: float, p_Pa: float) -> None:
    assert saturation_pressure(T_K) == pytest.approx(p_Pa, rel=2e-9)


@pytest.mark.parametrize(("p_Pa", "T_K"), TEMPERATURES)
def test_check_values_of_the_temperature(p_Pa: float, T_K: float) -> None:
    assert saturation_temperature(p_Pa) == pytest.approx(T_K, rel=2e-9)


def test_it_ends_in_the_critical_point_and_boils_where_water_does() -> None:
    assert saturation_pressure(CRITICAL_TEMPERATURE_K) == pytest.approx(CRITICAL_PRESSURE_PA, rel=1e-6)
    # W. Wagner, A. Pruß, J. Phys. Chem. Ref. Data 31 (2002) 387-535: 373.124 K (from memory).
    assert saturation_temperature(101_325.0) == pytest.approx(373.124, abs=0.001)


@given(st.floats(T_MIN_K, CRITICAL_TEMPERATURE_K))
def test_one_equation_is_the_inverse_of_the_other(T_K: float) -> None:
    assert saturation_temperature(saturation_pressure(T_K)) == pytest.approx(T_K, rel=1e-8)


def test_it_takes_arrays() -> None:
    T_K = np.array([[300.0, 400.0], [500.0, 600.0]])
    assert saturation_pressure(T_K).shape == T_K.shape

"""How figures read."""

from __future__ import annotations

import pytest
from cutpoint.planner.figures import celsius, pressure, quantity, rounded
from hypothesis import given
from hypothesis import strategies as st


@pytest.mark.parametrize(
    ("value", "u95", "shown"),
    [
        (350.2566, 0.2468, ("350.26", "0.25")),
        (350.2566, 0.0996, ("350.26", "0.10")),
        (350.2566, 0.00996, ("350.257", "0.010")),
        (350.2566, 12.34, ("350", "12")),
        (3_876_543.0, 12_345.0, ("3877000", "12000")),
        (-0.001, 0.2, ("0.00", "0.20")),
        (350.2566, 0.0, ("350.257", "0")),
        (0.5, 9.96, ("0", "10")),
    ],
)
def test_uncertainties_have_two_significant_digits_and_values_the_same_place(
    value: float, u95: float, shown: tuple[str, str]
) -> None:
    assert rounded(value, u95) == shown


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6))
def test_rounding_stays_within_a_twentieth_of_the_uncertainty(value: float, u95: float) -> None:
    shown, spread = map(float, rounded(value, u95))
    assert shown == pytest.approx(value, abs=0.0501 * u95)
    assert spread == pytest.approx(u95, rel=0.0501)


def test_quantities_in_the_units_people_read() -> None:
    assert quantity("normal_boiling_point", 350.26, 0.25, "K") == "77.11 ± 0.25 °C"
    assert quantity("critical_pressure", 3.88e6, 5e4, "Pa") == "3880 ± 50 kPa"
    assert quantity("liquid_density", 900.2, 1.2, "kg_m3") == "0.9002 ± 0.0012 g/mL"
    assert quantity("lower_flammability_limit", 0.02, 0.0015, "1") == "2.00 ± 0.15 vol %"
    assert quantity("acentric_factor", 0.3664, 0.0041, "1") == "0.3664 ± 0.0041"


def test_temperatures_and_pressures() -> None:
    assert celsius(273.14) == "0.0 °C"
    assert pressure(101_325.0) == "101.3 kPa (760 mmHg)"

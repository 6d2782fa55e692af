"""How figures read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.db.matches import celsius
from cutpoint.planner.figures import (
    observed_quantity,
    plain_quantity,
    pressure,
    quantity,
    rounded,
    significant,
)


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
    assert pressure(1e7) == "10000 kPa (75006 mmHg)"


def test_an_exposure_limit_is_read_in_the_unit_of_its_source() -> None:
    assert plain_quantity("exposure_limit", 20e-6, "1") == "20 ppm"
    assert plain_quantity("exposure_limit", 72.025e-6, "kg_m3") == "72.03 mg/m³"


def test_significant_digits() -> None:
    shown = {0.0: "0", 2.0: "2", 22.162: "22.16", 14_405.2: "14405", 1.0337: "1.034"}
    assert {value: significant(value) for value in shown} == shown


def test_observations_keep_the_digits_of_their_source() -> None:
    assert observed_quantity("liquid_density", 1033.7, "kg_m3") == "1.0337 g/mL"
    assert observed_quantity("normal_boiling_point", 350.26, "K") == "77.11 °C"

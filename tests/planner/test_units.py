"""Quantities as typed, and the standard atmosphere."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner import units
from cutpoint.schema.errors import CutpointError, ImpossibleQuantity, OutOfRange, WrongUnit

Parse = Callable[[str], float]


# Factors: ISO 80000-4:2019 and NIST SP 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("text", "value_Pa"),
    [
        ("84 kPa", 84_000.0),
        ("640 mmHg", 640 * 133.322_387_415),
        ("640 mm Hg", 640 * 133.322_387_415),
        ("760 torr", 101_325.0),
        ("760 Torr", 101_325.0),
        ("0.5 bar", 50_000.0),
        ("1 atm", 101_325.0),
        ("12 psi", 12 * 6_894.757_293_168),
        ("12 psia", 12 * 6_894.757_293_168),
        ("840mbar", 84_000.0),
        ("840 hPa", 84_000.0),
        ("84 kpa", 84_000.0),
        ("84,5 kPa", 84_500.0),
        ("101 325 Pa", 101_325.0),
        ("1.01325e5 Pa", 101_325.0),
        ("  .5 bar ", 50_000.0),
    ],
)
def test_pressures(text: str, value_Pa: float) -> None:
    assert units.pressure_Pa(text) == pytest.approx(value_Pa, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "value_K"),
    [
        ("-20 degC", 253.15),
        ("−20 °C", 253.15),
        ("20 C", 293.15),
        ("70 degF", (70 + 459.67) / 1.8),
        ("300 K", 300.0),
        ("0 K", 0.0),
    ],
)
def test_temperatures(text: str, value_K: float) -> None:
    assert units.temperature_K(text) == pytest.approx(value_K, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "value_K"), [("5K", 5.0), ("5 K", 5.0), ("5 degC", 5.0), ("5 °C", 5.0), ("9 degF", 5.0)]
)
def test_temperature_differences_have_no_zero_point(text: str, value_K: float) -> None:
    assert units.temperature_difference_K(text) == pytest.approx(value_K, rel=1e-12)


# 1 ft = 0.3048 m exactly: NIST SP 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("text", "value_m"), [("1600m", 1600.0), ("5200 ft", 1584.96), ("1.6 km", 1600.0), ("-400 m", -400.0)]
)
def test_altitudes(text: str, value_m: float) -> None:
    assert units.altitude_m(text) == pytest.approx(value_m, rel=1e-12)


# 1 lb = 0.453 592 37 kg and 1 in = 0.0254 m exactly: NIST SP 811 (2008), appendix B.8.
@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (units.length_m, "30 cm", 0.3),
        (units.length_m, "12 in", 0.3048),
        (units.mass_kg, "400 g", 0.4),
        (units.mass_kg, "1,5 KG", 1.5),
        (units.mass_kg, "2 lb", 0.907_184_74),
        (units.volume_m3, "500 mL", 5e-4),
        (units.volume_m3, "500 ml", 5e-4),
        (units.volume_m3, "2 L", 2e-3),
        (units.volume_m3, "5 cm3", 5e-6),
        (units.volume_m3, "5 cm³", 5e-6),
        (units.holdup_m3, "0 mL", 0.0),
        (units.flow_m3_s, "2 mL/min", 2e-6 / 60),
        (units.flow_m3_s, "3.6 L / h", 1e-6),
        (units.power_W, "0.15 kW", 150.0),
        (units.power_W, "150 w", 150.0),
        (units.temperature_correction_K, "+0.5 K", 0.5),
        (units.temperature_correction_K, "−0.9 °F", -0.5),
        (units.temperature_correction_K, "0 K", 0.0),
        (units.share, "100 %", 1.0),
    ],
)
def test_quantities_of_the_bench(parse: Parse, text: str, value: float) -> None:
    assert parse(text) == pytest.approx(value, rel=1e-12)


def test_a_mass_or_a_volume() -> None:
    assert units.mass_kg_or_volume_m3("400 g") == (pytest.approx(0.4), None)
    assert units.mass_kg_or_volume_m3("400 mL") == (None, pytest.approx(4e-4))


@pytest.mark.parametrize(("text", "value"), [("95%", 0.95), ("99.5 %", 0.995), ("99,5 percent", 0.995)])
def test_fractions(text: str, value: float) -> None:
    assert units.fraction(text) == value


@pytest.mark.parametrize(
    ("parse", "text", "told"),
    [
        (units.pressure_Pa, "84", "kPa, mbar, mmHg"),
        (units.pressure_Pa, "", "write a number and a unit"),
        (units.pressure_Pa, "kPa", "write a number and a unit"),
        (units.pressure_Pa, "nan kPa", "write a number and a unit"),
        (units.pressure_Pa, "inf Pa", "write a number and a unit"),
        (units.pressure_Pa, "84 flurb", "not known"),
        (units.pressure_Pa, "9**9**9**9 Pa", "not known"),
        (units.pressure_Pa, "84 Pa**99999999", "not known"),
        (units.pressure_Pa, "70 degC", "A pressure is asked for, but '70 degC' is a temperature"),
        (units.pressure_Pa, "3 mol", "quantity of another kind"),
        (units.pressure_Pa, "12 psig", "gauge pressure"),
        (units.pressure_Pa, "101,325 Pa", "decimal or a thousands sign"),
        (units.temperature_K, "84 kPa", "A temperature is asked for, but '84 kPa' is a pressure"),
        (units.temperature_difference_K, "5", "needs one"),
        (units.temperature_difference_K, "5 bar", "is a pressure"),
        (units.altitude_m, "1600", "m, km or ft"),
        (units.altitude_m, "5 K", "is a temperature"),
        (units.fraction, "0.95", "needs one"),
        (units.share, "0.6", "needs one"),
        (units.length_m, "30", "cm, m"),
        (units.mass_kg, "400 mL", "A mass is asked for, but '400 mL' is a volume"),
        (units.volume_m3, "2", "mL, L"),
        (units.flow_m3_s, "2 mL", "A flow is asked for, but '2 mL' is a volume"),
        (units.flow_m3_s, "2 g/min", "is a mass"),
        (units.flow_m3_s, "2 mL/g", "A time is asked for"),
        (units.flow_m3_s, "2 mL/", "mL/min"),
        (units.flow_m3_s, "2 mL/0 s", "not known"),
        (units.power_W, "150 J", "W or kW"),
        (units.temperature_correction_K, "0.5", "needs one"),
    ],
)
def test_wrong_units_say_what_is_usual(parse: Parse, text: str, told: str) -> None:
    with pytest.raises(WrongUnit, match=r"(?s).*") as raised:
        parse(text)
    assert told in raised.value.message


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (units.pressure_Pa, "0 kPa"),
        (units.pressure_Pa, "-1 bar"),
        (units.pressure_Pa, "1e400 Pa"),
        (units.temperature_K, "-1 K"),
        (units.temperature_K, "-300 degC"),
        (units.temperature_difference_K, "0 K"),
        (units.temperature_difference_K, "-5K"),
        (units.fraction, "0%"),
        (units.fraction, "100%"),
        (units.fraction, "150 %"),
        (units.share, "0 %"),
        (units.share, "101 %"),
        (units.length_m, "0 cm"),
        (units.mass_kg, "-1 g"),
        (units.volume_m3, "0 L"),
        (units.holdup_m3, "-1 mL"),
        (units.flow_m3_s, "0 mL/min"),
        (units.flow_m3_s, "1e308 L/as"),
        (units.power_W, "0 W"),
        (units.mass_kg, "1e400 kg"),
    ],
)
def test_impossible_quantities_are_refused(parse: Parse, text: str) -> None:
    with pytest.raises(ImpossibleQuantity):
        parse(text)


@given(st.floats(1e-3, 1e9), st.sampled_from(["Pa", "kPa", "mbar", "bar", "mmHg", "torr", "atm", "psi", "inHg"]))
def test_pressures_round_trip(value: float, unit: str) -> None:
    one = units.pressure_Pa(f"1 {unit}")
    assert units.pressure_Pa(f"{value!r} {unit}") / one == pytest.approx(value, rel=1e-12)


@given(st.floats(-250.0, 2000.0))
def test_temperatures_round_trip(value: float) -> None:
    assert units.temperature_K(f"{value:.6f} degC") - 273.15 == pytest.approx(round(value, 6), abs=1e-9)


@given(st.text(max_size=20), st.sampled_from([units.pressure_Pa, units.temperature_difference_K, units.fraction]))
def test_any_text_gives_a_number_or_a_typed_error(text: str, parse: Parse) -> None:
    try:
        value = parse(text)
    except CutpointError as error:
        assert error.exit_status == 2
    else:
        assert value > 0.0


# ISO 2533:1975, Standard Atmosphere, table of pressure against geometric altitude (hPa);
# the digits are from memory. The tables print five to six significant digits.
@pytest.mark.parametrize(
    ("altitude_m", "pressure_hPa", "last_digit_hPa"),
    [
        (-1000.0, 1139.3, 0.1),
        (0.0, 1013.25, 0.005),
        (1000.0, 898.76, 0.01),
        (2000.0, 795.01, 0.01),
        (5000.0, 540.48, 0.01),
        (10000.0, 264.99, 0.01),
        (11000.0, 226.99, 0.01),
    ],
)
def test_the_standard_atmosphere_is_as_published(altitude_m: float, pressure_hPa: float, last_digit_hPa: float) -> None:
    assert units.standard_atmosphere_pressure_Pa(altitude_m) / 100.0 == pytest.approx(pressure_hPa, abs=last_digit_hPa)


@pytest.mark.parametrize("altitude_m", [-2000.1, 11_000.1, 1e300])
def test_the_standard_atmosphere_ends(altitude_m: float) -> None:
    with pytest.raises(OutOfRange, match="11 000 m"):
        units.standard_atmosphere_pressure_Pa(altitude_m)


@given(st.floats(-2000.0, 10_999.0))
def test_pressure_falls_with_altitude(altitude_m: float) -> None:
    here, above = (units.standard_atmosphere_pressure_Pa(altitude_m + step) for step in (0.0, 1.0))
    assert here > above > 0.0

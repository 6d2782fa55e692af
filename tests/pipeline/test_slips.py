"""Slips on invented figures: each is found where it was made, and claimed only where chance seldom makes it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.consensus import combine, consensus
from cutpoint.pipeline.error_model import weigh
from cutpoint.pipeline.relatives import FORM, ISOMER, STEREOISOMER
from cutpoint.pipeline.slips import (
    MM_HG_PA,
    MOST_BY_CHANCE,
    chance,
    diagnose,
    is_no_figure_of_its_own,
    pressure_at_Pa,
    slips_of,
)
from cutpoint.pipeline.voices import voices
from cutpoint.schema.properties import ICE_POINT_K, PROPERTIES

RIGHT, RELATIVE = "64-17-5", "67-64-1"
NO_KIN = pd.DataFrame(columns=["cas", "relative", "relation"])
COMPONENTS = pd.DataFrame(
    {"cas": [RIGHT, RELATIVE], "name": ["one thing", "another"], "molar_mass_g_mol": [50.0, 50.0]}
)
Said = list[tuple[str, str, str, float]]


def words(said: Said, kin: pd.DataFrame = NO_KIN, step: float = 0.01) -> dict[str, str]:
    """The diagnosis by source, of (source, CAS number, property, value)."""
    witnesses = pd.DataFrame(said, columns=["source", "cas", "property", "value"])
    witnesses = witnesses.assign(observation=range(len(said)), temperature_K=np.nan, fitted=False, step=step)
    agreed = consensus(weigh(voices(witnesses.assign(beyond=False)), None))
    found = diagnose(agreed, combine(agreed), COMPONENTS, kin)
    return dict(zip(agreed.loc[found.index, "source"], found, strict=True))


def three(property: str, value: float, cas: str = RIGHT) -> Said:
    return [(house, cas, property, value * (1.0 + place * 1e-4)) for place, house in enumerate(("one", "two", "three"))]


@pytest.mark.parametrize(
    ("property", "right", "wrong", "told"),
    [
        ("normal_boiling_point", 400.0, 400.0 - 273.15, "the figure of degrees Celsius taken for kelvins"),
        ("melting_point", 400.0, 673.15, "the figure of kelvins taken for degrees Celsius"),
        ("melting_point", ICE_POINT_K - 42.0, ICE_POINT_K + 42.0, "a minus sign of degrees Celsius lost or added"),
        ("flash_point", ICE_POINT_K + 50.0, ICE_POINT_K + 122.0, "degrees Fahrenheit taken for Celsius"),
        ("flash_point", ICE_POINT_K + 50.0, ICE_POINT_K + 10.0, "degrees Celsius taken for Fahrenheit"),
        ("normal_boiling_point", ICE_POINT_K + 146.5, ICE_POINT_K + 46.5, "a hundred degrees lost"),
        ("critical_pressure", 4.0e6, 4.0e7, "a factor of 10"),
        ("critical_pressure", 4.0e6, 4.0e6 * 14.696, "pounds per square inch taken for atmospheres"),
        ("enthalpy_of_vaporization", 40_000.0, 40_000.0 * 4.184, "kilojoules taken for kilocalories"),
        ("enthalpy_of_vaporization", 30_000.0, 600_000.0, "joules per gram taken for kilojoules per mole"),
        ("liquid_density", 800.0, 8000.0, "a factor of 10"),
        ("lower_flammability_limit", 0.011, 0.11, "a factor of 10"),
        ("upper_flammability_limit", 0.008, 0.8, "a factor of 100"),
    ],
)
def test_a_slip_is_named(property: str, right: float, wrong: float, told: str) -> None:
    assert words([*three(property, right), ("astray", RIGHT, property, wrong)]) == {"astray": told}


def test_another_property_printed_in_its_place() -> None:
    said = [
        *three("melting_point", 230.0),
        *three("normal_boiling_point", 420.3),
        ("astray", RIGHT, "melting_point", 420.0),
    ]
    assert words(said) == {"astray": "the boiling point printed in its place"}


@pytest.mark.parametrize(
    ("relation", "told"),
    [
        (STEREOISOMER, "the figure of the stereoisomer another (67-64-1)"),
        (FORM, "the figure of another (67-64-1), another form of it"),
        (ISOMER, "the figure of its isomer another (67-64-1)"),
    ],
)
def test_the_figure_of_a_relative(relation: str, told: str) -> None:
    kin = pd.DataFrame({"cas": [RIGHT], "relative": [RELATIVE], "relation": [relation]})
    said = [*three("melting_point", 300.0), *three("melting_point", 371.2, RELATIVE)]
    assert words([*said, ("astray", RIGHT, "melting_point", 371.2)], kin)["astray"] == told
    assert words([*said, ("astray", RIGHT, "melting_point", 371.9)], kin) == {}


def test_a_boiling_point_at_reduced_pressure_says_at_about_which() -> None:
    # Handbook of Chemistry and Physics, from memory: naphthalene boils at 218 °C, at 10 mmHg at 86 °C.
    told = words([*three("normal_boiling_point", 491.1), ("astray", RIGHT, "normal_boiling_point", 359.0)])
    assert told == {"astray": "reads like its boiling point at about 10 mmHg"}


def test_as_many_blunders_above_as_below_are_no_sign_of_reduced_pressure() -> None:
    said = [*three("normal_boiling_point", 491.1), *three("normal_boiling_point", 490.0, RELATIVE)]
    low, high = ("astray", RIGHT, "normal_boiling_point", 359.0), ("beyond", RELATIVE, "normal_boiling_point", 623.0)
    assert words([*said, low]) != {}
    assert words([*said, low, high]) == {}


@pytest.mark.parametrize(
    ("T_b_K", "T_K", "p_mm_Hg"), [(491.1, 359.2, 10.0), (351.4, 298.15, 59.0), (373.15, 298.15, 23.8)]
)
def test_the_rough_pressure_is_right_within_a_factor_of_four(T_b_K: float, T_K: float, p_mm_Hg: float) -> None:
    # Vapour pressures of naphthalene, ethanol and water; handbook values, from memory.
    rough = pressure_at_Pa(np.array([T_K]), np.array([T_b_K]))[0] / MM_HG_PA
    assert p_mm_Hg / 4.0 < rough < 4.0 * p_mm_Hg


def test_what_lies_near_the_consensus_is_scatter() -> None:
    assert words([*three("normal_boiling_point", 400.0), ("astray", RIGHT, "normal_boiling_point", 405.0)]) == {}


def test_chance_is_counted_on_displaced_values() -> None:
    # Twelve voices spread evenly around what the slip would make: one fits, and displaced as many do.
    spread = pd.Series(np.arange(-12.0, 13.0))
    table = pd.DataFrame({"voice": range(25), "family": "temperature", "kind": "a slip", "tolerance": 0.3, "unit": 1.0})
    rates = chance(table, spread).loc[("temperature", "a slip")]
    assert rates["fits"] == 1
    assert rates["by_chance"] > MOST_BY_CHANCE


def test_what_unit_sign_or_column_made_wrong_is_nobodys_claim() -> None:
    reasons = pd.Series(
        [
            "outside the consensus near 0.011: a factor of 10",
            "outside the consensus near 300 K: the boiling point printed in its place",
            "outside the consensus near 0.011: the figure of its isomer another (67-64-1)",
            "outside the consensus near 0.011",
            None,
        ]
    )
    assert is_no_figure_of_its_own(reasons).tolist() == [True, True, False, False, False]


@given(st.sampled_from([name for name in PROPERTIES if slips_of(name)]), st.floats(min_value=1.0, max_value=1e6))
def test_every_slip_makes_another_figure(property: str, right: float) -> None:
    for slip in slips_of(property):
        made = slip.of(np.array([right]), np.array([50.0]))
        assert np.isfinite(made).all()

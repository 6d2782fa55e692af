"""Statements of the knowledge base: conditions honoured, several values kept, the rest refused with its text."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.live_values import observed
from cutpoint.pipeline.wikidata_terms import PROPERTIES

from .snapshots import BAR, CELSIUS, FAHRENHEIT, G_CM3, KELVIN, KPA, LIQUID, MMHG, PERCENT, SOLID, statement, table

ITEMS = table("wikidata_items", [{"item": "Q1", "cas": "67-64-1"}, {"item": "Q2", "cas": "64-17-5"}])
BOILING, MELTING, DENSITY, PRESSURE, LOWER_LIMIT = "P2102", "P2101", "P2054", "P2119", "P2202"


def read(*statements: dict[str, str], items: pd.DataFrame = ITEMS) -> tuple[pd.DataFrame, pd.DataFrame]:
    values = table("wikidata_values", statements).fillna("")
    values.index = pd.RangeIndex(1, len(values) + 1, name="source_row")
    return observed(values, items.fillna(""))


def one(*statements: dict[str, str]) -> pd.Series:
    """The first observation, where nothing is refused."""
    observations, refused = read(*statements)
    assert refused.empty, refused["reason"].tolist()
    return observations.iloc[0]


def reason(*statements: dict[str, str], items: pd.DataFrame = ITEMS) -> str:
    """Why the last statement is refused."""
    _, refused = read(*statements, items=items)
    assert refused["source_row"].iloc[-1] == len(statements)
    return str(refused["reason"].iloc[-1])


@pytest.mark.parametrize(
    ("amount", "unit", "value_K"),
    [("+56.1", CELSIUS, 329.25), ("132.98", FAHRENHEIT, 329.25), ("329.25", KELVIN, 329.25)],
)
def test_temperatures_become_kelvins(amount: str, unit: str, value_K: float) -> None:
    got = one(statement("Q1", BOILING, amount, unit))
    assert (got["property"], got["unit"], got["cas"], got["raw"]) == ("normal_boiling_point", "K", "67-64-1", amount)
    assert got["value"] == pytest.approx(value_K, abs=1e-9)


@pytest.mark.parametrize(
    ("amount", "unit"), [("760", MMHG), ("1.01325", BAR), ("101.3", KPA), ("1", BAR), ("100", KPA)]
)
def test_a_boiling_point_at_about_one_atmosphere_is_a_normal_one(amount: str, unit: str) -> None:
    got = one(statement("Q1", BOILING, "56.1", CELSIUS, pressure_amount=amount, pressure_unit=unit))
    assert got["property"] == "normal_boiling_point"
    assert got["pressure_Pa"] == pytest.approx(101_325.0, rel=0.015)


@pytest.mark.parametrize(("amount", "unit", "p_Pa"), [("15", MMHG, 1999.84), ("2", KPA, 2000.0), ("2", BAR, 2e5)])
def test_at_another_pressure_it_is_a_point_of_the_curve(amount: str, unit: str, p_Pa: float) -> None:
    got = one(statement("Q1", BOILING, "20.5", CELSIUS, pressure_amount=amount, pressure_unit=unit))
    assert (got["property"], got["unit"]) == ("vapour_pressure", "Pa")
    assert got["value"] == pytest.approx(p_Pa, rel=1e-5)
    assert got["temperature_K"] == pytest.approx(293.65)


def test_a_vapour_pressure_needs_its_temperature() -> None:
    told = one(statement("Q1", PRESSURE, "24.7", KPA, temperature_amount="20", temperature_unit=CELSIUS))
    assert (told["value"], told["temperature_K"]) == (24_700.0, 293.15)
    assert reason(statement("Q1", PRESSURE, "24.7", KPA)) == "a vapour pressure without a temperature"


def test_a_density_is_the_liquids_if_it_says_so_or_the_item_has_melted() -> None:
    said = one(statement("Q1", DENSITY, "0.79", G_CM3, phase=LIQUID))
    assert (said["property"], said["value"]) == ("liquid_density", 790.0)
    molten = [statement("Q1", DENSITY, "0.79", G_CM3), statement("Q1", MELTING, "-95", CELSIUS)]
    assert one(*molten)["value"] == 790.0
    assert "of another phase" in reason(statement("Q1", DENSITY, "0.79", G_CM3, phase=SOLID))
    assert "without its phase" in reason(statement("Q1", DENSITY, "0.79", G_CM3))
    solid = statement("Q1", MELTING, "80", CELSIUS), statement("Q1", DENSITY, "1.14", G_CM3)
    assert "without its phase" in reason(*solid)


def test_several_values_are_several_observations() -> None:
    observations, refused = read(*(statement("Q1", BOILING, amount, CELSIUS) for amount in ("56", "56.1", "133")))
    assert refused.empty
    assert observations["source_row"].tolist() == [1, 2, 3]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (statement("Q1", BOILING, "56", CELSIUS, rank="deprecated"), "deprecated in the knowledge base"),
        (statement("Q1", BOILING, "", ""), "no number is stated"),
        (statement("Q1", BOILING, "56", "1"), "no unit is stated"),
        (statement("Q1", BOILING, "56", BAR), "its unit is none of a temperature: bar"),
        (statement("Q1", BOILING, "56", "Q7"), "a unit that is not known: Q7"),
        (statement("Q1", BOILING, "56", CELSIUS, pressure_amount="2", pressure_unit="Q7"), "its pressure: a unit"),
        (statement("Q1", BOILING, "56", CELSIUS, pressure_amount="0", pressure_unit=KPA), "is not positive"),
        (statement("Q1", BOILING, "56000", CELSIUS), "outside the plausible range: 3 to 6500"),
        (statement("Q1", BOILING, "-300", CELSIUS), "outside the plausible range"),
        (statement("Q1", MELTING, "-20", CELSIUS, pressure_amount="1000", pressure_unit=BAR), "under pressure"),
        (statement("Q1", LOWER_LIMIT, "2.6", "1"), "no unit is stated"),
        (statement("Q1", "P1109", "1.36", "1"), "a property that is not read"),
        (statement("Q9", BOILING, "56", CELSIUS), "its item has no CAS number"),
    ],
)
def test_what_cannot_be_taken_is_refused_with_its_text(row: dict[str, str], words: str) -> None:
    observations, refused = read(row)
    assert observations.empty
    assert words in refused["reason"].iloc[0]
    assert row["item"] in refused["raw"].iloc[0]
    assert row["amount"] in refused["raw"].iloc[0]


def test_an_item_with_several_numbers_speaks_for_none() -> None:
    items = table("wikidata_items", [{"item": "Q1", "cas": "50-21-5"}, {"item": "Q1", "cas": "79-33-4"}])
    assert reason(statement("Q1", BOILING, "122", CELSIUS), items=items) == (
        "its item has several CAS numbers: 50-21-5, 79-33-4"
    )


def test_a_percentage_is_a_fraction() -> None:
    assert one(statement("Q1", LOWER_LIMIT, "2.6", PERCENT))["value"] == pytest.approx(0.026)


@pytest.mark.parametrize(("amount", "value_K"), [("133", 329.15), ("133.0", 329.25), ("132.98", 329.25)])
def test_a_whole_degree_fahrenheit_is_known_to_a_degree_celsius(amount: str, value_K: float) -> None:
    assert one(statement("Q1", BOILING, amount, FAHRENHEIT))["value"] == pytest.approx(value_K, abs=1e-9)


def test_a_refused_melting_point_tells_nothing_of_a_density() -> None:
    melting = statement("Q1", MELTING, "-95", CELSIUS, rank="deprecated")
    assert "without its phase" in reason(melting, statement("Q1", DENSITY, "0.79", G_CM3))


def test_digits_that_nobody_measures_are_rounded_away() -> None:
    assert one(statement("Q1", BOILING, "329.204444444443", KELVIN))["value"] == 329.2
    assert one(statement("Q1", LOWER_LIMIT, "2.59999999999991", PERCENT))["value"] == 0.026
    got = one(statement("Q1", BOILING, "329.204444444443", KELVIN))
    assert got["raw"] == "329.204444444443"


def test_a_snapshot_without_statements_gives_nothing() -> None:
    observations, refused = read()
    assert observations.empty
    assert refused.empty


texts = st.one_of(st.text(max_size=8), st.floats().map(str), st.sampled_from(["", "1", "+3e2", "-0", "１２", "1e999"]))
units = st.sampled_from(["", "1", "Q7", CELSIUS, KELVIN, KPA, MMHG, G_CM3, PERCENT, "mole"])


@given(
    st.lists(
        st.fixed_dictionaries(
            {
                "item": st.sampled_from(["Q1", "Q2", "Q9"]),
                "property": st.sampled_from([*PROPERTIES, "P1"]),
                "rank": st.sampled_from(["preferred", "normal", "deprecated", ""]),
                "phase": st.sampled_from(["", LIQUID, SOLID]),
                "amount": texts,
                "unit": units,
                "pressure_amount": texts,
                "pressure_unit": units,
                "temperature_amount": texts,
                "temperature_unit": units,
            }
        ),
        min_size=1,
        max_size=6,
    )
)
def test_every_statement_is_either_observed_or_refused(rows: list[dict[str, str]]) -> None:
    observations, refused = read(*rows)
    assert sorted([*observations["source_row"], *refused["source_row"]]) == list(range(1, len(rows) + 1))
    assert (observations["value"] > 0).all()
    assert (refused["reason"] != "").all()

"""The tables of measured azeotropes and zeotropic pairs are consistent in themselves and with the store."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pytest

from cutpoint import db

SOURCES = Path(__file__).parents[2] / "pipeline" / "sources"
TABLES = ("measured_azeotropes", "zeotropic_pairs")

ZERO_CELSIUS = 273.15
ATMOSPHERE = 101.325
"""Pressure in kPa."""

NEAR_ATMOSPHERE = 0.2
"""Difference in kPa up to which a row is held against boiling points at one atmosphere; it shifts them by 0.06 K."""


@cache
def _rows(table: str) -> list[dict[str, str]]:
    with (SOURCES / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _pair_and_pressure(row: dict[str, str]) -> tuple[frozenset[str], float]:
    """Both names of an atmosphere, 101.3 and 101.325 kPa, are one pressure."""
    return frozenset((row["cas_a"], row["cas_b"])), round(float(row["pressure_kPa"]), 1)


def _has_valid_check_digit(cas: str) -> bool:
    digits = [int(digit) for digit in cas.replace("-", "")]
    return sum(place * digit for place, digit in enumerate(reversed(digits[:-1]), 1)) % 10 == digits[-1]


@pytest.mark.parametrize(("table", "least"), [("measured_azeotropes", 200), ("zeotropic_pairs", 60)])
def test_table_is_long_enough(table: str, least: int) -> None:
    assert len(_rows(table)) >= least


@pytest.mark.parametrize("table", TABLES)
def test_every_row_has_a_citation_and_few_are_from_memory(table: str) -> None:
    citations = [row["citation"] for row in _rows(table)]
    assert all(citations)
    assert 10 * sum(citation.endswith("; from memory") for citation in citations) <= len(citations)


@pytest.mark.parametrize("table", TABLES)
def test_numbers_and_names_are_those_of_two_components_of_the_store(table: str, store: db.Store) -> None:
    names = dict(store.rows("SELECT cas, name FROM component"))
    for row in _rows(table):
        assert row["cas_a"] != row["cas_b"], row
        for side in "ab":
            assert _has_valid_check_digit(row[f"cas_{side}"]), row
            assert names.get(row[f"cas_{side}"]) == row[f"name_{side}"], row


def test_values_are_in_range() -> None:
    for row in _rows("measured_azeotropes"):
        assert row["kind"] in {"minimum", "maximum", "heterogeneous"}, row
        assert row["ordinal"] in {"1", "2"}, row
        assert 0 < float(row["mass_percent_a"]) < 100, row
        assert float(row["pressure_kPa"]) > 0, row
    assert all(float(row["pressure_kPa"]) > 0 for row in _rows("zeotropic_pairs"))


def test_no_pair_stands_twice_at_a_pressure() -> None:
    azeotropes = [(*_pair_and_pressure(row), row["ordinal"]) for row in _rows("measured_azeotropes")]
    assert len(set(azeotropes)) == len(azeotropes)
    assert all((pair, pressure, "1") in azeotropes for pair, pressure, _ in azeotropes)
    zeotropic = [_pair_and_pressure(row) for row in _rows("zeotropic_pairs")]
    assert len(set(zeotropic)) == len(zeotropic)
    assert not {(pair, pressure) for pair, pressure, _ in azeotropes} & set(zeotropic)


def test_azeotropes_at_one_atmosphere_boil_outside_the_range_of_their_components(store: db.Store) -> None:
    boiling_points = dict(
        store.rows("SELECT cas, value FROM evaluation WHERE property = 'normal_boiling_point' AND value IS NOT NULL")
    )
    compared = 0
    for row in _rows("measured_azeotropes"):
        if abs(float(row["pressure_kPa"]) - ATMOSPHERE) > NEAR_ATMOSPHERE or row["ordinal"] != "1":
            continue
        temperature = float(row["temperature_C"]) + ZERO_CELSIUS
        pure = [boiling_points[row[cas]] for cas in ("cas_a", "cas_b") if row[cas] in boiling_points]
        compared += len(pure) == 2
        if row["kind"] == "maximum":
            assert temperature > max(pure), row
        else:
            assert temperature < min(pure), row
    assert compared > 50

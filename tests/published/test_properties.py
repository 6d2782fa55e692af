"""Enthalpies of vaporisation, critical points and flash points against independent publications.

`enthalpies.csv` (at 298.15 K), `critical_points.csv` and `flash_points.csv`
(closed cup) hold the values with their publications, none of which is a source
of the store. The tolerances were set before the first comparison, by the kind of
publication, and stand in each row with the reason. Left out of the flash points
is dimethyl sulfoxide, whose published 95 °C is of the open cup (from memory).

Each value must agree to its tolerance. Beside that the stated uncertainties are
judged: at least nine in ten intervals must hold the published value, its own
tolerance added.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.schema.properties import ICE_POINT_K

HERE = Path(__file__).parent

Value = tuple[str, str, str, float, float, str]
"""Name, CAS number, property, published value, tolerance in the unit of the property, publication."""


def _rows(file_name: str) -> list[dict[str, str]]:
    with (HERE / file_name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def _value(row: dict[str, str], property: str, published: float, tolerance: float) -> Value:
    return row["name"], row["cas"], property, published, tolerance, row["source"]


def _share(row: dict[str, str], published: float) -> float:
    return float(row["tolerance_percent"]) / 100.0 * published


def _enthalpies() -> list[Value]:
    named = [(row, float(row["enthalpy_J_mol"])) for row in _rows("enthalpies.csv")]
    return [_value(row, "enthalpy_of_vaporization", at, _share(row, at)) for row, at in named]


def _critical_temperatures() -> list[Value]:
    return [
        _value(row, "critical_temperature", float(row["critical_temperature_K"]), float(row["tolerance_K"]))
        for row in _rows("critical_points.csv")
    ]


def _critical_pressures() -> list[Value]:
    named = [(row, float(row["critical_pressure_Pa"])) for row in _rows("critical_points.csv")]
    return [_value(row, "critical_pressure", at, _share(row, at)) for row, at in named]


def _flash_points() -> list[Value]:
    return [
        _value(row, "flash_point", float(row["flash_point_degC"]) + ICE_POINT_K, float(row["tolerance_K"]))
        for row in _rows("flash_points.csv")
        if row["method"].startswith("closed cup")
    ]


SETS = {
    "enthalpy_of_vaporization": _enthalpies(),
    "critical_temperature": _critical_temperatures(),
    "critical_pressure": _critical_pressures(),
    "flash_point": _flash_points(),
}
VALUES = [value for values in SETS.values() for value in values]

each_set = pytest.mark.parametrize("values", [pytest.param(values, id=name) for name, values in SETS.items()])


def _from_memory(value: Value) -> bool:
    return value[-1].startswith("from memory: ")


@each_set
def test_there_are_enough_values_and_most_were_looked_up(values: list[Value]) -> None:
    assert len({cas for _, cas, *_ in values}) == len(values)
    assert sum(not _from_memory(value) for value in values) >= 10
    assert all(source for *_, source in values)


@pytest.mark.parametrize("value", VALUES, ids=lambda value: f"{value[0]}-{value[2]}".replace(" ", "_"))
def test_published_value(store: db.Store, value: Value) -> None:
    _, cas, property, published, tolerance, source = value
    ours = store.component(cas).evaluated(property)
    assert ours.value == pytest.approx(published, abs=tolerance), f"ours {ours}; {source}"


@each_set
def test_nine_in_ten_intervals_hold_the_published_value(store: db.Store, values: list[Value]) -> None:
    held = 0
    for _, cas, property, published, tolerance, _ in values:
        ours = store.component(cas).evaluated(property)
        held += abs(ours.value - published) <= ours.u95 + tolerance
    assert held >= 0.9 * len(values)

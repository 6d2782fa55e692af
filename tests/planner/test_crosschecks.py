"""`card --evidence` against the judges: the table for people, and the object. The rows are invented."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from click.testing import Result

Run = Callable[..., Result]

HEXANE = "110-54-3"
ADDED = f"""
    INSERT INTO crosscheck VALUES
        ('{HEXANE}', 'normal_boiling_point', 0, 'CoolProp 0', 341.88, 341.86, 0.02, 0.5, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 320, 'CoolProp 0', 49999, 50000, -2e-5, 0.02, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 300, 'CoolProp 0', 21900, 11000, 0.99, 0.02, 'differs'),
        ('7732-18-5', 'vapour_pressure', 300, 'CoolProp 0', 3499.99, 3500, -2e-6, 0.02, 'agrees'),
        ('7732-18-5', 'vapour_pressure', 310, 'CoolProp 0', 6000, 6000, 0, 0.02, 'agrees'),
        ('{HEXANE}', 'melting_point', 0, 'order: melts before it boils', 178, 341.88, 0, 0.5, 'agrees');
    INSERT INTO adjudication VALUES
        ('{HEXANE}', 'vapour_pressure', 'ours', 22000, 'Pa', 300, 'an invented handbook', 'the judge is in error');
"""


@pytest.fixture
def card(run: Run, small_store: Path, tmp_path: Path) -> Callable[..., str]:
    """What `card` prints of a store with judges."""
    path = shutil.copy(small_store, tmp_path / "judged.duckdb")
    with duckdb.connect(str(path)) as connection:
        connection.execute(ADDED)

    def ask(*arguments: str) -> str:
        result = run("card", *arguments, CUTPOINT_DB=str(path))
        assert result.exit_code == 0, result.output
        return result.stdout

    return ask


def test_the_table(card: Callable[..., str]) -> None:
    page = [" ".join(line.split()) for line in card("hexane", "--evidence").splitlines()]
    start = page.index("Against the judges, which are never sources")
    assert page[start + 1 : start + 6] == [
        "property temperature ours reference deviation verdict judge",
        "normal boiling point – 68.73 °C 68.71 °C +0.02 K agrees CoolProp 0",
        "melting point – -95.15 °C 68.73 °C 0 K agrees order: melts before it boils",
        "vapour pressure 26.9 °C 21.9 kPa 11 kPa +99.00 % differs at 1 of 2; a third source stands with ours "
        "CoolProp 0",
        "Of several temperatures the worst is shown; `--json` tells them all.",
    ]


def test_agreement_at_several_temperatures_is_one_row(card: Callable[..., str]) -> None:
    (row,) = (line for line in card("water", "--evidence").splitlines() if "CoolProp" in line)
    assert " ".join(row.split()) == "vapour pressure 26.9 °C 3.49999 kPa 3.5 kPa +0.00 % agrees at all 2 CoolProp 0"


def test_without_a_judge_it_is_said(card: Callable[..., str]) -> None:
    assert "No judge knows this component." in card("toluene", "--evidence")
    assert "judge" not in card("hexane")


def test_the_object(card: Callable[..., str]) -> None:
    told: dict[str, Any] = json.loads(card("hexane", "--evidence", "--json"))
    assert told["crosschecks"][2] == {
        "unit": "Pa",
        "property": "vapour_pressure",
        "temperature_K": 300.0,
        "reference": "CoolProp 0",
        "kind": "library",
        "ours": 21900.0,
        "reference_value": 11000.0,
        "deviation": 0.99,
        "tolerance": 0.02,
        "verdict": "differs",
        "stands_with": "ours",
    }
    assert json.loads(card("toluene", "--evidence", "--json"))["crosschecks"] == []
    assert "crosschecks" not in json.loads(card("hexane", "--json"))

"""The standard atmosphere against its published table; `atmosphere.csv` holds the values, in geometric altitude."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from cutpoint.planner.units import standard_atmosphere_pressure_Pa

with (Path(__file__).parent / "atmosphere.csv").open(encoding="utf-8") as file:
    LEVELS = list(csv.DictReader(file))


@pytest.mark.parametrize("row", LEVELS, ids=lambda row: f"{row['altitude_m']}m")
def test_standard_atmosphere_pressure(row: dict[str, str]) -> None:
    ours_Pa = standard_atmosphere_pressure_Pa(float(row["altitude_m"]))
    assert ours_Pa == pytest.approx(float(row["pressure_Pa"]), abs=float(row["precision_Pa"])), row["source"]

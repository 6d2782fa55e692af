"""The judges are never sources, and they are heard."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import cutpoint.pipeline
from cutpoint.pipeline.crosscheck import crosscheck, judges, reference
from cutpoint.schema.equations import WIDTH
from cutpoint.schema.tables import check, empty

WATER = "7732-18-5"


def water_boiling_at(T_b_K: float) -> pd.DataFrame:
    row = {
        "cas": WATER,
        "property": "normal_boiling_point",
        "value": T_b_K,
        "u95": 0.1,
        "unit": "K",
        "temperature_K": np.nan,
        "grade": "A",
        "n_sources": 3,
        "lowest": T_b_K,
        "highest": T_b_K,
        "rule": "test",
    }
    return check("evaluation", pd.DataFrame([row]), "test")


@pytest.mark.parametrize(("T_b_K", "verdict"), [(373.124, "agrees"), (373.15, "agrees"), (375.0, "differs")])
def test_the_boiling_point_of_water_is_judged(T_b_K: float, verdict: str) -> None:
    judged = crosscheck(water_boiling_at(T_b_K), empty("vapour_curve"))
    assert judged["verdict"].tolist() == [verdict]
    assert judged["reference"].tolist() == [reference()]
    # IAPWS-95, Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387: 373.1243 K at 0.101325 MPa.
    assert judged["reference_value"].item() == pytest.approx(373.1243, abs=1e-4)


def test_a_curve_is_judged_only_inside_its_range() -> None:
    curve = {
        "cas": WATER,
        "equation": "antoine",
        "coefficients": [23.1963, 3816.44, -46.13, *[np.nan] * (WIDTH - 3)],
        "T_min_K": 330.0,
        "T_max_K": 400.0,
        "relative_residual": np.nan,
        "u95_relative": 0.05,
        "basis": "correlated",
        "grade": "D",
        "n_sources": 1,
        "source": "test",
    }
    judged = crosscheck(empty("evaluation"), check("vapour_curve", pd.DataFrame([curve]), "test"))
    assert not judged.empty
    assert judged["temperature_K"].between(330.0, 400.0).all()
    assert (judged["deviation"].abs() < 0.01).all()


def test_there_are_more_than_a_hundred_judges() -> None:
    assert len(judges()) > 100


def test_no_other_station_and_no_source_knows_the_judge() -> None:
    folder = Path(cutpoint.pipeline.__file__).parent
    speaking = [
        path.name
        for path in folder.rglob("*.py")
        if re.search(r"^\s*(import|from)\s+CoolProp", path.read_text("utf-8"), flags=re.MULTILINE)
    ]
    assert speaking == ["crosscheck.py"]

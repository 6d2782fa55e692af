"""The judges are never sources, and they are heard."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import cutpoint.pipeline
from cutpoint import db
from cutpoint.pipeline.crosscheck import TOLERANCES, crosscheck, judges, reference
from cutpoint.pipeline.iapws import REFERENCE as IAPWS
from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH
from cutpoint.schema.properties import PROPERTIES
from cutpoint.schema.tables import check, empty

WATER = "7732-18-5"


def water(**values: float) -> pd.DataFrame:
    """Evaluated values of water by property."""
    told = pd.DataFrame({"property": list(values), "value": list(values.values())})
    table = told.assign(
        cas=WATER,
        u95=0.001 * told["value"],
        unit=[PROPERTIES[name].unit for name in told["property"]],
        temperature_K=np.nan,
        grade="A",
        n_sources=3,
        lowest=told["value"],
        highest=told["value"],
        rule="test",
    )
    return check("evaluation", table, "test")


def curve_of_water() -> pd.DataFrame:
    row = {
        "cas": WATER,
        "equation": "antoine",
        "coefficients": [23.1963, 3816.44, -46.13, *[np.nan] * (WIDTH - 3)],
        "T_min_K": 330.0,
        "T_max_K": 400.0,
        "T_lowest_K": 320.0,
        "T_highest_K": 420.0,
        "relative_residual": np.nan,
        "u95_relative": 0.05,
        "band_u95_relative": [0.05] * len(BAND_PRESSURES_PA),
        "rule": "chosen",
        "basis": "correlated",
        "grade": "D",
        "n_sources": 1,
        "source": "test",
    }
    return check("vapour_curve", pd.DataFrame([row]), "test")


def judged(evaluations: pd.DataFrame, curves: pd.DataFrame | None = None) -> pd.DataFrame:
    """The verdicts by property and reference."""
    table = crosscheck(evaluations, empty("vapour_curve") if curves is None else curves, empty("component"))
    return table.set_index(["property", "reference"]).sort_index()


@pytest.mark.parametrize(("T_b_K", "verdict"), [(373.124, "agrees"), (373.15, "agrees"), (375.0, "differs")])
def test_the_boiling_point_of_water_is_judged_twice(T_b_K: float, verdict: str) -> None:
    told = judged(water(normal_boiling_point=T_b_K)).loc["normal_boiling_point"]
    assert set(told.index) == {reference(), IAPWS}
    assert set(told["verdict"]) == {verdict}
    # IAPWS-95, Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387: 373.1243 K at 0.101325 MPa.
    assert told["reference_value"].to_numpy() == pytest.approx(373.1243, abs=1e-4)


def test_every_evaluated_property_of_the_library_is_judged() -> None:
    # W. Wagner, A. Pruß, J. Phys. Chem. Ref. Data 31 (2002) 387-535; enthalpies of vaporisation in kJ/kg times the
    # molar mass of 18.015 g/mol: 2441.7 at 298.15 K, 2256.5 at the boiling point (from memory).
    right = {
        "normal_boiling_point": 373.124,
        "critical_temperature": 647.096,
        "critical_pressure": 22.064e6,
        "acentric_factor": 0.344,
        "liquid_density": 998.2,
        "enthalpy_of_vaporization": 2441.7 * 18.015,
        "enthalpy_of_vaporization_at_boiling_point": 2256.5 * 18.015,
    }
    told = judged(water(**right)).xs(reference(), level="reference")
    assert set(told.index) == set(TOLERANCES) - {"vapour_pressure"}
    assert set(told["verdict"]) == {"agrees"}
    wrong = {name: 1.04 * value for name, value in right.items()} | {"acentric_factor": 0.38}
    assert set(judged(water(**wrong)).xs(reference(), level="reference")["verdict"]) == {"differs"}


def test_a_curve_is_judged_only_inside_its_range() -> None:
    constants = water(normal_boiling_point=373.124, critical_temperature=647.096, critical_pressure=22.064e6)
    told = judged(constants, curve_of_water())
    pressures = told.loc["vapour_pressure"]
    assert set(pressures.index) == {reference(), IAPWS}
    assert pressures["temperature_K"].between(330.0, 400.0).all()
    assert (pressures["deviation"].abs() < 0.01).all()


def test_the_slope_of_a_curve_is_judged_as_an_enthalpy() -> None:
    constants = water(normal_boiling_point=373.124, critical_temperature=647.096, critical_pressure=22.064e6)
    told = judged(constants, curve_of_water()).loc[("enthalpy_of_vaporization", reference())]
    assert (told["deviation"].abs() < 0.02).all()
    assert (told["tolerance"] > TOLERANCES["enthalpy_of_vaporization"]).all()
    assert told["ours"].between(38e3, 44e3).all()


def test_deviations_are_relative_where_the_column_says_so() -> None:
    told = judged(water(critical_pressure=22.0e6, critical_temperature=648.0)).xs(IAPWS, level="reference")
    assert told.loc["critical_pressure", "deviation"] == pytest.approx(22.0 / 22.064 - 1.0)
    assert told.loc["critical_temperature", "deviation"] == pytest.approx(0.904)


def test_there_are_more_than_a_hundred_judges() -> None:
    assert len(judges()) > 100


def test_the_critical_point_is_the_one_that_the_authors_give() -> None:
    # R. Span, W. Wagner, Int. J. Thermophys. 24 (2003) 41-109: heptane, 540.13 K and 2.736 MPa.
    heptane = next(judge for judge in judges() if judge.cas == "142-82-5")
    assert heptane.critical_point() == pytest.approx((540.13, 2.736e6))


def test_no_other_station_and_no_source_knows_the_judge() -> None:
    folder = Path(cutpoint.pipeline.__file__).parent
    judges_modules = {
        "CoolProp": r"^\s*(import|from)\s+CoolProp",
        "iapws": r"^\s*from\s+\.+(iapws\s+import|\s*import\s+.*\biapws\b)",
    }
    for name, imported in judges_modules.items():
        speaking = [
            path.name
            for path in folder.rglob("*.py")
            if re.search(imported, path.read_text("utf-8"), flags=re.MULTILINE)
        ]
        assert speaking == ["crosscheck.py"], name


def test_where_three_houses_tell_an_enthalpy_the_stated_tolerance_holds(store: db.Store) -> None:
    """Nine in ten at least: the tolerance is a 95 % statement of both sides, and neither has seen the other."""
    [(held, n)] = store.rows(
        "SELECT count(*) FILTER (verdict = 'agrees') / count(*), count(*) FROM crosscheck x "
        "JOIN evaluation e USING (cas, property) "
        "WHERE reference LIKE 'Clausius-Clapeyron%' AND e.n_sources >= 3"
    )
    assert n > 200
    assert held >= 0.9


def test_no_order_of_temperatures_is_left_broken_by_more_than_a_few_kelvins(store: db.Store) -> None:
    broken = store.rows(
        "SELECT cas, reference, deviation, tolerance FROM crosscheck "
        "WHERE reference LIKE 'order:%' AND deviation > 2.0 * tolerance"
    )
    assert broken == []

"""Rules of physics between values, and what gives way, on an invented liquid much like hexane."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.enthalpy import by_riedel_and_watson, from_slope
from cutpoint.pipeline.evaluate import Evaluated
from cutpoint.pipeline.physics import (
    ACENTRIC_FACTOR,
    CLAUSIUS_CLAPEYRON,
    COMPARISON,
    END_OF_CURVE,
    comparisons,
    with_constants,
)
from cutpoint.pipeline.reconcile import LEFT_RULE, WIDENED_RULE, contradictions, doubted, without_contradicted
from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH
from cutpoint.schema.properties import ATMOSPHERE_PA, PROPERTIES
from cutpoint.schema.tables import check, empty

CAS = "110-54-3"
T_B_K, T_C_K, P_C_PA = 342.0, 508.0, 3.03e6
HEAT = "enthalpy_of_vaporization_at_boiling_point"
ESTIMATE_J_MOL = float(by_riedel_and_watson(T_B_K, T_B_K, T_C_K, P_C_PA))


def evaluated(*more: tuple[str, float, float, int, str], smiles: str = "CCCCCC") -> Evaluated:
    """The liquid's constants, and (property, value, U95, houses, grade) of more; each value has one observation."""
    constants = [
        ("normal_boiling_point", T_B_K, 0.3, 4, "A"),
        ("critical_temperature", T_C_K, 0.5, 4, "A"),
        ("critical_pressure", P_C_PA, 1e4, 4, "A"),
    ]
    rows = [
        {"cas": CAS, "property": name, "value": value, "u95": u95, "n_sources": n, "grade": grade}
        for name, value, u95, n, grade in (*constants, *more)
    ]
    values = pd.DataFrame(rows).sort_values("property", ignore_index=True)
    values["unit"] = [PROPERTIES[name].unit for name in values["property"]]
    told = values.assign(temperature_K=np.nan, lowest=values["value"], highest=values["value"], rule="test")
    seen = told.assign(
        source="invented_table", field="x", source_row=range(1, len(told) + 1), basis="compiled", status="accepted"
    ).assign(raw=told["value"].astype(str))
    absent = [column for column in empty("observation").columns if column not in seen.columns]
    component = {"cas": CAS, "name": "x", "molar_mass_g_mol": 86.0, "kind": "pure", "source": "test", "smiles": smiles}
    unknown = dict.fromkeys(("formula", "inchikey", "phase_behaviour", "repair"))
    return Evaluated(
        check("evaluation", told, "test"),
        check("observation", seen.assign(**dict.fromkeys(absent)), "test"),
        check("component", pd.DataFrame([component | unknown]), "test"),
        *(empty(table) for table in ("structure_model", "source_model", "calibration")),
    )


def curves(enthalpy_J_mol: float, *, n_sources: int = 3, grade: str = "B") -> pd.DataFrame:
    """A curve through the boiling point whose slope there gives the enthalpy."""
    return _curve(_B_per_enthalpy_K_mol_J() * enthalpy_J_mol, n_sources, grade)


@cache
def _B_per_enthalpy_K_mol_J() -> float:
    slope_of = with_constants(_curve(4000.0, 3, "B"), evaluated().evaluations)
    return 4000.0 / from_slope(slope_of, T_B_K)["enthalpy_J_mol"].item()


def _curve(B_K: float, n_sources: int, grade: str) -> pd.DataFrame:
    row: dict[str, Any] = {
        "cas": CAS,
        "equation": "antoine",
        "coefficients": [np.log(ATMOSPHERE_PA) + B_K / (T_B_K - 40.0), B_K, -40.0, *[np.nan] * (WIDTH - 3)],
        "T_min_K": 290.0,
        "T_max_K": 500.0,
        "T_lowest_K": 280.0,
        "T_highest_K": 520.0,
        "relative_residual": np.nan,
        "u95_relative": 0.01,
        "band_u95_relative": [0.01] * len(BAND_PRESSURES_PA),
        "rule": "chosen",
        "basis": "correlated",
        "grade": grade,
        "n_sources": n_sources,
        "source": "test",
    }
    return check("vapour_curve", pd.DataFrame([row]), "test")


def compared(known: Evaluated, curve: pd.DataFrame, rule: str) -> pd.DataFrame:
    told = comparisons(known.evaluations, curve, known.components)
    assert list(told.columns) == list(COMPARISON)
    return told[told["reference"] == rule]


def heat(value: float, n_sources: int = 1, grade: str = "D") -> tuple[str, float, float, int, str]:
    return HEAT, value, 0.02 * value, n_sources, grade


def test_an_enthalpy_is_held_against_the_slope() -> None:
    told = compared(evaluated(heat(28_000.0)), curves(29_000.0), CLAUSIUS_CLAPEYRON).iloc[0]
    assert told["reference_value"] == pytest.approx(29_000.0)
    assert told["deviation"] == pytest.approx(28.0 / 29.0 - 1.0)
    assert told["temperature_K"] == T_B_K
    assert 0.02 < told["tolerance"] < 0.06


@pytest.mark.parametrize("smiles", ["CCC(=O)O", "OC(=O)c1ccccc1"])
def test_no_enthalpy_is_compared_where_the_vapour_associates(smiles: str) -> None:
    assert compared(evaluated(heat(20_000.0), smiles=smiles), curves(29_000.0), CLAUSIUS_CLAPEYRON).empty


def test_outside_its_range_a_curve_tells_no_enthalpy() -> None:
    short = curves(29_000.0).assign(T_min_K=350.0)
    assert compared(evaluated(heat(28_000.0)), short, CLAUSIUS_CLAPEYRON).empty


def test_what_is_too_uncertain_tells_nothing() -> None:
    vague = (HEAT, 28_000.0, 8_000.0, 1, "D")
    assert compared(evaluated(vague), curves(29_000.0), CLAUSIUS_CLAPEYRON).empty


def test_the_acentric_factor_is_read_off_the_curve() -> None:
    told = compared(evaluated(("acentric_factor", 0.30, 0.01, 3, "B")), curves(29_000.0), ACENTRIC_FACTOR).iloc[0]
    assert told["temperature_K"] == pytest.approx(0.7 * T_C_K)
    assert told["deviation"] == pytest.approx(0.30 - told["reference_value"])
    # Hexane's is 0.30: Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, 5th edition (from memory).
    assert told["reference_value"] == pytest.approx(0.30, abs=0.03)


def test_a_curve_without_a_critical_point_must_end_in_it() -> None:
    told = compared(evaluated(), curves(29_000.0), END_OF_CURVE).iloc[0]
    assert told["ours"] == P_C_PA
    assert told["deviation"] == pytest.approx(told["ours"] / told["reference_value"] - 1.0)


@pytest.mark.parametrize(("T_m_K", "broken_by"), [(180.0, 0.0), (T_B_K + 5.0, 5.0)])
def test_melting_must_come_before_boiling(T_m_K: float, broken_by: float) -> None:
    melts = ("melting_point", T_m_K, 0.4, 3, "A")
    told = compared(evaluated(melts), curves(29_000.0), "order: melts before it boils").iloc[0]
    assert told["deviation"] == pytest.approx(broken_by)
    assert told["tolerance"] == pytest.approx(0.5)


def given_way(known: Evaluated, curve: pd.DataFrame) -> tuple[Evaluated, pd.DataFrame]:
    found = contradictions(known.evaluations, curve, known.components)
    return without_contradicted(known, found), doubted(curve, found)


def test_a_lone_enthalpy_far_from_slope_and_estimate_is_refused_in_sight() -> None:
    known, curve = evaluated(heat(0.6 * ESTIMATE_J_MOL)), curves(1.02 * ESTIMATE_J_MOL)
    kept, after = given_way(known, curve)
    assert HEAT not in set(kept.evaluations["property"])
    row = kept.observations[kept.observations["property"] == HEAT].iloc[0]
    assert row["status"] == "outlier"
    assert "slope gives 29." in row["reason"]
    assert len(kept.observations) == len(known.observations)
    assert after.equals(curve)


def test_what_agrees_with_the_slope_stands_in_place_of_the_refused() -> None:
    known = evaluated(heat(0.6 * ESTIMATE_J_MOL))
    other = known.observations[known.observations["property"] == HEAT].assign(
        source="other_table", source_row=9, value=ESTIMATE_J_MOL, status="outlier", reason="outside the consensus"
    )
    both = replace(known, observations=pd.concat([known.observations, other], ignore_index=True))
    kept, _ = given_way(both, curves(ESTIMATE_J_MOL))
    row = kept.evaluations[kept.evaluations["property"] == HEAT].iloc[0]
    assert row["value"] == pytest.approx(ESTIMATE_J_MOL)
    assert (row["n_sources"], row["grade"], row["rule"]) == (1, "D", LEFT_RULE)
    assert 0.02 < row["u95"] / row["value"] < 0.06
    seen = kept.observations[kept.observations["property"] == HEAT].set_index("source")
    assert seen["status"].to_dict() == {"invented_table": "outlier", "other_table": "accepted"}


def test_an_enthalpy_that_two_houses_tell_is_widened_to_the_slope() -> None:
    known = evaluated(heat(0.6 * ESTIMATE_J_MOL, 2, "B"))
    kept, after = given_way(known, curves(ESTIMATE_J_MOL))
    row = kept.evaluations[kept.evaluations["property"] == HEAT].iloc[0]
    assert row["u95"] == pytest.approx(0.4 * ESTIMATE_J_MOL, rel=1e-6)
    assert (row["grade"], row["rule"]) == ("D", WIDENED_RULE)
    assert after["grade"].item() == "B"


def test_a_slope_far_from_enthalpy_and_estimate_gives_way() -> None:
    known = evaluated(heat(1.02 * ESTIMATE_J_MOL))
    curve = curves(0.6 * ESTIMATE_J_MOL)
    kept, after = given_way(known, curve)
    assert kept.evaluations.equals(known.evaluations)
    assert after["grade"].item() == "D"
    assert after["u95_relative"].item() > 0.3
    assert after["coefficients"].item() == curve["coefficients"].item()
    at_boiling = BAND_PRESSURES_PA.index(ATMOSPHERE_PA)
    assert after["band_u95_relative"].item()[at_boiling] == 0.01


@pytest.mark.parametrize(
    ("of_heat", "of_curve", "heat_gives_way", "curve_gives_way"),
    [((1, "D"), (3, "B"), True, False), ((3, "B"), (1, "D"), False, True), ((1, "D"), (1, "D"), True, True)],
)
def test_where_the_estimate_decides_nothing_the_fewer_houses_give_way(
    of_heat: tuple[int, str], of_curve: tuple[int, str], heat_gives_way: bool, curve_gives_way: bool
) -> None:
    known = evaluated(heat(1.12 * ESTIMATE_J_MOL, *of_heat))
    found = contradictions(
        known.evaluations,
        curves(0.88 * ESTIMATE_J_MOL, n_sources=of_curve[0], grade=of_curve[1]),
        known.components,
    )
    assert found[["refused", "widened", "curve_doubted"]].iloc[0].tolist() == [False, heat_gives_way, curve_gives_way]


def test_an_estimated_curve_confirms_nothing_and_gives_way() -> None:
    known = evaluated(heat(0.6 * ESTIMATE_J_MOL))
    kept, after = given_way(known, curves(ESTIMATE_J_MOL, n_sources=0, grade="D"))
    assert kept.evaluations.equals(known.evaluations)
    assert after["u95_relative"].item() > 0.3


def test_hydrogen_bonds_excuse_an_enthalpy_above_the_estimate() -> None:
    for smiles, refused in (("CCCCCC", True), ("CCCCCO", False)):
        known = evaluated(heat(1.3 * ESTIMATE_J_MOL), smiles=smiles)
        found = contradictions(known.evaluations, curves(ESTIMATE_J_MOL), known.components)
        assert found["refused"].tolist() == [refused]


@pytest.mark.parametrize("smiles", ["[Al](I)(I)I", "CC(=O)O", None])
def test_inorganic_and_unknown_structures_are_left_alone(smiles: str | None) -> None:
    known = evaluated(heat(0.5 * ESTIMATE_J_MOL))
    known.components["smiles"] = smiles
    assert contradictions(known.evaluations, curves(ESTIMATE_J_MOL), known.components).empty


@settings(max_examples=30, deadline=None)
@given(st.floats(0.91, 1.09), st.floats(0.7, 1.3))
def test_agreement_within_ten_percent_costs_nobody_anything(ratio: float, level: float) -> None:
    known, curve = evaluated(heat(ratio * level * ESTIMATE_J_MOL)), curves(level * ESTIMATE_J_MOL)
    kept, after = given_way(known, curve)
    assert kept.evaluations.equals(known.evaluations)
    assert kept.observations["status"].eq("accepted").all()
    assert after.equals(curve)


def test_nothing_to_compare_gives_empty_frames() -> None:
    nothing = comparisons(empty("evaluation"), empty("vapour_curve"), empty("component"))
    assert nothing.empty
    assert list(nothing.columns) == list(COMPARISON)
    assert contradictions(empty("evaluation"), empty("vapour_curve"), empty("component")).empty

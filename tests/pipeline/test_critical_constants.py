"""Critical constants by the first way that gives plausible ones."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.critical_constants import (
    GULDBERG_RATIO,
    TYPICAL_P_C_PA,
    best,
    boiling_points,
    critical_constants,
)
from cutpoint.schema.tables import check

OCTANE, SALT, UNKNOWN = "111-65-9", "7647-14-5", "64-17-5"


def components(*rows: tuple[str, str | None, str | None]) -> pd.DataFrame:
    """Pure components from (cas, formula, SMILES)."""
    table = pd.DataFrame(rows, columns=["cas", "formula", "smiles"])
    others = dict.fromkeys(("inchikey", "phase_behaviour", "repair"))
    told = table.assign(name="x", molar_mass_g_mol=100.0, kind="pure", source="test", **others)
    return check("component", told, "test")


def evaluations(*rows: tuple[str, str, float, str]) -> pd.DataFrame:
    """Evaluated values from (cas, property, value, grade)."""
    table = pd.DataFrame(rows, columns=["cas", "property", "value", "grade"])
    told = table.assign(
        u95=0.01 * table["value"], unit="K", temperature_K=np.nan, n_sources=2, lowest=table["value"],
        highest=table["value"], rule="test",
    )  # fmt: skip
    return check("evaluation", told, "test")


def of_octane(grade: str, T_c_K: float = 568.7, p_c_Pa: float = 2.49e6) -> pd.DataFrame:
    return evaluations(
        (OCTANE, "normal_boiling_point", 398.8, "A"),
        (OCTANE, "critical_temperature", T_c_K, grade),
        (OCTANE, "critical_pressure", p_c_Pa, "B"),
    )


@pytest.mark.parametrize(("grade", "way"), [("A", "evaluated"), ("C", "evaluated"), ("D", "held")])
def test_the_way_tells_the_poorer_grade(grade: str, way: str) -> None:
    known = best(critical_constants(of_octane(grade), components((OCTANE, "C8H18", "CCCCCCCC"))))
    assert known.loc[OCTANE, "way"] == way
    assert known.loc[OCTANE, "T_c_K"] == 568.7


@pytest.mark.parametrize(("T_c_K", "p_c_Pa"), [(390.0, 2.49e6), (420.0, 2.49e6), (568.7, 2.49e5), (1568.7, 2.49e6)])
def test_held_constants_that_no_liquid_has_give_way_to_groups(T_c_K: float, p_c_Pa: float) -> None:
    known = best(critical_constants(of_octane("D", T_c_K, p_c_Pa), components((OCTANE, "C8H18", "CCCCCCCC"))))
    assert known.loc[OCTANE, "way"] == "groups"
    assert known.loc[OCTANE, "T_c_K"] == pytest.approx(568.7, rel=0.02)


def test_without_structure_the_boiling_point_alone_must_do() -> None:
    told = evaluations((UNKNOWN, "normal_boiling_point", 400.0, "D"), (SALT, "normal_boiling_point", 1738.0, "B"))
    known = best(critical_constants(told, components((UNKNOWN, None, None), (SALT, "ClNa", None))))
    assert known["way"].to_dict() == {SALT: "no carbon", UNKNOWN: "boiling point"}
    assert known["T_c_K"].to_numpy() == pytest.approx(GULDBERG_RATIO * np.array([400.0, 1738.0]))
    assert known["p_c_Pa"].to_numpy() == pytest.approx(TYPICAL_P_C_PA)


def test_the_ratio_drifts_as_the_store_shows() -> None:
    # 80 invented carbon compounds with T_c/T_b = 1.5 (T_b/400 K)^-0.2 and p_c = 3 MPa (T_b/400 K)^-1.
    T_b_K = np.linspace(250.0, 650.0, 80)
    numbers = [f"{place}-00-{place % 10}" for place in range(100, 180)]
    rows = [(cas, "normal_boiling_point", T, "A") for cas, T in zip(numbers, T_b_K, strict=True)]
    rows += [(cas, "critical_temperature", 1.5 * T * (T / 400.0) ** -0.2, "B") for cas, _, T, _ in rows[:80]]
    rows += [(cas, "critical_pressure", 3e6 * (T / 400.0) ** -1.0, "B") for cas, _, T, _ in rows[:80]]
    told = evaluations(*rows, (UNKNOWN, "normal_boiling_point", 500.0, "D"))
    known = best(critical_constants(told, components((UNKNOWN, None, None), *[(cas, None, None) for cas in numbers])))
    assert known.loc[UNKNOWN, "T_c_K"] == pytest.approx(1.5 * 500.0 * 1.25**-0.2, rel=1e-3)
    assert known.loc[UNKNOWN, "p_c_Pa"] == pytest.approx(3e6 / 1.25, rel=1e-3)


def test_streams_have_no_boiling_point_of_their_own() -> None:
    of_stream = components((OCTANE, "C8H18", None)).assign(kind="stream")
    assert boiling_points(of_octane("A"), of_stream).empty

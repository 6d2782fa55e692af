"""The choice of one curve per component, on invented correlations."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.fit import fit
from cutpoint.schema.equations import WIDTH
from cutpoint.schema.properties import ATMOSPHERE_PA
from cutpoint.schema.tables import check, empty

CAS = "64-17-5"


def components(kind: str = "pure") -> pd.DataFrame:
    row = {"cas": CAS, "name": "x", "molar_mass_g_mol": 46.0, "kind": kind, "source": "test"}
    empty_text = dict.fromkeys(("formula", "smiles", "inchikey", "phase_behaviour", "repair"))
    return check("component", pd.DataFrame([row | empty_text]), "test")


def antoine(source: str, T_b_K: float, B_K: float = 4000.0, T_min_K: float = 280.0, T_max_K: float = 400.0) -> dict:
    """A correlation that boils at T_b_K at one atmosphere."""
    a = np.log(ATMOSPHERE_PA) + B_K / (T_b_K - 40.0)
    return {
        "source": source,
        "source_row": 1,
        "field": "antoine",
        "cas": CAS,
        "property": "vapour_pressure",
        "value": np.nan,
        "unit": "Pa",
        "temperature_K": np.nan,
        "pressure_Pa": np.nan,
        "equation": "antoine",
        "coefficients": [a, B_K, -40.0, *[np.nan] * (WIDTH - 3)],
        "T_min_K": T_min_K,
        "T_max_K": T_max_K,
        "basis": "correlated",
        "raw": "",
        "status": "accepted",
        "reason": None,
    }


def boiling_at(T_b_K: float, u95_K: float = 0.2) -> pd.DataFrame:
    row = {
        "cas": CAS,
        "property": "normal_boiling_point",
        "value": T_b_K,
        "u95": u95_K,
        "unit": "K",
        "temperature_K": np.nan,
        "grade": "A",
        "n_sources": 3,
        "lowest": T_b_K,
        "highest": T_b_K,
        "rule": "test",
    }
    return check("evaluation", pd.DataFrame([row]), "test")


def curve_from(rows: list[dict], T_b_K: float = 350.0) -> pd.Series:
    observed = check("observation", pd.DataFrame(rows), "test")
    return fit(observed, boiling_at(T_b_K), components()).iloc[0]


def test_the_curve_that_agrees_with_the_boiling_point_wins() -> None:
    assert curve_from([antoine("wrong", 365.0), antoine("right", 350.1)])["source"] == "right"


def test_of_sound_curves_the_one_that_covers_more_wins() -> None:
    narrow = antoine("narrow", 350.0, T_min_K=340.0, T_max_K=360.0)
    assert curve_from([narrow, antoine("wide", 350.1)])["source"] == "wide"


def test_curves_that_confirm_each_other_are_credited_and_a_lone_one_is_not() -> None:
    lone = curve_from([antoine("one", 350.0)])
    confirmed = curve_from([antoine("one", 350.0), antoine("two", 350.02), antoine("three", 350.0)])
    assert lone["grade"] == "D"
    assert np.isnan(lone["relative_residual"])
    assert confirmed["u95_relative"] < lone["u95_relative"]
    assert confirmed["relative_residual"] == pytest.approx(0.0, abs=1e-3)
    assert confirmed["n_sources"] == 3


def test_the_residual_is_the_deviation_of_the_others() -> None:
    # ln p differs by B * ΔT/(T+C)² at the same T; the mean over the range is near that at the boiling point.
    curve = curve_from([antoine("one", 350.0), antoine("two", 350.25)])
    assert curve["relative_residual"] == pytest.approx(4000.0 * 0.25 / 310.0**2, rel=0.25)


def test_an_unsound_curve_stands_alone_with_its_distance_in_the_uncertainty() -> None:
    assert curve_from([antoine("only", 360.0)])["u95_relative"] > 0.3


def test_streams_get_no_curve() -> None:
    observed = check("observation", pd.DataFrame([antoine("one", 350.0)]), "test")
    assert fit(observed, boiling_at(350.0), components("stream")).empty


def test_no_correlation_gives_no_curve() -> None:
    assert fit(empty("observation"), boiling_at(350.0), components()).empty


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(300.0, 390.0), st.floats(2000.0, 6000.0), st.floats(250.0, 340.0), st.floats(345.0, 500.0)),
        max_size=5,
    )
)
def test_any_valid_frame_survives_the_station(rows: list[tuple[float, float, float, float]]) -> None:
    correlations = [antoine(f"source{place}", *row) for place, row in enumerate(rows)]
    observed = check("observation", pd.DataFrame(correlations), "test") if rows else empty("observation")
    curves = fit(observed, boiling_at(350.0), components())
    assert len(curves) == min(1, len(rows))

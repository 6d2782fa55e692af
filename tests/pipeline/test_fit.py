"""One curve per component: on invented correlations, and how much of the real store can be asked."""

from __future__ import annotations

from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.curve_forms import ln_pressure_slopes, ln_pressures, temperatures_at
from cutpoint.pipeline.fit import fit
from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH
from cutpoint.schema.properties import ATMOSPHERE_PA
from cutpoint.schema.tables import check, empty

CAS = "64-17-5"
AT_ATMOSPHERE = BAND_PRESSURES_PA.index(ATMOSPHERE_PA)


def components(kind: str = "pure") -> pd.DataFrame:
    row = {"cas": CAS, "name": "x", "molar_mass_g_mol": 46.0, "kind": kind, "source": "test"}
    empty_text = dict.fromkeys(("formula", "smiles", "inchikey", "phase_behaviour", "repair"))
    return check("component", pd.DataFrame([row | empty_text]), "test")


def antoine(source: str, T_b_K: float, B_K: float = 3200.0, T_min_K: float = 280.0, T_max_K: float = 400.0) -> dict:
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


def printed(source: str, T_b_K: float) -> dict:
    """A plain boiling point of one source."""
    blank = {"equation": None, "coefficients": None, "T_min_K": np.nan, "T_max_K": np.nan}
    told = {"property": "normal_boiling_point", "value": T_b_K, "unit": "K", "basis": "compiled"}
    return antoine(source, T_b_K) | blank | told


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


def observed(rows: list[dict]) -> pd.DataFrame:
    return check("observation", pd.DataFrame(rows), "test") if rows else empty("observation")


def curves_from(rows: list[dict], T_b_K: float | None = 350.0, u95_K: float = 0.2) -> pd.DataFrame:
    evaluated = empty("evaluation") if T_b_K is None else boiling_at(T_b_K, u95_K)
    return fit(observed(rows), evaluated, components()).curves


def curve_from(rows: list[dict], T_b_K: float | None = 350.0, u95_K: float = 0.2) -> pd.Series:
    return curves_from(rows, T_b_K, u95_K).iloc[0]


def pressure(curve: pd.Series, T_K: float) -> float:
    return float(np.exp(ln_pressures(curve.to_frame().T, np.array([T_K]))[0]))


def test_sound_correlations_are_pooled_and_the_one_that_contradicts_is_told_as_not_used() -> None:
    rows = [antoine("right_table", 350.1), antoine("wrong_table", 380.0)]
    fitted = fit(observed(rows), boiling_at(350.0), components())
    curve = fitted.curves.iloc[0]
    assert (curve["rule"], curve["source"], curve["equation"]) == ("pooled", "right_table", "wagner_2.5_5")
    marked = fitted.marked(observed(rows)).set_index("source")
    assert marked["status"].to_dict() == {"right_table": "accepted", "wrong_table": "outlier"}
    assert marked.loc["wrong_table", "reason"] == (
        "boils near 380.0 K at one atmosphere, the evaluation at 350.0 K: not used for the curve"
    )


def test_only_a_contradiction_leaves_an_estimate_through_the_boiling_point() -> None:
    curve = curve_from([antoine("wrong_table", 380.0), printed("one_table", 350.0), printed("two_table", 350.0)])
    assert (curve["rule"], curve["basis"], curve["grade"]) == ("corresponding states", "estimated", "D")
    assert curve["n_sources"] == 0
    assert curve["source"] == "one_table, two_table"
    assert pressure(curve, 350.0) == pytest.approx(ATMOSPHERE_PA)


def test_an_estimate_is_asked_from_1_kPa_to_1_MPa() -> None:
    curve = curve_from([])
    assert pressure(curve, curve["T_min_K"]) == pytest.approx(1e3)
    assert pressure(curve, curve["T_max_K"]) == pytest.approx(1e6)
    assert curve["source"] == "structure estimate"


def test_a_pooled_curve_follows_its_correlations_through_the_evaluated_boiling_point() -> None:
    curve = curve_from([antoine("one_table", 350.2), antoine("two_table", 350.2)])
    assert pressure(curve, 350.0) == pytest.approx(ATMOSPHERE_PA)
    ln_ratio = -3200.0 * 350.2 / 350.0 * (1.0 / (300.0 - 40.0) - 1.0 / (350.0 - 40.0))
    assert pressure(curve, 300.0) == pytest.approx(ATMOSPHERE_PA * np.exp(ln_ratio), rel=0.02)


def test_at_one_atmosphere_the_band_is_that_of_the_boiling_point_alone() -> None:
    for rows in ([], [antoine("one_table", 350.0)], [antoine("one_table", 350.0), antoine("two_table", 350.1)]):
        curve = curve_from(rows, u95_K=0.7)
        slope = float(ln_pressure_slopes(curve.to_frame().T, np.array([350.0]))[0])
        assert curve["band_u95_relative"][AT_ATMOSPHERE] == pytest.approx(slope * 0.7)


def test_the_band_widens_outside_the_data() -> None:
    wide = curve_from([antoine("one_table", 350.0, T_min_K=260.0), antoine("two_table", 350.0, T_min_K=260.0)])
    narrow = curve_from([antoine("one_table", 350.0, T_min_K=330.0), antoine("two_table", 350.0, T_min_K=330.0)])
    at_1_kPa = BAND_PRESSURES_PA.index(1e3)
    assert narrow["band_u95_relative"][at_1_kPa] > 1.5 * wide["band_u95_relative"][at_1_kPa]
    assert narrow["T_min_K"] == pytest.approx(330.0, abs=0.01)
    assert narrow["T_lowest_K"] < temperatures_at(narrow.to_frame().T, 1e3, np.array([200.0]), np.array([350.0])) * (
        1.0 + 1e-9
    )


def test_correlations_that_confirm_each_other_are_credited_and_a_lone_one_is_not() -> None:
    lone = curve_from([antoine("one_table", 350.0)])
    confirmed = curve_from([antoine(f"{name}_table", 350.0) for name in ("one", "two", "three")])
    assert lone["grade"] == "D"
    assert np.isnan(lone["relative_residual"])
    assert confirmed["u95_relative"] < lone["u95_relative"]
    assert confirmed["relative_residual"] < 0.02
    assert confirmed["n_sources"] == 3


def test_an_unsound_correlation_stands_alone_with_its_stretch_in_the_band() -> None:
    off, right = curve_from([antoine("only_table", 356.0)]), curve_from([antoine("only_table", 350.0)])
    assert off["rule"] == "pooled"
    assert off["u95_relative"] > right["u95_relative"] + 0.01


def test_without_a_boiling_point_the_correlation_stays_as_it_is() -> None:
    row = antoine("one_table", 350.0)
    curve = curve_from([row], T_b_K=None)
    assert (curve["rule"], curve["basis"], curve["source"]) == ("chosen", "correlated", "one_table")
    assert curve["coefficients"][:3] == row["coefficients"][:3]
    assert (curve["T_lowest_K"], curve["T_highest_K"]) == pytest.approx((0.9 * 280.0, 1.1 * 400.0))


def test_without_a_boiling_point_the_one_that_covers_more_is_chosen() -> None:
    rows = [antoine("narrow_table", 350.0, T_min_K=340.0, T_max_K=360.0), antoine("wide_table", 350.1)]
    assert curve_from(rows, T_b_K=None)["source"] == "wide_table"


def test_streams_get_no_curve() -> None:
    assert fit(observed([antoine("one_table", 350.0)]), boiling_at(350.0), components("stream")).curves.empty


def test_neither_correlation_nor_boiling_point_gives_no_curve() -> None:
    assert curves_from([], T_b_K=None).empty


FALLING_NEAR_ITS_CRITICAL_POINT = [
    (344.3684862658821, 4500.0, 333.15, 474.0833327317848),
    (355.38971624187684, 4295.076437981312, 295.8599094192525, 378.8873094908286),
    (363.6626403635186, 4000.0, 287.0, 466.0),
]


@settings(max_examples=30, deadline=None)
@example(FALLING_NEAR_ITS_CRITICAL_POINT, 14.0)
@given(
    st.lists(
        st.tuples(st.floats(300.0, 390.0), st.floats(1500.0, 6000.0), st.floats(250.0, 340.0), st.floats(345.0, 500.0)),
        max_size=5,
    ),
    st.floats(0.05, 50.0),
)
def test_any_curve_rises_between_its_limits_and_boils_where_the_evaluation_does(
    rows: list[tuple[float, float, float, float]], u95_K: float
) -> None:
    curves = curves_from([antoine(f"house{place}_table", *row) for place, row in enumerate(rows)], u95_K=u95_K)
    assert len(curves) == 1
    curve = curves.iloc[0]
    assert curve["T_lowest_K"] <= curve["T_min_K"] < curve["T_max_K"] <= curve["T_highest_K"]
    T_K = np.linspace(curve["T_lowest_K"], curve["T_highest_K"], 200)[:, np.newaxis]
    ln_p = ln_pressures(curves, T_K)[:, 0]
    assert np.all(np.diff(ln_p) > 0.0)
    assert ln_p[0] <= np.log(1e3) + 1e-9
    assert ln_p[-1] >= np.log(1e6) - 1e-9
    assert pressure(curve, 350.0) == pytest.approx(ATMOSPHERE_PA)
    assert np.all(np.isfinite(curve["band_u95_relative"]))


def test_everything_real_that_boils_is_asked_from_1_kPa_to_1_MPa_or_its_critical_pressure(real_store: Path) -> None:
    with duckdb.connect(str(real_store), read_only=True) as store:
        without = store.sql(
            "SELECT cas FROM component c WHERE kind = 'pure' AND phase_behaviour = 'boils' "
            "AND NOT EXISTS (FROM vapour_curve v WHERE v.cas = c.cas)"
        ).fetchall()
        curves = store.sql(
            "SELECT v.*, e.value AS T_b_K, e.u95 AS T_b_u95_K FROM vapour_curve v JOIN evaluation e USING (cas) "
            "WHERE e.property = 'normal_boiling_point' ORDER BY cas"
        ).df()
    assert without == []
    low, high = curves["T_lowest_K"].to_numpy(), curves["T_highest_K"].to_numpy()
    T_b_K = curves["T_b_K"].to_numpy()
    assert np.all(np.isfinite(temperatures_at(curves, 1e3, low, high)))
    ends_at_critical = [row[4] <= T * (1.0 + 1e-9) for row, T in zip(curves["coefficients"], high, strict=True)]
    assert np.all(np.isfinite(temperatures_at(curves, 1e6, low, high)) | ends_at_critical)
    assert ln_pressures(curves, T_b_K) == pytest.approx(np.log(ATMOSPHERE_PA), abs=1e-7)
    steps = np.linspace(0.0, 1.0, 60)[:, np.newaxis]
    assert np.all(np.diff(ln_pressures(curves, low + steps * (high - low)), axis=0) > 0.0)
    band = np.array(curves["band_u95_relative"].tolist())
    boiling = ln_pressure_slopes(curves, T_b_K) * curves["T_b_u95_K"].to_numpy()
    assert band[:, AT_ATMOSPHERE] == pytest.approx(boiling, rel=1e-6)

"""The evaluation rule on invented values whose right answer is plain."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.evaluate import evaluate
from cutpoint.schema.tables import TABLES, check

PLAIN = {
    "unit": "K",
    "temperature_K": np.nan,
    "pressure_Pa": np.nan,
    "equation": None,
    "coefficients": None,
    "T_min_K": np.nan,
    "T_max_K": np.nan,
    "basis": "compiled",
    "status": "accepted",
    "reason": None,
}
ETHANOL, SOLVENT_B = "64-17-5", "67-64-1"


def components(*numbers: str, kind: str = "pure") -> pd.DataFrame:
    return check(
        "component",
        pd.DataFrame(
            {
                "cas": list(numbers),
                "name": list(numbers),
                "formula": None,
                "molar_mass_g_mol": 50.0,
                "smiles": None,
                "inchikey": None,
                "kind": kind,
                "phase_behaviour": None,
                "source": "test",
                "repair": None,
            }
        ),
        "test",
    )


def observations(rows: list[tuple[str, str, str, float]]) -> pd.DataFrame:
    """Rows of (house, cas, property, value)."""
    frame = pd.DataFrame(rows, columns=["source", "cas", "property", "value"]).assign(**PLAIN)
    frame["source_row"] = range(1, len(frame) + 1)
    frame["field"] = frame["property"]
    frame["raw"] = frame["value"].astype(str)
    return check("observation", frame, "test")


def boiling_point(values: dict[str, float]) -> pd.Series:
    rows = [(house, ETHANOL, "normal_boiling_point", value) for house, value in values.items()]
    evaluated = evaluate(components(ETHANOL), observations(rows)).evaluations
    return evaluated.set_index("property").loc["normal_boiling_point"]


def test_agreeing_houses_give_their_mean_and_grade_a_or_b() -> None:
    value = boiling_point({"one": 351.40, "two": 351.44, "three": 351.48})
    assert value["value"] == pytest.approx(351.44, abs=0.05)
    assert value["grade"] in "AB"
    assert value["n_sources"] == 3


def test_a_reduced_pressure_value_is_an_outlier_with_a_reason() -> None:
    rows = [
        (house, ETHANOL, "normal_boiling_point", value)
        for house, value in {"one": 351.4, "two": 351.5, "vacuum": 290.0}.items()
    ]
    result = evaluate(components(ETHANOL), observations(rows))
    assert result.evaluations["value"].item() == pytest.approx(351.45, abs=0.1)
    marked = result.observations.set_index("source").loc["vacuum"]
    assert marked["status"] == "outlier"
    assert "outside the consensus" in marked["reason"]


def test_one_house_alone_is_grade_d() -> None:
    assert boiling_point({"one": 351.4})["grade"] == "D"


def test_tables_of_one_house_are_one_witness() -> None:
    assert boiling_point({"one_a": 351.4, "one_b": 351.4, "one_c": 351.4})["n_sources"] == 1


def test_a_copy_to_the_last_digit_counts_once() -> None:
    value = boiling_point({"one": 351.44, "two": 351.44, "three": 351.52})
    assert value["n_sources"] == 2
    assert value["value"] == pytest.approx(351.48, abs=0.01)


def test_a_number_rounded_to_whole_degrees_weighs_less() -> None:
    # 338.15 K is 65 °C and 338.00 K is a whole kelvin; 339.12 and 339.09 are given to the hundredth.
    value = boiling_point({"one": 338.15, "two": 339.12, "three": 339.09})
    assert value["value"] == pytest.approx(339.1, abs=0.1)


def test_two_camps_of_equal_strength_leave_the_distance_between_them_open() -> None:
    value = boiling_point({"one": 351.0, "two": 400.0})
    assert value["u95"] >= 45.0
    assert value["grade"] == "D"


def test_boiling_below_melting_is_refused_and_shows_nothing_more() -> None:
    rows = [(house, ETHANOL, "normal_boiling_point", 300.0) for house in ("one", "two", "three")]
    rows += [(house, ETHANOL, "melting_point", value) for house, value in {"one": 350.0, "two": 350.1}.items()]
    result = evaluate(components(ETHANOL), observations(rows))
    assert set(result.evaluations["property"]) == {"melting_point"}
    assert result.components["phase_behaviour"].isna().all()
    refused = result.observations[result.observations["property"] == "normal_boiling_point"]
    assert refused["reason"].str.contains("boils below its melting point").all()


def test_boiling_above_the_critical_temperature_is_refused() -> None:
    rows = [(house, ETHANOL, "normal_boiling_point", 600.0) for house in ("one", "two")]
    rows += [(house, ETHANOL, "critical_temperature", 514.0) for house in ("one", "two")]
    evaluated = evaluate(components(ETHANOL), observations(rows)).evaluations
    assert set(evaluated["property"]) == {"critical_temperature"}


def test_a_stream_has_no_evaluated_boiling_point() -> None:
    rows = [("one", ETHANOL, "normal_boiling_point", 400.0)]
    assert evaluate(components(ETHANOL, kind="stream"), observations(rows)).evaluations.empty


def test_the_order_of_the_rows_does_not_matter() -> None:
    rows = [
        (house, cas, "normal_boiling_point", value)
        for cas in (ETHANOL, SOLVENT_B)
        for house, value in {"one": 351.4, "two": 351.5, "three": 352.9, "four": 360.0}.items()
    ]
    forward = evaluate(components(ETHANOL, SOLVENT_B), observations(rows))
    backward = evaluate(components(ETHANOL, SOLVENT_B), observations(rows[::-1]))
    pd.testing.assert_frame_equal(forward.evaluations, backward.evaluations)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["one", "two_a", "two_b", "three"]),
            st.sampled_from([ETHANOL, SOLVENT_B]),
            st.sampled_from(["normal_boiling_point", "melting_point", "critical_temperature", "flash_point"]),
            st.floats(min_value=70.0, max_value=800.0),
        ),
        max_size=25,
    )
)
def test_any_valid_frame_survives_the_station(rows: list[tuple[str, str, str, float]]) -> None:
    given_frame = observations(rows)
    result = evaluate(components(ETHANOL, SOLVENT_B), given_frame)
    assert list(result.evaluations.columns) == list(TABLES["evaluation"].to_schema().columns)
    assert len(result.observations) == len(given_frame)
    inside = result.evaluations
    assert (inside["lowest"] - 1e-9 <= inside["value"]).all()
    assert (inside["value"] <= inside["highest"] + 1e-9).all()

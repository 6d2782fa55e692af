"""Third sources: the table that names them, and what their word costs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import pytest

from cutpoint import db
from cutpoint.pipeline.adjudicate import (
    TABLE,
    adjudicate,
    disagreements,
    read_adjudications,
    unadjudicated,
    with_third_sources,
)
from cutpoint.pipeline.sources.adjudicated_values import rows
from cutpoint.pipeline.third_sources import CONTRADICTED, SOURCE, hear_third_sources
from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH
from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.properties import ATMOSPHERE_PA
from cutpoint.schema.tables import check, empty

CAS = "67-64-1"
LIBRARY = "CoolProp 8.0.0"
ROW = {
    "cas": CAS,
    "property": "normal_boiling_point",
    "stands_with": "ours",
    "value": "329.3",
    "unit": "K",
    "temperature_K": "",
    "source": "An Invented Journal 1 (1900) 1-2",
    "remark": "invented for this test",
}
CURVE_ROW = ROW | {"property": "vapour_pressure", "value": "1e4", "unit": "Pa", "temperature_K": "280"}


def table(path: Path, *entries: dict[str, str]) -> Path:
    pd.DataFrame(entries or [ROW]).to_csv(path / "adjudications.csv", index=False)
    return path / "adjudications.csv"


def test_a_sound_table_is_read(tmp_path: Path) -> None:
    read = read_adjudications(table(tmp_path, ROW, CURVE_ROW))
    assert read["value"].tolist() == [329.3, 1e4]
    assert read["temperature_K"].fillna(0.0).tolist() == [0.0, 280.0]


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (ROW | {"cas": "67-64-2"}, "check digit"),
        (ROW | {"property": "colour"}, "there is no property 'colour'"),
        (ROW | {"stands_with": "both"}, "Write ours or reference"),
        (ROW | {"unit": "degC"}, "Convert the value to K"),
        (ROW | {"value": "about 56"}, "no number that the property can have"),
        (ROW | {"value": "nan"}, "no number that the property can have"),
        (ROW | {"value": "32930"}, "no number that the property can have"),
        (ROW | {"source": ""}, "it names no third source"),
        (ROW | {"source": "a book"}, "it names no third source"),
        (ROW | {"remark": "  "}, "remark is missing"),
        (CURVE_ROW | {"temperature_K": ""}, "needs the one it belongs to"),
        (CURVE_ROW | {"temperature_K": "cold"}, "needs the one it belongs to"),
    ],
)
def test_a_wrong_row_stops_the_build_and_says_where_and_why(tmp_path: Path, entry: dict[str, str], told: str) -> None:
    with pytest.raises(BuildFailed, match=told) as failure:
        read_adjudications(table(tmp_path, CURVE_ROW, entry))
    assert "Line 3 of pipeline/adjudications.csv" in failure.value.message


def test_a_doubled_row_stops_the_build(tmp_path: Path) -> None:
    with pytest.raises(BuildFailed, match=r"Line 3 .* a second time"):
        read_adjudications(table(tmp_path, ROW, ROW | {"value": "329.2"}))


def test_a_table_with_other_columns_stops_the_build(tmp_path: Path) -> None:
    with pytest.raises(BuildFailed, match="has the columns"):
        read_adjudications(table(tmp_path, {name: cell for name, cell in ROW.items() if name != "source"}))


def component(cas: str = CAS) -> pd.DataFrame:
    row = {"cas": cas, "name": "x", "molar_mass_g_mol": 58.0, "kind": "pure", "source": "test"}
    unknown = dict.fromkeys(("formula", "smiles", "inchikey", "phase_behaviour", "repair"))
    return check("component", pd.DataFrame([row | unknown]), "test")


def verdict(property: str = "normal_boiling_point", **changes: Any) -> dict[str, Any]:
    row = {
        "cas": CAS,
        "property": property,
        "temperature_K": 0.0,
        "reference": LIBRARY,
        "ours": 330.0,
        "reference_value": 329.2,
        "deviation": 0.8,
        "tolerance": 0.5,
        "verdict": "differs",
    }
    return row | changes


def judged(*verdicts: dict[str, Any]) -> pd.DataFrame:
    return check("crosscheck", pd.DataFrame(verdicts), "test")


def observation(source: str, row: int, **changes: Any) -> dict[str, Any]:
    told = dict.fromkeys(empty("observation").columns) | {
        "source": source,
        "source_row": row,
        "field": "x",
        "cas": CAS,
        "property": "normal_boiling_point",
        "value": 329.3,
        "unit": "K",
        "basis": "compiled",
        "raw": "329.3",
        "status": "accepted",
    }
    return told | changes


def antoine(T_b_K: float) -> dict[str, Any]:
    coefficients = [np.log(ATMOSPHERE_PA) + 3500.0 / (T_b_K - 40.0), 3500.0, -40.0, *[np.nan] * (WIDTH - 3)]
    return {
        "property": "vapour_pressure",
        "value": np.nan,
        "unit": "Pa",
        "equation": "antoine",
        "coefficients": coefficients,
        "T_min_K": 280.0,
        "T_max_K": 360.0,
        "basis": "correlated",
    }


def test_an_unknown_component_stops_a_whole_build_and_is_passed_over_in_a_partial_one(tmp_path: Path) -> None:
    read = read_adjudications(table(tmp_path))
    strangers, nothing, verdicts = component("64-17-5"), empty("observation"), judged(verdict())
    with pytest.raises(BuildFailed, match=r"Line 2 .* no such component"):
        adjudicate(read, strangers, nothing, verdicts, whole=True)
    assert adjudicate(read, strangers, nothing, verdicts, whole=False).empty


@pytest.mark.parametrize("changes", [{"verdict": "agrees"}, {"reference": "order: melts before it boils"}])
def test_a_row_that_no_judge_asks_for_stops_the_build(tmp_path: Path, changes: dict[str, str]) -> None:
    read = read_adjudications(table(tmp_path))
    assert len(adjudicate(read, component(), empty("observation"), judged(verdict()), whole=True)) == 1
    with pytest.raises(BuildFailed, match="decides nothing"):
        adjudicate(read, component(), empty("observation"), judged(verdict(**changes)), whole=True)


def test_a_row_for_the_reference_is_needed_while_it_sets_something_aside(tmp_path: Path) -> None:
    read = read_adjudications(table(tmp_path, ROW | {"stands_with": "reference"}))
    third = observation(SOURCE, 1)
    contradicted = hear_third_sources(pd.DataFrame([third, observation("old_table", 1, value=331.0)]))
    agreeing = hear_third_sources(pd.DataFrame([third, observation("old_table", 1, value=329.5)]))
    assert len(adjudicate(read, component(), contradicted, empty("crosscheck"), whole=True)) == 1
    with pytest.raises(BuildFailed, match="decides nothing"):
        adjudicate(read, component(), agreeing, empty("crosscheck"), whole=True)


def test_what_a_third_source_contradicts_is_set_aside_in_sight() -> None:
    told = [
        observation(SOURCE, 1),
        observation("near_table", 1, value=329.7),
        observation("far_table", 1, value=330.0),
        observation("near_curve", 1, **antoine(329.1)),
        observation("far_curve", 1, **antoine(331.0)),
        observation("other_table", 1, property="melting_point", value=178.0),
        observation("other_liquid", 1, cas="64-17-5", value=351.4),
    ]
    marked = hear_third_sources(pd.DataFrame(told)).set_index("source")
    aside = marked[marked["status"] == "outlier"]
    assert set(aside.index) == {"far_table", "far_curve"}
    assert set(aside["reason"]) == {f"{CONTRADICTED}329.3 K"}
    assert len(marked) == len(told)


def test_without_third_sources_nothing_is_touched() -> None:
    plain = pd.DataFrame([observation("old_table", 1)])
    assert hear_third_sources(plain) is plain


def curves(grade: str = "B") -> pd.DataFrame:
    row = antoine(329.3) | {
        "cas": CAS,
        "T_lowest_K": 270.0,
        "T_highest_K": 370.0,
        "relative_residual": 0.003,
        "u95_relative": 0.01,
        "band_u95_relative": [0.01] * len(BAND_PRESSURES_PA),
        "rule": "pooled",
        "grade": grade,
        "n_sources": 3,
        "source": "test",
    }
    return check("vapour_curve", pd.DataFrame([row]), "test")


def test_a_curve_that_a_third_source_contradicts_reaches_it_and_claims_less(tmp_path: Path) -> None:
    T_K = 290.0
    a, b, c = curves()["coefficients"].item()[:3]
    ours_Pa = float(np.exp(a - b / (T_K + c)))
    third = CURVE_ROW | {"stands_with": "reference", "value": f"{ours_Pa / 1.1}", "temperature_K": f"{T_K}"}
    after = with_third_sources(curves(), read_adjudications(table(tmp_path, third)))
    band = np.interp(np.log(ours_Pa), np.log(BAND_PRESSURES_PA), after["band_u95_relative"].item())
    assert np.log(1.1) <= band < 1.05 * np.log(1.1)
    assert after["grade"].item() == "D"
    assert after["u95_relative"].item() >= band
    assert after["coefficients"].item() == curves()["coefficients"].item()


def test_a_curve_that_stands_stays(tmp_path: Path) -> None:
    assert with_third_sources(curves(), read_adjudications(table(tmp_path, ROW, CURVE_ROW))).equals(curves())


def evaluated(u95_K: float, grade: str) -> pd.DataFrame:
    row = {
        "cas": CAS,
        "property": "normal_boiling_point",
        "value": 330.0,
        "u95": u95_K,
        "unit": "K",
        "temperature_K": np.nan,
        "grade": grade,
        "n_sources": 3,
        "lowest": 330.0,
        "highest": 330.0,
        "rule": "test",
    }
    return check("evaluation", pd.DataFrame([row]), "test")


@pytest.mark.parametrize(
    ("deviation_K", "u95_K", "grade", "asked"),
    [
        (0.6, 0.4, "A", True),
        (-0.6, 0.4, "A", True),
        (0.6, 0.7, "B", False),
        (1.1, 1.9, "B", True),
        (0.4, 0.1, "A", False),
        (5.0, 1.0, "C", False),
    ],
)
def test_which_boiling_points_ask_for_a_third_source(deviation_K: float, u95_K: float, grade: str, asked: bool) -> None:
    told = disagreements(judged(verdict(deviation=deviation_K)), evaluated(u95_K, grade), empty("vapour_curve"))
    assert told["cas"].tolist() == [CAS] * asked


@pytest.mark.parametrize(("deviations", "asked"), [((0.03, 0.05), True), ((0.03, -0.03), True), ((0.0, 0.03), False)])
def test_which_curves_ask_for_a_third_source(deviations: tuple[float, float], asked: bool) -> None:
    """The mean over 5 to 500 kPa counts; what lies outside does not."""
    points = [(2e4, deviations[0]), (2e5, deviations[1]), (1e3, 0.5), (1e6, 0.5)]
    verdicts = [
        verdict("vapour_pressure", temperature_K=300.0 + place, ours=p_Pa, reference_value=p_Pa, deviation=off)
        for place, (p_Pa, off) in enumerate(points)
    ]
    told = disagreements(judged(*verdicts), empty("evaluation"), curves())
    assert told["cas"].tolist() == [CAS] * asked
    assert disagreements(judged(*verdicts), empty("evaluation"), curves("C")).empty


def test_a_disagreement_with_a_row_is_settled(tmp_path: Path) -> None:
    inputs = (judged(verdict()), evaluated(0.3, "A"), empty("vapour_curve"))
    assert len(unadjudicated(*inputs, empty("adjudication"))) == 1
    assert unadjudicated(*inputs, read_adjudications(table(tmp_path))).empty


def test_the_source_gives_the_values_that_stand_with_the_reference(tmp_path: Path) -> None:
    given = rows(table(tmp_path, ROW, ROW | {"cas": "64-17-5", "stands_with": "reference"}, CURVE_ROW))
    assert given["cas"].tolist() == ["64-17-5"]
    assert given["normal_boiling_point"].tolist() == ["329.3"]
    assert (given["melting_point"] == "").all()


def test_no_judge_is_its_own_third_source() -> None:
    told = TABLE.read_text("utf-8")
    for name in ("CoolProp", "Lemmon", "reference equation", "R6-95", "R7-97"):
        assert name not in told


def frame(path: Path, name: str) -> pd.DataFrame:
    with duckdb.connect(str(path), read_only=True) as connection:
        return connection.execute(f"SELECT * FROM {name}").df()


def test_every_disagreement_in_grade_a_or_b_has_been_settled(real_store: Path) -> None:
    told = [frame(real_store, name) for name in ("crosscheck", "evaluation", "vapour_curve", "adjudication")]
    left = unadjudicated(*told)
    assert left.empty, left.to_string()


def test_the_store_stands_where_the_third_sources_stand(store: db.Store) -> None:
    decided = store.rows(
        "SELECT cas, a.value, e.value, e.u95 FROM adjudication a JOIN evaluation e USING (cas, property) "
        "WHERE stands_with = 'reference'"
    )
    assert len(decided) >= 2
    for cas, third, ours, u95 in decided:
        assert abs(ours - third) <= u95, cas

"""The quality report, on a store of invented rows in which every figure can be worked out on paper."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.db.evidence import evidence, score_interval
from cutpoint.db.quality import Dispute, Evidence, Judgement, Target
from cutpoint.schema import SCHEMA_VERSION
from cutpoint.schema.ddl import create_statements
from cutpoint.schema.errors import StoreDamaged
from cutpoint.schema.properties import PROPERTIES
from cutpoint.schema.tables import TABLES

ROWS = Path(__file__).with_name("evidence.sql")
BOILING_POINT = "normal_boiling_point"


def build_store(path: Path, *changes: str) -> Path:
    """A store of the invented rows, and what the changes make of it."""
    with duckdb.connect(str(path)) as connection:
        for table in TABLES:
            for statement in create_statements(table):
                connection.execute(statement)
        connection.execute(ROWS.read_text("utf-8").replace("$schema_version", str(SCHEMA_VERSION)))
        for change in changes:
            connection.execute(change)
    return path


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Evidence:
    with db.open(build_store(tmp_path_factory.mktemp("evidence") / "store.duckdb")) as store:
        return evidence(store)


@pytest.fixture
def changed(tmp_path: Path) -> Iterator[Callable[..., Evidence]]:
    """The report of the store after some SQL."""

    def collect(*changes: str) -> Evidence:
        with db.open(build_store(tmp_path / "changed.duckdb", *changes)) as store:
            return evidence(store)

    yield collect


def target(found: Evidence, key: str) -> Target:
    (figure,) = (figure for figure in found.targets if figure.key == key)
    return figure


@pytest.mark.parametrize(
    ("key", "limit", "reached", "n", "met"),
    [
        ("boiling_point_median_deviation", 0.04, 0.06, 5, False),
        # sizes 0.01 0.02 0.06 1.5 2.0: four fifths of the way from the fourth to the fifth
        ("boiling_point_p95_deviation", 0.30, 1.9, 5, False),
        ("boiling_points_off_unadjudicated", 0, 1, 5, False),
        ("unsure_boiling_points_inside_u95", 0.90, 0.5, 2, False),
        ("boiling_points_a_or_b", 4000, 5, 7, False),
        ("boiling_points_a", 2000, 3, 7, False),
        ("boiling_point_coverage_least", 0.92, 0.90, 310, False),
        ("boiling_point_coverage_greatest", 0.98, 0.95, 310, True),
        ("other_coverage_least", 0.92, 0.975, 69, True),
        ("other_coverage_greatest", 0.98, 0.975, 69, True),
        # ethanol's 0.1 % and 0.3 % make 0.2 %, toluene's is 5 %; what lies outside 5 to 500 kPa does not count
        ("vapour_pressure_median_deviation", 0.004, 0.026, 2, False),
        ("vapour_pressure_fluids_within", 0.90, 0.5, 2, False),
        ("structure_model_error_ratio", 0.5, 0.25, 90, True),
    ],
)
def test_figures_asked_and_reached(found: Evidence, key: str, limit: float, reached: float, n: int, met: bool) -> None:
    figure = target(found, key)
    assert (figure.limit, figure.n, figure.met) == (limit, n, met)
    assert figure.reached == pytest.approx(reached)


MIXING = ("azeotropes_predicted", "zeotropic_predicted", "azeotrope_temperature", "azeotrope_composition")
"""Those of `tests/db/test_mixing_evidence.py`."""


def test_every_figure_asked_is_tested_above_or_with_the_azeotropes(found: Evidence) -> None:
    keys = [figure.key for figure in found.targets]
    assert len(set(keys)) == len(keys) == 13 + len(MIXING)
    assert tuple(keys[13:]) == MIXING


def test_a_remark_says_what_was_left_out(found: Evidence) -> None:
    assert target(found, "boiling_points_off_unadjudicated").remark == "1 more are adjudicated"
    assert target(found, "boiling_point_coverage_least").remark == "fewer than 30 held out, not judged: C (10), D (0)"
    assert target(found, "other_coverage_least").remark == "fewer than 30 held out, not judged: flash point B (29)"
    assert target(found, "structure_model_error_ratio").remark == "2.50 K against 10.00 K"


def test_the_limit_itself_is_met(changed: Callable[..., Evidence]) -> None:
    found = changed(
        "UPDATE calibration SET coverage = 0.92 WHERE grade = 'B'",
        "UPDATE calibration SET coverage = 0.98 WHERE grade = 'A'",
    )
    assert target(found, "boiling_point_coverage_least").met is True
    assert target(found, "boiling_point_coverage_greatest").met is True
    assert [row.met for row in found.calibration] == [True, True, None, None, True, None]


def test_empty_tables_are_said_to_be_not_measured(changed: Callable[..., Evidence]) -> None:
    emptied = [table for table in TABLES if table != "build"]
    found = changed(*(f'DELETE FROM "{table}"' for table in emptied))
    counted = ("boiling_points_a_or_b", "boiling_points_a")
    reached = {figure.key: figure.reached for figure in found.targets if figure.reached is not None}
    assert reached == dict.fromkeys(counted, 0)
    assert {figure.met for figure in found.targets if figure.key not in counted} == {None}
    parts = asdict(found)
    empty = {name for name, part in parts.items() if part == ()}
    assert empty == set(parts) - {"path", "digest", "build", "rows", "targets", "spreads"}
    assert [spread.n_components for spread in found.spreads] == [0, 0, 0]


def test_build_and_rows(found: Evidence) -> None:
    assert found.digest == "c0ffee"
    assert found.build == {"cutpoint_version": "0.0", "library:sieve": "1.1", "machine": "abacus"} | {
        "schema_version": str(SCHEMA_VERSION)
    }
    assert set(found.rows) == set(TABLES)
    assert (found.rows["component"], found.rows["observation"], found.rows["name"]) == (9, 46, 0)


def test_coverage_by_property_and_grade(found: Evidence) -> None:
    assert [(held.property, held.n_components, held.grades) for held in found.coverage] == [
        (BOILING_POINT, 7, {"A": 3, "B": 2, "C": 0, "D": 2}),
        ("enthalpy_of_vaporization", 1, {"A": 0, "B": 1, "C": 0, "D": 0}),
        ("flash_point", 1, {"A": 0, "B": 1, "C": 0, "D": 0}),
    ]
    assert [(held.rule, held.grades["B"], held.grades["C"]) for held in found.curves] == [
        ("chosen", 0, 1),
        ("pooled", 1, 0),
    ]


def judgement(found: Evidence, reference: str, property: str, condition: str | None = None) -> Judgement:
    (judged,) = (
        judged
        for judged in found.judgements
        if judged.reference.startswith(reference) and (judged.property, judged.condition) == (property, condition)
    )
    return judged


def test_libraries_come_before_rules(found: Evidence) -> None:
    assert [(judged.kind, judged.reference.split()[0], judged.condition) for judged in found.judgements] == [
        ("library", "CoolProp", None),
        ("library", "CoolProp", None),
        ("library", "CoolProp", "5 to 500 kPa"),
        ("library", "CoolProp", None),
        ("library", "IAPWS-95", None),
        ("rule", "order:", None),
    ]


def test_boiling_points_against_a_library(found: Evidence) -> None:
    judged = judgement(found, "CoolProp", BOILING_POINT)
    assert (judged.unit, judged.relative, judged.n_components, judged.n_differing) == ("K", False, 7, 4)
    assert [case.cas for case in judged.deviations[:4]] == ["110-54-3", "67-64-1", "141-78-6", "71-43-2"]
    hexane, acetone, ester = judged.deviations[:3]
    assert (hexane.ours, hexane.reference_value, hexane.deviation, hexane.n_inside_u95) == (341.9, 321.9, 20.0, 1)
    assert (acetone.u95, acetone.n_inside_u95, acetone.adjudicated) == (3.0, 0, None)
    assert (ester.deviation, ester.adjudicated) == (-2.0, "ours")
    assert [(grade.grade, grade.n_components, grade.share_inside_u95) for grade in judged.by_grade] == [
        ("A", 3, 1.0),
        ("B", 2, 0.0),
        ("D", 2, 0.5),
    ]


def test_vapour_pressures_are_relative_and_held_against_the_band(found: Evidence) -> None:
    bench = judgement(found, "CoolProp", "vapour_pressure", "5 to 500 kPa")
    toluene, ethanol = bench.deviations
    assert (bench.unit, bench.relative, bench.n_points, bench.n_components_differing) == ("1", True, 3, 1)
    assert ethanol.mean_abs_deviation == pytest.approx(0.002)
    # the band is 0.2 % at 10 kPa and 0.1 % at 101.325 kPa: 0.1 % lies inside the one, 0.3 % outside the other
    assert (ethanol.n_points, ethanol.n_inside_u95, ethanol.grade, ethanol.ours) == (2, 1, "B", None)
    assert ethanol.u95 == pytest.approx(0.0015, abs=1e-5)
    assert toluene.deviation == pytest.approx(0.05)
    assert judgement(found, "CoolProp", "vapour_pressure").n_points == 4


def test_an_uncertainty_holds_for_its_own_temperature_alone(found: Evidence) -> None:
    (ethanol,) = judgement(found, "CoolProp", "enthalpy_of_vaporization").deviations
    assert (ethanol.n_points, ethanol.u95, ethanol.n_inside_u95) == (2, None, None)
    assert ethanol.deviation == pytest.approx((-300 / 42300 - 300 / 38300) / 2)


def test_of_a_rule_of_physics_those_that_break_it_are_told(found: Evidence) -> None:
    judged = judgement(found, "order", BOILING_POINT)
    assert (judged.n_components, judged.n_differing) == (2, 1)
    (benzene,) = judged.deviations
    # as the table states it: the part that breaks the order, not the distance to the critical temperature
    assert (benzene.cas, benzene.deviation, benzene.u95) == ("71-43-2", 13.2, None)


def disputes_of(found: Evidence, property: str) -> dict[str, Dispute]:
    return {dispute.cas: dispute for dispute in found.disputes if dispute.property == property}


def test_what_is_a_dispute_and_what_is_not(found: Evidence) -> None:
    # neither agreement (ethanol) nor an estimate (acetone) nor a cut that boils over a range (petroleum ether)
    assert list(disputes_of(found, BOILING_POINT)) == ["110-54-3", "57-50-1", "108-88-3", "71-43-2"]
    assert list(disputes_of(found, "flash_point")) == ["108-88-3"]


def test_the_score_of_a_dispute(found: Evidence) -> None:
    disputed = disputes_of(found, BOILING_POINT)
    # gap / (10 K × middle / 298.15 K) × (independent sources of the smaller camp)²
    assert disputed["108-88-3"].score == pytest.approx(39.9 / (10 * 363.75 / 298.15) * 1)
    middle = (300.5 + 341.7976) / 2
    assert disputed["110-54-3"].score == pytest.approx(41.2976 / (10 * middle / 298.15) * 4, rel=1e-5)
    assert disputed["57-50-1"].score == pytest.approx(200 / (10 * 600 / 298.15))


def test_houses_and_copies_count_once(found: Evidence) -> None:
    disputed = disputes_of(found, BOILING_POINT)
    # one house with two tables, and a correlation
    assert (disputed["110-54-3"].n_lower, disputed["110-54-3"].n_upper) == (2, 2)
    # two houses with the same number
    assert (disputed["71-43-2"].n_lower, disputed["71-43-2"].n_upper) == (1, 1)


def test_the_observations_of_a_dispute(found: Evidence) -> None:
    hexane = disputes_of(found, BOILING_POINT)["110-54-3"]
    assert [(said.source, said.camp, said.speaks_by) for said in hexane.observations] == [
        ("beta_journal", "lower", "values"),
        ("gamma_list", "lower", "values"),
        ("epsilon_curves", "upper", "correlations"),
        ("alpha_handbook", "upper", "values"),
        ("alpha_supplement", "upper", "values"),
    ]
    curve, lower = hexane.observations[2], hexane.observations[0]
    assert curve.value == pytest.approx(2700 / (19.4255 - math.log(101325)))
    assert (curve.raw, curve.source_row) == ("A=19.4255; B=2700", 1)
    assert (lower.status, lower.reason) == ("outlier", "outside the consensus near 341.9 K")


def test_what_the_store_decided(found: Evidence) -> None:
    disputed = disputes_of(found, BOILING_POINT)
    assert (disputed["108-88-3"].stands_with, disputed["108-88-3"].left_open) == ("upper", False)
    assert (disputed["110-54-3"].stands_with, disputed["110-54-3"].left_open) == ("upper", True)
    assert (disputed["71-43-2"].stands_with, disputed["71-43-2"].value) == ("lower", 353.2)
    sucrose = disputed["57-50-1"]
    assert (sucrose.value, sucrose.stands_with, sucrose.left_open) == (None, None, None)
    assert sucrose.phase_behaviour == "decomposes"


def test_a_value_between_the_camps_stands_with_neither(changed: Callable[..., Evidence]) -> None:
    found = changed(
        f"UPDATE evaluation SET value = 365, u95 = 30 WHERE cas = '108-88-3' AND property = '{BOILING_POINT}'"
    )
    toluene = disputes_of(found, BOILING_POINT)["108-88-3"]
    assert (toluene.stands_with, toluene.left_open) == ("neither", True)


def test_disagreement_of_two_sources(found: Evidence) -> None:
    (pair,) = found.disagreements  # the others share fewer than ten components
    assert (pair.source_a, pair.source_b) == ("eta_table", "zeta_table")
    assert (pair.n_shared, pair.n_differing, pair.n_identical, pair.share_differing) == (12, 3, 4, 0.25)
    assert pair.median_abs_difference_K == pytest.approx(0.5)


def test_spreads(found: Evidence) -> None:
    # sucrose, hexane, toluene, benzene, and three of the twelve; petroleum ether is a stream
    assert [(spread.wider_than_K, spread.n_components) for spread in found.spreads] == [(1, 7), (10, 4), (100, 1)]
    assert found.spreads[1].grades == {"A": 1, "B": 1, "D": 1, "none": 1}


def test_calibration(found: Evidence) -> None:
    rows = {(row.property, row.grade): row for row in found.calibration}
    assert next(iter(rows)) == (BOILING_POINT, "A")
    b = rows[BOILING_POINT, "B"]
    assert (b.n_held_out, b.n_blunders, b.coverage, b.met) == (200, 9, 0.90, False)
    assert b.coverage_low is not None and b.coverage_high is not None and b.coverage_low < 0.90 < b.coverage_high
    assert rows[BOILING_POINT, "C"].met is None
    d = rows[BOILING_POINT, "D"]
    assert (d.coverage, d.coverage_low, d.met) == (None, None, None)


# R. G. Newcombe, Stat. Med. 17 (1998) 857-872, table I, method 3 (score without continuity correction); the
# figures from memory.
@pytest.mark.parametrize(
    ("hits", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_score_interval(hits: int, n: int, low: float, high: float) -> None:
    assert score_interval(hits / n, n) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 10_000), st.data())
def test_a_score_interval_holds_the_share(n: int, data: st.DataObject) -> None:
    share = data.draw(st.integers(0, n)) / n
    low, high = score_interval(share, n)
    assert 0.0 <= low <= share + 1e-12 and share - 1e-12 <= high <= 1.0


def test_source_models_and_structure_model(found: Evidence) -> None:
    assert [(model.source, model.company, model.unit, model.relative) for model in found.source_models] == [
        ("alpha_handbook", "many", "K", False),
        ("alpha_handbook", "few", "K", False),
        ("epsilon_curves", "some", "K", False),
        ("beta_journal", "some", "1", True),
    ]
    assert [row.chemical_class for row in found.structure_model] == ["all", "silicon"]


def test_refusals_by_kind(found: Evidence) -> None:
    # a value of a row that was refused whole is not counted again
    assert [(refusal.reason, refusal.n, refusal.sources) for refusal in found.rejected] == [
        ("CAS number", 2, {"alpha_handbook": 1, "beta_journal": 1}),
        ("there is no unit", 1, {"beta_journal": 1}),
    ]
    assert (found.rejected[0].example_source, found.rejected[0].example_raw) == ("alpha_handbook", "a\tb")


def test_outliers_by_kind(found: Evidence) -> None:
    assert [(kind.reason, kind.n, kind.properties) for kind in found.outliers] == [
        ("outside the consensus", 3, {BOILING_POINT: 2, "flash_point": 1}),
        ("decomposes", 2, {BOILING_POINT: 2}),
        ("no reason is given", 1, {BOILING_POINT: 1}),
        ("reads like reduced pressure", 1, {BOILING_POINT: 1}),
    ]


def test_sources_and_adjudications(found: Evidence) -> None:
    assert [(account.source, account.rows_rejected) for account in found.sources] == [
        ("alpha_handbook", 1),
        ("beta_journal", 1),
    ]
    (adjudicated,) = found.adjudications
    assert (adjudicated.name, adjudicated.stands_with, adjudicated.value) == ("ethyl acetate", "ours", 350.1)


def test_the_report_is_strict_json_and_reads_well(found: Evidence) -> None:
    assert json.loads(json.dumps(asdict(found), allow_nan=False))["targets"][0]["met"] is False
    assert str(found).splitlines()[0].endswith(": median deviation: 0.06, asked at most 0.04 (K)")


def test_the_same_store_gives_the_same_report(tmp_path: Path, found: Evidence) -> None:
    with db.open(build_store(tmp_path / "again.duckdb")) as store:
        again = evidence(store)
    assert asdict(again) | {"path": ""} == asdict(found) | {"path": ""}


def test_a_store_without_a_table_is_damaged(changed: Callable[..., Evidence]) -> None:
    with pytest.raises(StoreDamaged):
        changed("DROP TABLE calibration")


def test_relative_properties_are_judged_relatively(changed: Callable[..., Evidence]) -> None:
    relative = [name for name, entry in PROPERTIES.items() if entry.relative]
    rows = [f"('64-17-5', '{name}', 400, 'IAPWS-95', 9.9, 10, 12345, 0.05, 'agrees')" for name in relative]
    found = changed(f"INSERT INTO crosscheck VALUES {', '.join(rows)}")
    for name in relative:
        judged = judgement(found, "IAPWS-95", name)
        assert (judged.unit, judged.relative) == ("1", True)
        assert judged.median_abs_deviation == pytest.approx(0.01)

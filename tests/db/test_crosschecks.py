"""What the judges say of one component, as the store holds it. The rows are invented."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from cutpoint import db

HEXANE = "110-54-3"
ADDED = f"""
    INSERT INTO crosscheck VALUES
        ('{HEXANE}', 'vapour_pressure', 320, 'CoolProp 0', 49000, 50000, -0.02, 0.02, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 300, 'CoolProp 0', 21900, 11000, 0.99, 0.02, 'differs'),
        ('{HEXANE}', 'normal_boiling_point', 0, 'IAPWS 0', 341.88, 341.86, 0.02, 0.5, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 300, 'a rule of physics', 1, 2, -0.5, 0.1, 'differs'),
        ('108-88-3', 'normal_boiling_point', 0, 'CoolProp 0', 383.75, 384.75, -1, 0.5, 'differs');
    INSERT INTO adjudication VALUES
        ('{HEXANE}', 'vapour_pressure', 'ours', 22000, 'Pa', 300, 'an invented handbook', 'the judge is in error');
"""


@pytest.fixture(scope="module")
def judged(small_store_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[db.Store]:
    path = shutil.copy(small_store_path, tmp_path_factory.mktemp("judged") / "judged.duckdb")
    with duckdb.connect(str(path)) as connection:
        connection.execute(ADDED)
    with db.open(path) as opened:
        yield opened


def test_every_comparison_in_order(judged: db.Store) -> None:
    checks = judged.component(HEXANE).crosschecks()
    assert [(check.property, check.temperature_K, check.reference) for check in checks] == [
        ("normal_boiling_point", None, "IAPWS 0"),
        ("vapour_pressure", 300.0, "CoolProp 0"),
        ("vapour_pressure", 320.0, "CoolProp 0"),
        ("vapour_pressure", 300.0, "a rule of physics"),
    ]
    assert [check.kind for check in checks] == ["library", "library", "library", "rule"]
    assert checks[0] == db.Crosscheck(
        "K", "normal_boiling_point", None, "IAPWS 0", "library", 341.88, 341.86, 0.02, 0.5, "agrees", None
    )


def test_the_third_source_is_heard_where_a_library_differs(judged: db.Store) -> None:
    decided = {(check.temperature_K, check.kind): check.stands_with for check in judged.component(HEXANE).crosschecks()}
    assert decided.pop((300.0, "library")) == "ours"
    assert decided == {(None, "library"): None, (320.0, "library"): None, (300.0, "rule"): None}
    assert judged.component("108-88-3").crosschecks()[0].stands_with is None


def test_a_component_without_a_judge(judged: db.Store) -> None:
    assert judged.component("67-64-1").crosschecks() == ()


def test_a_comparison_reads_well(judged: db.Store) -> None:
    told = [str(check) for check in judged.component(HEXANE).crosschecks()]
    assert told[0] == "normal_boiling_point: 341.88 against 341.86 K (IAPWS 0, agrees)"
    assert told[2] == "vapour_pressure at 320.00 K: 49000 against 50000 Pa (CoolProp 0, agrees)"

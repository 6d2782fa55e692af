"""The command `diff`: its page, its object, its exit statuses."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
import pytest
from click.testing import Result

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]
Error = Callable[..., tuple[dict[str, Any], int]]

# Invented changes: one of every kind that the page has a part for.
CHANGES = """
    UPDATE hazard SET value = value - 10, conservative = conservative - 10
        WHERE cas = '60-29-7' AND property = 'flash_point';
    UPDATE hazard SET value = value - 1e-3 WHERE cas = '95-47-6' AND property = 'flash_point';
    UPDATE hazard SET value = value + 10 WHERE cas = '108-88-3' AND property = 'flash_point';
    UPDATE hazard SET text = 'C' WHERE cas = '60-29-7' AND property = 'peroxide_former';
    UPDATE evaluation SET value = value - 12.5, grade = 'C'
        WHERE cas = '110-54-3' AND property = 'normal_boiling_point';
    UPDATE evaluation SET value = value + 0.3 WHERE cas = '64-17-5' AND property = 'normal_boiling_point';
    DELETE FROM evaluation WHERE cas = '630-08-0' AND property = 'normal_boiling_point';
    DELETE FROM vapour_curve WHERE cas = '95-47-6';
    UPDATE component SET name = 'propanone' WHERE cas = '67-64-1';
    UPDATE observation SET status = 'accepted', reason = NULL WHERE source = 'demo_c';
    INSERT INTO rejected VALUES ('demo_a', 7, '*', NULL, 'raw', 'there is no unit');
    INSERT INTO build VALUES ('library:sieve', '1.1');
"""


@pytest.fixture(scope="module")
def newer(small_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = Path(shutil.copy(small_store, tmp_path_factory.mktemp("diff") / "newer.duckdb"))
    with duckdb.connect(str(path)) as connection:
        connection.execute(CHANGES)
    return path


def test_identical_stores(run: Run, answer: Answer, small_store: Path) -> None:
    result = run("diff", str(small_store), str(small_store))
    assert result.exit_code == 0
    assert "The stores hold the same rows in every table" in result.stdout
    told = answer("diff", str(small_store), str(small_store))
    assert told["identical"] is True
    assert told["evaluations"] == []


def test_the_same_rows_built_otherwise(run: Run, small_store: Path, tmp_path: Path) -> None:
    other = shutil.copy(small_store, tmp_path / "other.duckdb")
    with duckdb.connect(str(other)) as connection:
        connection.execute(f"INSERT INTO build VALUES ('source:demo_a', '{'c0ffee' * 10}abcd')")
    page = run("diff", str(small_store), str(other)).stdout
    assert "hold the same rows" in page
    assert "source:demo_a  –    c0ffeec0ffee\n" in page


def test_the_parts_of_the_page_in_their_order(run: Run, small_store: Path, newer: Path) -> None:
    result = run("diff", str(small_store), str(newer))
    assert result.exit_code == 0
    parts = [
        "Hazards, more dangerous: 2",
        "Hazards, restated: 1",
        "Hazards, less dangerous: 1",
        "Rows, from",
        "Built with",
        "Evaluated values",
        "Normal boiling point, largest changes first",
        "Vapour-pressure curves",
        "Components: 0 appeared, 0 disappeared, 1 renamed",
        "Observations under another status",
        "Rejected rows and values",
    ]
    places = [result.stdout.index(part) for part in parts]
    assert places == sorted(places)


def test_what_the_page_says(run: Run, small_store: Path, newer: Path) -> None:
    page = " ".join(run("diff", str(small_store), str(newer)).stdout.split())
    with duckdb.connect(str(small_store), read_only=True) as connection:
        outliers = connection.execute("SELECT count(*) FROM observation WHERE source = 'demo_c'").fetchone()
    assert outliers is not None
    for said in (
        "diethyl ether [60-29-7] flash point -45.0 °C (cautious end -47.0 °C) -55.0 °C (cautious end -57.0 °C)",
        "1 moved by less than the digits shown to readers.",
        "safety data sheet",
        "diethyl ether [60-29-7] peroxide former B C",
        "evaluation 0 1 2 value 2, grade 1",
        "Without a difference: adjudication, azeotrope,",
        "normal boiling point 0 1 2 0 0 0 2",
        "Grades: A → C 1.",
        "hexane [110-54-3] 68.73 ± 0.20 °C 56.23 ± 0.20 °C -12.5 K 62× A → C",
        "carbon monoxide [630-08-0] -191.55 ± 0.40 °C – removed A → –",
        "o-xylene [95-47-6] antoine, demo_curves, grade B –",
        "67-64-1 acetone propanone",
        f"demo_c normal boiling point 0 {outliers[0]}",
        "demo_a: 0 → 1 refused because there is no unit",
        "library:sieve – 1.1",
    ):
        assert said in page, said
    assert page.index("hexane [110-54-3] 68.73") < page.index("ethanol [64-17-5] 78.29")


def test_no_danger_is_said_so(run: Run, small_store: Path, newer: Path) -> None:
    page = run("diff", str(small_store), str(small_store.parent / "none.duckdb"))
    assert page.exit_code == 1
    harmless = shutil.copy(small_store, newer.parent / "harmless.duckdb")
    with duckdb.connect(str(harmless)) as connection:
        connection.execute("UPDATE component SET name = 'propanone' WHERE cas = '67-64-1'")
    assert "No hazard figure moved to the dangerous side." in run("diff", str(small_store), str(harmless)).stdout


def test_the_limit_cuts_lists_and_says_so(run: Run, answer: Answer, small_store: Path, newer: Path) -> None:
    page = run("diff", str(small_store), str(newer), "--limit", "1").stdout
    assert "hexane [110-54-3]" in page and "ethanol [64-17-5]" not in page
    assert "and 1 more: --limit shows more of them." in page
    told = answer("diff", str(small_store), str(newer), "--limit", "1")
    (boiling,) = (held for held in told["evaluations"] if held["property"] == "normal_boiling_point")
    assert [change["cas"] for change in boiling["largest"]] == ["110-54-3"]


def test_the_object(answer: Answer, small_store: Path, newer: Path) -> None:
    told = answer("diff", str(small_store), str(newer))
    assert (told["identical"], told["old"], told["new"]) == (False, str(small_store), str(newer))
    assert told["hazards"]["changes"][0] == {
        "cas": "60-29-7",
        "name": "diethyl ether",
        "property": "flash_point",
        "limit_kind": "value",
        "change": "more dangerous",
        "old_value": 228.15,
        "old_conservative": 226.15,
        "old_unit": "K",
        "old_text": None,
        "new_value": 218.15,
        "new_conservative": 216.15,
        "new_unit": "K",
        "new_text": None,
    }
    assert told["rejections"] == [{"source": "demo_a", "reason": "there is no unit", "old": 0, "new": 1}]


@pytest.mark.parametrize("which", ["old", "new"])
def test_a_store_that_is_missing(run: Run, error: Error, small_store: Path, tmp_path: Path, which: str) -> None:
    missing = str(tmp_path / "missing.duckdb")
    pair = [missing, str(small_store)] if which == "old" else [str(small_store), missing]
    told, status = error("diff", *pair)
    assert (told["kind"], status) == ("store_missing", 1)
    assert f"The {which} one" in told["message"] and missing in told["message"]
    result = run("diff", *pair)
    assert (result.stdout, len(result.stderr.splitlines())) == ("", 1)


@pytest.mark.parametrize("arguments", [["diff"], ["diff", "one"], ["diff", "a", "b", "--limit", "0"]])
def test_wrong_usage(error: Error, arguments: list[str]) -> None:
    told, status = error(*arguments)
    assert (told["kind"], status) == ("usage", 2)


def test_the_object_is_utf_8_whatever_the_locale(process: Callable[..., Any], small_store: Path, newer: Path) -> None:
    answered = process("diff", str(small_store), str(newer), "--json", PYTHONIOENCODING="ascii")
    assert answered.returncode == 0
    assert json.loads(answered.stdout)["identical"] is False

"""What bad input gets: one paragraph or one object, the right exit status, never a traceback."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from cutpoint import db

Error = Callable[..., tuple[dict[str, Any], int]]
Run = Callable[..., Result]

WRONG_USAGE = [
    (["find"], "usage"),
    (["find", ""], "usage"),
    (["find", "\udcff"], "usage"),
    (["find", "hexane", "--limit", "0"], "usage"),
    (["find", "hexane", "--frobnicate"], "usage"),
    (["frobnicate"], "usage"),
    (["card", "ethyl", "acetate"], "usage"),
    (["boil", "hexane", "--at", "84 kPa", "--altitude", "1600m"], "usage"),
    (["near", "hexane", "--at", "84 kPa", "--altitude", "1600m"], "usage"),
    (["pair", "hexane", "acetone", "--at", "84 kPa", "--altitude", "1600m"], "usage"),
    (["boil", "hexane", "--at", "84"], "unit"),
    (["boil", "hexane", "--at", "5 K"], "unit"),
    (["boil", "hexane", "--at", "0 kPa"], "impossible_quantity"),
    (["boil", "hexane", "--at", "-3 kPa"], "impossible_quantity"),
    (["boil", "hexane", "--altitude", "84 kPa"], "unit"),
    (["near", "hexane", "--within", "5 bar"], "unit"),
    (["near", "hexane", "--within", "-5K"], "impossible_quantity"),
    (["pair", "hexane"], "usage"),
    (["pair", "hexane", "hexane"], "usage"),
    (["pair", "hexane", "acetone", "--purity", "0.95"], "unit"),
    (["pair", "hexane", "acetone", "--purity", "101%"], "impossible_quantity"),
    (["pair", "hexane", "acetone", "--purity", "95%", "--purity", "95%", "--purity", "95%"], "usage"),
    (["pair", "hexane", "acetone", "--basis", "guessed"], "usage"),
]
NO_ANSWER = [
    (["find", "qqqqzzzzxxxx"], "not_found"),
    (["find", "141-78-5"], "cas_check_digit"),
    (["card", "141-78-5"], "cas_check_digit"),
    (["card", "64-18-6"], "not_found"),
    (["card", "etyl acetat"], "not_found"),
    (["card", "C4H8O2"], "ambiguous"),
    (["card", "C99H2"], "not_found"),
    (["card", "'; DROP TABLE component; --"], "not_found"),
    (["boil", "butan-2-one", "--at", "84 kPa"], "no_value"),
    (["boil", "hexane", "--at", "10 MPa"], "out_of_range"),
    (["boil", "hexane", "--altitude", "20 km"], "out_of_range"),
    (["near", "hexan"], "not_found"),
    (["boil", "ammonium bromide"], "no_value"),
    (["boil", "1,4-dioxane", "--at", "1 kPa"], "out_of_range"),
    (["pair", "hexane", "C4H8O2"], "ambiguous"),
]
CASES = [(arguments, kind, 2) for arguments, kind in WRONG_USAGE] + [
    (arguments, kind, 1) for arguments, kind in NO_ANSWER
]


@pytest.mark.parametrize(("arguments", "kind", "status"), CASES)
def test_an_object_on_standard_output(error: Error, arguments: list[str], kind: str, status: int) -> None:
    told, exit_status = error(*arguments)
    assert (told["kind"], exit_status) == (kind, status)
    assert told["message"]


@pytest.mark.parametrize(("arguments", "kind", "status"), CASES)
def test_a_paragraph_on_standard_error(run: Run, arguments: list[str], kind: str, status: int) -> None:
    result = run(*arguments)
    assert result.exit_code == status
    assert result.stdout == ""
    assert result.stderr.strip() and len(result.stderr.splitlines()) == 1
    assert "Traceback" not in result.stderr


def test_the_candidates_are_listed(error: Error, run: Run) -> None:
    told, _ = error("card", "C4H8O2")
    assert {candidate["cas"] for candidate in told["candidates"]} == {"141-78-6", "123-91-1", "107-92-6"}
    assert all(candidate["name"] for candidate in told["candidates"])
    page = run("card", "C4H8O2").stderr
    assert "141-78-6" in page and "123-91-1" in page
    assert "[110-54-3]" in run("card", "hexan").stderr


def test_the_right_check_digit_is_told(run: Run) -> None:
    assert "141-78-6" in run("card", "141-78-5").stderr


def test_a_name_of_several_words_is_told_to_be_quoted(run: Run) -> None:
    assert "A name of several words goes in quotes." in run("card", "ethyl", "acetate").stderr


def test_an_option_without_its_value(run: Run) -> None:
    result = run("boil", "hexane", "--at")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--at" in result.stderr


def test_json_after_two_hyphens_is_a_name(run: Run) -> None:
    result = run("find", "--", "--json")
    assert (result.exit_code, result.stdout) == (1, "")


def test_without_a_command_the_help_is_shown(run: Run, error: Error) -> None:
    result = run()
    assert (result.exit_code, result.stdout) == (2, "")
    assert "Commands:" in result.stderr
    told, status = error()
    assert (told["kind"], status) == ("usage", 2)


@pytest.mark.parametrize(
    ("spoil", "kind"),
    [
        (lambda path: path.unlink(), "store_missing"),
        (lambda path: path.write_bytes(path.read_bytes()[:20_000]), "store_damaged"),
        (lambda path: path.write_bytes(b"no store " * 5_000), "store_damaged"),
        (lambda path: path.write_bytes(b""), "store_damaged"),
    ],
)
@pytest.mark.parametrize("command", [["find", "hexane"], ["verify"]])
def test_a_store_that_cannot_be_read(
    error: Error, small_store: Path, tmp_path: Path, spoil: Callable[[Path], None], kind: str, command: list[str]
) -> None:
    path = tmp_path / "components.duckdb"
    path.write_bytes(small_store.read_bytes())
    spoil(path)
    told, status = error(*command, "--store", str(path))
    assert (told["kind"], status) == (kind, 1), told["message"]
    assert "cutpoint rebuild" in told["message"]


def test_a_store_of_another_schema_version(error: Error, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(db.store, "SCHEMA_VERSION", 999)
    told, status = error("find", "hexane")
    assert (told["kind"], status) == ("store_outdated", 1)
    assert "999" in told["message"] and "cutpoint rebuild" in told["message"]


def test_an_unexpected_failure_is_one_paragraph_too(run: Run, error: Error, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(path: Path | None) -> None:
        raise RuntimeError("a fault that nobody thought of")

    monkeypatch.setattr(db, "open", fail)
    result = run("find", "hexane")
    assert result.exit_code == 1
    assert "RuntimeError: a fault that nobody thought of (test_bad_input.py, line" in result.stderr
    assert "report" in result.stderr
    told, status = error("find", "hexane")
    assert (told["kind"], status) == ("internal", 1)


def test_an_interrupt_is_no_traceback(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(path: Path | None) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(db, "open", interrupt)
    result = run("find", "hexane")
    assert (result.exit_code, result.stdout, result.stderr.strip()) == (130, "", "")

"""The demonstration: six questions, each command line before its answer."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpoint.planner import demo


def test_the_demo_prints_each_command_line_before_its_answer(
    real_store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CUTPOINT_DB", str(real_store))
    demo.main()
    page = capsys.readouterr().out
    places = [page.index(f"$ cutpoint {command}") for command in ("find", "card", "boil", "pair", "plan")]
    assert places == sorted(places)
    for told in ("The nearest spellings are", "Cautions", "boils at", "azeotrope", "What to do", "It should work"):
        assert told in page


def test_the_demo_fails_with_the_first_question_that_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CUTPOINT_DB", str(tmp_path / "none.duckdb"))
    with pytest.raises(SystemExit, match="1"):
        demo.main()
    assert "cutpoint rebuild" in capsys.readouterr().err

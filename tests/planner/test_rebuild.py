"""`rebuild` and `verify`: what they hand to the pipeline, and what they show of its report."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from click.testing import Result

from cutpoint.db.predicted_rows import predicted_azeotropes
from cutpoint.schema.errors import SourceChanged

Answer = Callable[..., dict[str, Any]]
Run = Callable[..., Result]

TABLES = {"component": {"rows": 70_000, "digest": "ab" * 32}, "name": {"rows": 210_000, "digest": "cd" * 32}}


@dataclass(frozen=True)
class Report:
    """A report as the pipeline's, with invented figures."""

    path: str
    digest: str = "ef" * 32
    tables: dict[str, dict[str, Any]] = field(default_factory=lambda: TABLES)
    seconds: float = 12.5
    peak_rss_MiB: float = 800.0
    up_to_date: bool = False
    stages_run: list[str] = field(default_factory=list)
    sources: list[dict[str, Any]] = field(
        default_factory=lambda: [
            {"source": "small", "rows_read": 1_005, "rows_kept": 1_000, "rows_rejected": 5, "values_rejected": 2}
        ]
    )
    counts: dict[str, int] = field(default_factory=lambda: {"components": 70_000, "with_boiling_point": 18_900})
    rejected_by_reason: dict[str, int] = field(default_factory=lambda: {"the check digit is wrong": 7})
    differences: list[dict[str, Any]] = field(default_factory=list)


class Pipeline(ModuleType):
    """Stands in for the module that builds; remembers what it was asked."""

    def __init__(self) -> None:
        super().__init__("cutpoint.pipeline.build")
        self.asked: dict[str, Any] = {}
        self.differences: list[dict[str, Any]] = []

    def build(self, path: Path, **options: Any) -> Report:
        self.asked = {"path": path, **options}
        options["progress"]("read small", 0.0)
        options["progress"]("done", 1.0)
        return Report(str(path))

    def verify(self, path: Path, **options: Any) -> Report:
        self.asked = {"path": path, **options}
        return Report(str(path), differences=self.differences)


@pytest.fixture
def pipeline(monkeypatch: pytest.MonkeyPatch) -> Pipeline:
    stand_in = Pipeline()
    package = ModuleType("cutpoint.pipeline")
    package.build = stand_in  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "cutpoint.pipeline", package)
    monkeypatch.setitem(sys.modules, "cutpoint.pipeline.build", stand_in)
    return stand_in


def test_rebuild_hands_its_options_on(answer: Answer, pipeline: Pipeline, tmp_path: Path) -> None:
    target, folder = tmp_path / "new.duckdb", tmp_path / "parquet"
    options = ("--parquet", str(folder), "--without", "one", "--without", "two", "--snapshot", str(tmp_path))
    told = answer("rebuild", "--to", str(target), *options)
    progress = pipeline.asked.pop("progress")
    assert callable(progress)
    assert pipeline.asked.pop("predict") is predicted_azeotropes
    assert pipeline.asked == {
        "path": target,
        "without": ("one", "two"),
        "parquet": folder,
        "snapshot": tmp_path,
    }
    assert told.keys() >= {"path", "digest", "tables", "seconds", "peak_rss_MiB"}
    assert told["tables"] == TABLES


def test_rebuild_goes_where_the_environment_says(answer: Answer, pipeline: Pipeline, small_store: Path) -> None:
    answer("rebuild")
    assert pipeline.asked["path"] == small_store


def test_rebuild_prints_counts_digest_time_and_sources(run: Run, pipeline: Pipeline) -> None:
    result = run("rebuild")
    for told in (
        "small",
        "1,005",
        "1,000",
        "70,000",
        "18,900",
        "the check digit is wrong",
        "ef" * 32,
        "12.5 s",
        "800 MiB",
    ):
        assert told in result.stdout
    assert result.stderr.splitlines() == ["  0%  read small", "100%  done"]


def test_verify_of_a_store_that_is_reproduced(answer: Answer, run: Run, pipeline: Pipeline, small_store: Path) -> None:
    told = answer("verify")
    assert pipeline.asked["path"] == small_store
    assert told.keys() >= {"path", "digest", "tables", "seconds", "peak_rss_MiB", "differences"}
    assert "A rebuild gives the same tables" in run("verify").stdout


def test_verify_tells_every_difference_and_exits_1(run: Run, pipeline: Pipeline) -> None:
    pipeline.differences = [{"table": "name", "store_digest": "cd" * 32, "rebuilt_digest": "01" * 32}]
    result = run("verify")
    assert result.exit_code == 1
    assert "1 tables differ" not in result.stdout
    assert "1 table differs from a rebuild" in result.stdout
    assert "010101" in result.stdout and "component" in result.stdout
    assert run("verify", "--json").exit_code == 1


def test_an_error_of_the_build_is_a_paragraph(run: Run, pipeline: Pipeline, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(path: Path, **options: Any) -> None:
        raise SourceChanged("The table small is not the locked one.")

    monkeypatch.setattr(pipeline, "build", refuse)
    result = run("rebuild")
    assert result.exit_code == 1
    assert result.stderr == "The table small is not the locked one.\n"


def test_a_missing_library_is_told(tmp_path: Path) -> None:
    script = "import sys; sys.modules['pandas'] = None; from cutpoint.planner.cli import main; main()"
    command = [sys.executable, "-c", script, "rebuild", "--to", str(tmp_path / "s.duckdb")]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 1
    assert "not installed" in result.stderr and "extra `pipeline`" in result.stderr
    assert not list(tmp_path.iterdir())

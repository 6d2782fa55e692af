"""Ways to run the command line on a small store."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import duckdb
import pytest
from click.testing import CliRunner, Result

from cutpoint.planner.cli import cli

Run = Callable[..., Result]
Process = Callable[..., subprocess.CompletedProcess[bytes]]

SMALL_STORE = Path(__file__).parents[1] / "db" / "conftest.py"
"""The hand-written store of the query module's tests; here it is asked through the command line."""

# A correlation of hexane as a source might give it, and a component without a curve; figures invented.
ADDED = """
    INSERT INTO observation VALUES ('demo_curves', 5, 'A', '110-54-3', 'vapour_pressure', NULL, 'Pa', NULL, NULL,
    'antoine', [20.7, 2697.5, -48.8], 270, 400, 'compiled', '20.7 2697.5 -48.8', 'accepted', NULL);
    INSERT INTO component VALUES ('78-93-3', 'butan-2-one', 'C4H8O', 72.106, 'CCC(C)=O',
    'ZWEHNKRNPOVVGH-UHFFFAOYSA-N', 'pure', 'boils', 'demo_identity', NULL);
    INSERT INTO name VALUES ('butan2one', '78-93-3', 'butan-2-one', 'en', 'systematic', 'own', 1, 'demo_names');
    INSERT INTO evaluation VALUES ('78-93-3', 'normal_boiling_point', 352.7, 0.4, 'K', NULL, 'A', 4, 352.6, 352.8,
    'two-pass consensus');
"""


@pytest.fixture(scope="session")
def small_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Path of a store of twenty components."""
    # Test folders are no packages, so the module is loaded from where it stands.
    specification = spec_from_file_location("small_store", SMALL_STORE)
    assert specification is not None and specification.loader is not None
    module = module_from_spec(specification)
    specification.loader.exec_module(module)
    path: Path = module.build_small_store(tmp_path_factory.mktemp("planner") / "small.duckdb")
    with duckdb.connect(str(path)) as connection:
        connection.execute(ADDED)
    return path


@pytest.fixture
def run(small_store: Path) -> Run:
    """Run a command line on the small store, in this process."""

    def invoke(*arguments: str, **environment: str) -> Result:
        return CliRunner().invoke(cli, list(arguments), env={"CUTPOINT_DB": str(small_store)} | environment)

    return invoke


@pytest.fixture
def answer(run: Run) -> Callable[..., dict[str, Any]]:
    """The object that a command line with `--json` prints; it must succeed and be strict JSON."""

    def ask(*arguments: str) -> dict[str, Any]:
        result = run(*arguments, "--json")
        assert result.exit_code == 0, result.output
        return strict(result.stdout)

    return ask


@pytest.fixture
def error(run: Run) -> Callable[..., tuple[dict[str, Any], int]]:
    """The error object that a command line with `--json` prints, and the exit status."""

    def ask(*arguments: str) -> tuple[dict[str, Any], int]:
        result = run(*arguments, "--json")
        told = strict(result.stdout)
        assert set(told) == {"error"}
        assert set(told["error"]) == {"kind", "message", "candidates"}
        return told["error"], result.exit_code

    return ask


@pytest.fixture
def process(small_store: Path) -> Process:
    """Run a command line on the small store, in a process of its own."""

    def start(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
        command = [sys.executable, "-m", "cutpoint.planner", *arguments]
        surroundings = {**os.environ, "CUTPOINT_DB": str(small_store)} | environment
        return subprocess.run(command, env=surroundings, capture_output=True, check=False)

    return start


def strict(text: str) -> dict[str, Any]:
    """The one JSON object that the text is; NaN and infinities are refused."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is not JSON")

    parsed = json.loads(text, parse_constant=refuse)
    assert isinstance(parsed, dict)
    return parsed

"""What all tests share: the store of all real data, built once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.db.predicted_rows import predicted_azeotropes
from cutpoint.pipeline.build import build

REPOSITORY = Path(__file__).parents[1]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--benchmarks", action="store_true", help="run tests/benchmarks and print its ratios")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Benchmarks measure; they are no tests, and run only when asked for."""
    if config.getoption("--benchmarks"):
        return
    kept = [item for item in items if "benchmarks" not in item.path.parts]
    config.hook.pytest_deselected(items=[item for item in items if item not in kept])
    items[:] = kept


@pytest.fixture(scope="session")
def real_store() -> Path:
    """Path of the store of all real data; stages that an earlier run made are taken from the cache."""
    path = REPOSITORY / "build" / "tests" / "components.duckdb"
    build(path, predict=predicted_azeotropes)
    return path


@pytest.fixture(scope="session")
def store(real_store: Path) -> Iterator[db.Store]:
    """The open store of all real data."""
    with db.open(real_store) as opened:
        yield opened

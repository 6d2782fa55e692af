"""What all tests share: the store of all real data, built once, and no way to another machine."""

from __future__ import annotations

import fcntl
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from cutpoint import db
from cutpoint.db.predicted_rows import predicted_azeotropes
from cutpoint.pipeline.build import build
from cutpoint.pipeline.report import BuildReport

from .guard import refuse_outside

REPOSITORY = Path(__file__).parents[1]

# How long an example takes by the clock tells how busy the machine is, with several processes all the more.
settings.register_profile("cutpoint", deadline=None)
settings.load_profile("cutpoint")


def pytest_configure() -> None:
    """Let no test reach another machine."""
    refuse_outside()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--benchmarks", action="store_true", help="run tests/benchmarks and print its ratios")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out the benchmarks, which measure and run only when asked for; put files that need the real store first.

    So one process of a parallel run builds that store while the others test what does not need it.
    """
    if not config.getoption("--benchmarks"):
        measuring = [item for item in items if "benchmarks" in item.path.parts]
        config.hook.pytest_deselected(items=measuring)
        items[:] = [item for item in items if "benchmarks" not in item.path.parts]
    on_real_store = {item.path for item in items if "real_build" in getattr(item, "fixturenames", ())}
    items.sort(key=lambda item: item.path not in on_real_store)


@pytest.fixture(scope="session")
def real_build() -> BuildReport:
    """Report of the build of all real data; stages that an earlier run made are taken from the cache."""
    path = REPOSITORY / "build" / "tests" / "components.duckdb"
    path.parent.mkdir(parents=True, exist_ok=True)
    # Of several processes one builds; the others wait, and find the store up to date.
    with path.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        return build(path, predict=predicted_azeotropes)


@pytest.fixture(scope="session")
def real_store(real_build: BuildReport) -> Path:
    """Path of the store of all real data."""
    return Path(real_build.path)


@pytest.fixture(scope="session")
def store(real_store: Path) -> Iterator[db.Store]:
    """The open store of all real data."""
    with db.open(real_store) as opened:
        yield opened

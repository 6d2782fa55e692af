"""A server on the loopback in place of the live services, small pages, and time that does not pass."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from cutpoint.pipeline import snapshot
from cutpoint.pipeline.refresh import pubchem, wikidata
from cutpoint.pipeline.refresh.patience import Patience
from cutpoint.pipeline.refresh.refreshing import RefreshReport, refresh

sys.path.insert(0, str(Path(__file__).parent))

from stand_in import StandIn, serving
from substances import Substances


@dataclass
class Time:
    """A clock that only sleeping moves."""

    now: float = 0.0
    slept: list[float] = field(default_factory=list)

    def sleep(self, seconds: float) -> None:
        """Let time pass at once."""
        self.slept.append(seconds)
        self.now += seconds

    def patience(self, tries: int = 4) -> Patience:
        """Patience that goes by this clock."""
        return Patience(tries=tries, clock=lambda: self.now, sleep=self.sleep)


def _small_pages(patch: pytest.MonkeyPatch) -> None:
    """Fetch several pages of each kind with few substances."""
    patch.setattr(wikidata, "LISTED_AT_ONCE", 20)
    patch.setattr(wikidata, "ITEMS_AT_ONCE", 15)
    patch.setattr(wikidata, "NUMBERS_AT_ONCE", 2)
    patch.setattr(pubchem, "COMPOUNDS_AT_ONCE", 3)


@pytest.fixture(autouse=True)
def small_pages(monkeypatch: pytest.MonkeyPatch) -> None:
    """Several pages of each kind with few substances."""
    _small_pages(monkeypatch)


@pytest.fixture
def server() -> Iterator[StandIn]:
    """A server that knows 40 invented substances, the odd ones and ethanol."""
    with serving(Substances(41, odd=True)) as state:
        yield state


def _arguments(server: StandIn, folder: Path, cache: Path, patience: Patience) -> dict[str, Any]:
    """What a refresh from the server is usually given."""
    return {
        "folder": folder,
        "wikidata": server.wikidata,
        "pubchem": server.pubchem,
        "contact": "bench@example.org",
        "components": ["64-17-5", "50-00-0", "141-78-6"],
        "without_structure": ["64-17-5", "50-00-0"],
        "cache": cache,
        "patience": patience,
    }


def _undisturbed(substances: Substances, folder: Path) -> RefreshReport:
    """A refresh that nothing disturbs."""
    with serving(substances) as state, pytest.MonkeyPatch.context() as patch:
        _small_pages(patch)
        return refresh(**_arguments(state, folder / "snapshot", folder / "cache", Patience()))


def hashes(report: RefreshReport) -> dict[str, str]:
    """The hash of each file of the snapshot that a refresh wrote: the same rows from any server."""
    files = snapshot.read_manifest(Path(report.folder))["files"]
    return {name: told["sha256"] for name, told in files.items()}


@pytest.fixture(scope="session")
def sound(tmp_path_factory: pytest.TempPathFactory) -> RefreshReport:
    """An undisturbed refresh from a server like `server`, to compare with."""
    return _undisturbed(Substances(41, odd=True), tmp_path_factory.mktemp("sound"))


@pytest.fixture(scope="session")
def sound_few(tmp_path_factory: pytest.TempPathFactory) -> RefreshReport:
    """An undisturbed refresh from a server like `few`, to compare with."""
    return _undisturbed(Substances(6), tmp_path_factory.mktemp("sound_few"))


@pytest.fixture(scope="session")
def frames(sound: RefreshReport) -> dict[str, pd.DataFrame]:
    """The tables of `sound`."""
    return snapshot.read(Path(sound.folder)).frames


@pytest.fixture
def few(server: StandIn) -> StandIn:
    """The server with few substances."""
    server.substances = Substances(6)
    return server


@pytest.fixture
def time() -> Time:
    """The clock of `run`."""
    return Time()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where `run` writes the snapshot."""
    return tmp_path / "snapshot"


@pytest.fixture
def run(server: StandIn, folder: Path, tmp_path: Path, time: Time) -> Callable[..., RefreshReport]:
    """Refresh from the server; keyword arguments take the place of the usual ones."""

    def refreshed(**changed: Any) -> RefreshReport:
        usual = _arguments(server, folder, tmp_path / "cache", time.patience())
        return refresh(**usual | changed)

    return refreshed

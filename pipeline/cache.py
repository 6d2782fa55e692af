"""The stage cache: a station whose inputs and code have not changed does not run again.

A key names all that a result depends on: the station, the text of the code
that makes it, the versions of the libraries, and the keys of what it was made
from. One result per station is kept; it is a pickle in the user's own cache
folder, written aside and moved into place.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import platform
from collections.abc import Callable, Iterable
from importlib import metadata
from pathlib import Path
from typing import TypeVar

import platformdirs

T = TypeVar("T")

LIBRARIES = (
    "chemicals",
    "CoolProp",
    "duckdb",
    "numpy",
    "pandas",
    "pandera",
    "pyarrow",
    "rdkit",
    "scipy",
    "threadpoolctl",
)


def default_folder() -> Path:
    """The user's cache folder for stage results."""
    return platformdirs.user_cache_path("cutpoint") / "stages"


def library_versions() -> dict[str, str]:
    """Versions of Python and of the libraries on which results depend."""
    return {"python": platform.python_version()} | {name: metadata.version(name) for name in LIBRARIES}


def key(*parts: str) -> str:
    """Key of a result from all that it depends on."""
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()


def code_of(paths: Iterable[Path]) -> str:
    """Digest of the text of code files."""
    digest = hashlib.sha256()
    for path in sorted(paths):
        digest.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


class StageCache:
    """Results of stations in a folder; `StageCache(None)` keeps nothing."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder
        self.made: list[str] = []
        """Stations that really ran, in order."""

    def get(self, stage: str, stage_key: str, make: Callable[[], T]) -> T:
        """The kept result of the stage if its key is the same, else a new one from `make`."""
        kept = self._path(stage, stage_key)
        if kept is not None and kept.exists():
            try:
                with kept.open("rb") as file:
                    result: T = pickle.load(file)
                return result
            except (OSError, pickle.UnpicklingError, EOFError, AttributeError, ImportError, IndexError, ValueError):
                pass  # a damaged or outdated result is made again
        result = make()
        self.made.append(stage)
        if kept is not None:
            self._keep(stage, kept, result)
        return result

    def _path(self, stage: str, stage_key: str) -> Path | None:
        return None if self.folder is None else self.folder / f"{stage}-{stage_key[:32]}.pickle"

    def published(self, store_key: str) -> str | None:
        """SHA-256 of the store file that was published under the key; None if that is not remembered."""
        note = None if self.folder is None else self.folder / f"published-{store_key[:32]}.sha256"
        return note.read_text("utf-8") if note is not None and note.exists() else None

    def remember_published(self, store_key: str, file_sha256: str) -> None:
        """Remember the store file that was published under the key."""
        if self.folder is not None:
            self.folder.mkdir(parents=True, exist_ok=True)
            (self.folder / f"published-{store_key[:32]}.sha256").write_text(file_sha256, "utf-8")

    @staticmethod
    def _keep(stage: str, kept: Path, result: object) -> None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        aside = kept.with_suffix(f".{os.getpid()}.part")
        with aside.open("wb") as file:
            pickle.dump(result, file, protocol=pickle.HIGHEST_PROTOCOL)
        aside.replace(kept)
        for older in kept.parent.glob(f"{stage}-*"):
            if older != kept and older.stem.rpartition("-")[0] == stage:
                older.unlink(missing_ok=True)

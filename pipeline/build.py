"""The order of the stations, the progress, the stage cache; no chemistry."""

from __future__ import annotations

import inspect
import platform
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd

import cutpoint.schema as schema
from cutpoint.schema.errors import SourceChanged, SourceMissing, WrongUsage
from cutpoint.schema.tables import SOURCED_TABLES, TABLES, empty, key_of

from . import cache as caching
from .crosscheck import Judged, hear_judges
from .cuts import CUT_TABLES, Cuts, cuts
from .evaluate import Evaluated, evaluate
from .files import file_sha256
from .fit import Fitted, fit
from .hand_tables import HAND_TABLES, house_tables, peroxide_observations
from .hazards import hazards
from .live import Live, opened, read_live
from .mixtures import MIXTURE_TABLES, Mixtures, mixtures
from .normalise import Normalised, normalise
from .predicted import Predict, with_predicted
from .publish import (
    agree_numerically,
    digests,
    overall_digest,
    replacing,
    sweep,
    writable_folder,
    write_parquet,
    write_store,
)
from .read import locked_content, read
from .reconcile import without_contradicted
from .report import BuildReport, VerifyReport, peak_rss_MiB, report, seconds_since
from .resolve import Resolved, resolve
from .snapshot import verify_files
from .source import Source, is_live
from .source_table import source_table
from .sources import all_sources
from .station_code import LIVE_CODE, PUBLISHING_CODE, READING_CODE, STATION_CODE
from .superseded import without_superseded
from .third_sources import hear_third_sources

ELSEWHERE_RELATIVE = 1e-6
"""Largest relative difference of a computed number between two machines."""

SNAPSHOT_ITEM = "snapshot"
"""Item of the build table that tells the digest of the snapshot that was read."""

Progress = Callable[[str, float], None]

_HERE = Path(__file__).parent
_SCHEMA = Path(schema.__file__).parent


def build(
    path: Path,
    *,
    without: tuple[str, ...] = (),
    snapshot: Path | None = None,
    parquet: Path | None = None,
    progress: Progress | None = None,
    cache: bool = True,
    predict: Predict | None = None,
) -> BuildReport:
    """Build the store at `path` from the open tables, atomically; the old store stays until the new one is whole.

    `without` names sources to leave out. `snapshot` is a folder with a snapshot
    of the live sources, whose files are read beside the open tables. `parquet`
    is a folder that gets every table as Parquet. With `cache`, stations whose
    inputs and code have not changed are not run again, and a store that is up
    to date is left alone.
    `predict` gives the predicted azeotropes that stand beside measured ones;
    without it the table holds measured ones alone.

    Raises SourceMissing, SourceChanged, WrongUsage (unknown source), BuildFailed.
    """
    started = time.monotonic()
    tell = progress or (lambda stage, fraction: None)
    tell("sources", 0.0)
    live = None if snapshot is None else opened(snapshot)
    sources = _chosen_sources(without, () if live is None else live.sources)
    line = _Line(sources, live, caching.StageCache(caching.default_folder() if cache else None), tell, predict)
    if parquet is not None:
        writable_folder(parquet)  # noticed now, not when the work is done
    sweep(path)
    up_to_date = _is_published(path, line)
    if not up_to_date:
        with replacing(path) as aside:
            frames = line.run()
            tell("publish", 0.9)
            write_store(frames, aside, _told_of(line, without))
        line.cache.remember_published(line.key, file_sha256(path))
    if parquet is not None:
        write_parquet(path, parquet, metadata.version("cutpoint"))
    tell("done", 1.0)
    return report(path, started, up_to_date, line.cache.made)


def verify(
    path: Path, *, snapshot: Path | None = None, progress: Progress | None = None, predict: Predict | None = None
) -> VerifyReport:
    """Rebuild aside from nothing and compare digests, the store's being read from its rows.

    A store that was built with a snapshot needs the same `snapshot` again: SourceMissing is raised without it,
    SourceChanged for another.
    Computed tables of a store that was built on another machine may differ in
    the last bits: there numbers are compared, to `ELSEWHERE_RELATIVE`. Raises
    the errors of `build`; a difference is reported, not raised.
    """
    started = time.monotonic()
    told = _told_by(path)
    _need_same_snapshot(path, told.get(SNAPSHOT_ITEM), snapshot)
    ours = digests(path)
    with tempfile.TemporaryDirectory(prefix="cutpoint-verify-") as folder:
        aside = Path(folder) / "components.duckdb"
        without = tuple(part for part in told.get("without", "").split(" ") if part)
        build(aside, without=without, snapshot=snapshot, progress=progress, cache=False, predict=predict)
        theirs = digests(aside)
        differing = [table for table in theirs if ours[table]["digest"] != theirs[table]["digest"]]
        if told.get("machine") != _machine():
            differing = [
                table
                for table in differing
                if table in SOURCED_TABLES or not agree_numerically(path, aside, table, ELSEWHERE_RELATIVE)
            ]
    differences = [
        {"table": table, "store_digest": ours[table]["digest"], "rebuilt_digest": theirs[table]["digest"]}
        for table in differing
    ]
    return VerifyReport(str(path), overall_digest(ours), ours, seconds_since(started), peak_rss_MiB(), differences)


def _need_same_snapshot(path: Path, built_with: str | None, snapshot: Path | None) -> None:
    """Raise unless a snapshot is given where the store was built with it, and only there; digests tell."""
    if snapshot is None and built_with is not None:
        raise SourceMissing(
            f"The store {path} was built with a snapshot of the live sources, of the digest {built_with}. "
            "Name its folder with --snapshot."
        )
    if snapshot is not None and (digest := verify_files(snapshot)) != built_with:
        with_what = f"one of the digest {built_with}" if built_with else "none"
        raise SourceChanged(
            f"The snapshot in {snapshot} has the digest {digest}, but the store {path} was built with {with_what}. "
            "Name the snapshot that it was built with, or rebuild the store."
        )


def _chosen_sources(without: tuple[str, ...], live: tuple[Source, ...]) -> tuple[Source, ...]:
    known = (*all_sources(), *live)
    strangers = sorted(set(without) - {source.name for source in known})
    if strangers:
        names = ", ".join(source.name for source in known)
        raise WrongUsage(f"There is no source named {', '.join(strangers)}. The sources are: {names}.")
    return tuple(source for source in known if source.name not in without)


@dataclass(frozen=True)
class _Read:
    """What reading a source gave: normalised frames, or the text of a table that does not pass `normalise`."""

    rows: int
    normalised: Normalised | None
    hand: pd.DataFrame | None


class _Line:
    """The stations in their order, each behind the cache."""

    def __init__(
        self,
        sources: tuple[Source, ...],
        live: Live | None,
        cache: caching.StageCache,
        tell: Progress,
        predict: Predict | None,
    ) -> None:
        self.whole = sources == all_sources()
        for source in sources:
            if not is_live(source):  # a snapshot's hashes were looked at as its sources were listed
                locked_content(source)  # a kept result must not hide that its source has changed since
        self.sources = sources
        self.live = live
        self.cache = cache
        self.tell = tell
        self.predict = predict
        versions = " ".join(f"{name}={version}" for name, version in caching.library_versions().items())
        common = caching.code_of(_SCHEMA.glob("*.py")) + versions
        reading = caching.code_of(_HERE / name for name in READING_CODE)
        fetched = caching.key(
            common, caching.code_of(_HERE / name for name in LIVE_CODE), "" if live is None else live.digest
        )
        self.source_keys = {
            source.name: caching.key(fetched, source.name)
            if is_live(source)
            else caching.key(
                common, reading, str(_is_text(source)), caching.code_of([_HERE / "sources" / f"{source.name}.py"])
            )
            for source in sources
        }
        self.station_keys: dict[str, str] = {}
        before = caching.key(*self.source_keys.values())
        for station, files in STATION_CODE.items():
            before = caching.key(common, station, caching.code_of(_HERE / file for file in files), before)
            self.station_keys[station] = before
        publishing = caching.code_of(_HERE / file for file in PUBLISHING_CODE)
        if predict is not None:
            publishing += caching.code_of(sorted(Path(inspect.getfile(predict)).parent.glob("*.py")))
        self.key = caching.key(publishing, metadata.version("cutpoint"), before)
        """Key of the whole store."""

    def run(self) -> dict[str, pd.DataFrame]:
        """Frames of every table but `build`."""
        parts = {source.name: self._normalised(place, source) for place, source in enumerate(self.sources)}
        self.tell("resolve", 0.35)
        resolved = self._station("resolve", lambda: _resolve(parts))
        self.tell("evaluate", 0.6)
        evaluated = self._station(
            "evaluate",
            lambda: evaluate(
                resolved.components,
                hear_third_sources(without_superseded(resolved.observations)),
                resolved.on_heating,
            ),
        )
        self.tell("fit", 0.7)
        fitted = self._station("fit", lambda: fit(evaluated.observations, evaluated.evaluations, evaluated.components))
        self.tell("crosscheck", 0.75)
        judged = self._station("crosscheck", lambda: hear_judges(evaluated, fitted.curves, whole=self.whole))
        evaluated = without_contradicted(evaluated, judged.contradicted)
        self.tell("mixtures", 0.85)
        mixed = self._station("mixtures", lambda: mixtures(resolved.components, _hand_frames(parts)))
        self.tell("cuts", 0.88)
        cut = self._station(
            "cuts",
            lambda: cuts(
                evaluated.components, evaluated.evaluations, judged.curves, mixed.tables["functional_group"],
                _hand_frames(parts),
            ),
        )  # fmt: skip
        frames = _frames(self.sources, parts, resolved, evaluated, fitted, judged, mixed, cut)
        return frames if self.predict is None else with_predicted(frames, self.predict)

    def _normalised(self, place: int, source: Source) -> _Read:
        self.tell(f"read {source.name}", 0.35 * place / len(self.sources))

        def make() -> _Read:
            if self.live is not None and is_live(source):
                return _Read(*read_live(self.live, source), None)
            raw = read(source)
            if _is_text(source):
                return _Read(len(raw.frame), None, raw.frame)
            return _Read(len(raw.frame), normalise(raw), None)

        return self.cache.get(f"normalise.{source.name}", self.source_keys[source.name], make)

    def _station(self, station: str, make: Callable[[], Any]) -> Any:
        return self.cache.get(station, self.station_keys[station], make)


def _is_text(source: Source) -> bool:
    """Whether a source is handed on as text, past `normalise`."""
    return source.name in (*HAND_TABLES, *MIXTURE_TABLES, *CUT_TABLES)


def _hand_frames(parts: dict[str, _Read]) -> dict[str, pd.DataFrame]:
    return {name: part.hand for name, part in parts.items() if part.hand is not None}


def _resolve(parts: dict[str, _Read]) -> Resolved:
    hand = _hand_frames(parts)
    normalised = [part.normalised for part in parts.values() if part.normalised is not None]

    def joined(name: str, *more: pd.DataFrame) -> pd.DataFrame:
        frames = [getattr(part, name) for part in normalised] + list(more)
        return pd.concat([frame for frame in frames if not frame.empty] or frames[:1], ignore_index=True)

    peroxides = [peroxide_observations(hand[name]) for name in ("peroxide_formers",) if name in hand]
    return resolve(
        joined("identities"),
        joined("observations", *peroxides),
        joined("names"),
        joined("rejected"),
        house_tables(hand),
    )


def _frames(
    sources: tuple[Source, ...],
    parts: dict[str, _Read],
    resolved: Resolved,
    evaluated: Evaluated,
    fitted: Fitted,
    judged: Judged,
    mixed: Mixtures,
    cut: Cuts,
) -> dict[str, pd.DataFrame]:
    rows_read = {name: part.rows for name, part in parts.items()}
    rejected = _sorted(pd.concat([resolved.rejected, mixed.rejected, cut.rejected], ignore_index=True))
    kept = resolved.rows_kept | mixed.rows_kept | cut.rows_kept
    made = (
        mixed.tables
        | cut.tables
        | {
            "source": source_table(sources, rows_read, kept, rejected),
            "component": evaluated.components,
            "name": resolved.names,
            "observation": fitted.marked(evaluated.observations),
            "evaluation": evaluated.evaluations,
            "structure_model": evaluated.structure_model,
            "source_model": evaluated.source_model,
            "calibration": evaluated.calibration,
            "vapour_curve": judged.curves,
            "crosscheck": judged.verdicts,
            "adjudication": judged.adjudications,
            "rejected": rejected,
            "hazard": hazards(evaluated.observations, evaluated.evaluations, evaluated.components),
        }
    )
    return {table: made[table] if table in made else empty(table) for table in TABLES if table != "build"}


def _sorted(rejected: pd.DataFrame) -> pd.DataFrame:
    return rejected.sort_values(key_of("rejected"), kind="stable", ignore_index=True)


def _told_of(line: _Line, without: tuple[str, ...]) -> dict[str, str]:
    """What the `build` table tells beside the digests."""
    told = {
        "schema_version": str(schema.SCHEMA_VERSION),
        "cutpoint_version": metadata.version("cutpoint"),
        "build_key": line.key,
        "machine": _machine(),
    }
    if line.live is not None:
        told[SNAPSHOT_ITEM] = line.live.digest
    if without:
        told["without"] = " ".join(sorted(without))
    told |= {f"library:{name}": version for name, version in caching.library_versions().items()}
    return told | {f"source:{source.name}": source.sha256 for source in line.sources}


def _machine() -> str:
    """What may change the last bits of a computed value: system, processor and its vector units as NumPy sees them."""
    vector_units = np.show_config("dicts").get("SIMD Extensions", {}).get("found", [])
    return f"{platform.system()} {platform.machine()} {' '.join(vector_units)}"


def _is_published(path: Path, line: _Line) -> bool:
    """Whether the file at `path` is, to the last byte, what this line would publish."""
    known = line.cache.published(line.key)
    return known is not None and path.is_file() and file_sha256(path) == known


def _told_by(path: Path) -> dict[str, str]:
    """The items of a store's build table; empty if there is no readable store."""
    if not path.exists():
        return {}
    try:
        with duckdb.connect(str(path), read_only=True) as connection:
            return dict(connection.execute("SELECT item, value FROM build").fetchall())
    except duckdb.Error:
        return {}

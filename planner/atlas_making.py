"""Makes an atlas: looks up the list, hands the work out, writes down what comes back."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Generator, Sequence
from contextlib import closing
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path

from cutpoint import db
from cutpoint.schema.properties import ATMOSPHERE_PA

from .atlas_cluster import on_cluster
from .atlas_file import AtlasFile
from .atlas_list import Skipped, read_list, resolve
from .atlas_pool import in_processes
from .atlas_work import (
    JUDGE,
    PAIRS_PER_BLOCK,
    Judged,
    Question,
    n_blocks,
    n_pairs,
    pairs_of,
    peak_rss_MiB,
    store_digest,
)
from .progress import Progress

ATLAS_VERSION = "1"
"""Raised whenever a table of an atlas changes its meaning."""

PURITY = 0.95
"""Mole fraction of either component in its own product, for the minimum number of plates."""

NO_VERDICT = "no verdict"
VERDICTS = ("simple distillation", "fractional distillation", "close-boiling", "azeotrope", "undecided", NO_VERDICT)


@dataclass(frozen=True)
class AtlasSummary:
    """What an atlas holds, what was left out of it, and what making it took.

    `pairs` counts those in the file, `resumed_pairs` those among them that
    an earlier run had judged; `peak_rss_MiB` is the main process's peak and
    those of its workers together. `problems` are what befell whole blocks.
    """

    path: str
    components: int
    skipped: tuple[Skipped, ...]
    pairs: int
    verdicts: dict[str, int]
    problems: tuple[str, ...]
    seconds: float
    peak_rss_MiB: float
    resumed_pairs: int


def make_atlas(
    components: Path,
    path: Path,
    pressure_Pa: float = ATMOSPHERE_PA,
    *,
    store: Path | None = None,
    scheduler: str | None = None,
    processes: int | None = None,
    anew: bool = False,
    progress: Progress = lambda stage, fraction: None,
    judge: str = JUDGE,
) -> AtlasSummary:
    """Judge all pairs of the list `components` at a pressure, into the DuckDB file `path`.

    By `processes` of this machine (default: one for each core that it may use),
    or on the Dask cluster of a `scheduler`; the numbers are the same. What an
    earlier run has finished is kept, unless `anew`. `judge` names the judging
    function as module:function. Raises WrongUsage, NoSuchComponent,
    AtlasDiffers, SchedulerLost, WorkerLost, and what `db.open` raises.
    """
    started = time.monotonic()
    lines = read_list(components)
    progress("look up the components", 0.0)
    with db.open(store) as opened:
        listed, skipped = resolve(opened, lines)
        question = Question(
            str(opened.path.resolve()), store_digest(opened), pressure_Pa, PURITY, PURITY, db.Thresholds(), judge
        )
    cas = [component.cas for component in listed]
    workers: dict[str, float] = {}
    with AtlasFile(path, _run(question, cas), anew=anew) as file:
        file.write_list(listed, skipped)
        finished = file.finished()
        waiting = [block for block in range(n_blocks(len(cas))) if block not in finished]
        resumed = sum(len(pairs_of(block, cas)) for block in finished)
        done, told = resumed, -1
        with closing(_judged(question, waiting, cas, scheduler, processes)) as answers:
            for judged in answers:
                pairs = pairs_of(judged.block, cas)
                file.write(judged, pairs)
                workers[judged.worker] = max(judged.peak_rss_MiB, workers.get(judged.worker, 0.0))
                done += len(pairs)
                told = _tell(progress, done, n_pairs(len(cas)), told)
        # Workers that died were replaced: no more of them lived at a time than were asked for.
        most = len(workers) if scheduler is not None else processes or _cores()
        memory_MiB = peak_rss_MiB() + sum(sorted(workers.values())[-most:])
        return AtlasSummary(
            str(path), len(listed), tuple(skipped), n_pairs(len(cas)), _verdicts(file), _problems(file),
            round(time.monotonic() - started, 2), round(memory_MiB, 1), resumed,
        )  # fmt: skip


def _run(question: Question, cas: Sequence[str]) -> dict[str, str]:
    """What makes one atlas another; the list counts by the components that it names, not by how it is written."""
    thresholds = {f"threshold_{name}": repr(value) for name, value in asdict(question.thresholds).items()}
    return {
        "atlas_version": ATLAS_VERSION,
        "cutpoint_version": version("cutpoint"),
        "store_digest": question.store_digest,
        "pressure_Pa": repr(question.pressure_Pa),
        "purity_a": repr(question.purity_a),
        "purity_b": repr(question.purity_b),
        **thresholds,
        "components": str(len(cas)),
        "components_sha256": hashlib.sha256("\n".join(cas).encode()).hexdigest(),
        "pairs": str(n_pairs(len(cas))),
        "pairs_per_block": str(PAIRS_PER_BLOCK),
    }


def _judged(
    question: Question, waiting: Sequence[int], cas: Sequence[str], scheduler: str | None, processes: int | None
) -> Generator[Judged]:
    """The answers to the blocks as they come, from the cluster or from processes."""

    def pairs(block: int) -> list[tuple[str, str]]:
        return pairs_of(block, cas)

    if scheduler is not None:
        return on_cluster(question, waiting, pairs, scheduler)
    return in_processes(question, waiting, pairs, max(1, min(processes or _cores(), len(waiting))))


def _cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _tell(progress: Progress, done: int, total: int, told: int) -> int:
    """Tell each per cent once: without a terminal every telling is a line."""
    percent = 100 * done // total
    if percent > told:
        progress(f"{done:,} of {total:,} pairs", done / total)
    return percent


def _verdicts(file: AtlasFile) -> dict[str, int]:
    """Pairs by verdict, in the order from easy to hard, those that no pair has left out."""
    held = dict(file.rows(f"SELECT coalesce(verdict, '{NO_VERDICT}'), count(*) FROM pair GROUP BY ALL"))
    return {verdict: held[verdict] for verdict in VERDICTS if verdict in held}


def _problems(file: AtlasFile) -> tuple[str, ...]:
    rows = file.rows("SELECT block, pairs, problem FROM block WHERE problem IS NOT NULL ORDER BY block")
    return tuple(f"Block {block}, {pairs:,} pairs: {problem}" for block, pairs, problem in rows)

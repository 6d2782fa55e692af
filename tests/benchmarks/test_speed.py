"""What the tool costs, beside what it may cost: ratios measured in one run, printed, never asserted.

Run by `make bench`. Absolute times on a shared machine are unstable, so what
can be compared is compared in pairs, command after command.
"""

from __future__ import annotations

import itertools
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from cutpoint import db

COLD_PAIRS = 11
COUNTER_QUESTION = "from chemicals import CAS_from_any, Tb; print(Tb(CAS_from_any('ethyl acetate')))"


def say(what: str, reached: float, allowed: float, unit: str) -> None:
    """One line: reached, allowed, and the ratio of the two."""
    print(f"\n{what:58s} {reached:10.4g} of {allowed:g} {unit:4s} ratio {reached / allowed:.2f}", end="")


def wall_s(command: list[str], store: Path) -> float:
    started = time.perf_counter()
    subprocess.run(command, env=os.environ | {"CUTPOINT_DB": str(store)}, check=True, capture_output=True)
    return time.perf_counter() - started


def warm_s(ask: Callable[[], object], repeats: int) -> float:
    """Median of single calls after one that is not counted."""
    ask()
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        ask()
        times.append(time.perf_counter() - started)
    return statistics.median(times)


def test_rebuild(tmp_path: Path) -> None:
    store = tmp_path / "components.duckdb"
    command = [sys.executable, "-m", "cutpoint.planner", "rebuild", "--json", "--to", str(store)]
    own = os.environ | {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    full = json.loads(subprocess.run(command, env=own, check=True, capture_output=True).stdout)
    say("rebuild from nothing: time", full["seconds"], 150, "s")
    say("rebuild from nothing: peak memory", full["peak_rss_MiB"] / 1024, 3, "GiB")
    say("store: size", store.stat().st_size / 1e6, 150, "MB")
    started = time.perf_counter()
    subprocess.run(command, env=own, check=True, capture_output=True)
    say("rebuild with nothing changed: whole process", time.perf_counter() - started, 5, "s")


def test_cold_find(real_store: Path) -> None:
    find = [str(Path(sys.executable).with_name("cutpoint")), "find", "ethyl acetate"]
    counter = [sys.executable, "-c", COUNTER_QUESTION]
    wall_s(find, real_store)
    wall_s(counter, real_store)
    ratios, times = [], []
    for _ in range(COLD_PAIRS):
        ours = wall_s(find, real_store)
        times.append(ours)
        ratios.append(ours / wall_s(counter, real_store))
    say("cold find over a cold process that asks chemicals", statistics.median(ratios), 0.25, "")
    say("cold find: time", statistics.median(times), 0.25 * statistics.median(times) / statistics.median(ratios), "s")


def test_warm_questions(store: db.Store) -> None:
    say("component by CAS number, warm", 1e6 * warm_s(lambda: store.component("141-78-6"), 2000), 100, "µs")
    say("component by name, warm", 1e6 * warm_s(lambda: store.component("ethyl acetate"), 2000), 200, "µs")
    say("near at 1 atm, warm", 1e3 * warm_s(lambda: store.near("141-78-6", within_K=5), 50), 5, "ms")
    say("near at 84 kPa, warm", 1e3 * warm_s(lambda: store.near("141-78-6", within_K=5, pressure_Pa=84e3), 50), 5, "ms")
    pressures_Pa = itertools.count(84_000)
    anew = warm_s(lambda: store.near("141-78-6", within_K=5, pressure_Pa=float(next(pressures_Pa))), 50)
    say("near at another pressure each time", 1e3 * anew, 5, "ms")

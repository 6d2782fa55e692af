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
from typing import Any

import numpy as np
from CoolProp.CoolProp import PropsSI

from cutpoint import db

COLD_PAIRS = 11
COUNTER_QUESTION = "from chemicals import CAS_from_any, Tb; print(Tb(CAS_from_any('ethyl acetate')))"

TEMPERATURES = 1_000_000
COOLPROP_POINTS = 2_000
"""It is asked at fewer points, which are scaled to the number of ours."""
JUDGED = {"7732-18-5": "Water", "108-88-3": "Toluene", "141-78-6": None}
"""CAS number → CoolProp's reference equation; of ethyl acetate it has none."""


def bare_antoine(T_K: Any, a: float, b: float, c: float) -> Any:
    """What a user would write in NumPy."""
    return np.exp(a - b / (T_K + c))


def bare_wagner(T_K: Any, a: float, b: float, c: float, d: float, T_c: float, p_c: float) -> Any:
    T_r = T_K / T_c
    tau = 1.0 - T_r
    return p_c * np.exp((a * tau + b * tau**1.5 + c * tau**2.5 + d * tau**5) / T_r)


BARE: dict[str, Callable[..., Any]] = {"antoine": bare_antoine, "wagner_2.5_5": bare_wagner}


def say(what: str, reached: float, allowed: float, unit: str) -> None:
    """One line: reached, allowed, and the ratio of the two."""
    print(f"\n{what:80s} {reached:10.4g} of {allowed:g} {unit:4s} ratio {reached / allowed:.2f}", end="")


def beside_coolprop(what: str, ours: float, theirs: float, unit: str) -> None:
    """One line: ours, CoolProp's for the same points, and the ratio of the two."""
    print(f"\n{what:80s} {ours:10.4g} CoolProp {theirs:.4g} {unit}  ratio {ours / theirs:.2g}", end="")


def paired_s(ask: Callable[[], object], other: Callable[[], object], repeats: int) -> tuple[float, float, float]:
    """Median times of two calls made in turn, and the median of their ratios, after one round that is not counted."""
    ask(), other()
    rounds = []
    for _ in range(repeats):
        started = time.perf_counter()
        ask()
        between = time.perf_counter()
        other()
        rounds.append((between - started, time.perf_counter() - between))
    ours, theirs = (statistics.median(times) for times in zip(*rounds, strict=True))
    return ours, theirs, statistics.median(one / two for one, two in rounds)


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


def timed_curves(store: db.Store) -> list[tuple[db.Component, db.Curve, str | None]]:
    """Components that CoolProp knows, and the best known of those with an Antoine curve."""
    [(antoine,)] = store.rows(
        "SELECT cas FROM vapour_curve WHERE equation = 'antoine' ORDER BY n_sources DESC, cas LIMIT 1"
    )
    components = [(store.component(cas), fluid) for cas, fluid in {**JUDGED, antoine: None}.items()]
    return [
        (component, component.curve, fluid)
        for component, fluid in components
        if component.curve is not None and component.curve.equation in BARE
    ]


def test_vapour_pressures_of_one_component(store: db.Store) -> None:
    for component, curve, fluid in timed_curves(store):
        # Up to the critical temperature but for a rounding, where the bare expression has no value.
        T_K = np.linspace(curve.T_min_K, curve.T_max_K * (1.0 - 1e-12), TEMPERATURES)
        bare = BARE[curve.equation]
        ours_s, bare_s, ratio = paired_s(
            lambda component=component, T_K=T_K: component.vapour_pressure(T_K),
            lambda bare=bare, T_K=T_K, curve=curve: bare(T_K, *curve.coefficients),
            11,
        )
        what = f"vapour pressure at 1e6 temperatures, {component.name}, {curve.equation}"
        say(f"{what}: over bare NumPy", ratio, 3, "")
        say(f"{what}: time", 1e3 * ours_s, 3e3 * bare_s, "ms")
        if fluid is not None:
            few_K = np.linspace(curve.T_min_K, 0.99 * curve.T_max_K, COOLPROP_POINTS)
            theirs_s = warm_s(lambda fluid=fluid, few_K=few_K: PropsSI("P", "T", few_K, "Q", 0, fluid), 3)
            beside_coolprop(what, 1e3 * ours_s, 1e3 * theirs_s * TEMPERATURES / COOLPROP_POINTS, "ms")


def test_vapour_pressures_of_all_components(store: db.Store) -> None:
    bank = store.curve_bank
    temperatures_K = itertools.count(300)
    ours_s = warm_s(lambda: bank.vapour_pressures(300.0 + 0.01 * next(temperatures_K)), 50)
    say(f"all {len(bank)} curves at one temperature, with their bands", 1e3 * ours_s, 30, "ms")
    one_s = warm_s(lambda: PropsSI("P", "T", np.array([350.0, 360.0]), "Q", 0, "Water"), 200) / 2.0
    beside_coolprop(f"all {len(bank)} curves at one temperature", 1e3 * ours_s, 1e3 * one_s * len(bank), "ms")


def test_boil(store: db.Store) -> None:
    pressures_Pa = (float(pressure_Pa) for pressure_Pa in itertools.count(40_000))
    for component, curve, fluid in timed_curves(store):
        what = f"boil at a new pressure, {component.name}, {curve.equation}"
        held_s = warm_s(lambda component=component: component.boiling_point(next(pressures_Pa)), 2000)
        say(what, 1e6 * held_s, 200, "µs")
        anew_s = warm_s(lambda cas=component.cas: store.component(cas).boiling_point(next(pressures_Pa)), 2000)
        say(f"{what}, looked up", 1e6 * anew_s, 200, "µs")
        if fluid is not None:
            few_Pa = np.linspace(40e3, 60e3, COOLPROP_POINTS)
            theirs_s = warm_s(lambda fluid=fluid, few_Pa=few_Pa: PropsSI("T", "P", few_Pa, "Q", 0, fluid), 3)
            beside_coolprop(f"{what}, its many at once", 1e6 * held_s, 1e6 * theirs_s / COOLPROP_POINTS, "µs")
            lone_s = warm_s(lambda fluid=fluid: PropsSI("T", "P", next(pressures_Pa), "Q", 0, fluid), 2000)
            beside_coolprop(f"{what}, its one at a time", 1e6 * held_s, 1e6 * lone_s, "µs")

"""Judging functions that stand in for the real one; workers import them by name. All figures are invented."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Sequence
from typing import Any

import numpy as np

from cutpoint import db

VERDICTS = ("simple distillation", "close-boiling", "azeotrope", "undecided", None)


def judge(store: db.Store, pairs: Sequence[tuple[str, str]], pressure_Pa: float, **_: Any) -> dict[str, list[Any]]:
    """Numbers that depend on the boiling points, on the pressure and, in the last bits, on the library's sums."""
    boiling_K = dict(store.rows("SELECT cas, value FROM evaluation WHERE property = 'normal_boiling_point'"))
    a, b = (np.array([boiling_K[pair[side]] for pair in pairs]) for side in (0, 1))
    alpha = np.exp(np.outer(b - a, np.linspace(0.01, 0.03, 40)) @ np.linspace(0.1, 1.0, 40) / 40.0)
    kinds = [VERDICTS[place] for place in (np.abs(b - a) // 3.0 % 5).astype(int)]
    n = len(pairs)
    return {
        "cas_a": [pair[0] for pair in pairs],
        "cas_b": [pair[1] for pair in pairs],
        "verdict": kinds,
        "delta_boiling_point_K": (b - a).tolist(),
        "delta_u95_K": [0.5] * n,
        "alpha_a_lean": (alpha * pressure_Pa / 101_325.0).tolist(),
        "alpha_middle": alpha.tolist(),
        "alpha_a_rich": [None] * n,
        "minimum_plates": [float("nan")] * n,
        "equivalent_difference_K": (b - a).tolist(),
        "predictable": [kind is not None for kind in kinds],
        "problem": [None if kind else "Invented: no answer." for kind in kinds],
        "azeotropes": [[azeotrope(0.25)] if kind == "azeotrope" else [] for kind in kinds],
    }


def azeotrope(mass_fraction_a: float) -> dict[str, Any]:
    return {
        "basis": "predicted", "kind": "minimum", "temperature_K": 345.6, "mass_fraction_a": mass_fraction_a,
        "mole_fraction_a": 0.3, "source": "invented",
    }  # fmt: skip


def slow(store: db.Store, pairs: Sequence[tuple[str, str]], pressure_Pa: float, **_: Any) -> dict[str, list[Any]]:
    """Time enough to be killed at work."""
    time.sleep(0.4)
    return judge(store, pairs, pressure_Pa)


def dies_once(store: db.Store, pairs: Sequence[tuple[str, str]], pressure_Pa: float, **_: Any) -> dict[str, list[Any]]:
    """The first worker that comes to the third block is killed there."""
    marker = store.path.with_name("killed")
    if not marker.exists() and os.environ["ATLAS_DEADLY"] in {pair[0] for pair in pairs}:
        marker.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return judge(store, pairs, pressure_Pa)


def deadly(store: db.Store, pairs: Sequence[tuple[str, str]], pressure_Pa: float, **_: Any) -> dict[str, list[Any]]:
    """Every worker that comes to one pair is killed there."""
    if os.environ["ATLAS_DEADLY"] in {pair[0] for pair in pairs}:
        os.kill(os.getpid(), signal.SIGKILL)
    return judge(store, pairs, pressure_Pa)


def fails(store: db.Store, pairs: Sequence[tuple[str, str]], pressure_Pa: float, **_: Any) -> dict[str, list[Any]]:
    """One block has a fault in it."""
    if os.environ["ATLAS_DEADLY"] in {pair[0] for pair in pairs}:
        raise ZeroDivisionError("a fault of the test's own making")
    return judge(store, pairs, pressure_Pa)

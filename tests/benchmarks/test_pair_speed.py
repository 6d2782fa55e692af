"""How long one warm question about a pair takes, beside a script that does the same with thermo's scalar classes."""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable

import pytest
from scipy.optimize import brentq
from thermo.unifac import DOUFIP2016, DOUFSG, UNIFAC

from cutpoint import db

PAIR_LIMIT_S = 3e-3
REPEATS = 30
COMPOSITIONS = [0.0001, 0.01, 0.05, *(0.1 * tenth for tenth in range(1, 10)), 0.95, 0.99, 0.9999]

# Names of both, and their published subgroups by number.
PAIRS = [
    ("hexane", {1: 2, 2: 4}, "ethyl acetate", {1: 1, 2: 1, 21: 1}),
    ("ethanol", {1: 1, 2: 1, 14: 1}, "water", {16: 1}),
    ("benzene", {9: 6}, "toluene", {9: 5, 11: 1}),
]


def median_s(ask: Callable[[], object]) -> float:
    ask()
    times = []
    for _ in range(REPEATS):
        started = time.perf_counter()
        ask()
        times.append(time.perf_counter() - started)
    return statistics.median(times)


def scalar_azeotropes(a: db.Component, groups_a: dict[int, int], b: db.Component, groups_b: dict[int, int]) -> object:
    """Bubble points at fifteen compositions and the azeotropes between them, one number at a time."""

    def gammas(x: float, T_K: float) -> list[float]:
        return UNIFAC.from_subgroups(
            T=T_K, xs=[x, 1.0 - x], chemgroups=[groups_a, groups_b], subgroups=DOUFSG, interaction_data=DOUFIP2016,
            version=1,
        ).gammas()  # fmt: skip

    ends_K = sorted((a.boiling_point().value, b.boiling_point().value))

    def ln_alpha(x: float) -> float:
        def miss(T_K: float) -> float:
            gamma_a, gamma_b = gammas(x, T_K)
            p_Pa = x * gamma_a * a.vapour_pressure(T_K) + (1.0 - x) * gamma_b * b.vapour_pressure(T_K)
            return math.log(p_Pa / 101_325.0)

        T_K = brentq(miss, ends_K[0] - 40.0, ends_K[1] + 20.0, xtol=1e-6)
        gamma_a, gamma_b = gammas(x, T_K)
        return math.log(gamma_a * a.vapour_pressure(T_K) / (gamma_b * b.vapour_pressure(T_K)))

    scanned = [ln_alpha(x) for x in COMPOSITIONS]
    return [
        brentq(ln_alpha, low, high, xtol=1e-6)
        for low, high, one, other in zip(COMPOSITIONS, COMPOSITIONS[1:], scanned, scanned[1:], strict=False)
        if one * other < 0.0
    ]


def test_pair_of_two_liquids(store: db.Store) -> None:
    """The scalar script finds no bubble point of a liquid that is unstable, so there is nothing to compare with."""
    ours_s = median_s(lambda: store.pair("toluene", "water"))
    print(f"\ntoluene + water: {1e3 * ours_s:.2f} ms, {ours_s / PAIR_LIMIT_S:.2f} of the limit")


@pytest.mark.parametrize(("a", "groups_a", "b", "groups_b"), PAIRS, ids=[f"{row[0]}-{row[2]}" for row in PAIRS])
def test_pair(store: db.Store, a: str, groups_a: dict[int, int], b: str, groups_b: dict[int, int]) -> None:
    """Both in one run; ours also answers at two more pressures, with plates, uncertainty and two liquids."""
    ours_s = median_s(lambda: store.pair(a, b))
    one, other = store.component(a), store.component(b)
    theirs_s = median_s(lambda: scalar_azeotropes(one, groups_a, other, groups_b))
    print(
        f"\n{a} + {b}: {1e3 * ours_s:.2f} ms, {ours_s / PAIR_LIMIT_S:.2f} of the limit of {1e3 * PAIR_LIMIT_S:g} ms; "
        f"with thermo's scalar classes {1e3 * theirs_s:.0f} ms, {theirs_s / ours_s:.0f} times as long"
    )

"""How long bubble points, dew points and the parting of many compositions of one mixture take."""

from __future__ import annotations

import time

import numpy as np
import pytest

from cutpoint import db

STATES = 1000
LIMITS_S = {
    "bubble_temperature_K": 0.05,
    "dew_temperature_K": 2.5,
    "boiling_temperature_K": 4.0,
}
"""Of 1,000 states of six components; a batch asks for bubble points thousands of times, for the others seldom."""
SIX = ("water", "ethanol", "ethyl acetate", "hexane", "toluene", "acetone")


@pytest.mark.parametrize("method", LIMITS_S)
def test_states_of_a_mixture(store: db.Store, method: str) -> None:
    mixture = store.mixture(SIX)
    x = np.random.default_rng(0).dirichlet(np.ones(len(SIX)), STATES)
    ask = getattr(mixture, method)
    ask(x[:2], 101_325.0)
    started = time.perf_counter()
    ask(x, 101_325.0)
    took_s = time.perf_counter() - started
    print(f"\n{method} of {STATES} states: {1e3 * took_s:.0f} ms, {took_s / LIMITS_S[method]:.2f} of the limit")

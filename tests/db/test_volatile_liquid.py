"""K-values read fast, against the slower equilibrium that the rest of the read side uses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.db.volatile_liquid import VolatileLiquid

NAMES = ["hexane", "ethyl acetate", "acetone", "ethanol", "toluene", "water"]
PRESSURE_PA = 84_000.0


@pytest.fixture(scope="module")
def both(store):
    mixture = store.mixture(NAMES)
    return mixture, VolatileLiquid(mixture.bank, mixture.model, list(range(len(NAMES))), 250.0, 480.0)


def states(n, seed=0):
    rng = np.random.default_rng(seed)
    return rng.dirichlet(np.ones(len(NAMES)), n), rng.uniform(290.0, 350.0, n)


def test_activities_and_pressures_are_those_of_the_mixture(both):
    mixture, liquid = both
    x, T = states(300)
    assert np.allclose(liquid.ln_gamma(x, T), mixture.ln_gamma(x, T), atol=1e-9)
    assert np.allclose(liquid.ln_pressures(T), mixture.bank.clipped_ln_pressures(T[:, None]), atol=1e-7)


def test_bubble_points_are_those_of_the_mixture(both):
    mixture, liquid = both
    x, T = states(300)
    ln_p, scale = np.full((300, 1), np.log(PRESSURE_PA)), np.ones((300, len(NAMES)))
    found = liquid.bubble_points_K(x, T, ln_p, scale)
    expected = mixture.bubble_temperature_K(x, PRESSURE_PA)
    assert np.allclose(found, expected.temperature_K, atol=1e-6)
    assert np.allclose(liquid.vapour(x, found, ln_p, scale).y, expected.vapour, atol=1e-7)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_slopes_are_those_of_finite_differences(both, seed):
    _, liquid = both
    x, T = states(1, seed)
    x = np.maximum(x, 1e-4) / np.maximum(x, 1e-4).sum()
    ln_p, scale = np.full((1, 1), np.log(PRESSURE_PA)), np.ones((1, len(NAMES)))
    T = liquid.bubble_points_K(x, T, ln_p, scale)
    slopes = liquid.vapour_slopes(liquid.vapour(x, T, ln_p, scale))[0]
    step = 1e-6 * np.array([1.0, -1.0, 0.0, 0.0, 0.0, 0.0])
    ahead, behind = (_at_fixed_temperature(liquid, x + sign * step, T) for sign in (1.0, -1.0))
    assert np.allclose(slopes @ step, 0.5 * (ahead - behind)[0], atol=1e-4 * 1e-6)


def _at_fixed_temperature(liquid, x, T):
    """Vapours with relative volatilities at a temperature, as the slopes have them."""
    y = x * np.exp(liquid.ln_gamma(x, T) + liquid.ln_pressures(T))
    return y / y.sum(axis=1, keepdims=True)


def test_what_is_not_modelled_mixes_ideally_and_changes_nothing(store):
    five, six = store.mixture(NAMES[:5]), store.mixture(NAMES)
    part = VolatileLiquid(six.bank, five.model, [0, 1, 2, 3, 4], 250.0, 480.0)
    x, T = states(50)
    gamma = part.ln_gamma(x, T)
    assert (gamma[:, 5] == 0.0).all()
    others = x[:, :5] / x[:, :5].sum(axis=1, keepdims=True)
    assert np.allclose(gamma[:, :5], five.ln_gamma(others, T), atol=1e-9)

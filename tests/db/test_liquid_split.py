"""Two liquids: equal activities, the balance, published solubility behaviour of models, SciPy, and their limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize

from cutpoint import db
from cutpoint.db.binodal import binodal, miscibility_gap
from cutpoint.db.liquid_split import THIRD_LIQUID, LnGamma, rachford_rice, split, stability
from cutpoint.db.minimise import minimise
from cutpoint.db.mixtures import Mixture

Array = NDArray[np.float64]

T_0 = 300.0


class Margules:
    """ln γ_1 = x_2² [A + 2 (B - A) x_1] and its mirror image, of P pairs; A and B fall as 1/T from 300 K."""

    def __init__(self, A: Array, B: Array) -> None:
        self.A, self.B = A[:, None], B[:, None]

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        A, B, x_1, x_2 = self.A * T_0 / T_K, self.B * T_0 / T_K, x[..., 0], x[..., 1]
        return np.stack([x_2**2 * (A + 2.0 * (B - A) * x_1), x_1**2 * (B + 2.0 * (A - B) * x_2)], axis=-1)


def regular(A: Array) -> LnGamma:
    """g^E / RT = Σ_(i<j) A_ij x_i x_j."""

    def ln_gamma(x: Array, T_K: Array) -> Array:
        of_each = x @ A
        return np.asarray(of_each - 0.5 * (x * of_each).sum(-1, keepdims=True))

    return ln_gamma


def interactions(rng: np.random.Generator, N: int, low: float, high: float) -> Array:
    A = np.triu(rng.uniform(low, high, (N, N)), 1)
    return A + A.T


def gibbs(ln_gamma: LnGamma, n: Array) -> float:
    """Gibbs energy of mixing of one liquid of these amounts, over RT."""
    x = n / n.sum()
    return float((n * (np.log(np.maximum(x, 1e-300)) + ln_gamma(x[None], np.array([T_0]))[0])).sum())


def lowest_gibbs_energy(ln_gamma: LnGamma, z: Array, rng: np.random.Generator) -> float:
    """A minimum of two liquids by SciPy, downhill of random amounts; amounts are z / (1 + exp -u)."""

    def both(u: Array) -> float:
        return gibbs(ln_gamma, z / (1.0 + np.exp(-u))) + gibbs(ln_gamma, z / (1.0 + np.exp(u)))

    return float(minimize(both, rng.normal(0.0, 3.0, len(z)), method="BFGS", options={"gtol": 1e-8}).fun)


def log_activities(ln_gamma: LnGamma, x: Array, T_K: Array) -> Array:
    return np.asarray(np.log(x) + ln_gamma(x, T_K))


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 2**32 - 1), N=st.integers(2, 6), high=st.sampled_from((2.5, 4.0, 6.0, 15.0)))
def test_two_liquids_are_in_equilibrium_and_balance(seed: int, N: int, high: float) -> None:
    rng = np.random.default_rng(seed)
    ln_gamma = regular(interactions(rng, N, -2.0, high))
    z, T_K = rng.dirichlet(np.full(N, 0.7), 20), np.full(20, T_0)
    found = split(ln_gamma, z, T_K)
    assert set(found.reason[~found.converged]) <= {THIRD_LIQUID}
    two = found.two_liquids
    first, second, T_K = found.first[two], found.second[two], T_K[two]
    unlike = log_activities(ln_gamma, first, T_K) - log_activities(ln_gamma, second, T_K)
    np.testing.assert_allclose(unlike, 0.0, atol=1e-8)
    whole = found.first_amount[two, None] * first + found.second_amount[two, None] * second
    np.testing.assert_allclose(whole, z[two], atol=1e-12)
    assert (found.first_amount[two] >= found.second_amount[two]).all()
    assert stability(ln_gamma, first, T_K).distance.min(initial=0.0) > -1e-8
    for place in np.flatnonzero(two):
        parts = zip((found.first, found.second), (found.first_amount, found.second_amount), strict=True)
        assert sum(gibbs(ln_gamma, amount[place] * x[place]) for x, amount in parts) < gibbs(ln_gamma, z[place])
    one = found.converged & ~two
    np.testing.assert_array_equal(found.first[one], z[one])
    assert np.isnan(found.second[one]).all() and (found.first_amount[one] == 1.0).all()


def test_the_least_gibbs_energy_is_scipys() -> None:
    """Amounts in one of two liquids of random ternaries, from many starts of `minimize`."""
    rng, compared = np.random.default_rng(11), 0
    while compared < 12:
        ln_gamma = regular(interactions(rng, 3, -1.0, 4.0))
        z = rng.dirichlet(np.ones(3))
        found = split(ln_gamma, z[None], np.array([T_0]))
        if not found.two_liquids[0]:
            continue
        ours = sum(
            gibbs(ln_gamma, amount[0] * x[0])
            for x, amount in ((found.first, found.first_amount), (found.second, found.second_amount))
        )
        lowest = min(lowest_gibbs_energy(ln_gamma, z, rng) for _ in range(12))
        assert ours == pytest.approx(lowest, abs=1e-8) and ours <= lowest + 1e-10
        compared += 1


@settings(deadline=None, max_examples=30)
@given(seed=st.integers(0, 2**32 - 1), order=st.permutations(range(4)))
def test_the_order_of_the_components_changes_nothing(seed: int, order: list[int]) -> None:
    rng = np.random.default_rng(seed)
    A = interactions(rng, 4, -1.0, 5.0)
    z, T_K = rng.dirichlet(np.ones(4), 10), np.full(10, T_0)
    one, turned = split(regular(A), z, T_K), split(regular(A[np.ix_(order, order)]), z[:, order], T_K)
    np.testing.assert_array_equal(one.two_liquids, turned.two_liquids)
    np.testing.assert_allclose(turned.first, one.first[:, order], atol=1e-6)
    np.testing.assert_allclose(turned.second_amount, one.second_amount, atol=1e-6)


@given(x=st.floats(1e-9, 1.0 - 1e-9), T_K=st.floats(250.0, 400.0))
def test_identical_components_stay_one_liquid(x: float, T_K: float) -> None:
    def alike(x: Array, T_K: Array) -> Array:
        return np.zeros_like(x)

    z = np.array([[x, 1.0 - x]])
    found, tested = split(alike, z, np.array([T_K])), stability(alike, z, np.array([T_K]))
    assert not found.two_liquids[0] and tested.stable[0] and abs(tested.distance[0]) < 1e-12


def test_a_component_named_twice_by_a_model_leaves_the_split_as_it_is(store: db.Store) -> None:
    """Toluene in two halves that are alike parts from water as whole toluene does."""
    pair = store.mixture(["water", "toluene"])
    counts = [store.pair_tables.counts(cas) or {} for cas in ("7732-18-5", "108-88-3", "108-88-3")]
    three = store.pair_tables.book.model([counts])
    whole = pair.split([0.4, 0.6], 300.0)
    halves = split(lambda x, T_K: three.ln_gamma(x[None], T_K[None])[0], np.array([[0.4, 0.3, 0.3]]), np.array([300.0]))
    assert halves.two_liquids[0]
    np.testing.assert_allclose(halves.first[0, 1], halves.first[0, 2], rtol=1e-8)
    np.testing.assert_allclose(halves.first[0, 0], whole.first[0], rtol=1e-8)
    np.testing.assert_allclose(halves.second[0, 0], whole.second[0], rtol=1e-8)
    np.testing.assert_allclose(halves.second[0, 1:].sum(), whole.second[1], rtol=1e-8)


def test_three_liquids_are_no_answer_and_say_so() -> None:
    found = split(regular(12.0 * (1.0 - np.eye(3))), np.full((1, 3), 1.0 / 3.0), np.array([T_0]))
    assert not found.converged[0] and found.reason[0] == THIRD_LIQUID and np.isnan(found.first).all()


@pytest.mark.parametrize("A", [2.00001, 2.001, 2.05, 2.5, 4.0, 8.0, 15.0, 30.0])
def test_the_symmetric_gap_is_the_closed_one(A: float) -> None:
    """ln(x / (1 - x)) = A (2 x - 1): SciPy's root in ln(x / (1 - x)), from the critical point A = 2 to traces."""
    u = brentq(lambda u: u + A * math.tanh(-u / 2.0), -A - 1.0, -0.5 * math.sqrt(6.0 * (A / 2.0 - 1.0)), xtol=1e-14)
    gap = miscibility_gap(Margules(np.array([A]), np.array([A])), np.array([[T_0]]))
    assert gap[0, 0, 0, 0] == pytest.approx(1.0 / (1.0 + math.exp(-u)), rel=1e-6)
    assert gap[1, 0, 0, 1] == pytest.approx(gap[0, 0, 0, 0], rel=1e-6)


def test_below_the_critical_point_there_is_one_liquid() -> None:
    A = np.array([0.0, -3.0, 1.0, 1.9, 1.9999, 2.0])
    for x in binodal(Margules(A, A), np.full((6, 2), T_0)):
        assert x.shape == (6, 2) and np.isnan(x).all()


@settings(deadline=None, max_examples=50)
@given(seed=st.integers(0, 2**32 - 1))
def test_gaps_of_random_pairs(seed: int) -> None:
    """Equal activities to 1e-8, the poorer liquid first, mirrored with the pair, and as `split` finds them."""
    rng = np.random.default_rng(seed)
    A = rng.uniform(0.5, 14.0, 30)
    B, T_K = A * rng.uniform(0.6, 1.6, 30), rng.uniform(250.0, 450.0, (30, 3))
    model = Margules(A, B)
    gap = miscibility_gap(model, T_K)
    parted = ~np.isnan(gap[0, ..., 0])
    unlike = [np.log(liquid) + model.ln_gamma(liquid, T_K) for liquid in gap]
    np.testing.assert_allclose((unlike[0] - unlike[1])[parted], 0.0, atol=1e-8)
    assert (gap[0, ..., 0] < gap[1, ..., 0])[parted].all()
    mirrored = miscibility_gap(Margules(B, A), T_K)
    np.testing.assert_allclose(mirrored[::-1, ..., ::-1], gap, rtol=1e-6)
    for pair in range(0, 30, 10):
        own = Margules(A[pair : pair + 1], B[pair : pair + 1])
        z = rng.uniform(0.01, 0.99, 3)
        inside = (gap[0, pair, :, 0] < z) & (z < gap[1, pair, :, 0])
        found = split(lambda x, T, own=own: own.ln_gamma(x[None], T[None])[0], np.stack([z, 1 - z], -1), T_K[pair])
        np.testing.assert_array_equal(found.two_liquids, inside)
        poorer = np.minimum(found.first[:, 0], found.second[:, 0])[inside]
        np.testing.assert_allclose(poorer, gap[0, pair, inside, 0], rtol=1e-6)


def test_traces_keep_their_digits(store: db.Store) -> None:
    """Water with hydrocarbons, to 1e-5 as this model has them: activities equal in both liquids, and as in `split`."""
    for query in ("toluene", "benzene", "hexane", "cyclohexane", "589-34-4"):
        pair = store.mixture(["water", query])
        T_K = np.array([[280.0, 300.0, 340.0]])
        gap = miscibility_gap(pair.model, T_K)
        unlike = [np.log(liquid) + pair.model.ln_gamma(liquid, T_K) for liquid in gap]
        np.testing.assert_allclose(unlike[0], unlike[1], atol=1e-9)
        assert (gap[1, ..., 1] < 5e-3).all()
        found = pair.split([0.5, 0.5], T_K[0])
        x_organic = np.minimum(found.first[:, 1], found.second[:, 1])
        np.testing.assert_allclose(x_organic, gap[1, 0, :, 1], rtol=1e-7)


def test_a_mole_fraction_that_is_one_to_the_last_digit() -> None:
    """Down to 1e-13, where 1 - x has lost all but three digits, ln x = ln x (1 - 2 x) - A is met to all of them."""
    A = 30.0
    gap = miscibility_gap(Margules(np.array([A]), np.array([A])), np.array([[T_0]]))
    trace = float(gap[0, 0, 0, 0])
    assert trace == pytest.approx(math.exp(-A), rel=1e-9) and float(gap[1, 0, 0, 1]) == pytest.approx(trace, rel=1e-9)


def test_a_model_without_parameters_has_no_gap() -> None:
    gap = miscibility_gap(Margules(np.array([math.nan, 3.0]), np.array([math.nan, 3.0])), np.full((2, 1), T_0))
    assert np.isnan(gap[:, 0]).all() and not np.isnan(gap[:, 1]).any()


def test_water_and_toluene_boil_together_at_one_temperature_whatever_their_amounts(store: db.Store) -> None:
    """84.1 °C and 44.4 % toluene by mole in the vapour (from memory of handbook tables) within 1 K and 2 %."""
    pair = store.mixture(["water", "toluene"])
    x = np.linspace(0.05, 0.95, 7)
    found = pair.boiling_temperature_K(np.stack([x, 1.0 - x], axis=-1), 101_325.0)
    T_K, y = found.equilibrium.temperature_K, found.equilibrium.vapour
    assert found.liquids.two_liquids.all()
    np.testing.assert_allclose(T_K, T_K[0], rtol=1e-9)
    np.testing.assert_allclose(y, np.tile(y[0], (7, 1)), rtol=1e-7)
    assert T_K[0] - 273.15 == pytest.approx(84.1, abs=1.0) and y[0, 1] == pytest.approx(0.444, abs=0.02)
    # Each pressure is that of either liquid.
    for liquid in (found.liquids.first, found.liquids.second):
        again = pair.bubble_pressure_Pa(liquid, T_K)
        np.testing.assert_allclose(again.pressure_Pa, 101_325.0, rtol=1e-8)
        np.testing.assert_allclose(again.vapour, y, rtol=1e-7)
    at_temperature = pair.boiling_pressure_Pa([0.5, 0.5], T_K[0])
    assert float(at_temperature.equilibrium.pressure_Pa) == pytest.approx(101_325.0, rel=1e-8)


def test_a_wash_liquor_in_two_layers_boils_where_its_vapour_condenses(store: db.Store) -> None:
    """Water, ethanol, ethyl acetate and hexane, 400 compositions: bubble and dew point answer one another."""
    four: Mixture = store.mixture(["water", "ethanol", "ethyl acetate", "hexane"])
    z = np.random.default_rng(5).dirichlet(np.full(4, 0.6), 400)
    found = four.boiling_temperature_K(z, 95_000.0)
    kept = found.equilibrium.converged
    assert kept.all() and 50 < found.liquids.two_liquids.sum() < 400
    dew = four.dew_temperature_K(found.equilibrium.vapour[kept], 95_000.0)
    np.testing.assert_allclose(dew.temperature_K, found.equilibrium.temperature_K[kept], rtol=1e-8)
    one = ~found.liquids.two_liquids
    alone = four.bubble_temperature_K(z[one], 95_000.0)
    np.testing.assert_allclose(found.equilibrium.temperature_K[one], alone.temperature_K, rtol=1e-12)


def test_rachford_rice_is_brentqs() -> None:
    rng = np.random.default_rng(8)
    z, K = rng.dirichlet(np.ones(5), 200), np.exp(rng.normal(0.0, 2.0, (200, 5)))
    for of_one, ratios, beta in zip(z, K, rachford_rice(z, K), strict=True):

        def over(beta: float, of_one: Array = of_one, ratios: Array = ratios) -> float:
            return float((of_one * (ratios - 1.0) / (1.0 + beta * (ratios - 1.0))).sum())

        if over(0.0) > 0.0 > over(1.0):
            assert beta == pytest.approx(brentq(over, 0.0, 1.0, xtol=1e-15), abs=1e-12)
        else:
            assert math.isnan(beta)


def test_many_minima_at_once_within_their_bounds() -> None:
    """Quadratic forms whose minimum lies inside, at the bound 0 or, for one variable, nowhere to go."""
    rng = np.random.default_rng(9)
    root = rng.normal(size=(50, 4, 4))
    hessian = np.matmul(root, np.swapaxes(root, 1, 2)) + np.eye(4)
    target = rng.uniform(0.1, 2.0, (50, 4))
    upper = np.full((50, 4), 5.0)

    def objective(point: Array, places: NDArray[np.int64]) -> tuple[Array, Array]:
        gradient = np.einsum("aij,aj->ai", hessian[places], point - target[places])
        return 0.5 * ((point - target[places]) * gradient).sum(-1), gradient

    point, gradient = minimise(objective, np.ones((50, 4)), upper, 1e-10)
    np.testing.assert_allclose(point, target, atol=1e-9)
    assert (gradient <= 1e-10).all()

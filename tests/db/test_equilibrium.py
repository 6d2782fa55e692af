"""Bubble and dew points: closed formulas for ideal mixtures, SciPy's searches, round trips, limits, and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from cutpoint import db
from cutpoint.db.mixtures import Mixture
from cutpoint.schema.errors import AmbiguousComponent, ImpossibleQuantity, NoSuchComponent, NoValue, WrongUsage

Array = NDArray[np.float64]

NAMES = ("water", "ethanol", "ethyl acetate", "hexane", "toluene", "methanol")
"""Of the small store; their curves carry together from 267 K to 380 K and more."""
ONE_ATMOSPHERE_PA = 101_325.0


class Ideal:
    """γ = 1."""

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        return np.zeros_like(x)


class Regular:
    """RT ln γ_i of g^E = Σ_(i<j) A_ij x_i x_j, A given over R T at 300 K: the symmetric model of Margules."""

    def __init__(self, A: Array) -> None:
        self.A = A

    def ln_gamma(self, x: Array, T_K: Array) -> Array:
        of_each = x @ self.A
        return (of_each - 0.5 * (x * of_each).sum(-1, keepdims=True)) * (300.0 / T_K)[..., None]


def interactions(rng: np.random.Generator, N: int, low: float, high: float) -> Array:
    A = np.triu(rng.uniform(low, high, (N, N)), 1)
    return A + A.T


@pytest.fixture(scope="module")
def six(store: db.Store) -> Mixture:
    return store.mixture(NAMES)


@pytest.fixture(scope="module")
def ideal(six: Mixture) -> Mixture:
    return Mixture(six.names, six.bank, Ideal())


def with_model(six: Mixture, seed: int, high: float = 1.5) -> tuple[Mixture, np.random.Generator]:
    """A random regular mixture that stays one liquid while high is below 2."""
    rng = np.random.default_rng(seed)
    return Mixture(six.names, six.bank, Regular(interactions(rng, len(six.names), -1.5, high))), rng


def test_ideal_pressures_are_raoults_and_daltons(ideal: Mixture) -> None:
    x, T_K = np.random.default_rng(0).dirichlet(np.ones(6), 200), np.linspace(290.0, 355.0, 200)
    p = ideal.bank.pressures_Pa(T_K[:, None])
    bubble, dew = ideal.bubble_pressure_Pa(x, T_K), ideal.dew_pressure_Pa(x, T_K)
    np.testing.assert_allclose(bubble.pressure_Pa, (x * p).sum(-1), rtol=1e-12)
    np.testing.assert_allclose(bubble.vapour, x * p / (x * p).sum(-1, keepdims=True), rtol=1e-12)
    np.testing.assert_allclose(dew.pressure_Pa, 1.0 / (x / p).sum(-1), rtol=1e-12)
    np.testing.assert_allclose(dew.liquid, x / p / (x / p).sum(-1, keepdims=True), rtol=1e-9)
    assert bubble.converged.all() and dew.converged.all() and not any(bubble.reason) and not any(dew.reason)


def test_pure_ends_boil_as_the_pure_components_do(six: Mixture) -> None:
    pure = np.eye(6)
    for pressure_Pa in (30e3, 84e3, ONE_ATMOSPHERE_PA):
        T_K = six.bank.boiling_points(pressure_Pa).value
        for found in (
            six.bubble_temperature_K(pure, pressure_Pa),
            six.dew_temperature_K(pure, pressure_Pa),
            six.boiling_temperature_K(pure, pressure_Pa).equilibrium,
        ):
            np.testing.assert_allclose(found.temperature_K, T_K, rtol=1e-10)
            np.testing.assert_allclose(found.liquid, pure, atol=1e-12)
            np.testing.assert_allclose(found.vapour, pure, atol=1e-12)


def test_bubble_points_are_those_of_brentq(six: Mixture) -> None:
    rng = np.random.default_rng(1)
    x, p = rng.dirichlet(np.ones(6), 40), rng.uniform(40e3, 110e3, 40)
    found = six.bubble_temperature_K(x, p)
    for state in range(40):

        def missing(T_K: float, state: int = state) -> float:
            gamma = np.exp(six.ln_gamma(x[state], T_K))
            return float((x[state] * gamma * six.bank.pressures_Pa(T_K)).sum()) - p[state]

        assert found.temperature_K[state] == pytest.approx(brentq(missing, 270.0, 365.0, xtol=1e-10), abs=1e-8)


def test_dew_points_are_those_of_brentq(six: Mixture) -> None:
    """Of random binary mixtures in one liquid: the drop's composition and the temperature, one inside the other."""
    rng = np.random.default_rng(2)
    for seed in range(12):
        whole, _ = with_model(six, seed)
        y = np.zeros(6)
        first, second = rng.choice(6, 2, replace=False)
        y[first] = rng.uniform(0.05, 0.95)
        y[second] = 1.0 - y[first]

        def partial(x_first: float, T_K: float, whole: Mixture = whole, at: tuple[int, int] = (first, second)) -> Array:
            x = np.zeros(6)
            x[list(at)] = x_first, 1.0 - x_first
            return x * np.exp(whole.ln_gamma(x, T_K)) * whole.bank.pressures_Pa(T_K)

        def pressure(T_K: float, y_first: float = y[first], at: int = first) -> float:
            def missing(x_first: float) -> float:
                of_each = partial(x_first, T_K)
                return float(of_each[at] / of_each.sum()) - y_first

            return float(partial(float(brentq(missing, 1e-12, 1.0 - 1e-12, xtol=1e-14)), T_K).sum())

        found = whole.dew_temperature_K(y, 40e3)
        T_K = brentq(lambda T_K: pressure(T_K) - 40e3, 275.0, 370.0, xtol=1e-10)
        assert float(found.temperature_K) == pytest.approx(T_K, abs=1e-7)


@settings(deadline=None, max_examples=40)
@given(
    seed=st.integers(0, 2**32 - 1),
    # Up to where the shortest curve of the small store reaches the boiling point of toluene.
    pressure_Pa=st.floats(math.log(2e4), math.log(8e4)).map(math.exp),
    concentration=st.sampled_from((0.1, 0.4, 1.0, 5.0)),
)
def test_bubble_and_dew_points_answer_one_another(
    six: Mixture, seed: int, pressure_Pa: float, concentration: float
) -> None:
    whole, rng = with_model(six, seed)
    x = rng.dirichlet(np.full(6, concentration), 8)
    bubble = whole.bubble_temperature_K(x, pressure_Pa)
    assert bubble.converged.all()
    np.testing.assert_allclose(whole.bubble_pressure_Pa(x, bubble.temperature_K).pressure_Pa, pressure_Pa, rtol=1e-10)
    dew = whole.dew_temperature_K(bubble.vapour, pressure_Pa)
    assert dew.converged.all()
    np.testing.assert_allclose(dew.temperature_K, bubble.temperature_K, rtol=1e-8)
    np.testing.assert_allclose(dew.liquid, x, atol=1e-8)
    pressures = whole.dew_pressure_Pa(bubble.vapour, bubble.temperature_K)
    np.testing.assert_allclose(pressures.pressure_Pa, pressure_Pa, rtol=1e-8)
    # Never a dew point below the bubble point of the same composition.
    own = whole.dew_temperature_K(x, pressure_Pa)
    assert (own.temperature_K[own.converged] >= bubble.temperature_K[own.converged] - 1e-7).all()


@settings(deadline=None, max_examples=20)
@given(seed=st.integers(0, 2**32 - 1), order=st.permutations(range(6)))
def test_the_order_of_the_components_changes_nothing(
    store: db.Store, six: Mixture, seed: int, order: list[int]
) -> None:
    other = store.mixture([NAMES[place] for place in order])
    x = np.random.default_rng(seed).dirichlet(np.ones(6), 5)
    for method in ("bubble_temperature_K", "dew_temperature_K"):
        one, turned = getattr(six, method)(x, 60e3), getattr(other, method)(x[:, order], 60e3)
        np.testing.assert_array_equal(one.converged, turned.converged)
        np.testing.assert_allclose(turned.temperature_K, one.temperature_K, rtol=1e-9)
        np.testing.assert_allclose(turned.vapour, one.vapour[:, order], atol=1e-7)


def test_an_absent_component_changes_nothing(store: db.Store, six: Mixture) -> None:
    """Not even where its own curve does not reach."""
    two = store.mixture(["ethanol", "toluene"])
    x = np.random.default_rng(3).dirichlet(np.ones(2), 20)
    wide = np.zeros((20, 6))
    x[0] = 0.001, 0.999
    wide[:, [1, 4]] = x
    for method in ("bubble_temperature_K", "dew_temperature_K"):
        one, other = getattr(two, method)(x, 110e3), getattr(six, method)(wide, 110e3)
        np.testing.assert_allclose(other.temperature_K, one.temperature_K, rtol=1e-10)
        assert (other.vapour[:, [0, 2, 3, 5]] == 0.0).all()
        assert other.temperature_K.max() > six.bank.limits_K()[1][2]


def test_of_two_possible_drops_the_first_one_is_found(store: db.Store) -> None:
    """Water and hexane: at either side of the heterogeneous azeotrope the drop is nearly pure, of the other kind."""
    pair = store.mixture(["water", "hexane"])
    hetero = pair.boiling_temperature_K([0.5, 0.5], ONE_ATMOSPHERE_PA).equilibrium
    y = float(hetero.vapour[0])
    dew = pair.dew_temperature_K([[y + 0.05, 0.95 - y], [y - 0.05, 1.05 - y]], ONE_ATMOSPHERE_PA)
    assert (dew.temperature_K > float(hetero.temperature_K)).all()
    assert dew.liquid[0, 0] > 0.99 and dew.liquid[1, 1] > 0.95


def test_what_no_curve_carries_is_refused_by_name(six: Mixture) -> None:
    equal = np.full(6, 1.0 / 6.0)
    low, high = six.bank.limits_K()
    for asked in (six.bubble_temperature_K, six.dew_temperature_K):
        hot = asked(equal, 5e6)
        assert not hot.converged and math.isnan(float(hot.temperature_K)) and np.isnan(hot.vapour).all()
        assert str(hot.reason) == f"it is above {high.min():.6g} K, where the curve of {NAMES[high.argmin()]} ends"
        cold = asked(equal, 1.0)
        assert str(cold.reason) == f"it is below {low.max():.6g} K, where the curve of {NAMES[low.argmax()]} starts"
    for asked in (six.bubble_pressure_Pa, six.dew_pressure_Pa):
        mixed = asked(equal, [320.0, 900.0, 20.0])
        assert mixed.converged.tolist() == [True, False, False]
        assert "carries from" in mixed.reason[1] and "not to 900 K" in mixed.reason[1]
        assert np.isnan(mixed.pressure_Pa[1:]).all() and not mixed.extrapolated[1:].any()


def test_curves_without_a_common_range_are_named(store: db.Store) -> None:
    pair = store.mixture(["diethyl ether", "p-xylene"])
    cold = Mixture(pair.names, pair.bank.take(np.array([0, 1])), Ideal())
    cold.bank._T_highest[0] = cold.bank._T_lowest[1] - 10.0
    for found in (cold.bubble_temperature_K([0.5, 0.5], 1e5), cold.dew_temperature_K([0.5, 0.5], 1e5)):
        assert not found.converged and str(found.reason).startswith("the curve of diethyl ether ends at ")
        assert "below the start of that of p-xylene" in str(found.reason)


def test_states_outside_a_valid_range_are_marked(six: Mixture) -> None:
    lowest, highest = six.bank.range_K()
    x = [[1.0, 0, 0, 0, 0, 0], [0, 1.0, 0, 0, 0, 0]]
    found = six.bubble_pressure_Pa(x, [highest[0] + 1.0, lowest[1] + 30.0])
    assert found.extrapolated.tolist() == [True, False] and found.converged.all()


def test_a_model_that_does_not_know_gives_no_number(six: Mixture) -> None:
    class Unknown:
        def ln_gamma(self, x: Array, T_K: Array) -> Array:
            return np.full_like(x, np.nan)

    whole, equal = Mixture(six.names, six.bank, Unknown()), np.full(6, 1.0 / 6.0)
    for found in (
        whole.bubble_temperature_K(equal, 1e5), whole.dew_temperature_K(equal, 1e5),
        whole.bubble_pressure_Pa(equal, 320.0), whole.dew_pressure_Pa(equal, 320.0), whole.split(equal, 320.0),
        whole.boiling_temperature_K(equal, 1e5).equilibrium, whole.boiling_pressure_Pa(equal, 320.0).equilibrium,
    ):  # fmt: skip
        assert not found.converged and str(found.reason) == "the activity coefficients are not known here"


def test_shapes(six: Mixture) -> None:
    x = np.random.default_rng(4).dirichlet(np.ones(6), (2, 3))
    grid = six.bubble_temperature_K(x, np.array([50e3, 70e3, 90e3]))
    assert grid.temperature_K.shape == grid.reason.shape == (2, 3) and grid.vapour.shape == (2, 3, 6)
    one = six.bubble_temperature_K(x[1, 2], 90e3)
    assert one.temperature_K.shape == () and float(one.temperature_K) == pytest.approx(grid.temperature_K[1, 2])
    assert six.dew_temperature_K(np.empty((0, 6)), 1e5).temperature_K.shape == (0,)
    assert six.bubble_temperature_K(np.empty((0, 6)), 1e5).vapour.shape == (0, 6)
    assert six.boiling_temperature_K(x, 60e3).liquids.first.shape == (2, 3, 6)
    assert six.stability(x, 300.0).stable.shape == (2, 3) and six.ln_gamma(x, 300.0).shape == (2, 3, 6)


@pytest.mark.parametrize(
    ("x", "pressure_Pa", "told"),
    [
        ([0.5, 0.5], 1e5, "6 components"),
        ([1.5, -0.5, 0, 0, 0, 0], 1e5, "from 0 to 1"),
        ([0.5, 0.4, 0, 0, 0, 0], 1e5, "sum to 0.9"),
        ([math.nan, 1, 0, 0, 0, 0], 1e5, "from 0 to 1"),
        ([1, 0, 0, 0, 0, 0], 0.0, "pressure"),
        ([1, 0, 0, 0, 0, 0], math.nan, "pressure"),
    ],
)
def test_questions_that_make_no_sense(six: Mixture, x: list[float], pressure_Pa: float, told: str) -> None:
    with pytest.raises((WrongUsage, ImpossibleQuantity), match=told):
        six.bubble_temperature_K(x, pressure_Pa)


def test_a_mixture_is_opened_by_any_names(store: db.Store) -> None:
    mixed = store.mixture(["64-17-5", "EtOAc"])
    assert mixed.names == ("ethanol", "ethyl acetate") and mixed.bank.cas == ("64-17-5", "141-78-6")
    alone = store.mixture(["water"])
    assert float(alone.bubble_temperature_K([1.0], ONE_ATMOSPHERE_PA).temperature_K) == pytest.approx(373.12, abs=0.1)


def test_what_cannot_be_mixed_is_refused_by_name(store: db.Store) -> None:
    for queries, error, told in (
        ([], WrongUsage, "at least one"),
        (["ethanol", "ethyl alcohol"], WrongUsage, "ethanol .64-17-5. was named twice"),
        (["ethanol", "sucrose"], NoValue, "sucrose"),
        (["ethanol", "petroleum ether"], NoValue, "petroleum ether is a stream"),
        (["ethanol", "1,4-dioxane"], NoValue, "do not cover the molecule of 1,4-dioxane"),
        (["ethanol", "C4H8O2"], AmbiguousComponent, "C4H8O2"),
        (["ethanol", "qqqqqqqqqqqq"], NoSuchComponent, "qqqqqqqqqqqq"),
    ):
        with pytest.raises(error, match=told):
            store.mixture(queries)


def test_groups_that_were_never_measured_together_are_named(store: db.Store, monkeypatch: pytest.MonkeyPatch) -> None:
    book = store.pair_tables.book
    water, ethyl_acetate = (int(book.main[book.place[group]]) for group in ("16", "21"))
    gap = book.parameters.copy()
    gap[:, water, ethyl_acetate] = math.nan
    monkeypatch.setitem(book.__dict__, "parameters", gap)
    with pytest.raises(NoValue, match="no published parameters") as refused:
        store.mixture(["ethanol", "water", "ethyl acetate"])
    assert (
        "of water and ethyl acetate" in refused.value.message or "of ethyl acetate and water" in refused.value.message
    )

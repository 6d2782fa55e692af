"""Activity coefficients by modified UNIFAC (Dortmund): against another implementation, and against thermodynamics."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from thermo.unifac import DOUFIP2016, DOUFSG, UNIFAC

from cutpoint import db
from cutpoint.db.activity import GroupBook, group_counts

Array = NDArray[np.float64]

MOLECULES: tuple[dict[int, int], ...] = (
    {16: 1}, {15: 1}, {1: 1, 2: 1, 14: 1}, {1: 2, 3: 1, 81: 1}, {1: 3, 4: 1, 82: 1}, {1: 2, 2: 4}, {78: 6}, {9: 6},
    {9: 5, 11: 1}, {1: 1, 18: 1}, {1: 1, 2: 1, 18: 1}, {1: 1, 2: 1, 21: 1}, {1: 2, 2: 1, 25: 1}, {78: 2, 27: 1},
    {40: 1}, {47: 1}, {50: 1}, {52: 1}, {42: 1, 1: 1}, {72: 1}, {67: 1}, {37: 1, 9: 3}, {5: 1, 2: 3, 1: 1},
    {53: 1, 9: 5},
)  # fmt: skip
"""Groups of ordinary solvents, by the numbers of the published subgroups."""


@pytest.fixture(scope="module")
def book(store: db.Store) -> GroupBook:
    return GroupBook.load(store)


def named(groups: dict[int, int]) -> dict[str, int]:
    return {str(number): count for number, count in groups.items()}


def compositions(rng: np.random.Generator, shape: tuple[int, ...]) -> Array:
    return rng.dirichlet(np.full(shape[-1], 0.5), size=shape[:-1])


def test_as_thermo_computes_them(book: GroupBook) -> None:
    """600 random mixtures of 2 to 5 solvents, 250 to 450 K, to 1e-8: C. Bell and others, thermo 0.6.1 (MIT)."""
    rng, compared = np.random.default_rng(7), 0
    while compared < 600:
        N = int(rng.integers(2, 6))
        chosen = [MOLECULES[place] for place in rng.choice(len(MOLECULES), N, replace=False)]
        if book.unknown_interactions([named(groups) for groups in chosen]):
            continue
        x, T_K = compositions(rng, (N,)), float(rng.uniform(250.0, 450.0))
        theirs = UNIFAC.from_subgroups(
            T=T_K, xs=x.tolist(), chemgroups=chosen, subgroups=DOUFSG, interaction_data=DOUFIP2016, version=1
        ).lngammas()
        ours = book.model([[named(groups) for groups in chosen]]).ln_gamma(x[None, None], np.array([[T_K]]))
        assert ours[0, 0] == pytest.approx(theirs, rel=1e-8, abs=1e-8)
        compared += 1


@settings(deadline=None)
@given(
    chosen=st.lists(st.sampled_from(range(len(MOLECULES))), min_size=2, max_size=4, unique=True),
    T_K=st.floats(250.0, 450.0),
    seed=st.integers(0, 2**32 - 1),
)
def test_gibbs_duhem(book: GroupBook, chosen: list[int], T_K: float, seed: int) -> None:
    """Σ x_i d ln γ_i = 0 at constant temperature, along any direction, to 1e-6 (central differences)."""
    molecules = [named(MOLECULES[place]) for place in chosen]
    if book.unknown_interactions(molecules):
        return
    rng = np.random.default_rng(seed)
    x = 0.02 + (1.0 - 0.02 * len(chosen)) * rng.dirichlet(np.ones(len(chosen)))
    way = rng.normal(size=len(chosen))
    way -= way.mean()
    h = 1e-5 / np.abs(way).max()
    states = np.stack([x + h * way, x - h * way])[None]
    forward, backward = book.model([molecules]).ln_gamma(states, np.full((1, 2), T_K))[0]
    assert float(x @ (forward - backward)) / (2.0 * h) / np.abs(way).max() == pytest.approx(0.0, abs=1e-6)


@settings(deadline=None)
@given(place=st.integers(0, len(MOLECULES) - 1), T_K=st.floats(250.0, 450.0))
def test_a_pure_liquid_is_ideal(book: GroupBook, place: int, T_K: float) -> None:
    molecules = [named(MOLECULES[place]), named(MOLECULES[0])]
    if book.unknown_interactions(molecules):
        return
    ln_gamma = book.model([molecules]).ln_gamma(np.array([[[1.0, 0.0]]]), np.array([[T_K]]))
    assert ln_gamma[0, 0, 0] == pytest.approx(0.0, abs=1e-12)


def test_the_order_of_components_and_batches_does_not_matter(book: GroupBook) -> None:
    three = [named(MOLECULES[place]) for place in (0, 2, 8)]
    x, T = np.array([[[0.2, 0.5, 0.3]]]), np.array([[340.0]])
    one = book.model([three]).ln_gamma(x, T)[0, 0]
    turned = book.model([three[::-1]]).ln_gamma(x[..., ::-1], T)[0, 0]
    assert turned[::-1] == pytest.approx(one, rel=1e-12)
    other = [named(MOLECULES[place]) for place in (5, 7, 13)]
    together = book.model([other, three, other])
    assert together.ln_gamma(np.repeat(x, 3, axis=0), np.repeat(T, 3, axis=0))[1, 0] == pytest.approx(one, rel=1e-12)
    assert together.take(np.array([1])).ln_gamma(x, T)[0, 0] == pytest.approx(one, rel=1e-12)


def test_isotherms_are_the_states(book: GroupBook) -> None:
    model = book.model([[named(MOLECULES[0]), named(MOLECULES[9])]])
    x = np.linspace(0.0, 1.0, 5)
    x = np.stack([x, 1.0 - x], axis=-1)[None]
    isotherms = model.ln_gamma_isotherms(x[:, None], np.array([[300.0, 350.0]]))
    assert isotherms.shape == (1, 2, 5, 2)
    assert isotherms[0, 1] == pytest.approx(model.ln_gamma(x, np.full((1, 5), 350.0))[0], rel=1e-12)


def test_unpublished_interactions_are_named_and_give_no_number(book: GroupBook) -> None:
    """A gap stays a gap: nothing is taken for zero."""
    gap = next(
        (one, other)
        for one in ({str(number): 1} for number in DOUFSG)
        for other in ({str(number): 1} for number in DOUFSG)
        if book.unknown_interactions([one, other])
    )
    ln_gamma = book.model([gap]).ln_gamma(np.array([[[0.5, 0.5]]]), np.array([[300.0]]))
    assert np.isnan(ln_gamma).all()
    assert book.unknown_interactions([gap[0], gap[0]]) == []


def test_counts_come_from_the_store(store: db.Store) -> None:
    assert group_counts(store, ["64-17-5", "57-50-1"]) == {"64-17-5": {"1": 1, "14": 1, "2": 1}}

"""Bubble pressures and dew points against hand-made limits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.planner.stills.bench import lowest_dew_points_K
from cutpoint.planner.stills.partial_pressures import (
    DrawnLiquid,
    dew_points_K,
    mole_fractions,
    partial_pressures_Pa,
)
from cutpoint.schema.properties import ATMOSPHERE_PA


def test_the_dew_point_of_a_pure_vapour_is_its_boiling_point(made_up_liquid):
    liquid = made_up_liquid(np.array([320.0, 360.0]), A=1.0)
    found = dew_points_K(liquid, np.eye(2), np.full(2, ATMOSPHERE_PA), np.array([330.0, 330.0]))
    assert found == pytest.approx([320.0, 360.0], abs=1e-5)


@settings(max_examples=30)
@given(
    amounts=st.lists(st.floats(1e-3, 1.0), min_size=2, max_size=2),
    A=st.floats(-1.0, 1.5),
    T_K=st.floats(300.0, 360.0),
)
def test_the_vapour_over_a_liquid_is_at_its_dew_point(made_up_liquid, amounts, A, T_K):
    liquid = made_up_liquid(np.array([320.0, 350.0]), A)
    T = np.array([T_K])
    partial = partial_pressures_Pa(liquid, mole_fractions(np.array([amounts])), T)
    found = dew_points_K(liquid, mole_fractions(partial), partial.sum(axis=1), T + 15.0)
    assert found == pytest.approx(T, abs=1e-3)


def test_the_lowest_dew_point_is_that_of_the_moments_asked(made_up_liquid):
    liquid = made_up_liquid(np.array([320.0, 360.0]))
    y = np.array([[[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]], [[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]]])
    within = np.array([[False, False, True], [False, False, False]])
    found = lowest_dew_points_K(liquid, y, within, np.full(2, ATMOSPHERE_PA), np.full((2, 3), 340.0))
    assert found[0] == pytest.approx(360.0, abs=1e-5)
    assert np.isnan(found[1])


class Half:
    """As much of a fast liquid as its adapter asks for."""

    def ln_gamma(self, x, T_K):
        return np.full_like(x, 0.5)

    def ln_pressures(self, T_K):
        return np.full((len(T_K), 2), 10.0)


def test_draws_shift_the_vapour_pressures_and_scale_the_activities():
    drawn = DrawnLiquid(Half(), np.array([[0.0, 0.1], [0.2, 0.0]]), np.array([[1.0], [2.0]]))
    x, T = np.full((2, 2), 0.5), np.full(2, 300.0)
    assert drawn.ln_p(T) == pytest.approx(np.array([[10.0, 10.1], [10.2, 10.0]]))
    assert drawn.ln_gamma(x, T) == pytest.approx(np.array([[0.5, 0.5], [1.0, 1.0]]))


def test_nothing_has_no_pressure(made_up_liquid):
    liquid = made_up_liquid(np.array([320.0, 360.0]))
    assert partial_pressures_Pa(liquid, mole_fractions(np.zeros((1, 2))), np.array([300.0])).sum() == 0.0

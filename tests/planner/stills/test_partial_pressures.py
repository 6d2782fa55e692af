"""Bubble pressures against hand-made limits."""

import numpy as np
import pytest

from cutpoint.planner.stills.partial_pressures import (
    DrawnLiquid,
    mole_fractions,
    partial_pressures_Pa,
)


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

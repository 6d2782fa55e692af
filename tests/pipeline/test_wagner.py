"""The Wagner form and corresponding states."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cutpoint.pipeline.curve_forms import ln_pressures
from cutpoint.pipeline.wagner import (
    acentric_factor_from_boiling_point,
    corresponding_states,
    estimated_curves,
    terms,
)
from cutpoint.schema.properties import ATMOSPHERE_PA


@pytest.mark.parametrize("omega", [0.0, 0.1, 0.3, 0.6, 0.9])
def test_the_method_keeps_the_definition_of_the_acentric_factor(omega: float) -> None:
    # K. S. Pitzer et al., J. Am. Chem. Soc. 77 (1955) 3433: omega = -1 - log10(p/p_c) at T/T_c = 0.7.
    T_r = np.array(0.7)
    log10_p_r = float(terms(T_r) @ corresponding_states(np.array(omega))) / 0.7 / np.log(10.0)
    assert -1.0 - log10_p_r == pytest.approx(omega, abs=0.003)


@given(st.floats(50.0, 800.0), st.floats(0.55, 0.8), st.floats(1e6, 8e6))
def test_an_estimated_curve_boils_at_the_boiling_point(T_b_K: float, T_b_r: float, p_c_Pa: float) -> None:
    T_c_K = T_b_K / T_b_r
    omega = acentric_factor_from_boiling_point(np.array([T_b_K]), np.array([T_c_K]), np.array([p_c_Pa]))
    assume(np.isfinite(omega[0]))
    constants = pd.DataFrame({"T_c_K": [T_c_K], "p_c_Pa": [p_c_Pa], "omega": omega})
    curve = estimated_curves(constants)
    assert ln_pressures(curve, np.array([T_b_K])) == pytest.approx(np.log(ATMOSPHERE_PA), abs=1e-9)
    assert ln_pressures(curve, np.array([T_c_K])) == pytest.approx(np.log(p_c_Pa))


def test_ethylbenzene_by_corresponding_states() -> None:
    # Measured: 13 332 Pa at 347.25 K, 332 469 Pa at 460 K. B. E. Poling, J. M. Prausnitz, J. P. O'Connell, The
    # Properties of Gases and Liquids, 5th edition, 2001, example 7-2, with T_c, p_c and T_b (from memory).
    T_b_K, T_c_K, p_c_Pa = (np.array([number]) for number in (409.36, 617.15, 3.609e6))
    omega = acentric_factor_from_boiling_point(T_b_K, T_c_K, p_c_Pa)
    curve = estimated_curves(pd.DataFrame({"T_c_K": T_c_K, "p_c_Pa": p_c_Pa, "omega": omega}))
    p_Pa = np.exp(ln_pressures(curve, np.array([[347.25], [460.0]])))[:, 0]
    assert p_Pa == pytest.approx([13_332.0, 332_469.0], rel=0.01)


def test_no_acentric_factor_boils_at_an_impossible_point() -> None:
    found = acentric_factor_from_boiling_point(np.array([300.0]), np.array([301.0]), np.array([1e12]))
    assert np.isnan(found[0]) or abs(found[0]) > 5.0

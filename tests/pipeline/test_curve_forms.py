"""Curves of several equations at once: stretched, inverted, and where they rise."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.curve_forms import (
    ln_pressure_slopes,
    ln_pressures,
    rising_span,
    stretch,
    stretched,
    temperatures_at,
)
from cutpoint.schema.equations import FORMS, ln_pressure, pad
from cutpoint.schema.properties import ATMOSPHERE_PA

# One curve of each form; the numbers are invented, each boils between 300 and 400 K.
COEFFICIENTS = {
    "antoine": [21.2, 2900.0, -50.0],
    "antoine_extended": [21.2, 2900.0, -50.0, 520.0, 77.0, 2.2, 30.0, -500.0],
    "wagner_3_6": [-7.3, 1.3, -2.5, -3.0, 520.0, 3.9e6],
    "wagner_2.5_5": [-7.3, 1.6, -2.9, -2.8, 520.0, 3.9e6],
    "kirchhoff": [78.0, -6500.0, -8.2, 7e-18, 6.0],
}


def curves() -> pd.DataFrame:
    rows = [pad(COEFFICIENTS[form]).tolist() for form in FORMS]
    column = pd.Series(rows, dtype=object)
    return pd.DataFrame({"equation": list(FORMS), "coefficients": column, "T_min_K": 280.0, "T_max_K": 420.0})


@pytest.mark.parametrize("form", FORMS)
@given(factor=st.floats(0.8, 1.25), T_K=st.floats(250.0, 500.0))
def test_a_stretched_curve_has_its_pressures_at_stretched_temperatures(form: str, factor: float, T_K: float) -> None:
    given_curve = pad(COEFFICIENTS[form])
    moved = stretched(form, given_curve, factor)
    assert ln_pressure(form, moved, T_K * factor) == pytest.approx(ln_pressure(form, given_curve, T_K), rel=1e-9)


def test_stretching_a_set_moves_the_ranges_too() -> None:
    factor = np.linspace(0.97, 1.02, 5)
    moved = stretch(curves(), factor)
    assert moved["T_min_K"].to_numpy() == pytest.approx(280.0 * factor)
    T_K = np.full(5, 350.0)
    assert ln_pressures(moved, T_K * factor) == pytest.approx(ln_pressures(curves(), T_K), rel=1e-9)


def test_each_row_is_asked_with_its_own_form() -> None:
    T_K = np.array([[300.0], [350.0]]) * np.ones(5)
    together = ln_pressures(curves(), T_K)
    alone = [ln_pressure(form, pad(COEFFICIENTS[form]), T_K[:, 0]) for form in FORMS]
    assert together == pytest.approx(np.column_stack(alone))
    rise = ln_pressures(curves(), T_K + 1e-3) - ln_pressures(curves(), T_K - 1e-3)
    assert ln_pressure_slopes(curves(), T_K) == pytest.approx(rise / 2e-3, rel=1e-5)


def test_temperatures_at_one_pressure_and_at_one_each() -> None:
    low, high = np.full(5, 250.0), np.full(5, 500.0)
    T_b_K = temperatures_at(curves(), ATMOSPHERE_PA, low, high)
    assert ln_pressures(curves(), T_b_K) == pytest.approx(np.log(ATMOSPHERE_PA))
    each = np.geomspace(2e4, 2e5, 5)
    assert ln_pressures(curves(), temperatures_at(curves(), each, low, high)) == pytest.approx(np.log(each))


def test_the_rising_span_ends_where_a_curve_bends_back() -> None:
    # ln p = A + B/T + C ln T with B, C < 0 has its maximum at T = B/C.
    bent = curves().iloc[:1].assign(equation="kirchhoff")
    bent["coefficients"] = pd.Series([pad([80.0, -4000.0, -10.0, 0.0, 1.0]).tolist()], dtype=object)
    low, high = rising_span(bent, np.array([350.0]), np.array([250.0]), np.array([500.0]))
    assert low[0] == 250.0
    assert 395.0 < high[0] <= 402.0

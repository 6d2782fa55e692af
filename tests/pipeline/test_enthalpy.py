"""Enthalpies of vaporisation from slopes and from boiling and critical points."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.bands import band_u95, with_wider_band
from cutpoint.pipeline.enthalpy import by_riedel_and_watson, delta_compressibility, from_slope
from cutpoint.schema.equations import BAND_PRESSURES_PA, WIDTH
from cutpoint.schema.properties import ATMOSPHERE_PA

# Name, T_b, T_c, p_c (K, K, Pa); Antoine constants for mmHg, °C and lg; Δ_vap H at the boiling point and at 298.15 K.
# V. Majer, V. Svoboda, Enthalpies of Vaporization of Organic Compounds, Blackwell 1985; Antoine constants: R. C.
# Reid, J. M. Prausnitz, T. K. Sherwood, The Properties of Gases and Liquids, 3rd edition, 1977; all from memory.
LIQUIDS = [
    ("hexane", 341.88, 507.6, 3.025e6, (6.87601, 1171.17, 224.408), 28.85e3, 31.56e3),
    ("benzene", 353.24, 562.05, 4.895e6, (6.90565, 1211.033, 220.790), 30.72e3, 33.83e3),
    ("toluene", 383.78, 591.75, 4.108e6, (6.95464, 1344.800, 219.482), 33.18e3, 38.01e3),
]


def curve(T_b_K: float, T_c_K: float, p_c_Pa: float, antoine: tuple[float, float, float]) -> pd.DataFrame:
    a, b, c = antoine
    ln10 = np.log(10.0)
    coefficients = [a * ln10 + np.log(ATMOSPHERE_PA / 760.0), b * ln10, c - 273.15, *[np.nan] * (WIDTH - 3)]
    row = {
        "cas": "110-54-3",
        "equation": "antoine",
        "coefficients": coefficients,
        "T_min_K": 280.0,
        "T_max_K": 400.0,
        "u95_relative": 0.01,
        "band_u95_relative": [0.01] * len(BAND_PRESSURES_PA),
        "T_b_K": T_b_K,
        "T_c_K": T_c_K,
        "p_c_Pa": p_c_Pa,
    }
    return pd.DataFrame([row])


@pytest.mark.parametrize("liquid", LIQUIDS, ids=lambda liquid: liquid[0])
def test_the_slope_gives_the_calorimeters_enthalpy(liquid: tuple) -> None:  # type: ignore[type-arg]
    _, T_b_K, T_c_K, p_c_Pa, antoine, at_boiling, at_standard = liquid
    for T_K, measured in ((T_b_K, at_boiling), (298.15, at_standard)):
        told = from_slope(curve(T_b_K, T_c_K, p_c_Pa, antoine), T_K).iloc[0]
        assert told["enthalpy_J_mol"] == pytest.approx(measured, rel=0.02)
        assert abs(told["enthalpy_J_mol"] / measured - 1.0) <= told["u95_relative"]


@pytest.mark.parametrize("liquid", LIQUIDS, ids=lambda liquid: liquid[0])
def test_the_estimate_without_a_slope_comes_near(liquid: tuple) -> None:  # type: ignore[type-arg]
    _, T_b_K, T_c_K, p_c_Pa, _, at_boiling, at_standard = liquid
    assert by_riedel_and_watson(T_b_K, T_b_K, T_c_K, p_c_Pa) == pytest.approx(at_boiling, rel=0.02)
    assert by_riedel_and_watson(298.15, T_b_K, T_c_K, p_c_Pa) == pytest.approx(at_standard, rel=0.03)


@given(st.floats(0.4, 0.95), st.floats(-0.2, 1.0))
def test_a_thin_vapour_is_ideal(T_r: float, omega: float) -> None:
    assert delta_compressibility(T_r, 1e-9, omega) == pytest.approx(1.0, abs=1e-6)


@given(st.floats(0.5, 0.95), st.floats(0.0, 0.6))
def test_between_the_ends_it_is_a_fraction(T_r: float, omega: float) -> None:
    p_r = 10.0 ** (-7.0 / 3.0 * (1.0 + omega) * (1.0 / T_r - 1.0))  # the straight line through the acentric factor
    delta_Z = delta_compressibility(T_r, p_r, omega)
    assert np.isnan(delta_Z) or 0.0 < delta_Z < 1.0


def test_without_a_critical_point_only_a_thin_vapour_is_told() -> None:
    unknown = curve(341.88, np.nan, np.nan, LIQUIDS[0][4])
    assert np.isnan(from_slope(unknown, 341.88)["enthalpy_J_mol"].item())
    assert from_slope(unknown, 240.0)["enthalpy_J_mol"].item() > 0.0


@given(st.floats(1e-2, 1e7))
def test_the_band_is_linear_between_its_pressures(p_Pa: float) -> None:
    band = [0.5, 0.4, 0.3, 0.2, 0.1, 0.01, 0.05, 0.2]
    row = curve(*LIQUIDS[0][1:5]).assign(band_u95_relative=[band])
    assert band_u95(row, [p_Pa]).item() == pytest.approx(np.interp(np.log(p_Pa), np.log(BAND_PRESSURES_PA), band))


def test_a_wider_band_starts_at_the_boiling_point_and_names_its_worst() -> None:
    row = curve(*LIQUIDS[0][1:5])
    wider = with_wider_band(row, pd.Series([0.1]))
    before, after = (np.array(frame["band_u95_relative"].item()) for frame in (row, wider))
    at_boiling = BAND_PRESSURES_PA.index(ATMOSPHERE_PA)
    assert after[at_boiling] == before[at_boiling]
    assert after[0] == pytest.approx(np.hypot(0.01, 0.1 * np.log(ATMOSPHERE_PA / 1e-2)))
    assert wider["u95_relative"].item() > row["u95_relative"].item()
    assert with_wider_band(row, pd.Series([np.nan])).equals(row)

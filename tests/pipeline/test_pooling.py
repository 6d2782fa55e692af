"""One Wagner curve from many correlations, on points of invented substances that obey the form."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.curve_forms import ln_pressures, rising_span
from cutpoint.pipeline.pooling import (
    POINTS,
    UNLEARNED_COVARIANCE,
    Model,
    Pooled,
    band_of,
    learn,
    pool,
    pooled_curves,
)
from cutpoint.pipeline.wagner import acentric_factor_from_boiling_point, estimated_curves
from cutpoint.schema.properties import ATMOSPHERE_PA

WAY = "held"
MODEL = Model({WAY: UNLEARNED_COVARIANCE}, pd.Series(dtype=np.float64))


def substances(n: int = 1, way: str = WAY) -> pd.DataFrame:
    """Constants of n substances, by number."""
    T_b_K = np.linspace(350.0, 420.0, n)
    T_c_K, p_c_Pa = 1.5 * T_b_K, np.full(n, 3.5e6)
    omega = acentric_factor_from_boiling_point(T_b_K, T_c_K, p_c_Pa)
    table = {"T_b_K": T_b_K, "T_b_u95_K": 0.2, "T_c_K": T_c_K, "p_c_Pa": p_c_Pa, "omega": omega, "way": way}
    return pd.DataFrame(table, index=[f"{place}-00-0" for place in range(100, 100 + n)])


def correlation(table: pd.DataFrame, source: str, low: float, high: float, tilt: float = 0.0) -> pd.DataFrame:
    """Points of one correlation per substance, T_b times `low` to `high`; ln p off by `tilt` per unit of ln(T/T_b)."""
    T_r = np.linspace(low, high, POINTS)[:, np.newaxis]
    T_K = T_r * table["T_b_K"].to_numpy()
    ln_p = ln_pressures(estimated_curves(table), T_K) + tilt * np.log(T_r)
    points = pd.DataFrame(
        {
            "cas": np.repeat(table.index.to_numpy(), POINTS),
            "source": source,
            "T_K": T_K.T.ravel(),
            "ln_p": ln_p.T.ravel(),
        }
    )
    return points.assign(candidate=points["cas"] + source, band=band_of(points["ln_p"].to_numpy()))


def ratio_at(pooled: Pooled, share_of_T_b: float) -> float:
    """ln of the pooled curve's pressure over that of corresponding states, for the first substance."""
    T_K = share_of_T_b * pooled.table["T_b_K"].to_numpy()
    true = ln_pressures(estimated_curves(substances(len(pooled.table))), T_K)
    return float((ln_pressures(pooled_curves(pooled), T_K) - true)[0])


def test_what_obeys_corresponding_states_is_given_back() -> None:
    pooled = pool(substances(), correlation(substances(), "one_table", 0.75, 1.05), MODEL)
    assert [ratio_at(pooled, share) for share in (0.7, 0.9, 1.3)] == pytest.approx([0.0] * 3, abs=1e-6)
    assert pooled.excess == pytest.approx(1.0)


def test_data_lead_the_curve_where_they_are_and_the_prior_where_they_are_not() -> None:
    pooled = pool(substances(), correlation(substances(), "one_table", 0.75, 1.0, tilt=0.5), MODEL)
    assert ratio_at(pooled, 0.8) == pytest.approx(0.5 * np.log(0.8), abs=0.01)
    assert abs(ratio_at(pooled, 1.45)) < 0.05


def test_the_boiling_point_is_exact_whatever_the_correlations_say() -> None:
    points = correlation(substances(), "one_table", 0.75, 1.05)
    pooled = pool(substances(), points.assign(ln_p=points["ln_p"] + 0.03), MODEL)
    assert ratio_at(pooled, 1.0) == pytest.approx(0.0, abs=1e-9)
    assert pooled.excess.max() > 1.5


def test_of_three_the_one_that_is_off_loses_its_say() -> None:
    table = substances()
    sound = [correlation(table, name, 0.75, 1.05) for name in ("one_table", "two_table")]
    pooled = pool(table, pd.concat([*sound, correlation(table, "off_table", 0.75, 1.05, tilt=1.0)]), MODEL)
    assert abs(ratio_at(pooled, 0.8)) < 0.1 * abs(np.log(0.8))


def test_sources_are_as_good_as_they_agree_with_other_houses() -> None:
    table = substances(40)
    off = np.where(np.arange(40) % 2 == 0, 0.4, -0.4)
    rough = pd.concat(
        [correlation(table.iloc[[place]], "rough_table", 0.75, 1.05, tilt) for place, tilt in enumerate(off)]
    )
    fine = [correlation(table, name, 0.75, 1.05) for name in ("fine_table", "good_table")]
    scatter = learn(table, pd.concat([*fine, rough])).scatter
    band = band_of(np.log([5e3]))[0]
    assert scatter["rough_table", band] > 5.0 * scatter["fine_table", band]


def test_with_little_to_learn_from_the_prior_is_the_stated_one() -> None:
    model = learn(substances(3), correlation(substances(3), "one_table", 0.75, 1.05))
    assert model.covariance[WAY] == pytest.approx(UNLEARNED_COVARIANCE)
    assert model.scatter.empty


def test_steep_correlations_raise_a_critical_pressure_that_is_not_evaluated() -> None:
    points = correlation(substances(), "one_table", 0.75, 1.0, tilt=6.0)
    pooled = pool(substances(), points, MODEL)
    assert pooled.table["p_c_Pa"].iloc[0] > 3.5e6
    assert ratio_at(pooled, 0.8) == pytest.approx(6.0 * np.log(0.8), rel=0.1)
    evaluated = pool(substances(way="evaluated"), points, Model({"evaluated": UNLEARNED_COVARIANCE}, MODEL.scatter))
    assert evaluated.table["p_c_Pa"].iloc[0] == 3.5e6


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0.6, 0.95), st.floats(0.02, 0.5), st.floats(-8.0, 12.0), st.floats(-0.5, 0.5)),
        min_size=1,
        max_size=4,
    )
)
def test_any_curve_rises_to_the_critical_point_and_boils_where_it_should(
    given_correlations: list[tuple[float, float, float, float]],
) -> None:
    table = substances()
    parts = []
    for place, (low, width, tilt, shift) in enumerate(given_correlations):
        points = correlation(table, f"house{place}_table", low, min(low + width, 1.45), tilt)
        parts.append(points.assign(ln_p=points["ln_p"] + shift))
    points = pd.concat(parts)
    pooled = pool(table, points, MODEL)
    curve, T_b_K, T_c_K = pooled_curves(pooled), table["T_b_K"].to_numpy(), table["T_c_K"].to_numpy()
    assert ln_pressures(curve, T_b_K) == pytest.approx(np.log(ATMOSPHERE_PA), abs=1e-9)
    lowest_K = np.array([points["T_K"].min()])
    low_K, high_K = rising_span(curve, T_b_K, np.minimum(lowest_K, 0.9 * T_b_K), T_c_K)
    assert low_K <= lowest_K
    assert high_K == T_c_K

"""How sure curves are: what holding out teaches, on invented houses and on the real store."""

from __future__ import annotations

from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.critical_constants import WAYS, best, boiling_points, critical_constants
from cutpoint.pipeline.curve_bands import (
    HELD_OUT_COVERAGE,
    UNMEASURED_ESTIMATE_ERROR,
    UNMEASURED_FACTOR,
    calibrate,
    estimate_errors,
    held_out,
)
from cutpoint.pipeline.curve_evidence import KNOTS_LN_P, LN_ATMOSPHERE, described, judged, sampled, used
from cutpoint.pipeline.curve_forms import stretch
from cutpoint.pipeline.pooling import learn
from cutpoint.pipeline.wagner import acentric_factor_from_boiling_point, estimated_curves
from cutpoint.schema.equations import BAND_PRESSURES_PA


def invented(n: int) -> pd.DataFrame:
    """Constants of n substances, by number."""
    T_b_K = np.linspace(330.0, 430.0, n)
    T_c_K, p_c_Pa = 1.5 * T_b_K, np.full(n, 3.3e6)
    omega = acentric_factor_from_boiling_point(T_b_K, T_c_K, p_c_Pa)
    table = {"T_b_K": T_b_K, "T_b_u95_K": 0.2, "T_c_K": T_c_K, "p_c_Pa": p_c_Pa, "omega": omega, "way": "held"}
    return pd.DataFrame(table, index=[f"{place}-00-0" for place in range(100, 100 + n)])


def tabulated(constants: pd.DataFrame, source: str, omega_off: float = 0.0) -> pd.DataFrame:
    """One correlation for each substance: corresponding states with another acentric factor, moved to boil right."""
    other = constants.assign(omega=constants["omega"] + omega_off)
    curves = estimated_curves(other).assign(cas=constants.index, source=source)
    T_b_K = constants["T_b_K"]
    table = described(curves.assign(T_min_K=0.7 * T_b_K, T_max_K=1.3 * T_b_K).reset_index(drop=True), constants)
    moved = stretch(table, (table["T_b_K"] / table["own_T_b_K"]).to_numpy())
    return moved[[*curves.columns.to_list(), "T_min_K", "T_max_K"]]


def test_estimates_of_substances_that_obey_corresponding_states_are_right() -> None:
    constants = invented(40)
    errors = estimate_errors(described(tabulated(constants, "a_table"), constants), dict.fromkeys(WAYS, constants))
    covered = [BAND_PRESSURES_PA.index(p_Pa) for p_Pa in (1e3, 1e4, 1e6)]
    assert errors.loc["held"].to_numpy()[covered] == pytest.approx(0.0, abs=1e-6)


def test_errors_grow_away_from_one_atmosphere_and_on_where_nothing_is_measured() -> None:
    constants = invented(40)
    off = described(tabulated(constants, "a_table", omega_off=0.1), constants)
    errors = estimate_errors(off, dict.fromkeys(WAYS, constants)).loc["held"].to_numpy()
    at_atmosphere = int(np.argmin(np.abs(KNOTS_LN_P - LN_ATMOSPHERE)))
    assert errors[at_atmosphere] == 0.0
    assert np.all(np.diff(errors[: at_atmosphere + 1]) < 0.0)
    assert np.all(np.diff(errors[at_atmosphere:]) > 0.0)


def test_with_nothing_to_compare_the_stated_error_stands() -> None:
    constants = invented(3)
    errors = estimate_errors(described(tabulated(constants, "a_table"), constants), dict.fromkeys(WAYS, constants))
    stated = UNMEASURED_ESTIMATE_ERROR * np.abs(KNOTS_LN_P - LN_ATMOSPHERE)
    assert errors.loc["held"].to_numpy() == pytest.approx(stated)


def of_houses(constants: pd.DataFrame, *tables: pd.DataFrame) -> pd.DataFrame:
    """Points that are held out when each house in turn is."""
    together = pd.concat(tables, ignore_index=True)
    errors = pd.DataFrame([[1.0] * len(KNOTS_LN_P)] * len(WAYS), index=list(WAYS))
    kept = used(judged(described(together, constants), errors))
    return held_out(kept, constants, learn(constants, sampled(kept)))


def test_each_house_is_held_against_the_others_alone() -> None:
    constants = invented(30)
    out = of_houses(
        constants,
        tabulated(constants, "a_table"),
        tabulated(constants, "b_table"),
        tabulated(constants, "c_table", 0.2),
    )
    assert set(out["houses"]) == {2}
    off = out.assign(off=out["deviation"].abs()).groupby("source")["off"].max()
    assert off["c_table"] > 2.0 * off["a_table"]


def test_a_single_house_leaves_nothing_to_hold_out() -> None:
    constants = invented(30)
    calibration = calibrate(of_houses(constants, tabulated(constants, "a_table"), tabulated(constants, "a_other")))
    assert calibration.factors == pytest.approx(UNMEASURED_FACTOR)


def test_factors_hold_the_stated_share_of_what_was_held_out() -> None:
    rng = np.random.default_rng(5)
    constants = invented(200)
    rough = pd.concat(
        tabulated(constants.iloc[[place]], "b_table", off) for place, off in enumerate(rng.normal(0.0, 0.1, 200))
    )
    out = of_houses(constants, tabulated(constants, "a_table"), rough)
    factors = calibrate(out).factors
    interval = np.hypot(factors[0, out["zone"].to_numpy()] * out["u_shape"], out["U_own"])
    inside = (out["deviation"].abs() <= interval).groupby(out["zone"])
    assert inside.mean().to_numpy() == pytest.approx(HELD_OUT_COVERAGE, abs=0.1)


@pytest.fixture(scope="module")
def real_points(real_store: Path) -> pd.DataFrame:
    """What the real store holds out."""
    with duckdb.connect(str(real_store), read_only=True) as store:
        observations, evaluations, components = (
            store.sql(f"SELECT * FROM {table}").df() for table in ("observation", "evaluation", "component")
        )
    served = critical_constants(evaluations, components)
    constants = best(served).join(boiling_points(evaluations, components))
    accepted = observations[(observations["property"] == "vapour_pressure") & (observations["status"] == "accepted")]
    table = described(accepted[accepted["cas"].isin(constants.index)].reset_index(drop=True), constants)
    kept = used(judged(table, estimate_errors(table, served)))
    return held_out(kept, constants, learn(constants[constants.index.isin(kept["cas"])], sampled(kept)))


def test_factors_learned_on_half_of_the_real_components_hold_on_the_other_half(real_points: pd.DataFrame) -> None:
    number = real_points["cas"].str.replace("-", "").astype(np.int64)
    taught, tested = real_points[number % 2 == 0], real_points[number % 2 == 1]
    factors = calibrate(taught).factors
    told = factors[tested["houses"].to_numpy() - 1, tested["zone"].to_numpy()]
    inside = tested["deviation"].abs() <= np.hypot(told * tested["u_shape"], tested["U_own"])
    weighted = (inside * tested["weight"]).groupby(tested["zone"]).sum() / tested.groupby("zone")["weight"].sum()
    assert weighted.to_numpy() == pytest.approx(HELD_OUT_COVERAGE, abs=0.04)

"""Which correlations are sound, on invented ones around a boiling point of 350 K."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.critical_constants import WAYS
from cutpoint.pipeline.curve_evidence import described, judged, sampled, used
from cutpoint.pipeline.curve_forms import ln_pressures, stretch, temperatures_at
from cutpoint.pipeline.pooling import POINTS
from cutpoint.pipeline.wagner import acentric_factor_from_boiling_point, estimated_curves
from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.properties import ATMOSPHERE_PA

CAS = "64-17-5"
T_B_K, T_C_K, P_C_PA = 350.0, 525.0, 3.3e6
OMEGA = float(acentric_factor_from_boiling_point(np.array([T_B_K]), np.array([T_C_K]), np.array([P_C_PA]))[0])
ERRORS = pd.DataFrame([[2.0, 1.5, 1.0, 0.7, 0.3, 0.0, 0.2, 0.4]] * len(WAYS), index=list(WAYS))
assert ERRORS.shape[1] == len(BAND_PRESSURES_PA)


def constants(T_b_u95_K: float = 0.2) -> pd.DataFrame:
    row = {"T_b_K": T_B_K, "T_b_u95_K": T_b_u95_K, "T_c_K": T_C_K, "p_c_Pa": P_C_PA, "omega": OMEGA, "way": "held"}
    return pd.DataFrame([row], index=[CAS])


def correlations(*rows: tuple[str, float, float, float], cas: str = CAS) -> pd.DataFrame:
    """Curves of corresponding states as (source, boiling point, lowest and highest temperature)."""
    own = estimated_curves(constants().loc[[CAS] * len(rows)]).reset_index(drop=True)
    table = own.assign(
        cas=cas, source=[row[0] for row in rows], T_min_K=[row[2] for row in rows], T_max_K=[row[3] for row in rows]
    )
    moved = stretch(table, np.array([row[1] for row in rows]) / T_B_K)
    return moved.assign(T_min_K=table["T_min_K"], T_max_K=table["T_max_K"])


def verdicts(*rows: tuple[str, float, float, float], T_b_u95_K: float = 0.2) -> pd.DataFrame:
    return judged(described(correlations(*rows), constants(T_b_u95_K)), ERRORS).set_index("source")


@pytest.mark.parametrize(
    ("T_b_K", "sound", "contradicts"), [(350.4, True, False), (351, False, False), (370, False, True)]
)
def test_what_covers_one_atmosphere_is_held_against_the_boiling_point(
    T_b_K: float, sound: bool, contradicts: bool
) -> None:
    found = verdicts(("a_table", T_b_K, 300.0, 400.0)).loc["a_table"]
    assert (found["sound"], found["contradicts"]) == (sound, contradicts)
    assert found["distance_K"] == pytest.approx(T_b_K - T_B_K, abs=1e-6)


def test_an_uncertain_boiling_point_accepts_more_but_not_a_contradiction() -> None:
    found = verdicts(("near_table", 351.0, 300.0, 400.0), ("far_table", 370.0, 300.0, 400.0), T_b_u95_K=30.0)
    assert found["sound"].to_dict() == {"near_table": True, "far_table": False}


def test_what_ends_below_one_atmosphere_is_continued_along_the_estimate() -> None:
    found = verdicts(("low_table", 353.0, 260.0, 280.0), ("wrong_table", 450.0, 330.0, 360.0))
    assert found["own_T_b_K"]["low_table"] == pytest.approx(353.0, abs=0.7)
    assert found["sound"].to_dict() == {"low_table": True, "wrong_table": False}
    assert found["contradicts"]["wrong_table"]
    assert not found["covers"].any()


def test_what_ends_just_below_one_atmosphere_is_judged_as_strictly_as_what_covers_it() -> None:
    found = verdicts(("short_table", 351.5, 300.0, 351.0)).loc["short_table"]
    assert found["covers"]
    assert not found["sound"]


def test_sound_correlations_are_stretched_onto_the_boiling_point_and_others_left_out() -> None:
    table = judged(
        described(correlations(("a_table", 350.4, 300.0, 400.0), ("off_table", 352.0, 300.0, 400.0)), constants()),
        ERRORS,
    )
    kept = used(table)
    assert kept["source"].to_list() == ["a_table"]
    T_b_K = temperatures_at(kept, ATMOSPHERE_PA, np.array([300.0]), np.array([400.0]))
    assert T_b_K == pytest.approx(T_B_K)


def test_without_a_sound_one_the_nearest_stands_alone_unless_it_contradicts() -> None:
    off = described(correlations(("off_table", 352.0, 300.0, 400.0), ("far_table", 356.0, 300.0, 400.0)), constants())
    assert used(judged(off, ERRORS))["source"].to_list() == ["off_table"]
    wrong = described(correlations(("wrong_table", 390.0, 300.0, 420.0)), constants())
    assert used(judged(wrong, ERRORS)).empty


def test_without_a_boiling_point_all_are_taken_as_they_are() -> None:
    table = described(correlations(("a_table", 350.0, 300.0, 400.0), cas="67-64-1"), constants())
    kept = used(judged(table, ERRORS))
    assert kept["T_min_K"].to_list() == [300.0]
    assert kept["sound"].all()


def test_points_lie_inside_the_range_below_the_critical_point_and_where_pressures_are_measured() -> None:
    table = described(correlations(("a_table", 350.0, 150.0, 600.0)), constants())
    points = sampled(table)
    assert len(points) == POINTS
    assert points["T_K"].max() < T_C_K
    assert np.exp(points["ln_p"].min()) == pytest.approx(0.01)
    assert points["ln_p"].to_numpy() == pytest.approx(
        ln_pressures(table.loc[points["candidate"]], points["T_K"].to_numpy())
    )

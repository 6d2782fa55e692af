"""What the structure finds out, with an invented estimate so that the right answer is plain."""

from __future__ import annotations

import pandas as pd
import pytest

from cutpoint.pipeline.consensus import consensus
from cutpoint.pipeline.credibility import DOUBTED_RULE, ESTIMATE_RULE, Judged, doubt
from cutpoint.pipeline.error_model import weigh
from cutpoint.pipeline.estimate import Estimates
from cutpoint.pipeline.voices import voices
from cutpoint.schema.tables import empty

CAS = "120-57-0"
EXPECTED_K, U95_K = 536.0, 20.0


ESTIMATES = Estimates(pd.DataFrame([{"cas": CAS, "value": EXPECTED_K, "u95": U95_K}]), empty("structure_model"))


def heard(spoken: dict[str, float], fitted: tuple[str, ...] = ()) -> Judged:
    """What is left of the values of the sources named, some of them correlations."""
    witnesses = pd.DataFrame(
        {
            "observation": range(len(spoken)),
            "source": list(spoken),
            "cas": CAS,
            "property": "normal_boiling_point",
            "value": list(spoken.values()),
            "temperature_K": float("nan"),
            "fitted": [source in fitted for source in spoken],
            "step": 0.01,
            "beyond": False,
        }
    )
    agreed = consensus(weigh(voices(witnesses), None), ESTIMATES.boiling_points)
    return doubt(agreed, ESTIMATES, lambda values: values)


def test_a_lone_value_far_below_the_estimate_is_set_aside_for_the_estimate() -> None:
    judged = heard({"one": 413.15})
    value = judged.values.iloc[0]
    assert (value["value"], value["u95"], value["n_sources"]) == (EXPECTED_K, U95_K, 0)
    assert value["rule"] == ESTIMATE_RULE
    assert value["grade"] == "D"
    assert judged.doubted["reason"].str.startswith("reads like a boiling point at reduced pressure").all()


def test_a_copied_pair_of_low_values_fares_no_better() -> None:
    judged = heard({"one": 413.15, "two": 413.15})
    assert judged.values["rule"].tolist() == [ESTIMATE_RULE]
    assert len(judged.doubted) == 2


def test_a_believable_voice_wins_over_two_low_ones() -> None:
    judged = heard({"one": 413.15, "two": 413.15, "three": 536.8})
    assert judged.values["value"].item() == pytest.approx(536.8)
    assert judged.agreed.loc[judged.agreed["inside"], "source"].tolist() == ["three"]


def test_a_correlation_is_believed_against_the_structure() -> None:
    judged = heard({"one": 413.15, "curve": 413.3}, fitted=("curve",))
    assert judged.doubted.empty
    assert judged.values["value"].item() == pytest.approx(413.3, abs=0.2)


def test_three_independent_houses_are_believed_against_the_structure() -> None:
    assert heard({"one": 413.15, "two": 413.3, "three": 413.4}).doubted.empty


def test_a_moderate_distance_leaves_the_value_and_widens_its_uncertainty() -> None:
    value = heard({"one": EXPECTED_K - 45.0}).values.iloc[0]
    assert value["value"] == EXPECTED_K - 45.0
    assert value["u95"] >= 45.0
    assert value["rule"] == DOUBTED_RULE
    assert value["grade"] == "D"


def test_two_houses_that_agree_in_different_figures_are_believed_longer() -> None:
    assert heard({"one": EXPECTED_K - 70.0}).values["rule"].tolist() == [ESTIMATE_RULE]
    agreed = heard({"one": EXPECTED_K - 70.0, "two": EXPECTED_K - 70.3})
    assert agreed.values["rule"].tolist() == [DOUBTED_RULE]
    assert heard({"one": EXPECTED_K - 120.0, "two": EXPECTED_K - 120.3}).values["rule"].tolist() == [ESTIMATE_RULE]


@pytest.mark.parametrize("value_K", [EXPECTED_K - 1.4 * U95_K, EXPECTED_K, EXPECTED_K + 100.0])
def test_a_value_near_or_above_the_estimate_stands(value_K: float) -> None:
    judged = heard({"one": value_K})
    assert judged.values["value"].item() == value_K
    assert judged.values["n_sources"].item() == 1

"""Who is right where sources contradict each other, with an invented estimate so that the right answer is plain."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.consensus import combine, consensus
from cutpoint.pipeline.disputes import SETTLED_RULE, Settled, settle_boiling_points, settle_melting_points
from cutpoint.pipeline.error_model import weigh
from cutpoint.pipeline.voices import voices

CAS = "120-57-0"
EXPECTED = pd.DataFrame({"expected_value": [536.0], "expected_u95": [20.0]}, index=pd.Index([CAS], name="cas"))


def as_they_are(values: pd.DataFrame) -> pd.DataFrame:
    return values


def agreed_on(property: str, spoken: dict[str, float], fitted: tuple[str, ...] = ()) -> pd.DataFrame:
    witnesses = pd.DataFrame({"source": list(spoken), "value": list(spoken.values())})
    witnesses = witnesses.assign(observation=range(len(spoken)), cas=CAS, property=property, step=0.01, beyond=False)
    told = voices(witnesses.assign(temperature_K=np.nan, fitted=witnesses["source"].isin(fitted)))
    return consensus(weigh(told, None))


def settled(spoken: dict[str, float]) -> Settled:
    agreed = agreed_on("normal_boiling_point", spoken)
    return settle_boiling_points(agreed, combine(agreed), EXPECTED, as_they_are)


def test_the_structure_decides_between_two_camps() -> None:
    result = settled({"one": 413.15, "two": 536.8})
    value = result.values.iloc[0]
    assert value["value"] == pytest.approx(536.8)
    assert (value["rule"], value["n_sources"], value["grade"]) == (SETTLED_RULE, 1, "D")
    assert value["u95"] < 30.0  # the distance to the other camp is no longer open
    aside = result.agreed.set_index("source").loc["one"]
    assert not aside["inside"]
    assert aside["centre"] == pytest.approx(536.8)
    assert result.words.tolist() == ["the structure leads one to expect 536 K, give or take 20 K"]


def test_it_overrules_two_houses_but_not_three() -> None:
    assert settled({"one": 413.1, "two": 413.2, "three": 536.8}).values["value"].item() == pytest.approx(536.8)
    three_low = settled({"one": 413.1, "two": 413.2, "three": 413.3, "four": 536.8})
    assert three_low.values["value"].item() == pytest.approx(413.2, abs=0.1)


@pytest.mark.parametrize("spoken", [{"one": 520.0, "two": 550.0}, {"one": 413.0, "two": 620.0}, {"one": 530.0}])
def test_where_it_believes_both_or_neither_nothing_is_decided(spoken: dict[str, float]) -> None:
    result = settled(spoken)
    assert result.words.empty
    assert SETTLED_RULE not in set(result.values["rule"])


def test_without_an_estimate_nothing_is_decided() -> None:
    agreed = agreed_on("normal_boiling_point", {"one": 413.15, "two": 536.8})
    assert settle_boiling_points(agreed, combine(agreed), EXPECTED.iloc[:0], as_they_are).words.empty


def test_impossible_melting_points_go_and_the_others_stay() -> None:
    agreed = agreed_on("melting_point", {"one": 460.0, "two": 250.0})
    why = pd.Series("the boiling point printed as the melting point", index=agreed.index[agreed["source"] == "one"])
    result = settle_melting_points(agreed, combine(agreed), why, as_they_are)
    assert result.values["value"].item() == pytest.approx(250.0)
    assert result.agreed.set_index("source").loc["one", "centre"] == pytest.approx(250.0)


def test_where_all_voices_go_there_is_no_value() -> None:
    agreed = agreed_on("melting_point", {"one": 460.0})
    why = pd.Series("no melting point", index=agreed.index)
    result = settle_melting_points(agreed, combine(agreed), why, as_they_are)
    assert result.values.empty
    assert result.agreed["centre"].isna().all()

"""Voices and what they agree on, on invented values whose right answer is plain."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.consensus import combine, consensus
from cutpoint.pipeline.error_model import weigh
from cutpoint.pipeline.voices import voices

CAS = "64-17-5"


def witnesses(told: list[tuple[str, float, float, bool]], property: str = "normal_boiling_point") -> pd.DataFrame:
    """Witnesses of (source, value, step, fitted)."""
    table = pd.DataFrame(told, columns=["source", "value", "step", "fitted"])
    return table.assign(observation=range(len(told)), cas=CAS, property=property, temperature_K=np.nan, beyond=False)


def agreed(told: list[tuple[str, float, float, bool]], expected: pd.DataFrame | None = None) -> pd.DataFrame:
    return consensus(weigh(voices(witnesses(told)), None), expected)


def test_a_kelvin_rounded_from_a_degree_is_the_same_figure() -> None:
    told = voices(witnesses([("one", 351.55, 0.1, False), ("two", 351.6, 0.1, False), ("three", 351.7, 0.1, False)]))
    figures = told.set_index("source")["figure"]
    assert figures["one"] == figures["two"] != figures["three"]


def test_voices_know_how_finely_they_speak_and_in_what_company() -> None:
    told = [(f"house{n}", 351.0 + n, 1.0, False) for n in range(5)] + [("curve", 351.44, 0.0, True)]
    table = voices(witnesses(told)).set_index("source")
    assert table.loc["house0", "precision"] == "coarse"
    assert table.loc["curve", "precision"] == "covers"
    assert set(table["company"]) == {"some"}
    assert set(table["warmth"]) == {2}


def test_several_values_of_one_source_are_one_voice() -> None:
    told = voices(witnesses([("one", 351.0, 0.1, False), ("one", 351.2, 0.1, False), ("one", 351.9, 1.0, False)]))
    assert told["value"].tolist() == [351.2]
    assert told["step"].tolist() == [1.0]


def test_sources_of_one_origin_are_found_out_by_how_often_they_coincide() -> None:
    parts = []
    for number in range(30):
        value = 350.0 + number + 0.123
        rows = [
            ("reprint", value + 0.001, 0.0, True),
            ("original", value, 0.0, True),
            ("other", value + 0.3, 0.0, True),
        ]
        parts.append(witnesses(rows).assign(cas=f"{number}"))
    table = voices(pd.concat(parts, ignore_index=True))
    assert table.groupby("cas")["figure"].nunique().eq(2).all()
    few = voices(pd.concat(parts[:5], ignore_index=True))
    assert few.groupby("cas")["figure"].nunique().eq(3).all()


def test_a_copy_counts_once_and_keeps_the_verdict() -> None:
    table = agreed([("one", 351.4, 0.1, False), ("two", 351.4, 0.1, False), ("three", 351.5, 0.1, False)])
    assert table["copy"].sum() == 1
    assert table["inside"].all()
    assert combine(table)["n_sources"].item() == 2


def test_the_value_lies_among_the_voices_inside() -> None:
    table = agreed([("one", 351.4, 0.1, False), ("two", 351.8, 0.1, False), ("three", 390.0, 0.1, False)])
    value = combine(table).iloc[0]
    assert value["lowest"] <= value["value"] <= value["highest"]
    assert not table.set_index("source").loc["three", "inside"]


def test_a_lone_voice_stands_as_it_is_with_a_wide_interval() -> None:
    value = combine(agreed([("one", 351.4, 0.1, False)])).iloc[0]
    assert value["value"] == pytest.approx(351.4)
    assert value["u95"] > 5.0
    assert value["grade"] == "D"


def test_the_structure_sharpens_but_never_stands_against_all_voices() -> None:
    lone = [("one", 351.4, 0.1, False)]
    near = pd.DataFrame({"cas": [CAS], "value": [352.0], "u95": [5.0]})
    far = pd.DataFrame({"cas": [CAS], "value": [500.0], "u95": [5.0]})
    assert combine(agreed(lone, near))["u95"].item() < combine(agreed(lone))["u95"].item()
    against = combine(agreed(lone, far)).iloc[0]
    assert against["value"] == pytest.approx(351.4)
    assert against["u95"] > 100.0


def test_the_structure_decides_between_two() -> None:
    two = [("one", 351.4, 0.1, False), ("two", 411.4, 0.1, False)]
    near = pd.DataFrame({"cas": [CAS], "value": [350.0], "u95": [8.0]})
    assert combine(agreed(two, near))["value"].item() == pytest.approx(351.4, abs=0.3)


def test_no_interval_is_narrower_than_what_all_sources_share() -> None:
    many = [(f"house{n}", 351.40 + 0.01 * n, 0.01, False) for n in range(12)]
    assert combine(agreed(many))["u95"].item() >= 0.1

"""Error models and calibration, in an invented world whose scatters and blunders are known."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint import db
from cutpoint.pipeline import calibrate, error_model
from cutpoint.pipeline.error_model import source_model, weigh
from cutpoint.pipeline.hold_out import NOBODY, hold_out
from cutpoint.pipeline.voices import voices

SCATTERS_K = {"fine": 0.15, "good": 0.3, "fair": 0.6, "poor": 1.2, "wild": 0.4}
BLUNDERS = {"wild": 0.2}
N_COMPONENTS = 600


def world(seed: int = 1, understated: float = 1.0) -> pd.DataFrame:
    """Voices of components between 360 and 390 K; a sound value scatters as Student's distribution does."""
    random = np.random.default_rng(seed)
    truth = random.uniform(360.0, 390.0, N_COMPONENTS)
    parts = []
    for source, scatter in SCATTERS_K.items():
        value = truth + understated * scatter * random.standard_t(1.0, N_COMPONENTS)
        astray = random.random(N_COMPONENTS) < BLUNDERS.get(source, 0.01)
        value = np.where(astray, truth - random.uniform(40.0, 120.0, N_COMPONENTS), value)
        cas = [f"{number}-00-0" for number in range(N_COMPONENTS)]
        parts.append(pd.DataFrame({"source": source, "cas": cas, "value": value}))
    table = pd.concat(parts, ignore_index=True)
    known = {"property": "normal_boiling_point", "temperature_K": np.nan, "fitted": False, "step": 0.01}
    table = table[table["value"] > 200.0].assign(observation=0, beyond=False, **known)
    return voices(table)


@pytest.fixture(scope="module")
def spoken() -> pd.DataFrame:
    return world()


@pytest.fixture(scope="module")
def model(spoken: pd.DataFrame) -> error_model.ErrorModel:
    found = error_model.fit(spoken)
    assert found is not None
    return found


def test_scatters_are_found_again(model: error_model.ErrorModel, spoken: pd.DataFrame) -> None:
    weighed = weigh(spoken, model)
    found = weighed.groupby("source")["u"].median()
    for source, scatter in SCATTERS_K.items():
        assert found[source] == pytest.approx(scatter, rel=0.4), source
    assert found["fine"] < found["good"] < found["fair"] < found["poor"]


def test_the_wild_source_is_found_out(model: error_model.ErrorModel) -> None:
    blunder = source_model(model).groupby("source")["blunder_probability"].mean()
    assert blunder["wild"] == pytest.approx(0.2, abs=0.08)
    assert blunder.drop("wild").max() < 0.08


def test_intervals_hold_what_is_held_out(model: error_model.ErrorModel, spoken: pd.DataFrame) -> None:
    told = calibrate.coverage(hold_out(weigh(spoken, model)))
    sure = told[told["n_held_out"] >= 100]
    assert not sure.empty
    assert sure["coverage"].between(0.92, 0.985).all(), sure
    assert told["n_blunders"].sum() == pytest.approx(0.25 * N_COMPONENTS, rel=0.5)


def test_intervals_that_are_too_narrow_are_widened_and_never_narrowed(spoken: pd.DataFrame) -> None:
    model = error_model.fit(spoken)
    held = hold_out(weigh(spoken, model))
    narrow = held.assign(u95=held["u95"] / 20.0, held_u=held["held_u"] / 20.0)
    rounds = calibrate.widening(narrow)
    wider = calibrate.widened(narrow, rounds)
    assert (wider["u95"] >= narrow["u95"]).all()
    before, after = calibrate.coverage(narrow), calibrate.coverage(wider)
    assert np.average(after["coverage"], weights=after["n_held_out"]) > np.average(
        before["coverage"], weights=before["n_held_out"]
    )


def test_nothing_to_compare() -> None:
    lone = world()[lambda table: table["source"] == "fine"]
    assert error_model.fit(lone) is None
    assert hold_out(weigh(lone, None)).empty
    assert calibrate.widening(NOBODY) == []
    assert calibrate.coverage(calibrate.widened(NOBODY, [])).empty
    assert source_model(None).empty


def test_no_source_scatters_less_in_less_company(model: error_model.ErrorModel) -> None:
    wide = model.cells["scatter"].unstack("company")
    for fewer, more in (("few", "some"), ("some", "many")):
        if {fewer, more} <= set(wide.columns):
            both = wide[[fewer, more]].dropna()
            assert (both[fewer] >= both[more]).all()


def test_the_store_holds_what_it_states(store: db.Store) -> None:
    rows = store.sql("SELECT property, grade, n_held_out, coverage FROM calibration").fetchall()
    boiling = {grade: coverage for name, grade, _, coverage in rows if name == "normal_boiling_point"}
    assert set(boiling) == {"A", "B", "C", "D"}
    assert all(0.92 <= coverage <= 0.98 for coverage in boiling.values()), boiling


def test_the_store_tells_how_good_its_sources_are(store: db.Store) -> None:
    rows = store.sql(
        "SELECT DISTINCT source FROM source_model WHERE property = 'normal_boiling_point' AND speaks_by = 'values'"
    ).fetchall()
    assert {"common_chemistry", "crc_organic_constants", "webbook_constants", "yaws_boiling_points"} <= {
        source for (source,) in rows
    }

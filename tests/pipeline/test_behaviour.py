"""What does not boil, and which of two temperatures gives way: invented values, and the substances everybody knows."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from cutpoint import db
from cutpoint.pipeline.behaviour import (
    AT_MELTING,
    BELOW_MELTING,
    BOILING_IN_PLACE,
    DECOMPOSES,
    MELTS_ABOVE_BOILING,
    SUBLIMES,
    behaviours,
    impossible_melting_points,
    refused_boiling_points,
)
from cutpoint.pipeline.consensus import combine, consensus
from cutpoint.pipeline.error_model import weigh
from cutpoint.pipeline.hand_tables import OnHeating
from cutpoint.pipeline.voices import voices
from cutpoint.schema.equations import pad
from cutpoint.schema.errors import NoValue
from cutpoint.schema.tables import empty

CAS = "64-17-5"
NOTHING = pd.DataFrame({"label": [], "reason": []}, index=pd.Index([], name="cas"), dtype=object)
Camps = dict[str, float]


def agreed_on(boiling: Camps, melting: Camps) -> pd.DataFrame:
    said = [("normal_boiling_point", source, value) for source, value in boiling.items()]
    said += [("melting_point", source, value) for source, value in melting.items()]
    witnesses = pd.DataFrame(said, columns=["property", "source", "value"])
    known = {"cas": CAS, "temperature_K": np.nan, "fitted": False, "step": 0.01, "beyond": False}
    return consensus(weigh(voices(witnesses.assign(observation=range(len(said)), **known)), None))


def expecting(value_K: float | None, u95_K: float = 10.0) -> pd.DataFrame:
    known = [] if value_K is None else [(CAS, value_K, u95_K)]
    return pd.DataFrame(known, columns=["cas", "expected_value", "expected_u95"]).set_index("cas").astype(float)


def clash(
    boiling: Camps, melting: Camps, expected: pd.DataFrame, formula: str = "C5H10"
) -> tuple[list[str], list[str]]:
    """Why melting points, and why the boiling point, give way."""
    agreed = agreed_on(boiling, melting)
    values = combine(agreed)
    components = pd.DataFrame({"cas": [CAS], "formula": [formula]})
    melting_points = impossible_melting_points(agreed, values, expected, components, NOTHING.index)
    return melting_points.tolist(), refused_boiling_points(agreed, values, expected, NOTHING)["reason"].tolist()


def test_the_boiling_point_in_the_column_of_melting_points() -> None:
    assert clash({"one": 420.3}, {"two": 420.0}, expecting(424.0))[0] == [BOILING_IN_PLACE]
    assert clash({"one": 420.3, "three": 420.8}, {"two": 420.0}, expecting(None))[0] == [BOILING_IN_PLACE]


def test_a_melting_point_above_a_boiling_point_that_two_tell() -> None:
    assert clash({"one": 420.3, "three": 420.8}, {"two": 470.0}, expecting(424.0))[0] == [MELTS_ABOVE_BOILING]


def test_the_melting_point_in_the_column_of_boiling_points() -> None:
    # The structure leads one to expect 190 K more, as for most drugs in tables of boiling points.
    assert clash({"one": 420.3}, {"two": 420.0}, expecting(610.0, 90.0)) == ([], [AT_MELTING])
    assert clash({"one": 420.3}, {"two": 420.0, "three": 419.0}, expecting(None)) == ([], [AT_MELTING])


def test_a_lone_boiling_point_far_below_a_melting_point_that_two_tell() -> None:
    assert clash({"one": 380.0}, {"two": 470.0, "three": 470.2}, expecting(600.0)) == ([], [BELOW_MELTING])


def test_without_carbon_a_lone_melting_point_stays() -> None:
    assert clash({"one": 604.0, "three": 604.5}, {"two": 705.0}, expecting(None), "Cl4Zr") == ([], [BELOW_MELTING])
    # Where another melting point stays below, the higher one is the wrong one.
    told = clash({"one": 482.0, "three": 483.0}, {"two": 2866.0, "four": 322.8}, expecting(None), "BI3")
    assert told[0] == [MELTS_ABOVE_BOILING]


def test_a_short_liquid_range_is_no_clash() -> None:
    assert clash({"one": 87.3, "two": 87.3}, {"one": 83.8}, expecting(None), "Ar") == ([], [])


def behaviour_of(
    smiles: str | None, boiling: Camps, sublimation: tuple[float, float, float] | None = None
) -> dict[str, str]:
    """Label and reason; `sublimation` is slope B and the range of ln p = 25 - B / T."""
    agreed = agreed_on(boiling, {"one": 350.0, "two": 350.5})
    components = pd.DataFrame({"cas": [CAS], "smiles": [smiles]})
    rows = empty("observation")
    if sublimation is not None:
        slope, low, high = sublimation
        rows = rows.reindex([0]).assign(
            cas=CAS, property="sublimation_pressure", equation="antoine", T_min_K=low, T_max_K=high,
            coefficients=[pad([25.0, slope, 0.0])],
        )  # fmt: skip
    found = behaviours(components, rows, agreed, combine(agreed), {})
    return found.loc[CAS].to_dict() if len(found) else {}


LN_P = 25.0 - np.log(101_325.0)


@pytest.mark.parametrize(
    ("reaches_K", "T_max_K", "sublimes"),
    [(330.0, 340.0, True), (330.0, 327.0, True), (330.0, 300.0, False), (349.5, 350.0, False), (360.0, 400.0, False)],
)
def test_a_correlation_of_the_solid_shows_that_it_sublimes(reaches_K: float, T_max_K: float, sublimes: bool) -> None:
    told = behaviour_of(None, {"one": 400.0, "two": 400.1}, (LN_P * reaches_K, 250.0, T_max_K))
    assert told == ({"label": "sublimes", "reason": SUBLIMES} if sublimes else {})


def test_extrapolated_it_must_meet_the_printed_boiling_point() -> None:
    assert behaviour_of(None, {"one": 331.0}, (LN_P * 330.0, 250.0, 300.0))["label"] == "sublimes"
    assert behaviour_of(None, {"one": 335.0}, (LN_P * 330.0, 250.0, 300.0)) == {}


@pytest.mark.parametrize(
    ("smiles", "kind"),
    [
        ("NCC(=O)O", "an amino acid"),
        ("OC(=O)C1CCCN1", "an amino acid"),
        ("O=C(OOC(=O)c1ccccc1)c1ccccc1", "a peroxy acid or its ester"),
        ("Cc1c([N+](=O)[O-])cc([N+](=O)[O-])cc1[N+](=O)[O-]", "a trinitroarene"),
        ("CC(=O)[O-].[Na+]", "an alkali salt of an organic ion"),
        ("CCCC[N+](CCCC)(CCCC)CCCC.[Br-]", "a quaternary salt"),
        ("N#[N+]c1ccccc1.[Cl-]", "a diazonium salt"),
        ("CC(=O)NCC(=O)O", None),
        ("Nc1ccccc1C(=O)O", None),
        ("NCC(=O)OCC", None),
        ("C[N+](=O)[O-]", None),
        ("[C-]#N.[Na+]", None),
        ("CC[N+]#[C-]", None),
        ("C[N+]([O-])(C)C", None),
        ("CCOCC", None),
    ],
)
def test_kinds_that_decompose(smiles: str, kind: str | None) -> None:
    told = behaviour_of(smiles, {"one": 400.0})
    assert told == ({} if kind is None else {"label": "decomposes", "reason": f"{DECOMPOSES}: {kind}"})


def test_a_kind_is_no_argument_against_two_houses() -> None:
    assert behaviour_of("NCC(=O)O", {"one": 400.0, "two": 400.2}) == {}


def test_the_hand_table_has_the_last_word() -> None:
    agreed = agreed_on({"one": 400.0, "two": 400.2}, {"one": 350.0})
    stated = {CAS: OnHeating("sublimes", "54 °C")}
    components = pd.DataFrame({"cas": [CAS], "smiles": ["NCC(=O)O"]})
    found = behaviours(components, empty("observation"), agreed, combine(agreed), stated)
    assert found.loc[CAS].tolist() == ["sublimes", f"{SUBLIMES}: 54 °C"]
    assert refused_boiling_points(agreed, combine(agreed), expecting(None), found)["reason"].item().startswith(SUBLIMES)


# CRC Handbook of Chemistry and Physics and NIOSH Pocket Guide to Chemical Hazards; from memory.
@pytest.mark.parametrize("cas", ["124-38-9", "2551-62-4", "74-86-2", "12125-02-9", "67-72-1", "7446-70-0"])
def test_famous_for_subliming(store: db.Store, cas: str) -> None:
    assert store.component(cas).phase_behaviour == "sublimes"
    with pytest.raises(NoValue, match="sublimes"):
        store.component(cas).boiling_point()


@pytest.mark.parametrize("cas", ["57-50-1", "56-40-6", "57-13-6", "7722-84-1", "94-36-0", "55-63-0", "118-96-7"])
def test_famous_for_decomposing(store: db.Store, cas: str) -> None:
    assert store.component(cas).phase_behaviour == "decomposes"
    with pytest.raises(NoValue, match="decomposes"):
        store.component(cas).boiling_point()


def test_what_decomposes_may_still_be_distilled_at_low_pressure(store: db.Store) -> None:
    # Hydrogen peroxide boils at about 69 °C at 26 mmHg; handbook value, from memory.
    assert store.component("7722-84-1").boiling_point(26 * 133.322).value == pytest.approx(342.0, abs=5.0)


# They sublime readily, but they melt first and boil; CRC Handbook of Chemistry and Physics, from memory, °C.
@pytest.mark.parametrize(("cas", "T_b_degC"), [("7553-56-2", 184.4), ("91-20-3", 217.9), ("76-22-2", 207.4)])
def test_famous_for_subliming_that_boil(store: db.Store, cas: str, T_b_degC: float) -> None:
    component = store.component(cas)
    assert component.phase_behaviour == "boils"
    assert component.boiling_point().value - 273.15 == pytest.approx(T_b_degC, abs=1.0)


@pytest.mark.parametrize("cas", ["69-53-4", "738-70-5", "90-49-3", "13010-47-4"])
def test_a_drug_with_a_nonsensical_boiling_point_sublimes_no_more(store: db.Store, cas: str) -> None:
    component = store.component(cas)
    assert component.phase_behaviour is None
    assert all(seen.status == "outlier" for seen in component.observations() if seen.property == "normal_boiling_point")


@pytest.mark.parametrize("cas", ["623-37-0", "288-14-2", "123-20-6", "624-78-2"])
def test_common_liquids_melt_no_more_where_they_boil(store: db.Store, cas: str) -> None:
    component = store.component(cas)
    assert component.phase_behaviour == "boils"
    assert "melting_point" not in {held.property for held in component.evaluations()}

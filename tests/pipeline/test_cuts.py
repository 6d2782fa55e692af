"""The station of cuts: surrogates spread over the range in the proportions told, every row kept or told."""

from __future__ import annotations

from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.cuts import CLASSES, CUT_TABLES, Cuts, cuts
from cutpoint.pipeline.read import read
from cutpoint.pipeline.sources import all_sources
from cutpoint.pipeline.surrogates import BEYOND_K, FEWEST, MOST, Candidate, spread

HAND = {source.name: read(source).frame for source in all_sources() if source.name in (*CUT_TABLES, "streams")}

# cas, name, boiling point K; rounded handbook values, from memory
PURE = [
    ("109-66-0", "pentane", 309.2), ("75-83-2", "2,2-dimethylbutane", 322.9), ("107-83-5", "2-methylpentane", 333.4),
    ("110-54-3", "hexane", 341.9), ("96-37-7", "methylcyclopentane", 345.0), ("71-43-2", "benzene", 353.2),
    ("110-82-7", "cyclohexane", 353.9), ("142-82-5", "heptane", 371.5), ("108-88-3", "toluene", 383.8),
]  # fmt: skip
STREAM = "8032-32-4"
CUT = {
    "name": "test spirit 60/100",
    "aliases": "spirit of tests",
    "cas": STREAM,
    "definition": "invented for this test",
    "initial": "60",
    "final": "100",
    "composition": "alkane 50; cycloalkane 30; aromatic 20",
    "composition_source": "invented",
    "citation": "invented for this test",
}
CLASS_OF = {"benzene": "aromatic", "toluene": "aromatic", "methylcyclopentane": "cycloalkane"}
CLASS_OF |= {"cyclohexane": "cycloalkane", "2,2-dimethylbutane": "isoalkane", "2-methylpentane": "isoalkane"}


def frame(*rows: dict[str, str]) -> pd.DataFrame:
    made = pd.DataFrame(list(rows), dtype="str")
    made.index = pd.RangeIndex(1, len(made) + 1, name="source_row")
    return made


def told(*rows: dict[str, str], candidates: list[dict[str, str]] | None = None) -> Cuts:
    """The station's answer for rows of cuts, all of `PURE` being candidates unless others are given."""
    listed = [
        {"cas": cas, "name": name, "class": CLASS_OF.get(name, "alkane"), "citation": "invented"}
        for cas, name, _ in PURE
    ]
    numbers = [cas for cas, _, _ in PURE]
    return cuts(
        pd.DataFrame({"cas": [*numbers, STREAM], "kind": ["pure"] * len(PURE) + ["stream"]}),
        pd.DataFrame({"cas": numbers, "property": "normal_boiling_point", "value": [T_K for _, _, T_K in PURE]}),
        pd.DataFrame({"cas": numbers}),
        pd.DataFrame({"cas": numbers}),
        {"cuts": frame(*rows), "cut_surrogates": frame(*(listed if candidates is None else candidates))},
    )


def refusal(**changed: str) -> str:
    """Why a cut with other cells is refused."""
    answer = told(CUT | changed)
    assert answer.tables["cut"].empty
    assert answer.tables["cut_surrogate"].empty
    (reason,) = answer.rejected["reason"]
    return str(reason)


def test_a_cut_by_classes_is_spread_over_its_range() -> None:
    answer = told(CUT)
    (cut,) = answer.tables["cut"].to_dict("records")
    assert (cut["initial_boiling_point_K"], cut["final_boiling_point_K"]) == (333.15, 373.15)
    assert cut["also_called"] == "spirit of tests"
    parts = answer.tables["cut_surrogate"].set_index("surrogate_cas")["mass_fraction"]
    classes = {cas: CLASS_OF.get(name, "alkane") for cas, name, _ in PURE}
    shares = parts.groupby(parts.index.map(classes)).sum()
    assert shares.to_dict() == pytest.approx({"alkane": 0.5, "cycloalkane": 0.3, "aromatic": 0.2}, abs=1e-3)
    assert answer.rows_kept == {"cuts": 1, "cut_surrogates": len(PURE)}


def test_a_composition_by_components_stands_as_it_is_and_gives_the_ends() -> None:
    answer = told(CUT | {"composition": "142-82-5 20; 110-54-3 50; 71-43-2 30", "initial": "", "final": ""})
    (cut,) = answer.tables["cut"].to_dict("records")
    assert (cut["initial_boiling_point_K"], cut["final_boiling_point_K"]) == (341.9, 371.5)
    parts = answer.tables["cut_surrogate"]
    assert dict(zip(parts["surrogate_cas"], parts["mass_fraction"], strict=True)) == {
        "110-54-3": 0.5, "71-43-2": 0.3, "142-82-5": 0.2,
    }  # fmt: skip


def test_an_end_may_be_the_boiling_point_of_a_component() -> None:
    (cut,) = told(CUT | {"initial": "110-54-3", "final": "142-82-5"}).tables["cut"].to_dict("records")
    assert (cut["initial_boiling_point_K"], cut["final_boiling_point_K"]) == (341.9, 371.5)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"cas": "110-54-3"}, "no stream has this CAS number"),
        ({"initial": ""}, "not a number"),
        ({"initial": "100", "final": "60"}, "is none"),
        ({"final": "64-17-5"}, "no pure component"),
        ({"composition": "alkane 50; aromatic 20"}, "sum 100"),
        ({"composition": "alkane 120; aromatic -20"}, "positive"),
        ({"composition": "alkane fifty; aromatic 50"}, "not a number"),
        ({"composition": "alkane 50; 110-54-3 50"}, "alone"),
        ({"composition": "terpene 100"}, "alone"),
        ({"composition": "110-54-3 50; 142-82-5 50"}, "3 to 8"),
        ({"composition": "110-54-3 50; 142-82-5 25; 64-17-5 25"}, "no pure component"),
        ({"composition": "109-66-0 20; 110-54-3 50; 142-82-5 30"}, "outside the range"),
        ({"composition": "aromatic 100"}, "fewer than 3 surrogates"),
    ],
)
def test_a_row_that_cannot_be_used_is_told(changed: dict[str, str], reason: str) -> None:
    assert reason in refusal(**changed)


def test_a_name_stands_once_however_it_is_spelled() -> None:
    answer = told(CUT, CUT | {"name": "Test Spirit 60-100"})
    assert answer.rows_kept["cuts"] == 1
    assert "an earlier row has it" in answer.rejected["reason"].item()


def test_a_candidate_that_cannot_be_used_is_told() -> None:
    hexane = {"cas": "110-54-3", "name": "hexane", "class": "alkane", "citation": "invented"}
    strangers = [hexane, hexane, hexane | {"cas": "64-17-5"}, hexane | {"cas": "71-43-2", "class": "arene"}]
    answer = told(candidates=strangers)
    assert answer.rows_kept == {"cut_surrogates": 1}
    assert list(answer.rejected["source_row"]) == [2, 3, 4]


def test_without_its_tables_the_station_gives_empty_ones() -> None:
    nothing = pd.DataFrame({"cas": [], "kind": [], "property": [], "value": []})
    answer = cuts(nothing, nothing, nothing, nothing, {})
    assert all(table.empty for table in answer.tables.values())
    assert answer.rows_kept == {}


@given(
    st.lists(st.integers(300, 500), min_size=3, max_size=40, unique=True),
    st.floats(305.0, 400.0),
    st.floats(10.0, 100.0),
    st.lists(st.sampled_from(CLASSES), min_size=1, max_size=3, unique=True),
)
def test_what_is_spread_lies_in_the_range_and_sums_to_one(
    boiling_K: list[int], initial_K: float, width_K: float, classes: list[str]
) -> None:
    candidates = [Candidate(str(T_K), CLASSES[place % len(CLASSES)], float(T_K)) for place, T_K in enumerate(boiling_K)]
    final_K = initial_K + width_K
    fractions = spread(initial_K, final_K, dict.fromkeys(classes, 1.0 / len(classes)), candidates)
    if fractions is None:
        return
    temperatures = [float(cas) for cas in fractions]
    assert FEWEST <= len(fractions) <= MOST
    assert sum(fractions.values()) == pytest.approx(1.0)
    assert min(fractions.values()) > 0
    assert initial_K - BEYOND_K <= temperatures[0]
    assert all(lower < upper for lower, upper in pairwise(temperatures))
    assert temperatures[-1] <= final_K + BEYOND_K
    assert temperatures[0] <= initial_K + width_K / 3
    assert temperatures[-1] >= final_K - width_K / 3


def test_the_table_is_as_large_as_it_claims_and_sparing_of_memory() -> None:
    table = HAND["cuts"]
    assert len(table) >= 60
    remembered = table["citation"].str.endswith("; from memory").sum()
    assert remembered <= len(table) / 10
    assert not table["citation"].str.contains("from memory").sum() > remembered
    assert (table["citation"].str.len() > 20).all()
    assert set(table["cas"]) <= set(HAND["streams"]["cas"])


def test_no_name_of_a_cut_means_two_of_them() -> None:
    names = [
        name.casefold()
        for row in HAND["cuts"].to_dict("records")
        for name in (row["name"], *str(row["aliases"]).split("|"))
        if name
    ]
    assert len(names) == len(set(names))

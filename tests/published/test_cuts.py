"""Boiling ranges of cuts against a second publication, and what stands for them against their ranges.

`cuts.csv` holds one row per cut with the other publication and how far two
publications of that kind may differ. Where a composition or carbon numbers
give the ends, the other publication is that of the pure components.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.db.cuts import Cut
from cutpoint.schema.names import search_key

with (Path(__file__).parent / "cuts.csv").open(encoding="utf-8") as file:
    CUTS = list(csv.DictReader(file))

ICE_POINT_K = 273.15
NOMINAL_K = 5.0
"""Ends of ranges are nominal; a surrogate may boil this far outside."""
STRAIGHT = 0.25
"""How far the recovered fraction may be off a straight line, where classes of hydrocarbons make the cut."""
DEAROMATISED_C = (110.0, 290.0)
"""Distillation range of the category C9-C14 aliphatics, of which some hold higher boiling material:
ECHA registration dossier 11586, HCSC category 8, October 2017: 110 to 280 °C approximately."""


@pytest.mark.parametrize("row", CUTS, ids=lambda row: row["cut"])
def test_boiling_range_as_published_elsewhere(row: dict[str, str], store: db.Store) -> None:
    cut = store.cut(row["cut"])
    assert cut is not None
    ends = (cut.initial_boiling_point_K - ICE_POINT_K, cut.final_boiling_point_K - ICE_POINT_K)
    published = (float(row["initial_degC"]), float(row["final_degC"]))
    assert ends == pytest.approx(published, abs=float(row["tolerance_K"]))


def test_dearomatised_solvents_boil_within_their_category(store: db.Store) -> None:
    grades = [cut for cut in store.cuts() if "< 2 % aromatics" in cut.name]
    assert len(grades) >= 6
    lowest, highest = (end_C + ICE_POINT_K for end_C in DEAROMATISED_C)
    assert all(lowest <= cut.initial_boiling_point_K < cut.final_boiling_point_K <= highest for cut in grades)


@pytest.fixture(scope="module")
def boiling_K(store: db.Store) -> dict[str, float]:
    """Boiling point of every surrogate, K."""
    sql = "SELECT cas, value FROM evaluation JOIN cut_surrogate ON surrogate_cas = cas"
    return dict(store.sql(f"{sql} WHERE property = 'normal_boiling_point'").fetchall())


def recovered(cut: Cut, boiling_K: dict[str, float]) -> list[tuple[float, float]]:
    """Where each surrogate lies in the range, 0 to 1, and the mass fraction recovered when half of it is over."""
    width_K = cut.final_boiling_point_K - cut.initial_boiling_point_K
    over, points = 0.0, []
    for part in cut.surrogates:
        place = (boiling_K[part.cas] - cut.initial_boiling_point_K) / width_K
        points.append((place, over + part.mass_fraction / 2))
        over += part.mass_fraction
    assert over == pytest.approx(1.0)
    return points


def test_every_surrogate_boils_within_its_cut_and_they_span_it(store: db.Store, boiling_K: dict[str, float]) -> None:
    assert len(store.cuts()) >= 60
    for cut in store.cuts():
        outside = NOMINAL_K / (cut.final_boiling_point_K - cut.initial_boiling_point_K)
        places = [place for place, _ in recovered(cut, boiling_K)]
        assert 3 <= len(places) <= 8, cut
        assert places == sorted(places), cut
        assert -outside <= places[0] <= 1 / 3, cut
        assert 2 / 3 <= places[-1] <= 1 + outside, cut


def test_what_is_recovered_rises_about_straight(store: db.Store, boiling_K: dict[str, float]) -> None:
    by_class = [cut for cut in store.cuts() if "between the boiling points of its components" not in cut.source]
    by_class = [cut for cut in by_class if len(cut.surrogates) > 4]
    assert len(by_class) >= 35
    for cut in by_class:
        off = max(abs(half - min(max(place, 0.0), 1.0)) for place, half in recovered(cut, boiling_K))
        assert off <= STRAIGHT, cut


def test_every_surrogate_can_be_mixed_and_evaporated(store: db.Store) -> None:
    tables = store.pair_tables
    tables.load_counts(sorted({part.cas for cut in store.cuts() for part in cut.surrogates}))
    for cut in store.cuts():
        assert all(store.curve_place(part.cas) is not None for part in cut.surrogates)
        counts = [counted for part in cut.surrogates if (counted := tables.counts(part.cas))]
        assert len(counts) == len(cut.surrogates), cut
        assert not tables.book.unknown_interactions(counts), cut


def test_every_cut_is_found_as_a_stream(store: db.Store) -> None:
    sql = "SELECT search_key, cas FROM name JOIN component USING (cas) WHERE component.kind = 'stream'"
    names = set(store.sql(sql).fetchall())
    for cut in store.cuts():
        assert {(search_key(name), cut.cas) for name in (cut.name, *cut.also_called)} <= names
        assert store.cut(cut.name) == cut


@pytest.mark.parametrize("query", ["white spirit", "ligroin", "petroleum ether", "VM&P naphtha", "xylenes"])
def test_what_is_on_a_label_is_found(query: str, store: db.Store) -> None:
    cut = store.cut(query)
    assert cut is not None
    assert cut.cas in {match.cas for match in store.find(query)}

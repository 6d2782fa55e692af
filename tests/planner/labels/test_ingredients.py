"""What lines of a label mean: by CAS number, by name, by the user's word, and what is left open; invented products."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import pytest

from cutpoint import db
from cutpoint.db import Component
from cutpoint.planner.labels.ingredients import Ingredient, resolve
from cutpoint.planner.labels.reading import read_label
from cutpoint.planner.recipes.recipe import NOT_VOLATILE
from cutpoint.schema.errors import AmbiguousComponent, UnresolvedLabel, WrongRecipe
from cutpoint.schema.names import search_keys


@dataclass(frozen=True)
class Grade:
    """A cut, invented but for its CAS number."""

    cas: str
    name: str
    initial_boiling_point_K: float = 313.0
    final_boiling_point_K: float = 333.0
    surrogates: tuple[Any, ...] = ()


class WithCuts:
    """A store that holds these cuts and no others."""

    def __init__(self, store: db.Store, *grades: Grade) -> None:
        self.store = store
        self.grades = grades

    def component(self, query: str) -> Component:
        return self.store.component(query)

    def rows(self, sql: str, **values: str | float) -> list[tuple[Any, ...]]:
        return self.store.rows(sql, **values)

    def cuts(self) -> tuple[Grade, ...]:
        return self.grades

    def cut(self, query: str) -> Grade | None:
        for grade in self.grades:
            if grade.name == query:
                return grade
        component = self.store.component(query)
        meant = [grade for grade in self.grades if grade.cas == component.cas]
        if len(meant) > 1:
            listed = [{"cas": grade.cas, "name": grade.name} for grade in meant]
            raise AmbiguousComponent(f"{len(meant)} grades are sold as {component.cas}.", listed)
        return meant[0] if meant else None


LIGHT = Grade("8032-32-4", "petroleum ether 40-60")
HEAVY = Grade("8032-32-4", "petroleum ether 60-80", 333.0, 353.0)
XYLENE = Grade("1330-20-7", "xylene", 409.0, 418.0)


@pytest.fixture
def opened(small_store: Path) -> Iterator[db.Store]:
    with db.open(small_store) as store:
        yield store


def ask(store: db.Store, text: str, meanings: Mapping[str, str] | None = None, *grades: Grade) -> list[Ingredient]:
    return list(resolve(WithCuts(store, *grades), read_label(text), meanings or {}))


def refusal(store: db.Store, text: str, meanings: Mapping[str, str] | None = None, *grades: Grade) -> UnresolvedLabel:
    with pytest.raises(UnresolvedLabel) as refused:
        ask(store, text, meanings, *grades)
    return refused.value


def told(ingredients: list[Ingredient]) -> list[tuple[str, str, str | None]]:
    return [(one.kind, one.name, one.cas) for one in ingredients]


def test_lines_resolve_by_number_or_by_name(opened: db.Store) -> None:
    found = ask(opened, "solvent component 67-64-1 30-50 %\nEthyl alcohol 10-20 %\nn/a 108-88-3 5 %\nwater rest")
    assert told(found) == [
        ("component", "acetone", "67-64-1"),
        ("component", "ethanol", "64-17-5"),
        ("component", "toluene", "108-88-3"),
        ("component", "water", "7732-18-5"),
    ]
    assert [one.line.number for one in found] == [1, 2, 3, 4]
    assert all(one.cut is None for one in found)


def test_lines_resolve_by_name_in_any_language(small_store: Path, tmp_path: Path) -> None:
    path = tmp_path / "languages.duckdb"
    path.write_bytes(small_store.read_bytes())
    names = [("Äthanol", "de", "64-17-5"), ("ацетон", "ru", "67-64-1"), ("トルエン", "ja", "108-88-3")]
    rows = [
        (key, cas, name, language, "common", "alias", 1, "demo_names")
        for name, language, cas in names
        for key in search_keys(name)
    ]
    with duckdb.connect(str(path)) as connection:
        connection.executemany(f"INSERT INTO name VALUES ({', '.join('?' * 8)})", rows)
    with db.open(path) as store:
        found = ask(store, "Aethanol 10-20 %\nАцетон 20-30 %\nトルエン 108-88-3 30-40 %\nwater rest")
        contradicted = refusal(store, "ацетон 64-17-5 50 %\nwater rest")
    assert [one.name for one in found] == ["ethanol", "acetone", "toluene", "water"]
    assert "'ацетон' is acetone (67-64-1), and 64-17-5 is ethanol" in contradicted.message


def test_a_spelling_is_no_answer_but_a_candidate(opened: db.Store) -> None:
    error = refusal(opened, "acetone 50 %\netyl acetate 50 %")
    assert {"cas": "141-78-6", "name": "ethyl acetate", "line": 2}.items() <= error.candidates[0].items()
    assert "Line 2, 'etyl acetate 50 %'" in error.message and "141-78-6" in error.message
    assert '"etyl acetate" = "not volatile"' in error.message and "[meanings]" in error.message


def test_all_open_lines_are_told_at_once(opened: db.Store) -> None:
    error = refusal(opened, "xylene 20-30 %\nacetone 10 %\nsucrose 5 %\nsodamide 2 %\nalkyd resin balance")
    assert error.message.startswith("4 lines of the label are not clear.")
    assert "belongs to 2 components alike" in error.message
    assert "vapour pressure of sucrose (57-50-1); it decomposes." in error.message
    assert {(near["line"], near["cas"]) for near in error.candidates} >= {
        (1, "95-47-6"), (1, "106-42-3"), (3, "57-50-1"), (4, "7782-92-5")
    }  # fmt: skip


def test_name_and_number_that_contradict_each_other_are_left_open(opened: db.Store) -> None:
    error = refusal(opened, "toluene (110-54-3) 30 %")
    assert "'toluene' is toluene (108-88-3), and 110-54-3 is hexane" in error.message
    assert {near["cas"] for near in error.candidates} == {"108-88-3", "110-54-3"}
    # A name of several agrees with each of them.
    assert told(ask(opened, "xylene (95-47-6) 30 %")) == [("component", "o-xylene", "95-47-6")]
    assert told(ask(opened, "toluene (110-54-3) 30 %", {"toluene": "108-88-3"})) == [
        ("component", "toluene", "108-88-3")
    ]


def test_a_number_that_the_store_does_not_hold_is_left_open(opened: db.Store) -> None:
    error = refusal(opened, "toluene 96-37-7 30 %")
    assert "96-37-7 is a well-formed CAS number" in error.message
    assert error.candidates == [{"cas": "108-88-3", "name": "toluene", "line": 1}]


@pytest.mark.parametrize("printed", ["Alkyd RESIN", "alkydresin", "alkyd resin  25 %"])
def test_a_meaning_fits_whatever_its_case_and_blanks(opened: db.Store, printed: str) -> None:
    found = ask(opened, "acetone 75 %\nalkyd resin 25 %", {printed: "Not volatile"})
    assert told(found)[1] == (NOT_VOLATILE, "alkyd resin", None)


def test_a_meaning_may_be_a_name_or_a_number_and_goes_by_number_too(opened: db.Store) -> None:
    text = "house solvent 40 %\nthinner (95-47-6) 30 %\nsucrose 57-50-1 30 %"
    meanings = {"house solvent": "ethyl alcohol", "thinner": "106-42-3", "57-50-1": NOT_VOLATILE}
    assert told(ask(opened, text, meanings)) == [
        ("component", "ethanol", "64-17-5"),
        ("component", "p-xylene", "106-42-3"),
        (NOT_VOLATILE, "sucrose", "57-50-1"),
    ]


def test_a_meaning_that_fits_no_line_is_refused(opened: db.Store) -> None:
    with pytest.raises(WrongRecipe, match='"acetne" fits no line of the label, which names "acetone"'):
        ask(opened, "acetone 100 %", {"acetne": "67-64-1"})
    with pytest.raises(WrongRecipe, match="line 1, 'acetone 67-64-1', has two"):
        ask(opened, "acetone 67-64-1", {"acetone": "67-64-1", "67-64-1": "64-17-5"})


def test_a_meaning_that_means_nothing_is_told(opened: db.Store) -> None:
    error = refusal(opened, "house solvent 100 %", {"house solvent": "etyl acetate"})
    assert 'its meaning "etyl acetate" is not clear' in error.message
    assert error.candidates[0]["cas"] == "141-78-6"


def test_streams_are_cuts(opened: db.Store) -> None:
    (by_name,) = ask(opened, "petroleum ether 100 %", None, LIGHT)
    (by_number,) = ask(opened, "boiling range solvent 8032-32-4", None, LIGHT)
    assert (by_name.kind, by_name.name, by_name.cut) == ("cut", LIGHT.name, LIGHT)
    assert (by_number.kind, by_number.cas, by_number.cut) == ("cut", "8032-32-4", LIGHT)


def test_a_name_tells_the_grades_of_a_stream_apart(opened: db.Store) -> None:
    assert ask(opened, "Petroleum ether 60-80, 8032-32-4, 30 %", None, LIGHT, HEAVY)[0].cut == HEAVY
    assert ask(opened, "benzine 30 %", {"benzine": "petroleum ether 40-60"}, LIGHT, HEAVY)[0].cut == LIGHT
    error = refusal(opened, "petroleum ether 30 %", None, LIGHT, HEAVY)
    assert "2 grades" in error.message
    assert [near["name"] for near in error.candidates] == [LIGHT.name, HEAVY.name]


def test_a_stream_without_a_cut_is_left_open_with_the_nearest_by_name(opened: db.Store) -> None:
    error = refusal(opened, "petroleum ether 30 %", None, XYLENE, Grade("64742-49-0", "light ether of petroleum"))
    assert "the store holds no boiling range of it" in error.message
    assert [near["cas"] for near in error.candidates] == ["64742-49-0", "1330-20-7"]


@pytest.mark.parametrize("name", ["Xylene (mixture of isomers)", "xylene, mixed isomers", "Xylene Isomerengemisch"])
def test_mixed_isomers_are_not_one_of_them(opened: db.Store, name: str) -> None:
    error = refusal(opened, f"{name} 30 %", None, XYLENE)
    assert "(mixed isomers)" in error.message


def test_what_stands_on_two_lines_is_noted(opened: db.Store) -> None:
    found = ask(opened, "acetone 30 %\nethanol approx. 40 %\nacetone (67-64-1) 30 %")
    assert found[0].note == found[2].note == "It is listed 2 times (lines 1, 3); the shares are summed."
    assert found[1].note == "'approx. 40 %' is taken as 36 % to 44 %."


def test_a_label_of_all_real_data(store: db.Store) -> None:
    found = ask(
        store, "Aceton 30 %, 2-Propanol 20 %, n-hexane (110-54-3) 10 %, Xylene (mixture of isomers) 40 %", None, XYLENE
    )
    assert told(found) == [
        ("component", "acetone", "67-64-1"),
        ("component", "isopropanol", "67-63-0"),
        ("component", "hexane", "110-54-3"),
        ("cut", "xylene", "1330-20-7"),
    ]

"""Cuts as the query module tells them: by name, by number, by grade, and in the words of a refusal."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from cutpoint import db
from cutpoint.db.cuts import told_range, told_ranges
from cutpoint.schema.errors import AmbiguousComponent, NoSuchComponent, NoValue

# Ranges invented, within what is usual; a second stream without a cut, and one with a single grade.
ADDED = """
    INSERT INTO component VALUES
        ('1330-20-7', 'xylene (mixed isomers)', NULL, NULL, NULL, NULL, 'stream', NULL, 'demo_identity', NULL),
        ('8006-14-2', 'natural gas', NULL, NULL, NULL, NULL, 'stream', NULL, 'demo_identity', NULL);
    INSERT INTO name VALUES
        ('xylenemixedisomers', '1330-20-7', 'xylene (mixed isomers)', 'en', 'trade', 'house', 1, 'demo_names'),
        ('naturalgas', '8006-14-2', 'natural gas', 'en', 'trade', 'house', 1, 'demo_names');
    INSERT INTO cut VALUES
        ('light spirit 40-60', '8032-32-4', 'spirit 40-60|light 40', 'light cut', 313.15, 333.15, 'demo'),
        ('light spirit 60-80', '8032-32-4', NULL, 'light cut', 333.15, 353.15, 'demo'),
        ('xylenes', '1330-20-7', 'mixed xylenes', 'the isomers', 411.5, 417.55, 'demo');
    INSERT INTO cut_surrogate VALUES
        ('light spirit 60-80', '71-43-2', 0.3), ('light spirit 60-80', '110-54-3', 0.7),
        ('xylenes', '95-47-6', 0.4), ('xylenes', '106-42-3', 0.6);
"""


@pytest.fixture(scope="module")
def cuts(small_store_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[db.Store]:
    """The small store with three cuts."""
    path = tmp_path_factory.mktemp("cuts") / "components.duckdb"
    shutil.copyfile(small_store_path, path)
    with duckdb.connect(str(path)) as connection:
        connection.execute(ADDED)
    with db.open(path) as opened:
        yield opened


def test_cuts_are_told_lowest_boiling_first_with_their_surrogates(cuts: db.Store) -> None:
    assert [cut.name for cut in cuts.cuts()] == ["light spirit 40-60", "light spirit 60-80", "xylenes"]
    assert cuts.cuts() is cuts.cuts()
    xylenes = cuts.cuts()[2]
    assert xylenes.surrogates == (db.Surrogate("106-42-3", "p-xylene", 0.6), db.Surrogate("95-47-6", "o-xylene", 0.4))
    assert str(xylenes) == "xylenes [1330-20-7] 138.4 to 144.4 °C: the isomers"


@pytest.mark.parametrize(
    "query", ["light spirit 40-60", "Light Spirit 40/60", "spirit 40-60", "LIGHT-40", "light spirit 40-60 °C"]
)
def test_a_grade_is_meant_by_its_name_however_spelled(cuts: db.Store, query: str) -> None:
    cut = cuts.cut(query)
    assert cut is not None
    assert cut.name == "light spirit 40-60"
    assert cut.also_called == ("spirit 40-60", "light 40")


@pytest.mark.parametrize("query", ["1330-20-7", "xylene (mixed isomers)", "mixed xylenes"])
def test_a_lone_grade_is_meant_by_number_or_name_of_its_stream(cuts: db.Store, query: str) -> None:
    cut = cuts.cut(query)
    assert cut is not None
    assert cut.name == "xylenes"


@pytest.mark.parametrize("query", ["8032-32-4", "petroleum ether"])
def test_of_several_grades_none_is_guessed(cuts: db.Store, query: str) -> None:
    with pytest.raises(AmbiguousComponent, match=r"2 grades .*light spirit 40-60, 40 to 60 °C; light") as raised:
        cuts.cut(query)
    assert [candidate["name"] for candidate in raised.value.candidates] == ["light spirit 40-60", "light spirit 60-80"]
    assert raised.value.candidates[0]["final_boiling_point_K"] == 333.15


@pytest.mark.parametrize("query", ["hexane", "natural gas"])
def test_what_is_no_cut_is_none(cuts: db.Store, query: str) -> None:
    assert cuts.cut(query) is None


def test_what_nothing_answers_to_is_refused(cuts: db.Store) -> None:
    with pytest.raises(NoSuchComponent):
        cuts.cut("zzqqxxyyww")


def test_a_component_tells_its_grades(cuts: db.Store) -> None:
    assert [cut.name for cut in cuts.component("8032-32-4").cuts()] == ["light spirit 40-60", "light spirit 60-80"]
    assert cuts.component("natural gas").cuts() == ()
    assert cuts.component("hexane").cuts() == ()


def test_a_stream_that_is_asked_for_a_boiling_point_tells_its_ranges(cuts: db.Store) -> None:
    with pytest.raises(NoValue, match=r"range, not a boiling point\. It boils from 138\.4 to 144\.4 °C\.$"):
        cuts.component("1330-20-7").boiling_point()
    with pytest.raises(NoValue, match=r"light spirit 40-60, 40 to 60 °C; light spirit 60-80, 60 to 80 °C\.$"):
        cuts.component("petroleum ether").boiling_point()
    with pytest.raises(NoValue, match=r"not a boiling point\.$"):
        cuts.component("natural gas").boiling_point()


def test_of_many_grades_a_sentence_tells_the_first() -> None:
    many = [db.Cut("8032-32-4", f"grade {place}", "", 300.0 + place, 320.0, "", ()) for place in range(7)]
    assert told_ranges(many).endswith("grade 4, 30.9 to 46.9 °C; 2 more grades are on its card.")
    assert told_range(many[0]) == "26.9 to 46.9 °C"


def test_a_store_without_cuts_tells_none(store: db.Store) -> None:
    assert store.cuts() == ()
    assert store.cut("petroleum ether") is None

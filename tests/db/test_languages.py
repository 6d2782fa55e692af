"""Names in several languages: which is met, which substance it means, and what is said of the others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import duckdb
import pytest
from click.testing import CliRunner

from cutpoint import db
from cutpoint.planner.cli import cli
from cutpoint.schema.errors import AmbiguousComponent, NoSuchComponent, WrongUsage
from cutpoint.schema.names import search_keys

WATER, ETHANOL, ACETONE, TOLUENE, BENZENE = "7732-18-5", "64-17-5", "67-64-1", "108-88-3", "71-43-2"

# name, language, cas; "vexol" and "quill" are invented
NAMES = [
    ("Äthanol", "de", ETHANOL), ("alcool éthylique", "fr", ETHANOL), ("acetona", "es", ACETONE),
    ("acetona", "pt", ACETONE), ("aceton", "de", ACETONE), ("ацетон", "ru", ACETONE), ("アセトン", "ja", ACETONE),
    ("ベンゼン", "ja", BENZENE), ("acqua", "it", WATER), ("H₂O liquid", "mul", WATER),
    ("vexol", "de", BENZENE), ("vexol", "nl", BENZENE), ("vexol", "pl", TOLUENE),
    ("quill", "en", WATER), ("quill", "it", ETHANOL),
    ("toluene", "es", BENZENE), ("ether", "pl", WATER),
]  # fmt: skip


@pytest.fixture(scope="module")
def path(small_store_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("languages") / "components.duckdb"
    made.write_bytes(small_store_path.read_bytes())
    rows = [
        (key, cas, name, language, "common", "alias", 1, "demo_names")
        for name, language, cas in NAMES
        for key in (search_keys(name) if language == "de" else search_keys(name)[:1])
    ]
    with duckdb.connect(str(made)) as connection:
        connection.executemany(f"INSERT INTO name VALUES ({', '.join('?' * 8)})", rows)
    return made


@pytest.fixture(scope="module")
def store(path: Path) -> Iterator[db.Store]:
    with db.open(path) as opened:
        yield opened


@pytest.mark.parametrize(
    ("query", "cas", "language"),
    [
        ("Äthanol", ETHANOL, "de"), ("Athanol", ETHANOL, "de"), ("AETHANOL", ETHANOL, "de"),
        ("alcool ethylique", ETHANOL, "fr"), ("АЦЕТОН", ACETONE, "ru"), ("ｱｾﾄﾝ", ACETONE, "ja"),
        ("あせとん", ACETONE, "ja"), ("ﾍﾞﾝｾﾞﾝ", BENZENE, "ja"), ("h2o liquid", WATER, "mul"), ("water", WATER, "en"),
    ],
)  # fmt: skip
def test_a_name_is_met_in_whatever_language_it_is(store: db.Store, query: str, cas: str, language: str) -> None:
    assert store.component(query).cas == cas
    best = store.find(query).matches[0]
    assert (best.cas, best.matched_by, best.matched_language) == (cas, "name", language)


def test_kana_without_their_voiced_mark_are_another_name(store: db.Store) -> None:
    with pytest.raises(NoSuchComponent):
        store.component("ヘンセン")


@pytest.mark.parametrize("query", [ACETONE, "C3H6O", "CSCPPACGZOOCGX-UHFFFAOYSA-N", "CC(C)=O"])
def test_a_language_changes_nothing_but_names(store: db.Store, query: str) -> None:
    assert store.find(query, language="es") == store.find(query)
    assert store.find(query).matches[0].matched_language is None
    assert store.component(query, language="es").cas == ACETONE


def test_one_component_is_listed_once_however_many_languages_name_it(store: db.Store) -> None:
    assert [match.cas for match in store.find("acetona")] == [ACETONE]
    assert store.component("acetona").note is None


def test_a_language_asked_is_looked_through_first(store: db.Store) -> None:
    assert store.find("acetona", language="pt").matches[0].matched_language == "pt"
    assert store.find("h2o liquid", language="ja").matches[0].matched_language == "mul"
    assert [match.cas for match in store.find("toluene", language="es")] == [BENZENE]
    assert store.component("toluene", language="es").cas == BENZENE
    assert store.component("toluene").cas == TOLUENE


def test_a_name_that_the_language_lacks_is_found_in_others(store: db.Store) -> None:
    best = store.find("acqua", language="ja").matches[0]
    assert (best.cas, best.matched_language) == (WATER, "it")


@pytest.mark.parametrize(
    ("query", "cas"), [("ацетн", ACETONE), ("アセト", ACETONE), ("アセトンン", ACETONE), ("ベンゼシン", BENZENE)]
)
def test_spelling_is_forgiven_in_any_script(store: db.Store, query: str, cas: str) -> None:
    nearest = store.find(query).matches[0]
    assert (nearest.cas, nearest.matched_by) == (cas, "spelling")
    assert nearest.score == pytest.approx(1.0 - 1.0 / max(len(query), len(nearest.matched_name or "")))


def test_a_name_of_another_language_than_the_one_asked_says_so(store: db.Store, path: Path) -> None:
    assert store.find("acqua", language="de").in_other_languages
    assert not store.find("acqua", language="it").in_other_languages
    assert not store.find("7732-18-5", language="de").in_other_languages
    told = CliRunner().invoke(cli, ["find", "acqua", "--lang", "de", "--store", str(path)]).stdout
    assert "No such name is held in German" in told


def test_spelling_keeps_to_the_language_if_one_is_near(store: db.Store) -> None:
    near = store.find("acetonna", language="es").matches
    assert [(match.cas, match.matched_by, match.matched_language) for match in near] == [(ACETONE, "spelling", "es")]
    assert store.find("metanool", language="es").matches[0].matched_language == "en"


def test_a_name_of_two_substances_in_two_languages_stays_ambiguous_and_says_so(store: db.Store) -> None:
    with pytest.raises(AmbiguousComponent) as told:
        store.component("vexol")
    assert "71-43-2 benzene in German and Dutch" in told.value.message
    assert "108-88-3 toluene in Polish" in told.value.message
    assert {row["cas"]: row["matched_language"] for row in told.value.candidates} == {BENZENE: "de", TOLUENE: "pl"}
    assert store.component("vexol", language="pl").cas == TOLUENE
    assert store.component("vexol", language="de").cas == BENZENE
    assert len(store.find("vexol")) == 2


def test_an_alias_in_english_is_no_stronger_than_one_in_another_language(store: db.Store) -> None:
    with pytest.raises(AmbiguousComponent, match="water in English, 64-17-5 ethanol in Italian"):
        store.component("quill")
    assert store.component("quill", language="en").cas == WATER


def test_an_english_name_of_its_own_wins_and_tells_of_the_others(store: db.Store) -> None:
    assert store.component("toluene").note == "The name 'toluene' is also used of benzene (71-43-2) in Spanish."
    ether = store.component("ether")
    assert ether.cas == "60-29-7"
    assert ether.note is not None
    assert "petroleum ether (8032-32-4) in English" in ether.note
    assert "water (7732-18-5) in Polish" in ether.note


@pytest.mark.parametrize("code", ["xx", "", "sv", "de'; --"])
def test_a_language_without_names_is_refused_with_those_held(store: db.Store, code: str) -> None:
    for ask in (store.find, store.component):
        with pytest.raises(WrongUsage, match=r"de \(German\), en \(English\), es \(Spanish\).*mul \(all languages\)"):
            ask("water", language=code)


def test_the_command_line_reads_in_a_language_and_shows_it(path: Path) -> None:
    def run(*arguments: str) -> str:
        done = CliRunner().invoke(cli, ["find", *arguments, "--store", str(path)])
        assert done.exit_code == 0, done.output
        return done.output

    assert "name: acetona (Spanish)" in run("acetona", "--lang", "ES")
    assert "(English)" not in run("water")
    assert '"matched_language": "pt"' in run("acetona", "--lang", "pt", "--json")
    refused = CliRunner().invoke(cli, ["find", "water", "--lang", "xx", "--store", str(path)])
    assert refused.exit_code == 2
    assert "Traceback" not in refused.output


def test_an_answer_serialises_with_its_language(store: db.Store) -> None:
    assert asdict(store.find("アセトン"))["matches"][0]["matched_language"] == "ja"

"""What is typed, and what is found."""

from __future__ import annotations

import dataclasses
import json
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.schema.errors import AmbiguousComponent, NoSuchComponent, WrongCheckDigit, WrongUsage

FIELDS = (
    "cas", "name", "formula", "inchikey", "molar_mass_g_mol", "kind", "boiling_point_K", "boiling_point_u95_K",
    "grade", "matched_by", "score",
)  # fmt: skip


@pytest.mark.parametrize(
    ("query", "cas", "matched_by"),
    [
        ("141-78-6", "141-78-6", "cas"),
        (" 141-78-6\n", "141-78-6", "cas"),
        ("XEKOWRVHYACXOJ-UHFFFAOYSA-N", "141-78-6", "inchikey"),
        ("xekowrvhyacxoj-uhfffaoysa-n", "141-78-6", "inchikey"),
        ("Ethyl Acetate", "141-78-6", "name"),
        ("ethyl-acetate", "141-78-6", "name"),
        ("methylbenzene", "108-88-3", "name"),
        ("CCOC(C)=O", "141-78-6", "smiles"),
        ("etyl acetate", "141-78-6", "spelling"),
        ("tolune", "108-88-3", "spelling"),
        ("O2H8C4", "141-78-6", "formula"),
    ],
)
def test_find(store: db.Store, query: str, cas: str, matched_by: str) -> None:
    best = store.find(query).matches[0]
    assert (best.cas, best.matched_by) == (cas, matched_by)
    assert best.score == 1.0 if matched_by != "spelling" else 0.7 <= best.score < 1.0


def test_other_spellings_of_a_structure(store: db.Store) -> None:
    pytest.importorskip("rdkit")
    assert store.find("CC(=O)OCC").matches[0].cas == "141-78-6"
    assert store.component("O(CC)C(C)=O").cas == "141-78-6"


def test_json_fields(store: db.Store) -> None:
    told = json.loads(json.dumps(dataclasses.asdict(store.find("ethyl acetate"))))
    assert told["query"] == "ethyl acetate"
    assert set(FIELDS) <= set(told["matches"][0])


def test_formula_is_ordered_by_boiling_point(store: db.Store) -> None:
    expected = ["141-78-6", "123-91-1", "107-92-6"]
    assert [match.cas for match in store.find("C4H8O2")] == expected
    assert [match.cas for match in store.isomers("H8C4O2")] == expected


def test_name_and_formula_both_shown_names_first(store: db.Store) -> None:
    assert [(match.cas, match.matched_by) for match in store.find("CO")] == [
        ("7440-48-4", "name"),
        ("630-08-0", "formula"),
    ]


def test_name_and_formula_of_two_components_is_no_guess(store: db.Store) -> None:
    with pytest.raises(AmbiguousComponent) as told:
        store.component("CO")
    assert [candidate["cas"] for candidate in told.value.candidates] == ["7440-48-4", "630-08-0"]
    assert store.component("Co").cas == "7440-48-4"


def test_wrong_check_digit(store: db.Store) -> None:
    for ask in (store.find, store.component):
        with pytest.raises(WrongCheckDigit, match=r"would have to be 6.*ethyl acetate") as told:
            ask("141-78-5")
        assert told.value.candidates[0]["cas"] == "141-78-6"


@pytest.mark.parametrize("query", ["7647-14-5", "C99H2", "AAAAAAAAAAAAAA-UHFFFAOYSA-N", "xqzwvkjj", "???"])
def test_nothing(store: db.Store, query: str) -> None:
    with pytest.raises(NoSuchComponent):
        store.find(query)
    with pytest.raises(NoSuchComponent):
        store.component(query)


def test_same_skeleton_is_a_candidate(store: db.Store) -> None:
    with pytest.raises(NoSuchComponent) as told:
        store.find("XEKOWRVHYACXOJ-ZZZZZZZZSA-N")
    assert told.value.candidates[0]["cas"] == "141-78-6"


@pytest.mark.parametrize("query", ["", "   "])
def test_empty(store: db.Store, query: str) -> None:
    with pytest.raises(WrongUsage):
        store.find(query)
    with pytest.raises(WrongUsage):
        store.component(query)


def test_misspelling_is_never_taken(store: db.Store) -> None:
    with pytest.raises(NoSuchComponent) as told:
        store.component("etyl acetate")
    assert told.value.candidates[0]["name"] == "ethyl acetate"


def test_stronger_claim_wins_and_says_so(store: db.Store) -> None:
    ether = store.component("ether")
    assert ether.cas == "60-29-7"
    assert ether.note is not None and "petroleum ether" in ether.note
    assert store.component("60-29-7").note is None


def test_equal_claims_are_ambiguous(store: db.Store) -> None:
    with pytest.raises(AmbiguousComponent) as told:
        store.component("xylene")
    assert {candidate["cas"] for candidate in told.value.candidates} == {"95-47-6", "106-42-3"}
    assert len(store.find("xylene")) == 2


def test_formula_of_several_is_ambiguous_and_of_one_is_not(store: db.Store) -> None:
    with pytest.raises(AmbiguousComponent):
        store.component("C4H8O2")
    assert store.component("C7H8").cas == "108-88-3"


def test_sql_in_a_name_is_a_name(store: db.Store) -> None:
    assert store.component("O'Neill's wash; DROP TABLE name; --").cas == "67-64-1"
    with pytest.raises(NoSuchComponent):
        store.find("x' OR 1=1; DROP TABLE component; --")
    assert store.component("acetone").cas == "67-64-1"


def test_isomers_bad_input(store: db.Store) -> None:
    with pytest.raises(WrongUsage):
        store.isomers("ethyl acetate")
    with pytest.raises(NoSuchComponent, match="C3H99"):
        store.isomers("H99C3")


def test_limit(store: db.Store) -> None:
    assert len(store.find("C4H8O2", limit=2)) == 2
    with pytest.raises(WrongUsage):
        store.find("C4H8O2", limit=0)


def test_components_are_remembered(store: db.Store) -> None:
    assert store.component("64-17-5") is store.component("64-17-5")
    assert store.component("ethanol") is store.component("64-17-5")


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=40))
def test_any_text_is_answered_or_refused_in_words(store: db.Store, query: str) -> None:
    try:
        store.find(query)
    except (NoSuchComponent, WrongUsage, WrongCheckDigit) as told:
        assert told.message


@pytest.mark.parametrize(
    "query",
    ["141\u201378\u20136", "141\u201178\u20116", "141\u221278\u22126", "141 - 78 - 6",
     "CAS 141-78-6", "CAS-Nr. 141-78-6", "CAS No. 141-78-6",
     "cas rn: 141-78-6", "CAS141-78-6", "141786", "CAS 141786"],
)  # fmt: skip
def test_cas_numbers_as_pasted(store: db.Store, query: str) -> None:
    assert store.component(query).cas == "141-78-6"
    assert [(match.cas, match.matched_by) for match in store.find(query)] == [("141-78-6", "cas")]


def test_digits_are_never_answered_by_spelling(store: db.Store) -> None:
    assert store.component("1080").cas == "67-64-1"
    for query in ("1081", "141787", "10-80-", "14\u20137"):
        with pytest.raises(NoSuchComponent, match="CAS number") as told:
            store.find(query)
        assert told.value.candidates == []
    with pytest.raises(WrongCheckDigit):
        store.find("141\u201378\u20135")


def test_inchi(store: db.Store) -> None:
    pytest.importorskip("rdkit")
    assert store.component("InChI=1S/C4H8O2/c1-3-6-4(2)5/h3H2,1-2H3").cas == "141-78-6"
    assert store.component("InChIKey=XEKOWRVHYACXOJ-UHFFFAOYSA-N").cas == "141-78-6"
    with pytest.raises(WrongUsage, match="InChIKey"):
        store.find("InChI=1S/nonsense")


def test_inchi_without_rdkit_says_what_is_understood(store: db.Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "rdkit", None)
    with pytest.raises(WrongUsage, match=r"InChIKey.*SMILES"):
        store.find("InChI=1S/H2O/h1H2")


def test_the_formula_of_an_ion_is_no_name_of_its_neutral_namesake(store: db.Store) -> None:
    assert store.component("C2H5O").cas == "64-17-5"
    assert store.component("C2H5O-").cas == "16331-64-9"
    assert [match.cas for match in store.find("C2H5O-")] == ["16331-64-9"]
    with pytest.raises(NoSuchComponent):
        store.find("C2H5O+")

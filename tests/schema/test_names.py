"""The key rule: what it folds together, what it keeps apart."""

import re

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from cutpoint.schema.names import search_key, search_keys

NAME_PIECES = st.sampled_from(
    [
        *(
            "α",
            "β-",
            "benzene",
            ", ",
            ",",
            "methyl-",
            "1,2-",
            "N,N'-",
            "(+)-",
            "(±)-",
            "(.+/-.)-",
            "(8CI)",
            "sulph",
            "phate",
        ),
        *("sul", "sulp", "+/-"),
        *"ﬁΩé′[)( -İß²h",
        *"йёЙばベヘヸ\u3099\u3099ﾞﾍゟー・ｰ１，ａ",
    ]
)
NAMES = st.one_of(st.text(max_size=40), st.lists(NAME_PIECES, max_size=10).map("".join))


@given(NAMES)
@example("Benzene, methyl-")
@example("(8(8ci)ci)")
@example("sulpsulphh")
def test_key_of_a_key_is_the_key(name: str) -> None:
    key = search_key(name)
    assert search_key(key) == key


@given(NAMES)
def test_case_and_outer_spaces_do_not_matter(name: str) -> None:
    assert search_key(f"  {name.upper().lower()} ") == search_key(name.upper().lower())


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Benzene, methyl-", "methylbenzene"),
        ("ethane, 1,2-dichloro-", "1,2-Dichloro ethane"),
        ("benzene, methyl- (9CI)", "methylbenzene"),
        ("α-pinene", "alpha-Pinene"),
        (".alpha.-pinene", "alpha-pinene"),
        ("sulphuric acid", "sulfuric acid"),
        ("(±)-camphor", "(+/-)-camphor"),
        ("(.+/-.)-camphor", "(+-)-camphor"),
        ("tert-butyl methyl ether", "tert butyl methylether"),
        ("1, 2-dichloroethane", "1,2-dichloroethane"),
        ("N,N′-dimethylurea", "N,N'-dimethylurea"),
        ("benzo[a]pyrene", "benzo(a)pyrene"),
        ("Äthanol", "athanol"),
        ("e\u0301ther", "éther"),
        ("Średni kwas", "sredni kwas"),
        ("АЦЕТОН", "ацетон"),
        ("мёд", "мед"),
        ("и\u0306од", "Йод"),
        ("уксусная-кислота", "Уксусная кислота"),
        ("ﾍﾞﾝｾﾞﾝ", "ベンゼン"),
        ("べんぜん", "ベンゼン"),
        ("ヘ\u3099ンゼン", "ベンゼン"),
        ("ｴｰﾃﾙ", "エーテル"),
        ("ジエチル・エーテル", "ジエチルエーテル"),
        ("１，２－ジクロロエタン", "1,2-ジクロロエタン"),
        ("1、2-ジクロロエタン", "1,2-ジクロロエタン"),
        ("ＤＭＳＯ", "dmso"),
        ("ヱヸ\u3099", "ヱヸ"),
        ("ﬂuorene", "fluorene"),
        ("1,2-dichloroethane", "1, 2-Dichloro-ethane"),
        ("1,2-dichloroethane", "1-2-dichloroethane"),
        ("bicyclo[2.2.1]heptane", "bicyclo(2,2,1)heptane"),
        ("3-(2,4-dichlorophenyl)", "3,2,4-dichlorophenyl"),
    ],
)
def test_spellings_of_one_name_share_a_key(one: str, other: str) -> None:
    assert search_key(one) == search_key(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("1,2-dichloroethane", "1,1-dichloroethane"),
        ("1,2-dichloroethane", "12-dichloroethane"),
        ("bicyclo[1.2.3]", "bicyclo[12.3]"),
        ("1-2-x", "12-x"),
        ("1 2-x", "12-x"),
        ("3-(2,4-dichlorophenyl)", "32,4-dichlorophenyl"),
        ("benzene1(8CI)2", "benzene12"),
        ("1_2", "12"),
        ("(+)-limonene", "(-)-limonene"),
        ("(+)-limonene", "limonene"),
        ("N,N'-dimethylurea", "N,N-dimethylurea"),
        ("2'-hydroxyacetophenone", "2-hydroxyacetophenone"),
        ("ベンゼン", "ヘンゼン"),
        ("パ", "バ"),
        ("エーテル", "エテル"),
        ("ッ", "ツ"),
        ("йод", "иод"),
        ("o-xylene", "p-xylene"),
    ],
)
def test_different_substances_keep_different_keys(one: str, other: str) -> None:
    assert search_key(one) != search_key(other)


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("Äthylacetat", ("athylacetat", "aethylacetat")),
        ("O\u0308L", ("ol", "oel")),
        ("Benzoesäure", ("benzoesaure", "benzoesaeure")),
        ("Aethanol", ("aethanol",)),
        ("acétone", ("acetone",)),
        ("--", ("",)),
    ],
)
def test_umlauts_have_a_second_key_spelled_out(name: str, keys: tuple[str, ...]) -> None:
    assert search_keys(name) == keys


@given(NAMES)
def test_the_first_of_the_keys_is_the_key(name: str) -> None:
    first, *further = search_keys(name)
    assert first == search_key(name)
    assert all(search_key(key) == key != first for key in further)


NUMBERED = st.lists(
    st.sampled_from([*"0129abnx", *" .,-()[]{}'/_:;–·²", "(+)-", "(±)", "yl", ", ", " - "]), max_size=14
).map("".join)  # fmt: skip


def numbers(name: str) -> list[str]:
    """The maximal runs of digits; an exponent is a digit like any other."""
    return re.findall(r"\d+", name.replace("²", "2"))


@given(NUMBERED)
@example("1.2")
@example("1),(2")
@example("1(+)2")
def test_a_key_has_the_numbers_of_its_name(name: str) -> None:
    # An index name begins with its end, so its numbers change places.
    assume(not (", " in name and name.rstrip().endswith(("-", "–"))))
    assert numbers(search_key(name)) == numbers(name)


@given(NUMBERED, NUMBERED)
def test_names_with_other_numbers_have_other_keys(one: str, other: str) -> None:
    assume(sorted(numbers(one)) != sorted(numbers(other)))
    assert search_key(one) != search_key(other)


def test_a_name_of_signs_alone_has_no_key() -> None:
    assert search_key(" -[ ]. ") == ""

"""Names: claims, ranks, what is shown, what is taken away; and the hand tables behind them."""

import hashlib
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from cutpoint.pipeline import hand_tables
from cutpoint.pipeline.hand_tables import HAND_TABLES, HouseTables, OnHeating, house_tables, peroxide_observations
from cutpoint.pipeline.naming import Bearer, Naming, name_all, name_to_show, says_mixture
from cutpoint.pipeline.read import read
from cutpoint.pipeline.sources import element_forms, on_heating, peroxide_formers, streams, trade_names
from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.names import search_key

TABLE_FOLDER = Path(hand_tables.__file__).parent / "sources"


HAND_MODULES = (element_forms, on_heating, peroxide_formers, streams, trade_names)
TABLES = {module.SOURCE.name: module.SOURCE for module in HAND_MODULES}


def frame_of(name: str) -> pd.DataFrame:
    return read(TABLES[name]).frame


@pytest.fixture(scope="module")
def house() -> HouseTables:
    return house_tables({name: frame_of(name) for name in ("element_forms", "trade_names", "streams")})


def bearer(cas: str, *names: str, ordinary: bool = True, single: bool = True, compound: bool = True) -> Bearer:
    return Bearer(cas, "identifiers", 1, ordinary, compound, single, list(names))


def bearer_abroad(cas: str, names: tuple[str, ...], *translations: tuple[str, str]) -> Bearer:
    """A component with names in other languages, as (name, language), in rows of one table."""
    further = [("translations", row, *translation) for row, translation in enumerate(translations, 1)]
    return replace(bearer(cas, *names), further=further)


def name_these(house: HouseTables, *bearers: Bearer, n_sources: dict[str, int] | None = None) -> Naming:
    return name_all(bearers, house, n_sources or {})


def ranked(naming: Naming, name: str) -> list[tuple[str, str]]:
    rows = naming.names[naming.names["search_key"] == search_key(name)].sort_values("rank")
    assert rows["rank"].tolist() == list(range(1, len(rows) + 1))
    return list(zip(rows["cas"], rows["claim"], strict=True))


@pytest.mark.parametrize("module", HAND_MODULES)
def test_hand_table_is_the_locked_one_and_cites_each_row(module: object) -> None:
    source = module.SOURCE  # type: ignore[attr-defined]
    assert hashlib.sha256((TABLE_FOLDER / source.file).read_bytes()).hexdigest() == source.sha256
    frame = frame_of(source.name)
    assert (frame["citation"] != "").all()
    assert all(is_cas(cas) for cas in frame["cas"] if cas != "*")
    assert not frame.duplicated().any()


def test_no_rule_takes_away_what_another_gives(house: HouseTables) -> None:
    assert [entry.name for entry in house.names if house.why_taken_away(search_key(entry.name), entry.cas)
            and entry.source != "streams"] == []  # fmt: skip


def test_hand_tables_have_the_extent_that_a_bench_needs() -> None:
    trade = frame_of("trade_names")
    assert (trade["rule"] == "is").sum() >= 80
    assert len(frame_of("streams")) >= 40
    assert len(frame_of("peroxide_formers")) >= 45
    assert len(frame_of("on_heating")) >= 250
    assert set(HAND_TABLES) == {"element_forms", "trade_names", "streams", "peroxide_formers", "on_heating"}


def test_a_wrong_check_digit_in_a_hand_table_stops_the_build() -> None:
    frame = frame_of("streams").replace("8032-32-4", "8032-32-5")
    with pytest.raises(BuildFailed, match="8032-32-5"):
        house_tables({"streams": frame})


def test_what_does_not_boil_is_told_once_each_and_in_known_words() -> None:
    told = house_tables({"on_heating": frame_of("on_heating")}).on_heating or {}
    assert told["124-38-9"].behaviour == "sublimes"
    assert told["57-50-1"] == OnHeating("decomposes", "from 160 to 186 °C")
    with pytest.raises(BuildFailed, match="evaporates"):
        house_tables({"on_heating": frame_of("on_heating").replace({"behaviour": {"sublimes": "evaporates"}})})
    with pytest.raises(BuildFailed, match="second for 124-38-9"):
        house_tables({"on_heating": frame_of("on_heating").replace({"cas": {"2551-62-4": "124-38-9"}})})


def test_peroxide_classes_become_observations() -> None:
    observations = peroxide_observations(frame_of("peroxide_formers")).set_index("cas")
    # National Research Council, Prudent Practices in the Laboratory (2011), table 4.8; from memory
    assert observations.loc["108-20-3", "raw"] == "A"
    assert observations.loc["109-99-9", "raw"] == "B"
    assert observations.loc["100-42-5", "raw"] == "C"
    assert observations["value"].isna().all()
    assert set(observations["unit"]) == {"class"}


def test_peroxide_class_that_does_not_exist_is_refused() -> None:
    with pytest.raises(BuildFailed, match="not A, B or C"):
        peroxide_observations(frame_of("peroxide_formers").replace({"class": {"A": "E"}}))


@pytest.mark.parametrize(
    ("name", "cas"),
    # The form in which each is sold: common practice, no source.
    [
        ("hydrogen", "1333-74-0"),
        ("nitrogen", "7727-37-9"),
        ("chlorine", "7782-50-5"),
        ("sulphur", "7704-34-9"),
        ("phosphorus", "7723-14-0"),
        ("carbon", "7440-44-0"),
        ("mercury", "7439-97-6"),
        ("aluminium", "7429-90-5"),
    ],
)
def test_an_element_is_the_form_in_which_it_is_sold(house: HouseTables, name: str, cas: str) -> None:
    atom = bearer("10000-00-0", name, name, ordinary=False)
    naming = name_these(house, bearer(cas, "something", "else"), atom)
    assert ranked(naming, name) == [(cas, "house"), ("10000-00-0", "alias")]


def test_sulfur_is_not_hydrogen_sulfide(house: HouseTables) -> None:
    naming = name_these(house, bearer("7783-06-4", "sulfane", "hydrogen sulfide", "sulfur"), bearer("7704-34-9"))
    assert ranked(naming, "sulfur") == [("7704-34-9", "house")]
    assert naming.taken_away["field"].tolist() == ["name:sulfur"]


@pytest.mark.parametrize(
    ("cas", "common", "wrong"),
    [
        ("71-43-2", "benzene", "petroleum ether"),
        ("71-43-2", "benzene", "benzine"),
        ("56-41-7", "l-alanine", "lpg"),
        ("107-83-5", "2-methylpentane", "hexanes"),
        ("74-82-8", "methane", "natural gas"),
        ("95-47-6", "o-xylene", "xylene"),
        ("64-17-5", "ethanol", "methylated spirit"),
        ("50-00-0", "methanal", "formalin"),
        ("64-19-7", "acetic acid", "vinegar"),
        ("123-51-3", "isoamyl alcohol", "fusel oil"),
        ("67-63-0", "isopropanol", "rubbing alcohol"),
        ("138-86-3", "dipentene", "orange oil"),
        ("79-09-4", "propionic acid", "methyl acetate"),
        ("50-00-0", "methanal", "formaldehyde solution"),
        ("104-40-5", "4-nonylphenol", "nonylphenol (mixed)"),
        ("96-33-3", "methyl acrylate", "poly(methyl acrylate)"),
        ("7647-01-0", "hydrogen chloride", "Hydrochloric acid"),
        ("7647-01-0", "hydrogen chloride", "muriatic acid"),
        ("7647-01-0", "hydrogen chloride", "hydrochloric acid in ethanol"),
        ("7664-39-3", "hydrogen fluoride", "hydrofluoric acid"),
        ("10035-10-6", "hydrogen bromide", "hydrobromic acid"),
        ("10034-85-2", "hydrogen iodide", "hydriodic acid"),
        ("7664-41-7", "ammonia", "aqueous ammonia"),
        ("7664-41-7", "ammonia", "ammonia water"),
        ("7664-41-7", "ammonia", "ammonium hydroxide"),
        ("50-00-0", "methanal", "formic aldehyde solution"),
        ("50-00-0", "methanal", "paraformaldehyde"),
        ("7446-09-5", "sulfur dioxide", "sulphurous acid"),
        ("7782-50-5", "chlorine", "chlorine water"),
        ("7722-84-1", "hydrogen peroxide", "perhydrol"),
        ("7722-84-1", "hydrogen peroxide", "hydrogen peroxide, 30%"),
    ],
)
def test_a_mixtures_name_is_taken_from_the_compound_and_recorded(
    house: HouseTables, cas: str, common: str, wrong: str
) -> None:
    naming = name_these(house, bearer(cas, common, common, wrong))
    assert cas not in [held for held, _ in ranked(naming, wrong)]
    assert naming.shown[cas] == house.shown.get(cas, common)  # type: ignore[union-attr]
    told = naming.taken_away.iloc[0]
    assert (told["source"], told["source_row"], told["field"], told["cas"]) == ("identifiers", 1, f"name:{wrong}", cas)


@pytest.mark.parametrize(
    ("cas", "names"),
    [
        ("7647-01-0", ["chlorane", "hydrogen chloride", "hydrochloric acid gas", "anhydrous hydrochloric acid"]),
        ("7664-39-3", ["fluorane", "hydrogen fluoride", "hydrogen fluoride, anhydrous"]),
        ("10035-10-6", ["bromane", "hydrogen bromide", "anhydrous hydrobromic acid"]),
        ("10034-85-2", ["iodane", "hydrogen iodide", "hydrogen iodide, anhydrous"]),
        ("7664-41-7", ["azane", "ammonia", "anhydrous ammonia", "liquid ammonia"]),
        ("50-00-0", ["methanal", "formaldehyde", "formic aldehyde", "formaldehyde, gas"]),
        ("7722-84-1", ["hydrogen peroxide", "dihydrogen dioxide"]),
        ("7732-18-5", ["oxidane", "water", "distilled water", "aqua"]),
        ("7789-20-0", ["heavy water"]),
    ],
)
def test_the_pure_compound_keeps_its_names(house: HouseTables, cas: str, names: list[str]) -> None:
    naming = name_these(house, bearer(cas, *names))
    assert naming.taken_away.empty
    assert all(ranked(naming, name)[0][0] == cas for name in names)


def test_ammonium_hydroxide_is_the_solutions_own_number(house: HouseTables) -> None:
    solution = bearer("1336-21-6", "azanium;hydroxide", "ammonium hydroxide", "aqueous ammonia", single=False)
    naming = name_these(house, bearer("7664-41-7", "azane", "ammonia", "aqueous ammonia"), solution)
    assert ranked(naming, "aqueous ammonia") == [("1336-21-6", "alias")]
    assert ranked(naming, "ammonium hydroxide") == [("1336-21-6", "own")]


@pytest.mark.parametrize(
    "name",
    [
        "cyanamide, 50% aqueous", "methanesulfonic acid, 70% soln", "tert-butyl peracetate, 75% soln.in benzene",
        "1.25 m hcl in isopropanol", "silica, 30 wt. % suspension in h2o", "hydrogen bromide in acetic acid",
        "salpetersaeureloesungen", "fosforzuuroplossingen [dutch]", "soluzione", "bromine water",
        "ethyl ethynyl ether (50% by wt.in hexane)", "ethyl alcohol and water", "bowl cleaner", "hand sanitizer gel",
    ],
)  # fmt: skip
def test_a_name_says_that_it_is_a_solutions(name: str) -> None:
    assert says_mixture(name)
    assert says_mixture(name.upper())


def test_a_mixture_keeps_its_own_names(house: HouseTables) -> None:
    by_own_name = bearer("10000-00-0", "oct-1-ene;non-1-ene", "olefin mixture", "c8-c9 olefin mixture")
    by_structure = bearer("10000-01-1", "a;b", "ab", "ab mixture", single=False)
    unknown = bearer("10000-02-2", "kerosene", compound=False, single=False)
    naming = name_these(house, by_own_name, by_structure, unknown)
    assert naming.taken_away.empty


@pytest.mark.parametrize(
    "name",
    [
        "oil yellow 2g", "polyglycol", "mixidine", "toluidine", "boiling stone", "ethyl mustard oil", "heavy water",
        "tolu-sol", "water", "absolute ethanol", "soluble starch", "detergent alkylate",
    ],
)  # fmt: skip
def test_words_that_only_resemble_a_mixtures_are_left_alone(name: str) -> None:
    assert not says_mixture(name)


def test_a_shared_name_stays_with_all_and_is_ranked(house: HouseTables) -> None:
    hexane = bearer("110-54-3", "hexane", "hexane")
    radical = bearer("2493-44-9", "hexane", "2-hexyl radical", ordinary=False)
    blend = bearer("10000-00-0", "blend", "blend", "hexane")
    naming = name_these(house, radical, blend, hexane)
    assert ranked(naming, "hexane") == [("110-54-3", "own"), ("10000-00-0", "alias"), ("2493-44-9", "alias")]


def test_number_of_sources_then_cas_order_break_ties(house: HouseTables) -> None:
    one, other = bearer("10000-00-0", "a", "b", "same"), bearer("10000-01-1", "c", "d", "same")
    assert [cas for cas, _ in ranked(name_these(house, other, one), "same")] == ["10000-00-0", "10000-01-1"]
    observed = name_these(house, one, other, n_sources={"10000-01-1": 3})
    assert [cas for cas, _ in ranked(observed, "same")] == ["10000-01-1", "10000-00-0"]


def test_an_abbreviation_that_two_substances_share_is_ranked_by_the_hand_table(house: HouseTables) -> None:
    naming = name_these(house, bearer("102-71-6", "x"), bearer("121-44-8", "y"))
    assert ranked(naming, "TEA") == [("121-44-8", "house"), ("102-71-6", "house")]


def test_own_number_and_empty_keys_are_no_names(house: HouseTables) -> None:
    naming = name_these(house, bearer("141-78-6", "ethyl ethanoate", "ethyl acetate", "141-78-6", "--", "205-500-4"))
    assert set(naming.names["name"]) >= {"ethyl ethanoate", "ethyl acetate", "205-500-4"}
    assert not set(naming.names["name"]) & {"141-78-6", "--"}


def test_kinds(house: HouseTables) -> None:
    naming = name_these(
        house, bearer("75-09-2", "bis(chloranyl)methane", "dichloromethane", "methane, dichloro-", "DCM")
    )
    kinds = naming.names.set_index("name")["kind"].to_dict()
    assert kinds["bis(chloranyl)methane"] == "systematic"
    assert kinds["DCM"] == "trade"
    assert set(naming.names["language"]) == {"en"}


def test_a_name_is_kept_once_for_each_language(house: HouseTables) -> None:
    naming = name_these(
        house,
        bearer_abroad(
            "67-64-1", ("propan-2-one", "acetone"), ("acetona", "es"), ("Acetona", "es"), ("acetona", "pt"),
            ("acetone", "it"), ("acetone", "en"), ("アセトン", "ja"), ("67-64-1", "mul"), ("--", "de"),
        ),
    )  # fmt: skip
    mine = naming.names[naming.names["cas"] == "67-64-1"]
    held = mine[~mine["claim"].eq("house") & ~mine["source"].eq("identifiers")]
    assert list(zip(held["search_key"], held["language"], held["claim"], held["rank"], strict=True)) == [
        ("acetona", "es", "alias", 1),
        ("acetona", "pt", "alias", 1),
        ("acetone", "it", "alias", 1),
        ("アセトン", "ja", "alias", 1),
    ]
    assert dict(zip(mine["search_key"], mine["language"], strict=True))["propan2one"] == "en"


def test_a_german_umlaut_is_found_spelled_out_too(house: HouseTables) -> None:
    naming = name_these(house, bearer_abroad("65-85-0", ("benzoic acid",), ("Benzoesäure", "de"), ("Bräu", "fr")))
    assert ranked(naming, "benzoesaeure") == ranked(naming, "benzoesaure") == [("65-85-0", "alias")]
    assert ranked(naming, "braeu") == []


def test_names_in_other_languages_change_nothing_of_the_english_ones(house: HouseTables) -> None:
    names = {"110-54-3": ("hexane", "hexane"), "96-14-0": ("3-methylpentane", "hexane"), "50-00-0": ()}
    before = name_these(house, *(bearer(cas, *held) for cas, held in names.items()))
    translations = (("Hexan", "de"), ("hexane", "fr"), ("methanal", "mul"))
    after = name_these(house, *(bearer_abroad(cas, held, *translations) for cas, held in names.items()))
    english = after.names[after.names["language"] == "en"].reset_index(drop=True)
    pd.testing.assert_frame_equal(english, before.names)
    assert after.shown == before.shown | {"50-00-0": "methanal"}
    assert len(after.names) > len(english)


def test_a_mixtures_name_is_taken_away_in_any_language_and_recorded_once(house: HouseTables) -> None:
    naming = name_these(
        house,
        bearer_abroad(
            "50-00-0", ("methanal", "formaldehyde"), ("Formaldehydlösung", "de"), ("Formalin", "de"), ("Formalin", "pl")
        ),
    )
    assert naming.taken_away["field"].tolist() == ["name:Formaldehydlösung", "name:Formalin"]
    assert set(naming.names.loc[naming.names["cas"] == "50-00-0", "language"]) == {"en"}


@pytest.mark.parametrize(
    ("names", "shown"),
    [
        ((("Demoacetal", "de"), ("Acetal Demo", "mul")), "Acetal Demo"),
        ((("Demoacetal", "de"),), "Demoacetal"),
        ((("Demoacetal", "de"), ("demo acetal", "en")), "demo acetal"),
    ],
)
def test_a_foreign_name_is_shown_where_there_is_no_english_one(
    house: HouseTables, names: tuple[tuple[str, str], ...], shown: str
) -> None:
    assert name_these(house, bearer_abroad("67-64-1", (), *names)).shown["67-64-1"] == shown


@pytest.mark.parametrize(
    ("name", "language"),
    [
        ("Aceton-Wasser-Gemisch", "de"), ("mélange d'acétone", "fr"), ("mezcla de acetona", "es"),
        ("solução de acetona", "pt"), ("miscela di acetone", "it"), ("roztwór acetonu", "pl"),
        ("mengsel met aceton", "nl"), ("アセトン水溶液", "ja"), ("раствор ацетона", "ru"),
    ],
)  # fmt: skip
def test_a_mixture_says_so_in_its_language(house: HouseTables, name: str, language: str) -> None:
    naming = name_these(house, bearer_abroad("67-64-1", ("propan-2-one", "acetone"), (name, language)))
    assert naming.taken_away["field"].tolist() == [f"name:{name}"]


@pytest.mark.parametrize(
    ("names", "shown"),
    [
        (("propan-2-one", "acetone"), "acetone"),
        (("1,2-bis(chloranyl)ethane", "1,2-dichloroethane"), "1,2-dichloroethane"),
        (("androstanone", "stk366316", "anaprotin"), "anaprotin"),
        (("x-one", "nsc44670", "x"), "x"),
        (("thing", "ac1l4hys"), "thing"),
        (("thing", "einecs 233-025-2"), "thing"),
        (("thing", "92742-29-5"), "thing"),
        (("chloranylethene", "ethene, chloro-", "vinyl chloride"), "vinyl chloride"),
        (("2-methylpentane", "2-Methylpentane"), "2-methylpentane"),
        (("x", "GDP"), "GDP"),
        (("allyl isothiocyanate", "senfol [german]"), "allyl isothiocyanate"),
    ],
)
def test_name_to_show(names: tuple[str, ...], shown: str) -> None:
    assert name_to_show(names[0], names[1:]) == shown


def test_an_index_name_alone_is_put_straight() -> None:
    assert name_to_show(None, ["benzene, 1,2-dichloro-"]) == "1,2-dichlorobenzene"
    assert name_to_show(None, []) is None

"""A build with a snapshot: what it adds, that it is reproduced, and that without one all is as before."""

from __future__ import annotations

import shutil
from pathlib import Path

import duckdb
import pytest

from cutpoint.db.differences import differences
from cutpoint.pipeline import cache
from cutpoint.pipeline.build import build, verify
from cutpoint.pipeline.live import opened, read_live
from cutpoint.pipeline.report import BuildReport
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.errors import SourceChanged, SourceMissing

from .snapshots import CELSIUS, KPA, statement, write_snapshot

SMALL = ("identifiers_pubchem_small", "crc_enthalpies_of_vaporization", "poling_wagner", "trade_names", "streams")
WITHOUT_THE_REST = tuple(source.name for source in all_sources() if source.name not in SMALL)

ACETONE, LACTIC_ACID, NEW, WRONG_DIGIT = "67-64-1", "50-21-5", "1000000-00-9", "1000000-00-1"
WITHOUT_STRUCTURE = "10034-85-2"
"""A substance that the small build knows by its values alone."""
ACETONE_KEY, ETHANOL_KEY = "CSCPPACGZOOCGX-UHFFFAOYSA-N", "LFQSCWFLJHTTHZ-UHFFFAOYSA-N"

ITEMS = (
    {"item": "Q1", "cas": ACETONE, "inchikey": ACETONE_KEY, "smiles": "CC(C)=O", "formula": "C₃H₆O"},
    {"item": "Q2", "cas": NEW, "smiles": "CCCCOC(C)(C)OCCC"},
    {"item": "Q3", "cas": LACTIC_ACID},
    {"item": "Q3", "cas": "79-33-4"},
    {"item": "Q4", "cas": WRONG_DIGIT, "smiles": "CCO", "formula": "C2H6O"},
    {"item": "Q5", "cas": WITHOUT_STRUCTURE, "smiles": "CCO", "formula": "(C₂H₄O)ₙ"},
)
VALUES = (
    statement("Q1", "P2102", "56.1", CELSIUS),
    statement("Q1", "P2102", "56", CELSIUS, pressure_amount="101.3", pressure_unit=KPA),
    statement("Q1", "P2102", "20.5", CELSIUS, pressure_amount="2", pressure_unit=KPA),
    statement("Q1", "P2102", "156.1", CELSIUS),
    statement("Q1", "P2102", "56.1", "Q7"),
    statement("Q2", "P2102", "180", CELSIUS),
    statement("Q3", "P2102", "122", CELSIUS),
)
NAMES = (
    {"item": "Q1", "language": "de", "text": "Propanon", "kind": "label"},
    {"item": "Q1", "language": "ja", "text": "アセトン", "kind": "label"},
    {"item": "Q2", "language": "en", "text": "an invented acetal", "kind": "label"},
    {"item": "Q3", "language": "de", "text": "Milchsäure", "kind": "label"},
    {"item": "Q9", "language": "de", "text": "Niemandsstoff", "kind": "label"},
)
IDENTITIES = (
    {"cas": ACETONE, "cid": "702", "inchikey": ETHANOL_KEY, "smiles": "CCO", "formula": "C2H6O", "title": "Ethanol"},
    {"cas": NEW, "cid": "5", "smiles": "CCCCOC(C)(C)OCCC", "molar_mass_g_mol": "174.28"},
)
SYNONYMS = ({"cas": NEW, "cid": "5", "synonym": "invented acetal"},)
REJECTED = ({"source": "wikidata_live", "key": "Q8", "raw": "unknown value", "reason": "no amount"},)

TABLES = {
    "wikidata_items": ITEMS,
    "wikidata_values": VALUES,
    "wikidata_names": NAMES,
    "pubchem_identities": IDENTITIES,
    "pubchem_synonyms": SYNONYMS,
    "rejected": REJECTED,
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("live")


@pytest.fixture(scope="module", autouse=True)
def own_cache(folder: Path) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache, "default_folder", lambda: folder / "stages")
        yield


@pytest.fixture(scope="module")
def plain(folder: Path) -> BuildReport:
    return build(folder / "plain.duckdb", without=WITHOUT_THE_REST)


@pytest.fixture(scope="module")
def snapshot(folder: Path) -> Path:
    write_snapshot(folder / "snapshot", **TABLES)
    return folder / "snapshot"


@pytest.fixture(scope="module")
def live(plain: BuildReport, snapshot: Path, folder: Path) -> BuildReport:
    return build(folder / "live.duckdb", without=WITHOUT_THE_REST, snapshot=snapshot)


def asked(report: BuildReport, query: str) -> list[tuple[object, ...]]:
    with duckdb.connect(report.path, read_only=True) as connection:
        return connection.execute(query).fetchall()


def test_every_row_of_the_snapshot_is_accounted_for(live: BuildReport) -> None:
    told = {source["source"]: (source["rows_read"], source["rows_kept"]) for source in live.sources}
    assert {name: told[name] for name in told if name.startswith(("wikidata_", "pubchem_", "live_"))} == {
        "wikidata_values": (7, 5),
        "wikidata_items": (6, 2),
        "wikidata_names": (5, 3),
        "pubchem_identities": (2, 1),
        "pubchem_synonyms": (1, 1),
        "live_rejected": (1, 0),
    }


def test_refusals_keep_their_text(live: BuildReport) -> None:
    refused = asked(
        live,
        "SELECT source, raw, reason FROM rejected WHERE field = '*' AND source SIMILAR TO '(wikidata|pubchem|live)_.*'",
    )
    told = "\n".join("\t".join(map(str, row)) for row in refused)
    for words in (
        "a unit that is not known: Q7",
        "its item has several CAS numbers: 50-21-5, 79-33-4",
        "its item has no CAS number",
        f"{ETHANOL_KEY}, but identifiers_pubchem_small row",
        "CAS check digit: it would have to be 9",
        "wikidata_live: no amount",
    ):
        assert words in told
    assert "Niemandsstoff" in told and "unknown value" in told


def test_several_values_stand_side_by_side_and_speak_with_one_voice(live: BuildReport) -> None:
    rows = asked(
        live,
        "SELECT property, round(value, 2), status, reason FROM observation "
        f"WHERE source = 'wikidata_values' AND cas = '{ACETONE}' ORDER BY source_row",
    )
    assert sorted(row[:3] for row in rows if row[0] == "normal_boiling_point") == [
        ("normal_boiling_point", 329.15, "accepted"),
        ("normal_boiling_point", 329.25, "accepted"),
        ("normal_boiling_point", 429.25, "outlier"),
    ]
    (point,) = [row for row in rows if row[0] == "vapour_pressure"]
    assert point[1:3] == (2000.0, "outlier")  # acetone has 24 kPa there
    assert "off its curve" in str(point[3])


def test_the_packaged_identity_stays_and_a_new_substance_comes_in(live: BuildReport) -> None:
    (acetone,) = asked(live, f"SELECT inchikey, source FROM component WHERE cas = '{ACETONE}'")
    assert acetone == (ACETONE_KEY, "identifiers_pubchem_small")
    (new,) = asked(live, f"SELECT name, formula, source FROM component WHERE cas = '{NEW}'")
    assert new == ("an invented acetal", "C10H22O2", "pubchem_identities")


def test_a_live_structure_that_is_refused_costs_nothing_of_what_is_known(live: BuildReport, plain: BuildReport) -> None:
    held = f"SELECT property, value FROM evaluation WHERE cas = '{WITHOUT_STRUCTURE}' ORDER BY ALL"
    assert asked(live, held)
    assert {row[0] for row in asked(live, held)} == {row[0] for row in asked(plain, held)}


def test_a_snapshot_that_is_replaced_during_a_build_ends_it(snapshot: Path, folder: Path) -> None:
    moving = folder / "moving"
    shutil.copytree(snapshot, moving)
    began = opened(moving)
    write_snapshot(moving, **TABLES | {"wikidata_names": NAMES[:1]})
    with pytest.raises(SourceChanged, match="replaced while it was read"):
        read_live(began, began.sources[0])


def test_names_carry_their_language(live: BuildReport) -> None:
    names = asked(live, "SELECT name, language, claim FROM name WHERE source = 'wikidata_names' ORDER BY name")
    assert names == [
        ("Propanon", "de", "alias"),
        ("an invented acetal", "en", "alias"),
        ("アセトン", "ja", "alias"),
    ]


def test_without_it_the_store_is_the_one_from_before(plain: BuildReport, live: BuildReport, folder: Path) -> None:
    assert plain.digest != live.digest
    again = build(folder / "plain.duckdb", without=WITHOUT_THE_REST)
    assert again.digest == plain.digest


def test_diff_shows_what_a_refresh_changed(plain: BuildReport, live: BuildReport) -> None:
    changed = differences(plain.path, live.path).components
    assert changed.appeared == 1


def test_verify_needs_the_same_snapshot(live: BuildReport, plain: BuildReport, snapshot: Path, folder: Path) -> None:
    with pytest.raises(SourceMissing, match="--snapshot"):
        verify(Path(live.path))
    with pytest.raises(SourceChanged, match="built with none"):
        verify(Path(plain.path), snapshot=snapshot)
    write_snapshot(folder / "other", **TABLES | {"rejected": ()})
    with pytest.raises(SourceChanged, match="Name the snapshot that it was built with"):
        verify(Path(live.path), snapshot=folder / "other")


def test_verify_with_the_same_snapshot_finds_the_same_tables(live: BuildReport, snapshot: Path, folder: Path) -> None:
    moved = folder / "elsewhere"
    shutil.copytree(snapshot, moved)
    assert verify(Path(live.path), snapshot=moved).differences == []


def test_a_changed_snapshot_is_refused_and_the_old_store_stays(live: BuildReport, snapshot: Path, folder: Path) -> None:
    damaged = folder / "damaged"
    shutil.copytree(snapshot, damaged)
    file = damaged / "wikidata_values.parquet"
    file.write_bytes(file.read_bytes()[:-1] + b"x")
    before = Path(live.path).read_bytes()
    with pytest.raises(SourceChanged, match=r"wikidata_values\.parquet"):
        build(Path(live.path), without=WITHOUT_THE_REST, snapshot=damaged)
    assert Path(live.path).read_bytes() == before


def test_no_snapshot_in_the_folder_is_told(folder: Path) -> None:
    with pytest.raises(SourceMissing, match="cutpoint refresh"):
        build(folder / "none.duckdb", without=WITHOUT_THE_REST, snapshot=folder / "nothing")

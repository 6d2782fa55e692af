"""What changed between two stores: each kind of change, made on purpose in a copy of the small store."""

from __future__ import annotations

import itertools
import json
import shutil
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

import duckdb
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutpoint.db.changes import (
    HAZARD_CHANGES,
    BuildItem,
    ComponentChange,
    GradeChange,
    PropertyDifferences,
    RejectionChange,
    SizesOfChange,
    StatusChange,
    StoreDifferences,
)
from cutpoint.db.differences import differences
from cutpoint.db.side_by_side import TwoStores
from cutpoint.schema import SCHEMA_VERSION
from cutpoint.schema.errors import CutpointError, StoreDamaged, StoreMissing, StoreOutdated, WrongUsage
from cutpoint.schema.tables import TABLES, key_of

Edited = Callable[..., Path]


def edit(path: Path, *statements: str) -> None:
    with duckdb.connect(str(path)) as connection:
        for statement in statements:
            connection.execute(statement)


@pytest.fixture
def edited(small_store_path: Path, tmp_path: Path) -> Edited:
    """Make a copy of the small store and change it."""
    numbers = itertools.count()

    def make(*statements: str) -> Path:
        path = Path(shutil.copy(small_store_path, tmp_path / f"edited{next(numbers)}.duckdb"))
        edit(path, *statements)
        return path

    return make


def of(found: StoreDifferences, property: str) -> PropertyDifferences:
    (held,) = (held for held in found.evaluations if held.property == property)
    return held


def rows(found: StoreDifferences) -> dict[str, tuple[int, int, int]]:
    """Rows added, removed and changed of the tables that differ."""
    return {table.table: (table.added, table.removed, table.changed) for table in found.tables if table.differs}


def nothing_in(found: StoreDifferences) -> bool:
    parts = (found.build, found.evaluations, found.curves.changes, found.components.changes, found.hazards.changes)
    return found.identical and not any((*parts, found.statuses, found.rejections))


def test_a_store_and_itself(small_store_path: Path) -> None:
    assert nothing_in(differences(small_store_path, small_store_path))


def test_a_store_and_its_link(small_store_path: Path, tmp_path: Path) -> None:
    (tmp_path / "link.duckdb").symlink_to(small_store_path)
    assert nothing_in(differences(small_store_path, tmp_path / "link.duckdb"))


def test_a_store_and_its_copy(small_store_path: Path, edited: Edited) -> None:
    found = differences(small_store_path, edited())
    assert nothing_in(found)
    assert {table.table for table in found.tables} == set(TABLES) - {"build"}
    assert {(table.added, table.removed, table.changed) for table in found.tables} == {(0, 0, 0)}
    assert "hold the same rows" in str(found)


def test_every_table_is_compared_by_its_declared_key(small_store_path: Path, edited: Edited) -> None:
    with TwoStores(small_store_path, edited()) as both:
        assert both.keys() == {table: tuple(key_of(table)) for table in TABLES}


def test_build_items(small_store_path: Path, edited: Edited) -> None:
    items = "INSERT INTO build VALUES ('library:sieve', '1.0'), ('without', ''), ('digest', 'a'), ('digest:name', 'b')"
    later = [items, "UPDATE build SET value = '1.1' WHERE item = 'library:sieve'"]
    found = differences(edited(items), edited(*later, "UPDATE build SET value = 'c' WHERE item LIKE 'digest%'"))
    assert found.build == (BuildItem("library:sieve", "1.0", "1.1"),)
    assert found.identical
    assert BuildItem("without", None, "") in differences(small_store_path, edited(items)).build


# Shifts of a boiling point whose U95 is 0.2 K (ethanol), and where each is counted.
SIZES = [
    ("value = value * (1 + 1e-13)", SizesOfChange(1, 0, 0, 0, 0)),
    ("n_sources = 9", SizesOfChange(1, 0, 0, 0, 0)),
    ("value = value + 0.015", SizesOfChange(0, 1, 0, 0, 0)),
    ("value = value - 0.09", SizesOfChange(0, 0, 1, 0, 0)),
    ("value = value + 0.19", SizesOfChange(0, 0, 0, 1, 0)),
    ("value = value - 40", SizesOfChange(0, 0, 0, 0, 1)),
]
ETHANOL_BOILS = "WHERE cas = '64-17-5' AND property = 'normal_boiling_point'"


@pytest.mark.parametrize(("setting", "sizes"), SIZES)
def test_sizes_of_change(small_store_path: Path, edited: Edited, setting: str, sizes: SizesOfChange) -> None:
    found = differences(small_store_path, edited(f"UPDATE evaluation SET {setting} {ETHANOL_BOILS}"))
    assert rows(found) == {"evaluation": (0, 0, 1)}
    held = of(found, "normal_boiling_point")
    assert (held.added, held.removed, held.changed, held.sizes) == (0, 0, 1, sizes)
    assert len(held.largest) == (sizes.none == 0)


def test_the_largest_change_comes_first(small_store_path: Path, edited: Edited) -> None:
    path = edited(
        f"UPDATE evaluation SET value = value - 40, grade = 'D' {ETHANOL_BOILS}",
        # 42 K are less than 40 K in units of the stated uncertainty, 2 K against 0.2 K.
        "UPDATE evaluation SET value = value + 42 WHERE cas = '56-81-5' AND property = 'normal_boiling_point'",
        "UPDATE evaluation SET value = value + 1 WHERE cas = '67-64-1' AND property = 'normal_boiling_point'",
    )
    held = of(differences(small_store_path, path, limit=2), "normal_boiling_point")
    assert [change.name for change in held.largest] == ["ethanol", "glycerol"]
    assert held.sizes.above_1_u95 == 3
    first = held.largest[0]
    assert (first.old_value, first.old_u95, first.old_grade, first.new_grade) == (351.44, 0.2, "A", "D")
    assert first.change == pytest.approx(-40.0)
    assert first.change_per_u95 == pytest.approx(200.0)
    assert held.grades == (GradeChange("A", "D", 1),)


def test_an_uncertainty_of_zero_is_exceeded_by_any_change(edited: Edited) -> None:
    exact = f"UPDATE evaluation SET u95 = 0 {ETHANOL_BOILS}"
    shifted = f"UPDATE evaluation SET value = value + 0.001 {ETHANOL_BOILS}"
    held = of(differences(edited(exact), edited(exact, shifted)), "normal_boiling_point")
    assert held.sizes.above_1_u95 == 1
    assert held.largest[0].change_per_u95 is None


def test_a_value_that_went(small_store_path: Path, edited: Edited) -> None:
    found = differences(small_store_path, edited(f"DELETE FROM evaluation {ETHANOL_BOILS}"))
    held = of(found, "normal_boiling_point")
    assert (held.added, held.removed, held.changed) == (0, 1, 0)
    (lost,) = held.lost
    assert (lost.name, lost.old_value, lost.new_value, lost.change) == ("ethanol", 351.44, None, None)


HAZARDS = [
    ("flash_point", "value = value - 2", "more dangerous"),
    ("flash_point", "conservative = conservative - 2", "more dangerous"),
    ("flash_point", "value = value + 2, conservative = conservative - 2", "more dangerous"),
    ("flash_point", "value = value + 2", "less dangerous"),
    ("flash_point", "value = value * (1 - 1e-13)", None),
    ("flash_point", "sources = 'another'", None),
    ("autoignition_temperature", "value = value - 100", "more dangerous"),
    ("lower_flammability_limit", "value = 0.010", "more dangerous"),
    ("upper_flammability_limit", "value = 0.40", "more dangerous"),
    ("upper_flammability_limit", "value = 0.30", "less dangerous"),
    ("exposure_limit", "value = value / 2", "more dangerous"),
    # A mole fraction is no concentration: the smaller number says nothing.
    ("exposure_limit", "value = 4e-4, conservative = 4e-4, unit = '1'", "restated"),
    ("exposure_limit", "conservative = NULL", "restated"),
    ("peroxide_former", "text = 'A'", "more dangerous"),
    ("peroxide_former", "text = 'C'", "restated"),
]
UPPER_LIMIT = """
    INSERT INTO hazard VALUES ('60-29-7', 'upper_flammability_limit', 'value', 0.36, 0.36, '1', NULL, 'demo_hazards')
"""


@pytest.mark.parametrize(("property", "setting", "kind"), HAZARDS)
def test_a_hazard_that_moved(edited: Edited, property: str, setting: str, kind: str | None) -> None:
    moved = f"UPDATE hazard SET {setting} WHERE cas = '60-29-7' AND property = '{property}'"
    found = differences(edited(UPPER_LIMIT), edited(UPPER_LIMIT, moved))
    assert rows(found) == {"hazard": (0, 0, 1)}
    assert [(change.name, change.property, change.change) for change in found.hazards.changes] == (
        [("diethyl ether", property, kind)] if kind else []
    )
    assert found.hazards.counts == {name: int(name == kind) for name in HAZARD_CHANGES}


BURNING = ("60-29-7", "108-88-3", "107-92-6", "95-47-6")
LIMITED = ("60-29-7", "630-08-0")


def test_hazards_on_the_dangerous_side_come_first_and_whole(small_store_path: Path, edited: Edited) -> None:
    path = edited(
        f"UPDATE hazard SET value = value - 5 WHERE property = 'flash_point' AND cas IN {BURNING}",
        "UPDATE hazard SET value = value + 5 WHERE property = 'autoignition_temperature'",
        f"DELETE FROM hazard WHERE property = 'exposure_limit' AND cas IN {LIMITED}",
        UPPER_LIMIT,
    )
    found = differences(small_store_path, path, limit=1).hazards
    assert list(found.counts.values()) == [4, 0, 2, 2, 1]
    assert [change.change for change in found.changes] == ["more dangerous"] * 4 + [
        "no longer held",
        "less dangerous",
        "newly held",
    ]
    assert found.changes[0].name == "diethyl ether", "5 K is most where the flash point is lowest"


def test_curves(small_store_path: Path, edited: Edited) -> None:
    path = edited(
        "DELETE FROM vapour_curve WHERE cas = '7732-18-5'",
        "UPDATE vapour_curve SET source = 'demo_other', grade = 'C' WHERE cas = '64-17-5'",
        "UPDATE vapour_curve SET coefficients = list_reverse(coefficients) WHERE cas = '67-64-1'",
    )
    found = differences(small_store_path, path).curves
    assert (found.added, found.removed, found.changed) == (0, 1, 2)
    assert (found.equation_changed, found.source_changed, found.restated) == (0, 1, 1)
    assert found.grades == (GradeChange("B", "C", 1),)
    assert [(change.name, change.new_source) for change in found.changes] == [
        ("water", None),
        ("ethanol", "demo_other"),
    ]


def test_components(small_store_path: Path, edited: Edited) -> None:
    path = edited(
        "DELETE FROM component WHERE cas = '50-99-7'",
        "UPDATE component SET name = 'ethyl ethanoate' WHERE cas = '141-78-6'",
        "UPDATE component SET molar_mass_g_mol = 58.08 WHERE cas = '67-64-1'",
        "INSERT INTO component SELECT '78-93-3', 'butan-2-one', * EXCLUDE (cas, name) FROM component LIMIT 1",
    )
    found = differences(small_store_path, path)
    assert (found.components.appeared, found.components.disappeared, found.components.renamed) == (1, 1, 1)
    assert found.components.changes == (
        ComponentChange("78-93-3", None, "butan-2-one"),
        ComponentChange("50-99-7", "glucose", None),
        ComponentChange("141-78-6", "ethyl acetate", "ethyl ethanoate"),
    )


def test_observations_under_another_status(small_store_path: Path, edited: Edited) -> None:
    path = edited(
        "UPDATE observation SET status = 'outlier', reason = 'wrong unit' WHERE source = 'demo_a' AND source_row < 4",
        "UPDATE observation SET status = 'accepted', reason = NULL WHERE source = 'demo_c' AND source_row = 1",
        "UPDATE observation SET reason = 'another' WHERE source = 'demo_c' AND source_row = 2",
    )
    found = differences(small_store_path, path)
    assert rows(found) == {"observation": (0, 0, 5)}
    assert found.statuses == (
        StatusChange("demo_a", "normal_boiling_point", 3, 0),
        StatusChange("demo_c", "normal_boiling_point", 0, 1),
    )


def test_rejections(edited: Edited) -> None:
    refused = "INSERT INTO rejected VALUES ('demo_a', {}, '*', NULL, 'raw', '{}')"
    old = edited(refused.format(1, "no unit"), refused.format(2, "no unit"), refused.format(3, "no value"))
    new = edited(refused.format(1, "no unit"), refused.format(3, "no value"), refused.format(4, "twice"))
    assert differences(old, new).rejections == (
        RejectionChange("demo_a", "no unit", 2, 1),
        RejectionChange("demo_a", "twice", 0, 1),
    )


CHANGES = [
    f"{change} WHERE hash(cas) % 7 < {share}"
    for share in (1, 3)
    for change in (
        "DELETE FROM evaluation",
        "DELETE FROM component",
        "DELETE FROM vapour_curve",
        "DELETE FROM hazard",
        "DELETE FROM observation",
        "DELETE FROM name",
        "UPDATE evaluation SET value = value * 1.001",
        "UPDATE evaluation SET grade = 'C'",
        "UPDATE hazard SET value = value * 1.1",
        "UPDATE component SET name = name || ' (new)'",
        "UPDATE observation SET status = 'outlier'",
    )
]


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(before=st.sets(st.sampled_from(CHANGES), max_size=4), after=st.sets(st.sampled_from(CHANGES), max_size=4))
def test_the_way_back_mirrors_the_way(edited: Edited, before: set[str], after: set[str]) -> None:
    old, new = edited(*sorted(before)), edited(*sorted(after))
    there, back = differences(old, new), differences(new, old)
    assert nothing_in(differences(old, old))
    assert rows(there) == {table: (removed, added, n) for table, (added, removed, n) in rows(back).items()}
    for way, other in zip(there.evaluations, back.evaluations, strict=True):
        assert (way.property, way.added, way.removed, way.changed) == (
            (other.property, other.removed, other.added, other.changed)
        )
        assert {(change.old, change.new, change.components) for change in way.grades} == {
            (change.new, change.old, change.components) for change in other.grades
        }
        assert way.sizes.none == other.sizes.none
        assert way.changed == sum(asdict(way.sizes).values())
    assert (there.components.appeared, there.components.renamed) == (
        (back.components.disappeared, back.components.renamed)
    )
    assert there.hazards.counts["newly held"] == back.hazards.counts["no longer held"]
    assert there.hazards.counts["more dangerous"] == back.hazards.counts["less dangerous"]
    json.dumps(asdict(there), allow_nan=False)


@pytest.mark.parametrize("which", ["old", "new"])
@pytest.mark.parametrize(
    ("spoil", "error"),
    [
        (lambda path: path.unlink(), StoreMissing),
        (lambda path: path.write_bytes(path.read_bytes()[:20_000]), StoreDamaged),
        (lambda path: path.write_bytes(b"used eluent, drum 3 " * 2_000), StoreDamaged),
        (lambda path: edit(path, "UPDATE build SET value = '0' WHERE item = 'schema_version'"), StoreOutdated),
    ],
)
def test_which_of_the_two_cannot_be_read(
    small_store_path: Path, edited: Edited, which: str, spoil: Callable[[Path], object], error: type[CutpointError]
) -> None:
    spoilt = edited()
    spoil(spoilt)
    pair = (spoilt, small_store_path) if which == "old" else (small_store_path, spoilt)
    with pytest.raises(error, match=f"The {which} one") as told:
        differences(*pair)
    assert str(spoilt) in told.value.message
    assert "cutpoint rebuild" in told.value.message


def test_a_damage_that_opening_does_not_see(small_store_path: Path, edited: Edited) -> None:
    """Every block in turn is overwritten: an unused one does no harm, any other is told with the store it is in."""
    whole, block = small_store_path.read_bytes(), 262_144
    spoilt, met = edited(), set()
    for start in range(3 * 4096, len(whole), block):
        spoilt.write_bytes(whole[:start] + b"\xa5" * min(block, len(whole) - start) + whole[start + block :])
        try:
            differences(small_store_path, spoilt)
        except StoreDamaged as error:
            assert str(spoilt) in error.message
            assert str(small_store_path) not in error.message
            met.add(error.message.split(" cannot ")[0])
    assert met


def test_tables_of_an_unfinished_version(small_store_path: Path, edited: Edited) -> None:
    with pytest.raises(StoreOutdated, match="not the same tables and columns"):
        differences(small_store_path, edited("ALTER TABLE observation ADD COLUMN remark VARCHAR"))


def test_somebody_elses_tables(tmp_path: Path, small_store_path: Path) -> None:
    for name in ("a", "b"):
        edit(
            tmp_path / f"{name}.duckdb",
            "CREATE TABLE build (item VARCHAR, value VARCHAR)",
            f"INSERT INTO build VALUES ('schema_version', '{SCHEMA_VERSION}')",
            "CHECKPOINT",
        )
    with pytest.raises(StoreDamaged, match="no component store"):
        differences(tmp_path / "a.duckdb", tmp_path / "b.duckdb")


def test_a_path_with_a_quote(small_store_path: Path, tmp_path: Path) -> None:
    odd = shutil.copy(small_store_path, tmp_path / "it's here; --.duckdb")
    assert differences(odd, small_store_path).identical


def test_a_negative_limit(small_store_path: Path) -> None:
    with pytest.raises(WrongUsage, match="-1"):
        differences(small_store_path, small_store_path, limit=-1)

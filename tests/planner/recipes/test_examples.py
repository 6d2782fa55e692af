"""The commented recipes, the reference of all keys, and the declaration behind them."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from cutpoint.planner.recipes.example import BRUSH_CLEANER, USED_ELUENT, write_new
from cutpoint.planner.recipes.keys import KEYS, MEANINGS, TABLES, Key
from cutpoint.planner.recipes.reading import parse_recipe, read_recipe
from cutpoint.planner.recipes.recipe import NOT_VOLATILE
from cutpoint.planner.recipes.reference import reference
from cutpoint.schema.errors import WrongUsage


def test_the_used_eluent() -> None:
    recipe = read_recipe(USED_ELUENT)
    lines = USED_ELUENT.read_text(encoding="utf-8").splitlines()
    assert lines[recipe.label_line - 1].startswith("n-Hexane")
    assert (recipe.target, recipe.altitude_m, recipe.column.plates) == ("ethyl acetate", 1600.0, 3)
    assert set(recipe.meanings.values()) == {NOT_VOLATILE}


def test_the_brush_cleaner() -> None:
    recipe = read_recipe(BRUSH_CLEANER)
    assert recipe.amount.volume_m3 == pytest.approx(2e-3)
    assert recipe.amount.price == pytest.approx(11.6)
    assert set(recipe.meanings.values()) == {NOT_VOLATILE}


def test_the_used_eluent_shows_every_table_and_key() -> None:
    text = USED_ELUENT.read_text(encoding="utf-8")
    for table in TABLES:
        assert not table.name or re.search(rf"^(# )?\[{table.name}\]$", text, re.MULTILINE), table.name
    for key in KEYS:
        assert re.search(rf"^(# )?{key.name} = ", text, re.MULTILINE), key.name


def test_what_is_commented_out_in_the_used_eluent_is_sound_too() -> None:
    text = USED_ELUENT.read_text(encoding="utf-8")
    optional = r"^# (\[package\]|temperature|pressure = \"450|holdup|price_per_kg)"
    package = re.sub(optional, r"\1", text, flags=re.MULTILINE)
    recipe = parse_recipe(package.encode(), "recipe.toml")
    assert recipe.package is not None
    assert recipe.price_per_kg_ice == 0.8
    others = {
        'volume = "2 L"': "packages",
        'altitude = "1600 m"': "pressure = .84",
        'kind = "Vigreux"': "plates",
        "reflux_ratio = 4": "take_off",
    }
    for given, other in others.items():
        text = re.sub(rf"^# ({other})", r"\1", text.replace(f"\n{given}", ""), flags=re.MULTILINE)
    text = text.replace("# size", "size").replace('\nheight = "30 cm"', "")
    assert parse_recipe(text.encode(), "recipe.toml").column.plates == 5


@pytest.mark.parametrize("key", KEYS, ids=lambda key: f"{key.table}-{key.name}")
def test_the_example_of_a_key_is_sound(key: Key) -> None:
    key.kind.read(tomllib.loads(key.line)[key.name])


def test_the_reference_tells_every_table_and_key() -> None:
    told = reference()
    for table in TABLES:
        assert table.what in told
    for key in KEYS:
        assert re.search(rf"^\| {key.name} +\| {re.escape(key.what)} ", told, re.MULTILINE), key.name
    assert f"[{MEANINGS}]" in told


def test_keys_are_declared_once_in_tables_that_there_are() -> None:
    assert len({(key.table, key.name) for key in KEYS}) == len(KEYS)
    assert {key.table for key in KEYS} | {MEANINGS} == {table.name for table in TABLES}


def test_a_new_recipe_is_written_and_nothing_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "new.toml"
    write_new(path)
    assert read_recipe(path).target == "ethyl acetate"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(WrongUsage, match="exists already and is left as it is"):
        write_new(path)
    assert path.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("place", ["no folder/new.toml", "a\0b"])
def test_a_place_where_nothing_can_be_written(tmp_path: Path, place: str) -> None:
    with pytest.raises(WrongUsage, match="cannot be written"):
        write_new(tmp_path / place)


def test_a_folder_is_not_written_over(tmp_path: Path) -> None:
    with pytest.raises(WrongUsage):
        write_new(tmp_path)

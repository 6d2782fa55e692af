"""Sound recipes, and files that are none."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cutpoint.planner.recipes.reading import MOST_BYTES, parse_recipe, read_recipe
from cutpoint.planner.recipes.recipe import NOT_VOLATILE, Amount, Column, Package, Recipe
from cutpoint.schema.errors import WrongRecipe
from cutpoint.schema.properties import ATMOSPHERE_PA

Read = Callable[..., Recipe]

WHOLE = b"""\
title = "Wash-up  solvent\\n of May"
label = '''

toluene 50 %
''' # as printed
[meanings]
"Dye, red" = "Non-volatile"
'Thinner "B"' = " 108-88-3 "
[feed]
basis = "Volume"
packages = 4
size = "500 mL"
price = 3.20
currency = "EUR"
[target]
ingredient = " toluene "
purity = "99.5 %"
[place]
altitude = "1600 m"
[column]
plates = 5
holdup = "8 mL"
take_off = "2 mL/min"
[heat]
power = "0.15 kW"
share = "100 %"
price_per_kWh = 1
[cooling]
coolant = "50 degF"
receiver_bath = "-5 degC"
price_per_kg_ice = 0.8
[package]
temperature = "20 degC"
pressure = "4.5 bar"
[thermometer]
correction = "-0.5 K"
"""


def test_a_recipe_with_every_table() -> None:
    recipe = parse_recipe(WHOLE, "recipe.toml")
    assert recipe.title == "Wash-up solvent of May"
    assert (recipe.label, recipe.label_file, recipe.label_line) == ("\ntoluene 50 %\n", "recipe.toml", 3)
    assert recipe.meanings == {"Dye, red": NOT_VOLATILE, 'Thinner "B"': "108-88-3"}
    assert recipe.basis == "volume"
    assert recipe.amount == Amount(None, pytest.approx(2e-3), pytest.approx(12.8), "EUR")
    assert (recipe.target, recipe.purity) == ("toluene", pytest.approx(0.995))
    assert (recipe.pressure_Pa, recipe.altitude_m) == (pytest.approx(83_528, abs=1), 1600.0)
    assert recipe.column == Column(5, None, None, pytest.approx(8e-6))
    assert (recipe.reflux_ratio, recipe.take_off_m3_s) == (None, pytest.approx(2e-6 / 60))
    assert (recipe.heat_W, recipe.heat_share, recipe.price_per_kWh) == (pytest.approx(150.0), 1.0, 1.0)
    assert (recipe.coolant_K, recipe.receiver_bath_K) == (pytest.approx(283.15), pytest.approx(268.15))
    assert recipe.price_per_kg_ice == 0.8
    assert recipe.package == Package(pytest.approx(293.15), pytest.approx(450_000.0))
    assert recipe.thermometer_correction_K == -0.5


def test_what_is_left_out_has_its_default(read: Read) -> None:
    recipe = read()
    assert recipe == Recipe(
        title="ethyl acetate",
        label="hexane 60-70 %, ethyl acetate 30-40 %",
        label_file="recipe.toml",
        label_line=1,
        basis="mass",
        amount=Amount(None, pytest.approx(2e-3), None, ""),
        meanings={},
        target="ethyl acetate",
        purity=0.95,
        pressure_Pa=ATMOSPHERE_PA,
        altitude_m=None,
        column=Column(3, "Vigreux", 0.3, pytest.approx(4.5e-6)),
        reflux_ratio=3.0,
        take_off_m3_s=None,
        heat_W=None,
        heat_share=0.6,
        coolant_K=None,
        receiver_bath_K=None,
        package=None,
        thermometer_correction_K=0.0,
        price_per_kWh=None,
        price_per_kg_ice=None,
    )


@pytest.mark.parametrize(
    ("given", "mass_kg", "volume_m3", "price"),
    [
        ('mass = "1500 g"\nprice = 7', 1.5, None, 7.0),
        ('volume = "0.5 L"\nprice = 7', None, 5e-4, 7.0),
        ('packages = 3\nsize = "400 g"\nprice = 7', 1.2, None, 21.0),
        ('packages = 3\nsize = "400 mL"', None, 1.2e-3, None),
    ],
)
def test_amounts(read: Read, given: str, mass_kg: float | None, volume_m3: float | None, price: float | None) -> None:
    amount = read(('volume = "2 L"', given)).amount
    assert amount.mass_kg == pytest.approx(mass_kg)
    assert amount.volume_m3 == pytest.approx(volume_m3)
    assert amount.price == pytest.approx(price)


@pytest.mark.parametrize(
    ("column", "told", "reflux_ratio"),
    [
        ('kind = "bare still head"', Column(0, "bare still head", None, 0.0), 0.0),
        ('kind = "Claisen"\nreflux_ratio = 1', Column(0, "Claisen head", None, 0.0), 1.0),
        ('kind = "vigreux column"\nheight = "8 cm"', Column(0, "Vigreux", pytest.approx(0.08), 0.0), 0.0),
        ('kind = "Vigreux"\nheight = "0.4 m"\nholdup = "0 mL"', Column(4, "Vigreux", 0.4, 0.0), 3.0),
        ("plates = 0", Column(0, None, None, 0.0), 0.0),
        ("plates = 7\nreflux_ratio = 12.5", Column(7, None, None, pytest.approx(7e-6)), 12.5),
    ],
)
def test_columns(read: Read, column: str, told: Column, reflux_ratio: float) -> None:
    recipe = read(('kind = "Vigreux"\nheight = "30 cm"', column))
    assert (recipe.column, recipe.reflux_ratio) == (told, reflux_ratio)


def test_a_pressure_from_a_barometer(read: Read) -> None:
    recipe = read(("[column]", '[place]\npressure = "626 mmHg"\n[column]'))
    assert (recipe.pressure_Pa, recipe.altitude_m) == (pytest.approx(83_459.8, abs=0.1), None)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "windows-1252"])
def test_encodings(encoding: str) -> None:
    content = WHOLE.decode().replace("toluene 50 %", "toluène 50 %").replace("\n", "\r\n").encode(encoding)
    recipe = parse_recipe(content, "recipe.toml")
    assert (recipe.label, recipe.label_line) == ("\ntoluène 50 %\n", 3)


def test_a_label_in_a_file_beside_the_recipe(tmp_path: Path) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_bytes(WHOLE.replace(b"label = '''\n\ntoluene 50 %\n'''", b'label_file = "label.txt"'))
    (tmp_path / "label.txt").write_bytes("toluène 50 %\r\nzinc < 1 %".encode("windows-1252"))
    read = read_recipe(recipe)
    assert (read.label, read.label_file, read.label_line) == ("toluène 50 %\nzinc < 1 %", "label.txt", 1)


@pytest.mark.parametrize(
    ("file", "content", "told"),
    [
        ("absent.txt", None, "recipe.toml, line 2, label_file: There is no label"),
        (".", None, "is a folder"),
        ("\\u0000", None, "cannot be read"),
        ("a" * 199, None, "cannot be read"),
        ("empty.txt", b" \n", "The label 'empty.txt' is empty"),
        ("binary.txt", b"\x00\x01", "binary.txt is no text"),
        ("long.txt", b"a" * (MOST_BYTES + 1), "longer than 1 MB"),
    ],
)
def test_a_label_file_that_cannot_be_read(tmp_path: Path, file: str, content: bytes | None, told: str) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_bytes(WHOLE.replace(b"label = '''\n\ntoluene 50 %\n'''", f'label_file = "{file}"'.encode()))
    if content is not None:
        (tmp_path / file).write_bytes(content)
    with pytest.raises(WrongRecipe) as raised:
        read_recipe(recipe)
    if file == "a" * 199:  # some file systems take so long a name: then it is not there
        assert "label_file" in raised.value.message
    else:
        assert told in raised.value.message


def test_a_recipe_that_is_no_file_names_none() -> None:
    content = WHOLE.replace(b"label = '''\n\ntoluene 50 %\n'''", b'label_file = "label.txt"')
    with pytest.raises(WrongRecipe, match="line 2, label_file: A recipe that is no file itself"):
        parse_recipe(content, "recipe.toml")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (None, "There is no recipe"),
        (b"\x7fELF\x00\x00", "recipe.toml is no text"),
        ("title".encode("utf-16"), "recipe.toml, at its end: this is no TOML"),
        (b"#" * (MOST_BYTES + 1), "longer than 1 MB"),
        (b'title = "a"\nheight = 30 cm\n', "recipe.toml, line 2: this is no TOML"),
        (b"[column", "recipe.toml, at its end: this is no TOML"),
        (b"title = " + b"9" * 5000, "a number or date that nothing can have"),
        (b"title = " + b"[" * 50_000, "brackets in brackets"),
        (b"", "the table [feed] is missing"),
    ],
)
def test_files_that_are_no_recipe(tmp_path: Path, content: bytes | None, told: str) -> None:
    recipe = tmp_path / "recipe.toml"
    if content is not None:
        recipe.write_bytes(content)
    with pytest.raises(WrongRecipe) as raised:
        read_recipe(recipe)
    assert told.replace("the table [feed]", "[feed]: the table") in raised.value.message


def test_a_folder_is_no_recipe(tmp_path: Path) -> None:
    with pytest.raises(WrongRecipe, match="is a folder"):
        read_recipe(tmp_path)


def test_a_file_that_never_ends_is_not_read_to_its_end() -> None:
    if not Path("/dev/zero").exists():
        pytest.skip("there is no endless file here")
    with pytest.raises(WrongRecipe, match="longer than 1 MB"):
        read_recipe(Path("/dev/zero"))

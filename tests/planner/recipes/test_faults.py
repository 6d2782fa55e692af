"""Every fault of a recipe is told with its line and key."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cutpoint.planner.recipes.checking import MOST_TOLD

Faults = Callable[..., list[str]]

LABEL = 'label = "hexane 60-70 %, ethyl acetate 30-40 %"'
COLUMN = 'kind = "Vigreux"\nheight = "30 cm"'


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        # Types and units.
        ('height = "30 cm"', "height = 30", 'line 12, [column] height: 30 has no unit: write number and unit, in quot'),
        ('height = "30 cm"', "height = 30", 'For example: height = "30 cm"'),
        ('height = "30 cm"', 'height = "30"', "line 12, [column] height: '30' has no unit: a length needs one"),
        ('height = "30 cm"', "height = true", "line 12, [column] height: true is no length"),
        ('height = "30 cm"', "height = [30]", "a list is no length"),
        ('height = "30 cm"', "height.a = 1", "line 12, [column] height: a table is no length"),
        ('height = "30 cm"', "height = 2024-01-01", "a date or time is no length"),
        ('height = "30 cm"', 'height = "30 K"', "A length is asked for, but '30 K' is a temperature"),
        ('height = "30 cm"', f'height = "{"3" * 70} cm"', "is too long for a length"),
        ('volume = "2 L"', 'volume = "2 kg"', "line 4, [feed] volume: A volume is asked for, but '2 kg' is a mass"),
        ('volume = "2 L"', 'packages = 2\nsize = "2 m"', "line 5, [feed] size: A volume is asked for"),
        ('volume = "2 L"', 'volume = "2 L"\nprice = "3"', "line 5, [feed] price: '3' is no bare number"),
        ('volume = "2 L"', 'volume = "2 L"\nprice = true', "line 5, [feed] price: true is no bare number"),
        ('volume = "2 L"', 'packages = 2.5\nsize = "1 L"', "line 4, [feed] packages: 2.5 is no bare whole number"),
        ('volume = "2 L"', 'volume = "2 L"\nbasis = 1', '[feed] basis: 1 is neither "mass" or "volume".'),
        ('volume = "2 L"', 'volume = "2 L"\nbasis = "volum"', 'Is "volume" meant?'),
        ('purity = "95 %"', "purity = 0.95", "line 8, [target] purity: 0.95 has no unit"),
        ('ingredient = "ethyl acetate"', "ingredient = 5", "line 7, [target] ingredient: 5 is no text"),
        (LABEL, "label = 5", "line 1, label: 5 is no text in quotation marks"),
        (COLUMN, 'plates = 5\ntake_off = "2 mL"', "line 12, [column] take_off: A flow is asked for, but '2 mL' is a v"),
        ("[column]", '[heat]\npower = "1 V"\n[column]', "line 11, [heat] power: A power is asked for"),
        ("[column]", '[package]\ntemperature="20 degC"\npressure="12 psig"\n[column]', "psig is a gauge pressure"),
        # What nothing can have.
        ('volume = "2 L"', 'volume = "0 L"', "line 4, [feed] volume: A volume must be greater than zero"),
        ('volume = "2 L"', 'mass = "0 g"', "line 4, [feed] mass: A mass must be greater than zero"),
        ('volume = "2 L"', 'mass = "-1 g"', "A mass must be greater than zero"),
        ('volume = "2 L"', 'packages = 0\nsize = "1 L"', "[feed] packages: 0 is not between 1 and 10000"),
        ('volume = "2 L"', 'volume = "2 L"\nprice = -1', "[feed] price: -1 is not between 0 and 1000000"),
        ('volume = "2 L"', 'volume = "2 L"\nprice = nan', "[feed] price: nan is not between"),
        ('volume = "2 L"', 'volume = "2 L"\nprice = inf', "[feed] price: inf is not between"),
        ('volume = "2 L"', f'volume = "2 L"\nprice = 0x{"f" * 5000}', "[feed] price: a huge number is not between"),
        ('purity = "95 %"', 'purity = "100 %"', "line 8, [target] purity: A purity lies between 0 % and 100 %"),
        ('height = "30 cm"', 'height = "0 cm"', "line 12, [column] height: A length must be greater than zero"),
        ('height = "30 cm"', 'height = "-5 cm"', "A length must be greater than zero"),
        (COLUMN, "plates = -1", "line 11, [column] plates: -1 is not between 0 and 100"),
        (COLUMN, "plates = 101", "101 is not between 0 and 100"),
        (COLUMN, "plates = 4.0", "4.0 is no bare whole number"),
        (COLUMN, "plates = true", "true is no bare whole number"),
        (COLUMN, "plates = 5\nreflux_ratio = -1", "line 12, [column] reflux_ratio: -1 is not between 0 and 1000"),
        (COLUMN, "plates = 5\nreflux_ratio = 1001", "1001 is not between 0 and 1000"),
        (COLUMN, 'plates = 5\nholdup = "-1 mL"', "line 12, [column] holdup: A volume is not negative"),
        ("[column]", '[place]\npressure = "0 kPa"\n[column]', "line 11, [place] pressure: A pressure must be greater"),
        ("[column]", '[heat]\npower = "0 W"\n[column]', "line 11, [heat] power: A power must be greater"),
        ("[column]", '[heat]\nshare = "101 %"\n[column]', "line 11, [heat] share: A share lies above 0 %"),
        ("[column]", '[cooling]\ncoolant = "-300 degC"\n[column]', "line 11, [cooling] coolant: '-300 degC' lies belo"),
        # What no bench has.
        ('volume = "2 L"', 'volume = "500 ML"', "line 4, [feed] volume: that is more than 1000 kg or 1000 L"),
        ('volume = "2 L"', 'packages = 9999\nsize = "1 kg"', "line 4, [feed] packages: that is more than 1000 kg"),
        ('height = "30 cm"', 'height = "30 m"', "line 12, [column] height: no bench has more than 3 m"),
        ('height = "30 cm"', 'height = "1e300 m"', "no bench has more than 3 m"),
        (COLUMN, 'kind = "concentric tube"\nheight = "2 m"', "line 12, [column] height: it makes 200 plates"),
        (COLUMN, 'plates = 5\nholdup = "2 L"', "line 12, [column] holdup: the column holds 2000 mL, all that there i"),
        ('volume = "2 L"', 'volume = "2 mL"', "line 11, [column] kind: the column holds 4.5 mL"),
        ("[column]", '[place]\npressure = "84 bar"\n[column]', "line 11, [place] pressure: the air presses less"),
        ("[column]", '[place]\naltitude = "99 km"\n[column]', "line 11, [place] altitude: An altitude of 99000 m"),
        ("[column]", '[thermometer]\ncorrection = "500 K"\n[column]', "line 11, [thermometer] correction: a thermomet"),
        # Names.
        ('volume = "2 L"', 'volum = "2 L"', "line 4, [feed] volum: there is no such key. Is volume meant?"),
        ('volume = "2 L"', 'volume = "2 L"\nXyz = 1', "[feed] Xyz: there is no such key. The keys are basis, mass,"),
        ('volume = "2 L"', 'volume = "2 L"\npurity = 1', "line 5, [feed] purity: there is no such key. It belongs in"),
        ('volume = "2 L"', 'volume = "2 L"\ntitle = ""', "It belongs at the top, before the first table."),
        ('volume = "2 L"', 'volume = "2 L"\n"a\\nb" = 1', "line 5, [feed] 'a\\nb': there is no such key"),
        ("[feed]", "[fed]", "line 3, [fed]: there is no such table. Is [feed] meant?"),
        ("[feed]", "[zzz]", "line 3, [zzz]: there is no such table. The tables are meanings, feed,"),
        ("[feed]", "[[feed]]", "line 3, feed: feed is a table: write [feed] on a line of its own"),
        (LABEL, f'{LABEL}\ntitel = "x"', "line 2, titel: there is no such key. Is title meant?"),
        (LABEL, f'{LABEL}\nheat = "150 W"', "line 2, heat: heat is a table: write [heat] on a line of its own"),
        (COLUMN, 'kind = "Vigreu"\nheight = "30 cm"', "line 11, [column] kind: 'Vigreu' is no kind of column"),
        (COLUMN, 'kind = "Vigreu"\nheight = "30 cm"', "Nearest is 'Vigreux'. Known are: bare still head; Claisen head"),
        (LABEL, f'{LABEL}\nmeanings.resin = 5', "line 2, [meanings] resin: 5 is no meaning"),
        (LABEL, f'{LABEL}\nmeanings.resin = " "', "line 2, [meanings] resin: ' ' is no meaning"),
        (LABEL, f'[meanings]\n{LABEL}', "line 2, [meanings] label: It belongs at the top, before the first table."),
        # What is missing, and what excludes what.
        (LABEL, "", "recipe.toml, label: one of label, label_file is missing. For example: label ="),
        (LABEL, 'label = " "', "line 1, label: the text is empty"),
        (LABEL, f'{LABEL}\nlabel_file = "label.txt"', "line 2, label_file: label and label_file exclude each other"),
        ('volume = "2 L"', "", 'line 3, [feed] mass: one of mass, volume, packages is missing. For example: mass = "1'),
        ('volume = "2 L"', 'volume = "2 L"\nmass = "1 kg"', "line 4, [feed] volume: mass and volume exclude each othe"),
        ('volume = "2 L"', "packages = 4", 'line 4, [feed] packages: their size is missing. For example: size = "500'),
        ('volume = "2 L"', 'volume = "2 L"\nsize = "1 L"', "line 5, [feed] size: how many packages are there?"),
        ('[feed]\nvolume = "2 L"', "", 'recipe.toml, [feed]: the table is missing. For example: [feed] with packages'),
        ('purity = "95 %"', "", 'line 6, [target] purity: it is missing. For example: purity = "95 %"'),
        ('ingredient = "ethyl acetate"', "", "line 6, [target] ingredient: it is missing."),
        ('kind = "Vigreux"', "", "line 12, [column] height: plates are told by number: leave the height out"),
        ('height = "30 cm"', "", 'line 10, [column] height: it is missing. For example: height = "30 cm"'),
        (COLUMN, "", "line 10, [column] kind: one of kind, plates is missing."),
        (f"[column]\n{COLUMN}", "", "recipe.toml, [column]: the table is missing. For example: [column] with plates ="),
        (COLUMN, f"{COLUMN}\nplates = 5", "line 13, [column] plates: kind and plates exclude each other"),
        (COLUMN, 'kind = "none"\nheight = "9 cm"', "line 12, [column] height: a bare still head has no plates"),
        (COLUMN, 'plates = 5\nreflux_ratio = 3\ntake_off = "2 mL/min"', "line 13, [column] take_off: reflux_ratio and"),
        (COLUMN, 'plates = 5\ntake_off = "2 mL/min"', "line 12, [column] take_off: it tells the reflux ratio only tog"),
        ("[column]", '[place]\npressure = "84 kPa"\naltitude = "5 m"\n[column]', "line 12, [place] altitude: pressure"),
        ("[column]", "[package]\n[column]", 'line 10, [package] temperature: it is missing. For example: temperature'),
    ],
)  # fmt: skip
def test_faults(faults: Faults, old: str, new: str, told: str) -> None:
    lines = faults((old, new))
    assert any(told in line for line in lines), lines
    assert all(line.startswith("recipe.toml, ") for line in lines)


def test_all_faults_are_told_at_once_in_the_order_of_the_file(faults: Faults) -> None:
    lines = faults(
        ('volume = "2 L"', 'volum = "2 L"'),
        ('purity = "95 %"', 'purity = "120 %"'),
        (COLUMN, 'kind = "Vigreux"\nheight = 30'),
        (LABEL, ""),
    )
    assert [line.split(":")[0] for line in lines] == [
        "recipe.toml, line 3, [feed] mass",
        "recipe.toml, line 4, [feed] volum",
        "recipe.toml, line 8, [target] purity",
        "recipe.toml, line 12, [column] height",
        "recipe.toml, label",
    ]


def test_so_many_faults_are_not_told_one_by_one(faults: Faults) -> None:
    keys = "\n".join(f"wrong_{number} = 1" for number in range(MOST_TOLD + 5))
    lines = faults(("[target]", f"{keys}\n[target]"))
    assert len(lines) == MOST_TOLD + 1
    assert lines[-1] == "recipe.toml: 5 more like these."


def test_faults_in_inline_tables_and_dotted_keys(faults: Faults) -> None:
    lines = faults(
        (f"[column]\n{COLUMN}", ""),
        (LABEL, f'column = {{ kind = "Vigreux", height = 30 }}\nthermometer.correction = 1\n{LABEL}'),
    )
    assert [line.split(":")[0] for line in lines] == [
        "recipe.toml, line 1, [column] height",
        "recipe.toml, line 2, [thermometer] correction",
    ]

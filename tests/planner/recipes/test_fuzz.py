"""Damaged recipes: whatever stands in the file, it is read or refused in words."""

from __future__ import annotations

import random
import re

import pytest

from cutpoint.planner.recipes.example import BRUSH_CLEANER, USED_ELUENT
from cutpoint.planner.recipes.reading import parse_recipe
from cutpoint.planner.recipes.recipe import Recipe
from cutpoint.schema.errors import WrongRecipe

CASES = 6000
BATCHES = 6

WRONG_VALUES = (
    "nan", "-inf", "1e999", "9" * 60, "0x" + "f" * 4000, "9" * 5000, "true", "1979-05-27", "07:32:00", "[]", "{}",
    "[[[]]]", "{ a = { b = 1 } }", '""', '" "', '"\\u0000"', '"nan K"', '"1e999 L"', '"5"', '"5 flurb"', '"1/0 s"',
    '"-1 %"', '"3 dB"', '"1e300 m"', '"/"', '"1 /"', '"1 L/L"', '"5 K"', '"5 kg"', '"5 mL"', '"5 %"', '"0 W"', "-1",
    "0", "1.5", "101", "'''\n[feed]\n'''", '"""x"""', "1_000", '"' + "x" * 3000 + '"', '"é\u2028\u202e\ud7ff"',
)  # fmt: skip


def _mutated(lines: list[str], chance: random.Random) -> bytes:
    """A recipe with one to four damages."""
    lines = list(lines)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(lines))
        damage = chance.randrange(6)
        if damage == 0:
            del lines[at : at + chance.randint(1, 3)]
            lines = lines or ["\n"]
        elif damage == 1:
            lines.insert(at, chance.choice(lines))
        elif damage == 2:
            other = chance.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif damage in (3, 4):
            with_values = [place for place, line in enumerate(lines) if re.match(r"\w+ = [^\"]|\w+ = \"[^\"]", line)]
            if with_values:
                at = chance.choice(with_values)
                lines[at] = f"{lines[at].split('=')[0]}= {chance.choice(WRONG_VALUES)}\n"
        else:
            lines[at] = re.sub("^# ", "", lines[at])
    content = bytearray("".join(lines).encode())
    if chance.random() < 0.4:
        for _ in range(chance.randint(1, 3)):
            content[chance.randrange(len(content))] = chance.choice((chance.randrange(256), *b"\"'[]{}=.#\n\\"))
    return bytes(content)


@pytest.mark.parametrize("seed", range(BATCHES))
def test_damaged_recipes_are_read_or_refused(seed: int) -> None:
    chance = random.Random(seed)
    recipes = [path.read_text(encoding="utf-8").splitlines(keepends=True) for path in (USED_ELUENT, BRUSH_CLEANER)]
    # Without comments most damages hit something.
    recipes += [[line for line in lines if line.strip() and not line.startswith("#")] for lines in recipes]
    read = refused = 0
    for _ in range(CASES // BATCHES):
        content = _mutated(chance.choice(recipes), chance)
        try:
            assert isinstance(parse_recipe(content, "recipe.toml"), Recipe)
            read += 1
        except WrongRecipe as error:
            assert error.message.startswith("recipe.toml")
            assert all(line.startswith("recipe.toml") for line in error.message.split("\n"))
            refused += 1
    assert min(read, refused) > CASES // BATCHES // 20

"""A short sound recipe, and ways to change it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from cutpoint.planner.recipes.reading import parse_recipe
from cutpoint.planner.recipes.recipe import Recipe
from cutpoint.schema.errors import WrongRecipe

SHORT = """\
label = "hexane 60-70 %, ethyl acetate 30-40 %"

[feed]
volume = "2 L"

[target]
ingredient = "ethyl acetate"
purity = "95 %"

[column]
kind = "Vigreux"
height = "30 cm"
"""

Read = Callable[..., Recipe]
Faults = Callable[..., list[str]]


def changed(*changes: tuple[str, str]) -> bytes:
    """The short recipe with some text in place of other."""
    text = SHORT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text.encode()


@pytest.fixture
def read() -> Read:
    """Read the short recipe after changes, each a pair of old and new text."""
    return lambda *changes: parse_recipe(changed(*changes), "recipe.toml")


@pytest.fixture
def faults() -> Faults:
    """Lines of the message that refuses the short recipe after changes."""

    def told(*changes: tuple[str, str]) -> list[str]:
        with pytest.raises(WrongRecipe) as raised:
            parse_recipe(changed(*changes), "recipe.toml")
        assert raised.value.exit_status == 2
        return raised.value.message.splitlines()

    return told

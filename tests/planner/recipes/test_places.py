"""On which line of a TOML text a key stands."""

from __future__ import annotations

import tomllib
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.planner.recipes.places import Place, places

NASTY = "\n".join(
    [
        '# [not] = "a table"',
        '"a.b" = "]=[ # {"  # ] = [',
        'many = """',
        "[feed]",
        'x = 5 \\\\ \\""" ""',
        '""""  # of four quotation marks one is the string\'s',
        "'it' = 1",
        "raw = '''",
        'mass = "1 kg"',
        "''' # [x]",
        'dotted . "inner key".last = 1.5',
        "inline = { x = [1, {p = 2}, \"}\"], y = { z = '}', w = 1979-05-27 07:32:00 }, v = 3 }",
        "list = [ # = [",
        "  [1, 2], # {",
        "  { k = 1 }, { k = 2 },",
        "]",
        "",
        '[ table . "with ]" ]',
        "key = true",
        "[[several]]",
        "a = 1",
        "[[several]]",
        "b = 1",
    ]
)


def test_places_in_a_text_full_of_traps() -> None:
    tomllib.loads(NASTY)
    found = places(NASTY)
    assert {path: place.key_line for path, place in found.items()} == {
        ("a.b",): 2,
        ("many",): 3,
        ("it",): 7,
        ("raw",): 8,
        ("dotted",): 11,
        ("dotted", "inner key"): 11,
        ("dotted", "inner key", "last"): 11,
        ("inline",): 12,
        ("inline", "x"): 12,
        ("inline", "x", "p"): 12,
        ("inline", "y"): 12,
        ("inline", "y", "z"): 12,
        ("inline", "y", "w"): 12,
        ("inline", "v"): 12,
        ("list",): 13,
        ("list", "k"): 15,
        ("table",): 18,
        ("table", "with ]"): 18,
        ("table", "with ]", "key"): 19,
        ("several",): 20,
        ("several", "a"): 21,
        ("several", "b"): 23,
    }
    assert found["many",] == Place(3, 4)
    assert found["a.b",] == Place(2, 2)


TEXTS = st.text(st.sampled_from("abc=[]{}#.,'\" "), max_size=12)
NAMES = st.one_of(st.sampled_from("abcdef"), TEXTS.map(lambda text: text.replace("\\", "")))
SCALARS = st.one_of(st.integers(-5, 5), st.booleans(), TEXTS, TEXTS.map(lambda text: f"{text}\n{text}"))
DOCUMENTS = st.dictionaries(
    NAMES,
    st.recursive(SCALARS, lambda inside: st.lists(inside, max_size=3) | st.dictionaries(NAMES, inside, max_size=3)),
    max_size=5,
)


@settings(max_examples=60)
@given(DOCUMENTS)
def test_every_key_is_found_on_its_line(document: dict[str, Any]) -> None:
    text = "".join(f"{_text(name)} = {_value(value)}\n" for name, value in document.items())
    assert tomllib.loads(text) == document
    found = places(text)
    line = 1
    for name, value in document.items():
        assert found[name,].key_line == line
        line += f"{_value(value)}\n".count("\n")
    assert set(found) == set(_paths(document))


def _paths(table: Any, above: tuple[str, ...] = ()) -> Any:
    """Names of all keys; those of tables in a list stand under the list's."""
    if isinstance(table, dict):
        for name, value in table.items():
            yield (*above, name)
            yield from _paths(value, (*above, name))
    elif isinstance(table, list):
        for value in table:
            yield from _paths(value, above)


def _text(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'""{_text(chr(10) + value)}""' if "\n" in value else _text(value)
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(name)} = {_value(item)}" for name, item in value.items()) + "}"
    return str(value)

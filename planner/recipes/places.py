"""On which line of a TOML text a key stands.

`tomllib` says what a sound document holds, not where. This reads the same text
again for the places alone, and relies on its being sound.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

Path = tuple[str, ...]
"""Names from the top of the document to a table or key: `("column", "height")`."""

_TOKEN = re.compile(
    r"""
    (?P<skip> [ \t\r]+ | \#[^\n]* )
    | (?P<text> \"{3} (?: [^\\"]++ | \\. | "(?!"") )* \"{3,5} | '{3} (?: [^']++ | '(?!'') )* '{3,5}
              | " (?: [^"\\\n]++ | \\. )* " | '[^'\n]*' )
    | (?P<bare> [A-Za-z0-9_+:-]+ )
    | (?P<mark> . )
    """,
    re.VERBOSE | re.DOTALL,
)


@dataclass(frozen=True)
class Place:
    """Lines, counted from 1: that of the key or table header, and that on which a value's text begins."""

    key_line: int
    value_line: int


@dataclass(frozen=True)
class _Token:
    kind: str
    text: str
    line: int


def places(text: str) -> Mapping[Path, Place]:
    """The place of every table and key of a sound TOML text; of tables that are told in parts, the first."""
    return _Reader(text).places


_DEEPEST = 8
"""Names below are left out: nothing asks for them, and a file may pile up thousands."""


class _Reader:
    """Goes through the tokens of a document; `table` is the table whose header was read last."""

    def __init__(self, text: str) -> None:
        self.places: dict[Path, Place] = {}
        self._tokens = _tokens(text)
        self._token = next(self._tokens)
        table: Path = ()
        while self._token.kind != "end":
            if self._token.text == "\n":
                self._advance()
            elif self._token.text == "[":
                table = self._header()
            else:
                self._statement(table)

    def _advance(self) -> _Token:
        token, self._token = self._token, next(self._tokens)
        return token

    def _header(self) -> Path:
        line = self._token.line
        while self._token.text == "[":
            self._advance()
        path = self._names(until="]")
        while self._token.text == "]":
            self._advance()
        self._note(path, line, line)
        return path

    def _statement(self, table: Path) -> None:
        """A key with its value; what stands in inline tables is noted under their names."""
        path = self._key(table)
        open_brackets: list[tuple[str, Path]] = []  # outwards in, each with the names of the key whose value it opens
        while self._token.kind != "end" and (open_brackets or self._token.text != "\n"):
            mark = self._advance().text
            if mark in ("{", "["):
                open_brackets.append((mark, path))
            elif mark in ("}", "]"):
                path = open_brackets.pop()[1]
            if mark in ("{", ",") and open_brackets[-1][0] == "{" and self._token.text != "}":
                path = self._key(open_brackets[-1][1])

    def _key(self, table: Path) -> Path:
        line = self._token.line
        path = (table + self._names(until="="))[:_DEEPEST]
        self._advance()
        self._note(path, line, self._token.line + _opens_a_line(self._token))
        return path

    def _names(self, until: str) -> Path:
        names = []
        while self._token.kind != "end" and self._token.text != until:
            token = self._advance()
            if token.kind != "mark":
                names.append(_unquoted(token))
        return tuple(names[:_DEEPEST])

    def _note(self, path: Path, key_line: int, value_line: int) -> None:
        for depth in range(1, len(path)):
            self.places.setdefault(path[:depth], Place(key_line, key_line))
        self.places.setdefault(path, Place(key_line, value_line))


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for found in _TOKEN.finditer(text):
        if found.lastgroup != "skip":
            yield _Token(str(found.lastgroup), found[0], line)
        line += found[0].count("\n")
    while True:
        yield _Token("end", "", line)


def _opens_a_line(token: _Token) -> bool:
    """Whether the text of a string begins on the line after its quotation marks."""
    return token.text.replace("\r", "").startswith(('"""\n', "'''\n"))


def _unquoted(token: _Token) -> str:
    if token.kind == "bare":
        return token.text
    return str(tomllib.loads(f"name = {token.text}")["name"])

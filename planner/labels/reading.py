"""An ingredient list as it is printed on a label or in a safety data sheet, read line by line."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from cutpoint.schema.errors import WrongLabel

from .codes import hide_codes, same_signs
from .headings import is_heading, without_heading
from .lines import Piece, read_piece
from .shares import Unreadable, basis_of_heading
from .splitting import split_pieces

MOST_LINES = 200
MOST_CHARACTERS = 2000
"""Limits of a label and of a line of it; more is no ingredient list."""

MOST_SHOWN = 120
"""Characters of a line that a message repeats."""

_CONTROL = re.compile("[\x00-\x08\x0a-\x1f\x7f-\x9f\ud800-\udfff]")


@dataclass(frozen=True)
class LabelLine:
    """One ingredient: where it stands, as it is printed, and what that says.

    `number` is the line of the file. The share is a fraction of the whole, 0
    to 1; all of that where none is told (`is_secret`) or the rest is meant
    (`is_balance`). `remark` says how vague words were taken.
    """

    number: int
    text: str
    name: str
    cas: str | None
    lower: float
    upper: float
    is_balance: bool
    is_secret: bool
    remark: str | None = None


@dataclass(frozen=True)
class Label:
    """The ingredients in the order of the label; `basis` is "mass" or "volume", what the shares are fractions of."""

    lines: tuple[LabelLine, ...]
    basis: str


def decode(content: bytes) -> str:
    """Text of a file: UTF-8, UTF-16 with a byte order mark, else Windows-1252.

    Stray byte order marks are removed. Raises WrongLabel for UTF-16 that breaks off.
    """
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return content.decode("utf-16").replace("\ufeff", "")
        except UnicodeDecodeError as error:
            raise WrongLabel("The label is broken UTF-16 text; save it again as UTF-8.") from error
    for encoding in ("utf-8", "cp1252"):
        try:
            return content.decode(encoding).replace("\ufeff", "")
        except UnicodeDecodeError:
            continue
    return content.decode("latin-1")


def read_label(text: str, first_line: int = 1, basis: str = "mass") -> Label:
    """Read an ingredient list: one ingredient per line, or several between semicolons or commas.

    `first_line` is the number of its first line in the file, `basis` what the
    percentages are meant by where none is printed. Raises WrongLabel, naming
    the line, for what cannot be read or cannot be.
    """
    bases: dict[str, int] = {}
    kept: list[tuple[int, str, str]] = []
    for number, line in _printed_lines(text, first_line):
        plain = same_signs(line)
        if not is_heading(plain):
            kept.append((number, line, without_heading(hide_codes(plain))))
            continue
        with _told(number, line):
            if printed := basis_of_heading(plain):
                bases.setdefault(printed, number)
    lines: list[LabelLine] = []
    for number, line, plain in kept:
        with _told(number, line):
            for part in split_pieces(plain, len(kept) == 1):
                piece = read_piece(part)
                if piece.share and piece.share.basis:
                    bases.setdefault(piece.share.basis, number)
                lines.append(_line(number, line, piece))
    if not lines:
        raise WrongLabel(
            f"The label that begins in line {first_line} is empty; "
            "write one ingredient on each line, such as 'acetone 30 - 50 %'."
        )
    if len(lines) > MOST_LINES:
        raise WrongLabel(f"Line {lines[MOST_LINES].number}: a label has at most {MOST_LINES} ingredients.")
    _check_bases(bases, basis)
    return Label(tuple(lines), basis)


def _printed_lines(text: str, first_line: int) -> list[tuple[int, str]]:
    """Lines that are neither blank nor comments, each with its number in the file; refuses what is no text."""
    lines = re.split(r"\r\n|\n|\r", text)
    if lines and not lines[-1].strip():
        lines.pop()
    if len(lines) > MOST_LINES:
        raise WrongLabel(
            f"Line {first_line + MOST_LINES}: a label has at most {MOST_LINES} lines, and this one has {len(lines)}; "
            "give the ingredients alone."
        )
    for number, line in enumerate(lines, first_line):
        if len(line) > MOST_CHARACTERS:
            raise WrongLabel(
                f"Line {number}: it has {len(line)} characters, and a line of a label at most {MOST_CHARACTERS}; "
                "give each ingredient its own line."
            )
        if control := _CONTROL.search(line):
            raise WrongLabel(
                f"Line {number}: character {control.start() + 1} is the control character "
                f"U+{ord(control.group()):04X}, which no label prints; delete it, or save the file again as UTF-8 text."
            )
    return [(number, line.strip()) for number, line in enumerate(lines, first_line) if _says_something(line)]


def _says_something(line: str) -> bool:
    return line.strip() != "" and not line.lstrip().startswith("#")


@contextmanager
def _told(number: int, line: str) -> Iterator[None]:
    """Say in which line it is that something cannot be read."""
    try:
        yield
    except Unreadable as error:
        shown = line if len(line) <= MOST_SHOWN else f"{line[:MOST_SHOWN]}..."
        raise WrongLabel(f"Line {number}, {shown!r}: {error}") from None


def _line(number: int, text: str, piece: Piece) -> LabelLine:
    share = piece.share
    ends = (share.lower, share.upper) if share else (0.0, 1.0)
    remark = share.remark if share else None
    return LabelLine(number, text, piece.name, piece.cas, *ends, piece.is_balance, piece.is_secret, remark)


def _check_bases(bases: Mapping[str, int], basis: str) -> None:
    """Refuse a label that mixes mass and volume, or prints another than the recipe says."""
    if len(bases) > 1:
        told = " and ".join(f"line {number} is by {printed}" for printed, number in bases.items())
        raise WrongLabel(
            f"The label mixes bases: {told}. Work all shares out on one basis and say which in the recipe."
        )
    for printed, number in bases.items():
        if printed != basis:
            raise WrongLabel(
                f"Line {number}: the label prints percent by {printed}, and the recipe reads it by {basis}; "
                f"set the basis of the recipe to {printed!r}, or mend the label."
            )

"""Several ingredients on one line: "Acetone 30-50 %, toluene 25 %"."""

from __future__ import annotations

import re

from .codes import hide_cas
from .lines import hide_secret, is_name, read_piece, trim
from .shares import Unreadable, hide_composition, shares

_GOES_ON = re.compile(r"\s*(?:[\w,'-]*-\s*(?:[,;\t]|$)|C\s?[0-9])")
"""What a comma before it belongs to a name with: "benzene, methyl-", "alkanes, C9-C11"."""


def split_pieces(line: str, is_whole_label: bool) -> list[str]:
    """The ingredients of a line, which is mostly one.

    Semicolons and commas part them where at least two have a share of their
    own, and on a label of one line also where none has: "butane, propane".
    """
    for mark in (";", ","):
        parts = _cut(line, mark) if mark in line else [line]
        if len(parts) == 1:
            continue
        complete = [_is_complete(part) for part in parts]
        if sum(complete) > 1:
            return _gathered(parts, complete, mark)
        if is_whole_label and not any(complete) and all(map(_has_name, parts)):
            return parts
    return [line]


def _cut(line: str, mark: str) -> list[str]:
    """Cut at the mark outside brackets; a comma without a blank after it stands in a name or a number."""
    hidden = hide_composition(line)
    parts, depth, start = [], 0, 0
    for place, sign in enumerate(hidden):
        depth = max(depth + (sign in "([") - (sign in ")]"), 0)
        follows = hidden[place + 1 : place + 2]
        if sign != mark or depth or (mark == "," and follows not in (" ", "\t", "")):
            continue
        if mark == ";" or not _GOES_ON.match(hidden, place + 1):
            parts.append(line[start:place])
            start = place + 1
    parts.append(line[start:])
    return [part for part in parts if part.strip(" \t,;")]


def _has_name(part: str) -> bool:
    return is_name(trim(hide_secret(hide_cas(part))))


def _gathered(parts: list[str], complete: list[bool], mark: str) -> list[str]:
    """Put parts without a share to the ingredient that they belong to.

    Where shares come last a name that holds commas is ended by its share;
    where they come first, by the next share. After the last share, and
    between semicolons, a further name is an ingredient without a share.
    """
    shares_first = shares(parts[0]) != [] and shares(parts[0])[0].start <= 1
    gathered: list[str] = []
    waiting: list[str] = []
    for part, is_whole in zip(parts, complete, strict=True):
        if not _has_name(part) and gathered and not waiting and not is_whole:
            gathered[-1] += f"\t{part}"
        elif is_whole or (mark == ";" and _has_name(part) and not waiting):
            gathered.append(mark.join([*waiting, part]).replace(";", "\t"))
            waiting = []
        elif shares_first and gathered:
            gathered[-1] += f"{mark}{part}"
        else:
            waiting.append(part)
    return gathered + waiting


def _is_complete(line: str) -> bool:
    """Whether a part of a line reads as an ingredient with a share of its own, be it "balance"."""
    try:
        piece = read_piece(line)
    except Unreadable:
        return False
    return piece.share is not None or piece.is_balance

"""One ingredient of a label: its name, CAS number and share, without the codes that stand beside them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .codes import EMPTY_BRACKETS, take_cas
from .shares import Share, Unreadable, leftover_percentage, shares

_FLAGS = re.VERBOSE | re.IGNORECASE

_BULLET = re.compile(r"^\s*(?:[-*•·◦▪]\s+|\(?[0-9]{1,3}[.)]\s+|[a-z]\)\s+)")
_CELLS = re.compile(r"[\t|]|\s{2,}")
_EDGES = " \t,;:|/=•·*+"
_LOOSE_ENDS = re.compile(r"^-+\s*(?=\W|$)|^-\s+|(?<!\w)-+$|\s+-$|\.{2,}$|(?<=[^\W\d_]{4})\.$")
_NO_NAME = re.compile(
    r"(?:danger|warning|gefahr|achtung|attention|peligro|atención|n/?a|none|not applicable|content|share|conc|"
    r"anteil|gehalt|teneur|contenido|contains|enthält|contient|contiene)\.?",
    re.IGNORECASE,
)
_BALANCE = re.compile(
    r"""(?<![\w-])(?:
    (?:[qc]\.?\s?s\.?\s?p\.?(?!\w)|q\.?\s?s\.?(?!\w)|ad(?=\s*100)|to(?=\s*(?:make\s*)?100)|balance|remainder|remaining
      |rest|reste|resto|solde|bal\.|(?:up\s+to|hasta|auf|jusqu'[àa])(?=\s*100\s*%?\s*$))
    (?:\s*(?:to|ad|auf|pour|para|make|hasta))*\s*(?:\(?\s*100\s*%\s*\)?|100\s*$)?)(?![\w-])""",
    _FLAGS,
)
_SECRET = re.compile(
    r"""(?<!\w)(?:trade\s+secret|proprietary(?:\s+information)?|confidential(?:\s+business\s+information)?|withheld
    |undisclosed|not\s+disclosed|(?:betriebs|geschäfts)geheimnis|vertraulich|secret\s+(?:commercial|industriel)
    |confidentiel|confidencial|secreto\s+(?:comercial|industrial))(?!\w)""",
    _FLAGS,
)
_LONE_NUMBER = re.compile(
    r"(?<!\bC)(?:^|\s)(?P<number>[0-9]+(?:[.,][0-9]+)?(?:\s*-\s*[0-9]+(?:[.,][0-9]+)?)?)(?=\s+[^\W\d]|$)"
)
"""A number in a name that is tied to no letter."""
_BOILING_RANGE = re.compile(
    r"(?:petroleum|petrol|benzine?|ligroine?|spirits?|pétrole|petróleo|SBP|naphtha)\s?(?:ether|spirits?)?\s*[(]?\s*$",
    re.IGNORECASE,
)
"""Names after which two numbers may as well be a boiling range in °C."""


@dataclass(frozen=True)
class Piece:
    """What is printed of one ingredient; `share` is None where no number is."""

    name: str
    cas: str | None
    share: Share | None
    is_balance: bool
    is_secret: bool


def read_piece(line: str) -> Piece:
    """Read one ingredient, its signs made the same and its codes hidden; raises Unreadable."""
    cas, bare = take_cas(_BULLET.sub("", line))
    balance = _BALANCE.search(bare)
    if balance:
        bare = f"{bare[: balance.start()]}\t{bare[balance.end() :]}"
    share, bare = _take_share(bare)
    secret = _SECRET.search(bare)
    name = _name(bare, cas, secret)
    # Beside a share with its unit a number is part of the name: "polysorbate 80 5 %".
    lone = _LONE_NUMBER.search(name) if share is None or share.is_bare else None
    if lone:
        raise Unreadable(
            f"{lone['number']!r} may be a share or belong to the name. Write a share with its %; "
            "if it belongs to the name, put a share after it, '0-100 %' if none is told."
        )
    return Piece(name, cas, share, balance is not None, share is None and balance is None)


def _take_share(line: str) -> tuple[Share | None, str]:
    found = shares(line)
    if len(found) > 1:
        texts = " and ".join(repr(line[share.start : share.end].strip()) for share in found)
        raise Unreadable(
            f"{texts} are two shares on one line; keep one of them, as a range if they are its ends, "
            "and give each ingredient its own line."
        )
    share = found[0] if found else None
    if share:
        _check_no_boiling_range(line, share)
        line = f"{line[: share.start]}\t{line[share.end :]}"
    if leftover_percentage(line):
        raise Unreadable("its percentage cannot be read; write it as '25 %', '10 - 20 %' or '< 5 %'.")
    return share, line


def _check_no_boiling_range(line: str, share: Share) -> None:
    text = line[share.start : share.end].strip()
    if re.fullmatch(r"[0-9]+\s*-\s*[0-9]+", text) and _BOILING_RANGE.search(line[: share.start]):
        raise Unreadable(f"{text!r} may be a share or a boiling range; write '{text} %' or '{text} °C'.")


def hide_secret(line: str) -> str:
    """The line with a column mark in place of "trade secret" and its like."""
    return _SECRET.sub("\t", line)


def _name(line: str, cas: str | None, secret: re.Match[str] | None) -> str:
    """The name: all columns that hold letters, one after the other; the CAS number where no name is printed."""
    cells = [trim(cell) for cell in _CELLS.split(EMPTY_BRACKETS.sub("\t", hide_secret(line)))]
    for cell in cells:
        if re.fullmatch(r"[\d\W]*[0-9][\d\W]*", cell):
            raise Unreadable(f"{cell!r} is left over; strike it, or write a range as '10 - 20 %'.")
    name = " ".join(cell for cell in cells if is_name(cell)) or (secret.group() if secret else "")
    if name:
        return re.sub(r"\s+", " ", name)
    if cas is None:
        raise Unreadable("it names no ingredient; put its name or CAS number beside the share.")
    return cas


def is_name(cell: str) -> bool:
    """Whether a column holds a name: letters, and no signal word."""
    return re.search(r"[^\W\d_]", cell) is not None and _NO_NAME.fullmatch(cell) is None


def trim(cell: str) -> str:
    """The cell without what parts it from its neighbours: commas, colons, an unpaired bracket, a lone dash."""
    before = None
    while before != cell:
        before = cell
        cell = cell.strip(_EDGES)
        cell = _LOOSE_ENDS.sub("", cell)
        for opening, closing in ("()", "[]"):
            if cell.startswith(closing) or (cell.startswith(opening) and closing not in cell):
                cell = cell[1:]
            if cell.endswith(opening) or (cell.endswith(closing) and opening not in cell):
                cell = cell[:-1]
    return cell

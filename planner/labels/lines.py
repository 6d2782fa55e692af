"""One ingredient of a label: its name, CAS number and share, without the codes that stand beside them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from cutpoint.schema.identifiers import cas_check_digit, cas_from_digits, is_cas

from .shares import Share, Unreadable, hide_composition, leftover_percentage, shares

_FLAGS = re.VERBOSE | re.IGNORECASE

_SAME_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63\uff0d", "-"),
        **dict.fromkeys("\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000", " "),
        **dict.fromkeys("\u00ad\u200b\u200c\u200d\u2060\ufeff", ""),
        **dict.fromkeys("\u2028\u2029", " "),
        **dict.fromkeys("≦⩽", "≤"),
        **dict.fromkeys("≧⩾", "≥"),
        "％": "%", "…": "...", "＜": "<", "＞": ">", "∼": "~", "’": "'", "´": "'",
    }
)  # fmt: skip

_CAS = re.compile(
    r"""
    [(\[]? \s* (?P<label> \bCAS(?:RN)? (?:[\s.-]*(?:RN|No|Nr|N[°º]|number|nummer|numéro|número))? [\s.:#°º]* )?
    (?<![\w.,-]) (?P<number> [1-9][0-9]{1,9} (?:\s?-\s?) [0-9]{2} (?:\s?-\s?) [0-9] ) (?![\w-]|[.,][0-9]) \s* [)\]]?
    """,
    _FLAGS,
)
_CAS_LABEL = re.compile(
    r"[(\[]?\s*\bCAS(?:RN)?(?:[\s.-]*(?:RN|No|Nr|N[°º]|number|nummer|numéro|número))?(?![\w])[\s.:#°º]*"
    r"(?P<digits>[0-9][0-9\s-]*)?(?:n/?a|none|-+)?\s*[)\]]?",
    re.IGNORECASE,
)
_OTHER_NUMBERS = re.compile(
    r"""
    [(\[]? \s* (?: (?:EC|EG|CE|EINECS|ELINCS|NLP|EU|INDEX|REACH|UN|CI)\b
        (?:[\s.-]*(?:registration|reg\.?|registrierungs))? (?:[\s.-]*(?:No|Nr|N[°º]|number|nummer|numéro|número))? [\s.:#°º-]* )?
    (?<![\w.,-])
    (?: [0-9]{3}-[0-9]{3}-[0-9]{2}-[0-9X]        # index number
      | [0-9]{3}-[0-9]{3}-[0-9]                  # EC number
      | 0[0-9]-[0-9]{10}-[0-9]{2}(?:-[0-9X]{4})? # registration number
    ) (?![\w-]) \s* [)\]]?
    | \bUN\s?[0-9]{4}\b
    | (?<!\w)(?:EC|EG|EINECS|ELINCS|INDEX|REACH)[\s.-]*(?:No|Nr|N[°º])[\s.:#°º-]*(?![\w])
    """,
    _FLAGS,
)
_CODES = re.compile(
    r"""
    (?: \b(?:EUH|H|P)[0-9]{3}[A-Za-z]{0,2}\b (?:\s*\+\s*[HP]?[0-9]{3}\b)* | \bGHS\s?0[1-9]\b
      | \bM(?:\s*-?\s*factor|-?faktor|\s*\((?:acute|chronic)\))?\s*[=:]\s*[0-9]+\b
      | \b(?:Flam\.?\s*(?:Liq|Gas|Sol|Aerosol)|Press\.?\s*Gas|Eye\s*(?:Irrit|Dam)|Skin\s*(?:Irrit|Corr|Sens)|STOT\s*[SR]E
          |Asp\.?\s*Tox|Acute\s*Tox|Aquatic\s*(?:Acute|Chronic)|Repr|Carc|Muta|Resp\.?\s*Sens|Ox\.?\s*(?:Liq|Sol|Gas)
          |Met\.?\s*Corr|Org\.?\s*Perox|Self-react|Self-heat|Pyr\.?\s*(?:Liq|Sol)|Water-react|Unst\.?\s*Expl|Aerosol|Ozone)
        \.? \s* (?:[1-4][ABC]?(?![\w.,%]) | \((?:Liq|Comp|Ref|Diss)[^()]*\)) (?![.,]?[0-9]|\s*%|\s*-\s*[0-9])
    )
    """,
    _FLAGS,
)
_EMPTY_BRACKETS = re.compile(r"[(\[][\s,;:/+]*[)\]]")
_BULLET = re.compile(r"^\s*(?:[-*•·◦▪]\s+|\(?[0-9]{1,3}[.)]\s+|[a-z]\)\s+)")
_CELLS = re.compile(r"[\t|]|\s{2,}")
_EDGES = " \t,;:|/=•·*+"
_NO_NAME = re.compile(
    r"(?:danger|warning|gefahr|achtung|attention|peligro|atención|n/?a|none|not applicable|content|share|conc|"
    r"anteil|gehalt|teneur|contenido|contains|enthält|contient|contiene)\.?",
    re.IGNORECASE,
)
_BALANCE = re.compile(
    r"""(?<![\w-])(?:
    (?:q\.?\s?s\.?\s?p\.?(?!\w)|q\.?\s?s\.?(?!\w)|c\.?\s?s\.?\s?p\.?(?!\w)|ad(?=\s*100)|to(?=\s*(?:make\s*)?100)|balance|remainder
      |remaining|rest|reste|resto|solde|bal\.|(?:up\s+to|hasta|auf|jusqu'[àa])(?=\s*100\s*%?\s*$))
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
    r"(?:petroleum|petrol\s?ether|benzine?|ligroine?|spirits?|pétrole|petróleo|SBP|naphtha)(?:\s+spirits?)?\s*[(]?\s*$",
    re.IGNORECASE,
)
"""Names after which two numbers may as well be a boiling range in °C."""
_GOES_ON = re.compile(r"\s*(?:[\w,'-]*-\s*(?:[,;\t]|$)|C\s?[0-9])")
"""What a comma before it belongs to a name with: "benzene, methyl-", "alkanes, C9-C11"."""


@dataclass(frozen=True)
class Piece:
    """What is printed of one ingredient; `share` is None where no number is."""

    name: str
    cas: str | None
    share: Share | None
    is_balance: bool
    is_secret: bool


def same_signs(line: str) -> str:
    """The line with one sign each for dashes, blanks, percent and the signs of order.

    >>> same_signs("Toluol\u00a030–50\u2009％, <= 5")
    'Toluol 30-50 %, ≤ 5'
    """
    line = line.translate(_SAME_SIGNS)
    for written, sign in (("<=", "≤"), ("=<", "≤"), (">=", "≥"), ("=>", "≥")):
        line = line.replace(written, sign)
    return line


def hide_codes(line: str) -> str:
    """The line with hazard codes and numbers of registers other than CAS taken out, a column mark in their place."""
    return _EMPTY_BRACKETS.sub("\t", _CODES.sub("\t", _OTHER_NUMBERS.sub("\t", line)))


def read_piece(line: str) -> Piece:
    """Read one ingredient, its signs made the same and its codes hidden; raises Unreadable."""
    cas, bare = _take_cas(_BULLET.sub("", line))
    balance = _BALANCE.search(bare)
    if balance:
        bare = f"{bare[: balance.start()]}\t{bare[balance.end() :]}"
    share, bare = _take_share(bare)
    secret = _SECRET.search(bare)
    name = _name(bare, cas, secret)
    lone = _LONE_NUMBER.search(name) if share is None else None
    if lone:
        raise Unreadable(
            f"{lone['number']!r} may be a share or belong to the name. Write a share with its %; "
            "if it belongs to the name, put a share after it, '0-100 %' if none is told."
        )
    return Piece(name, cas, share, balance is not None, share is None and balance is None)


def is_complete(line: str) -> bool:
    """Whether a part of a line reads as an ingredient with a share of its own, be it "balance"."""
    try:
        piece = read_piece(line)
    except Unreadable:
        return False
    return piece.share is not None or piece.is_balance


def _take_cas(line: str) -> tuple[str | None, str]:
    """The one CAS number of a line, and the line without it."""
    numbers = list(dict.fromkeys(re.sub(r"\s", "", found["number"]) for found in _CAS.finditer(line)))
    line = _CAS.sub("\t", line)
    labelled = _CAS_LABEL.search(line)
    if labelled and not numbers and labelled["digits"]:
        digits = re.sub(r"\s", "", labelled["digits"])
        cas = cas_from_digits(digits) if digits.isdigit() and 5 <= len(digits) <= 10 else digits
        if not is_cas(cas):
            raise Unreadable(f"{digits!r} is no CAS number; one looks like 141-78-6.")
        numbers.append(cas)
        line = f"{line[: labelled.start()]}\t{line[labelled.end() :]}"
    elif labelled:
        line = (
            f"{line[: labelled.start()]}\t{line[labelled.start('digits') if labelled['digits'] else labelled.end() :]}"
        )
    if len(numbers) > 1:
        raise Unreadable(
            f"{' and '.join(numbers)} stand on one line; give each ingredient its own line, with one CAS number."
        )
    for cas in numbers:
        if not is_cas(cas):
            digit = cas_check_digit(cas[:-2])
            raise Unreadable(
                f"{cas} is no CAS number: its check digit would have to be {digit}. "
                f"If the digits before it are right, write {cas[:-1]}{digit}."
            )
    return (numbers[0] if numbers else None), line


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


def _name(line: str, cas: str | None, secret: re.Match[str] | None) -> str:
    """The name: all columns that hold letters, one after the other; the CAS number where no name is printed."""
    line = _EMPTY_BRACKETS.sub("\t", line)
    cells = [_trim(cell) for cell in _CELLS.split(line)]
    name = " ".join(cell for cell in cells if _is_name(cell))
    if secret:
        name = _trim(_SECRET.sub(" ", name)) or secret.group().strip()
    if name:
        return re.sub(r"\s+", " ", name)
    if cas is None:
        raise Unreadable("it names no ingredient; put its name or CAS number beside the share.")
    return cas


def _is_name(cell: str) -> bool:
    return re.search(r"[^\W\d_]", cell) is not None and _NO_NAME.fullmatch(cell) is None


def _trim(cell: str) -> str:
    """The cell without what parts it from its neighbours: commas, colons, an unpaired bracket, a dash between blanks."""
    before = None
    while before != cell:
        before = cell
        cell = cell.strip(_EDGES)
        cell = re.sub(r"^-+\s*(?=\W|$)|^-\s+|(?<!\w)-+$|\s+-$|\.{2,}$", "", cell)
        for opening, closing in ("()", "[]"):
            if cell.startswith(closing) or (cell.startswith(opening) and closing not in cell):
                cell = cell[1:]
            if cell.endswith(opening) or (cell.endswith(closing) and opening not in cell):
                cell = cell[:-1]
    return cell


def split_pieces(line: str, is_whole_label: bool) -> list[str]:
    """The ingredients of a line, which is mostly one.

    Semicolons and commas part them where at least two have a share of their
    own, and on a label of one line also where none has: "butane, propane".
    """
    for mark in (";", ","):
        parts = _cut(line, mark)
        complete = [is_complete(part) for part in parts]
        if sum(complete) > 1:
            return _gathered(parts, complete, mark)
        if len(parts) > 1 and is_whole_label and not any(complete) and all(map(_has_name, parts)):
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
    return [part for part in parts if part.strip(_EDGES)]


def _has_name(part: str) -> bool:
    return _is_name(_trim(_CAS.sub("\t", part)))


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

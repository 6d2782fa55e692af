"""What stands beside a name on a label without being one: typeset signs, numbers of registers, hazard codes."""

from __future__ import annotations

import re

from cutpoint.schema.identifiers import cas_check_digit, cas_from_digits, is_cas

from .shares import Unreadable

_FLAGS = re.VERBOSE | re.IGNORECASE

_SAME_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63\uff0d", "-"),
        **dict.fromkeys([0x00A0, 0x1680, *range(0x2000, 0x200B), 0x2028, 0x2029, 0x202F, 0x205F, 0x3000], " "),
        **dict.fromkeys("\u00ad\u200b\u200c\u200d\u2060\ufeff", ""),
        **dict.fromkeys("≦⩽", "≤"),
        **dict.fromkeys("≧⩾", "≥"),
        "％": "%", "…": "...", "＜": "<", "＞": ">", "∼": "~", "’": "'", "´": "'",
    }
)  # fmt: skip

_NO = r"(?:No|Nr|N[°º]|number|nummer|numéro|número)"
_NO_BEFORE = r"(?:(?<!\w)(?:N[°º]|N[or]\.)\s*)?"
_CAS = re.compile(
    rf"""
    [(\[]? \s* (?: {_NO_BEFORE} \bCAS(?:RN)? (?:[\s.-]*(?:RN|{_NO}))? [\s.:#°º]* )?
    (?<![\w.,-]) (?P<number> [1-9][0-9]{{1,9}} \s?-\s? [0-9]{{2}} \s?-\s? [0-9] ) (?![\w-]|[.,][0-9]) \s* [)\]]?
    """,
    _FLAGS,
)
_CAS_LABEL = re.compile(
    rf"[(\[]?\s*{_NO_BEFORE}\bCAS(?:RN)?(?:[\s.-]*(?:RN|{_NO}))?(?!\w)[\s.:#°º]*"
    r"(?P<digits>[0-9]+(?:\s?-\s?[0-9]+)*)?(?:n/?a|none|-+)?\s*[)\]]?",
    re.IGNORECASE,
)
_OTHER_NUMBERS = re.compile(
    rf"""
    [(\[]? \s* (?: {_NO_BEFORE} (?:EC|EG|CE|EINECS|ELINCS|NLP|EU|INDEX|REACH)\b
        (?:[\s.-]*(?:registration|reg\.?|registrierungs))? (?:[\s.-]*{_NO})? [\s.:#°º-]* )?
    (?<![\w.,-])
    (?: [0-9]{{3}}-[0-9]{{3}}-[0-9]{{2}}-[0-9X]          # index number
      | [0-9]{{3}}-[0-9]{{3}}-[0-9]                      # EC number
      | 0[0-9]-[0-9]{{10}}-[0-9]{{2}}(?:-[0-9X]{{4}})?   # registration number
    ) (?![\w-]) \s* [)\]]?
    | \bUN\s?[0-9]{{4}}\b
    | (?<!\w)(?:EC|EG|CE|EINECS|ELINCS|INDEX|REACH)[\s.-]*{_NO}(?!\w)[\s.:#°º-]*
    """,
    _FLAGS,
)
_CODES = re.compile(
    r"""
    (?: \b(?:EUH|H|P)[0-9]{3}[A-Za-z]{0,2}\b (?:\s*\+\s*[HP]?[0-9]{3}\b)* | \bGHS\s?0[1-9]\b
      | \bM(?:\s*-?\s*factor|-?faktor|\s*\((?:acute|chronic)\))?\s*[=:]\s*[0-9]+\b
      | \b(?:Flam\.?\s*(?:Liq|Gas|Sol|Aerosol)|Press\.?\s*Gas|Eye\s*(?:Irrit|Dam)|Skin\s*(?:Irrit|Corr|Sens)
          |STOT\s*[SR]E|Asp\.?\s*Tox|Acute\s*Tox|Aquatic\s*(?:Acute|Chronic)|Repr|Carc|Muta|Resp\.?\s*Sens|Ox\.?\s*(?:Liq|Sol|Gas)
          |Met\.?\s*Corr|Org\.?\s*Perox|Self-react|Self-heat|Pyr\.?\s*(?:Liq|Sol)|Water-react|Unst\.?\s*Expl|Aerosol|Ozone)
        \.? \s* (?:[1-4][ABC]?(?![\w.,%]) | \((?:Liq|Comp|Ref|Diss)[^()]*\)) (?![.,]?[0-9]|\s*%|\s*-\s*[0-9])
    )
    """,
    _FLAGS,
)
EMPTY_BRACKETS = re.compile(r"[(\[][\s,;:/+]*[)\]]")


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
    return EMPTY_BRACKETS.sub("\t", _CODES.sub("\t", _OTHER_NUMBERS.sub("\t", line)))


def hide_cas(line: str) -> str:
    """The line with a column mark in place of every CAS number."""
    return _CAS.sub("\t", line)


def take_cas(line: str) -> tuple[str | None, str]:
    """The one CAS number of a line, None without one, and the line without it; raises Unreadable for a wrong one.

    >>> take_cas("hexane (110-54-3)")
    ('110-54-3', 'hexane \\t')
    """
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

"""Shares as they are printed beside an ingredient: `30-50 %`, `≥ 25 - < 40`, `ca. 40 % w/w`, `max. 0,5 %`, `20 ppm`."""

from __future__ import annotations

import re
from dataclasses import dataclass

APPROXIMATELY = 0.1
"""Relative half width of a share printed with "approx."; common practice, no source."""

TRACES = 0.001
"""Largest mass or volume fraction that "traces" is taken for; common practice, no source."""

_ROUNDING = 1e-9

_NUMBER = r"(?:[0-9]++(?:[.,][0-9]++)?+|[.,][0-9]++)"
_UPPER = (
    r"[<≤]|less\s+than|below|under|up\s+to|max(?:imum|imal|\.)?|at\s+most|no[t]?\s+more\s+than"
    r"|bis(?:\s+zu)?|höchstens|unter|weniger\s+als|kleiner(?:\s+als)?"
    r"|jusqu'[àa]|moins\s+de|au\s+plus|inférieure?\s+à|hasta|menos\s+de|máx(?:imo|\.)?|como\s+máximo|inferior\s+a"
)
_LOWER = (
    r"[>≥]|more\s+than|over|above|at\s+least|min(?:imum|\.)?|mindestens|mehr\s+als|über|ab|größer(?:\s+als)?"
    r"|plus\s+de|au\s+moins|supérieure?\s+à|más\s+de|al\s+menos|mín(?:imo|\.)?|superior\s+a"
)
_ABOUT = (
    r"[~≈]|approx(?:imately|\.)?|about|around|circa|cca?\.?|ca\.?|etwa|ungefähr|rund"
    r"|environ|env\.?|aprox(?:imadamente|\.)?|alrededor\s+de"
)
_MASS = r"(?:w/w|wt/wt|m/m|p/p|g/g|(?:by|in|en)\s+(?:weight|wt|mass|poids|masse|peso|masa|gewicht)|weight|mass|wt|gew)"
_VOLUME = r"(?:v/v|(?:by|in|en)\s+vol(?:um(?:en?|e)?)?|vol(?:um(?:en?|e))?)"
_PER_VOLUME = r"(?:w/v|m/v|p/v)"
_UNIT = rf"""
    (?: (?: (?:vol(?:um(?:en?|e)?)?|gew(?:ichts?)?|wt|weight|mass(?:en?|e)?|ma?|mol(?:e|ar)?|v|w)\.?\s?-?\s? )?
        (?: % | per\s?cent\b | prozent\b | pour\s?cent\b | por\s?ciento\b )
        (?: \s*-?\s* [(\[]?\s*(?:{_MASS}|{_VOLUME}|{_PER_VOLUME})\b\.?\s*[)\]]? )?
      | [(\[]? (?:w/w|m/m|v/v|{_PER_VOLUME})\b [)\]]?
      | ppm[wv]?\b | mg\s?/\s?kg\b | g\s?/\s?kg\b | ‰ | m?g\s?/\s?(?:100\s?)?(?:m?l|cm3|cm³|dm3|dm³|m3|m³)(?!\w) )
"""


def _term(place: int) -> str:
    return rf"""
    (?: (?: (?P<upper{place}>{_UPPER}) | (?P<lower{place}>{_LOWER}) | (?P<about{place}>{_ABOUT}) ) \s*:?\s* )?
    (?P<number{place}>{_NUMBER}) (?![.,]?[0-9])
    (?: \s*(?:±|\+/-|\+-)\s*(?P<spread{place}>{_NUMBER}) )?
    (?: \s*(?P<unit{place}>{_UNIT}) | (?![\w'°/²]|-[^\W\d]|-\(|\s*°) )
    """


_FLAGS = re.VERBOSE | re.IGNORECASE
_FIRST = re.compile(
    rf"(?<![\w.,'+/])(?<![\w)\]]-)(?:(?P<between>between|from|zwischen|von|entre|desde|de)\s+)?{_term(1)}", _FLAGS
)
_SECOND = re.compile(
    rf"\s*(?P<between2>-|\.\.\.?|(?:up\s+to|to|bis(?:\s+zu)?|à|a|and|und|et|y)\s|,|)\s*{_term(2)}", _FLAGS
)
_AFTER_BETWEEN = frozenset({"and", "und", "et", "y"})

_TRACES = re.compile(r"(?<!\w)(?:traces?|spuren|trazas)(?!\w)", re.IGNORECASE)

_SHARE_WORDS = re.compile(
    r"""
    \([^()%]*[<≤>≥]?\s*[0-9][^()%]*%\s*(?!(?:w/w|v/v|m/m|wt|vol|by|en|in|gew)\b)[^\W\d][^()]*\)
    | \baroma\w*\s*\([^()%]*[0-9][^()%]*%[^()]*\)
    | (?<=[^\W\d])\s*,?\s+(?:[<≤>≥]\s*)[0-9.,]+\s*%\s*(?:aromat|aromát|n-hexan|naphthal|benzene|benzol)\w*
    | \b[0-9.,]+\s*-\s*[0-9.,]+\s*%\s*(?:aromat|aromát)\w*
    """,
    _FLAGS,
)
_PERCENTAGE = re.compile(r"%|‰|\bppm", re.IGNORECASE)
_BOUNDARY_BEFORE = re.compile(r"(?:^|[\t|]|\s\s|^\s)\s*$")
_BOUNDARY_AFTER = re.compile(r"\s*(?:$|[\t|]|\s\s)")
_END = re.compile(r"[\s)\].;,|]*$")


class Unreadable(ValueError):
    """What is wrong with a line, in a sentence that goes on from "Line 3: "."""


@dataclass(frozen=True)
class Share:
    """A share of the whole, 0 to 1, and where it stands in the line.

    `basis` is "mass", "volume" or None where none is printed; `is_bare` where
    the number alone is; `remark` says how vague words were taken.
    """

    lower: float
    upper: float
    basis: str | None
    start: int
    end: int
    is_bare: bool = False
    remark: str | None = None


def hide_composition(line: str) -> str:
    """The line with shares that belong to a name ("<2% aromatics") blotted out, everything else in its place.

    >>> hide_composition("isoalkanes, <2% aromatics 30 %").replace(chr(1), "_")
    'isoalkanes_________________ 30 %'
    """
    if "%" not in line:
        return line
    return _SHARE_WORDS.sub(lambda found: "\x01" * len(found.group()), line)


def shares(line: str) -> list[Share]:
    """Every share of a line that has no other numbers than those of names and shares.

    A number without a unit counts only where nothing else is a share, and it
    ends the line or stands in a column of its own. Raises Unreadable.
    """
    hidden = hide_composition(line)
    found = _numbers(hidden)
    chosen = [number for number in found if not number.is_bare]
    if not chosen and (traces := _TRACES.search(hidden)):
        remark = f"{traces.group()!r} is taken as 0 to {told(TRACES)}"
        return [Share(0.0, TRACES, None, *traces.span(), remark=remark)]
    return [_share(hidden, number) for number in chosen or [one for one in found if _stands_alone(hidden, one)]]


def leftover_percentage(line: str) -> bool:
    """Whether a percent sign stands in what is left of a line once its share was taken out."""
    return _PERCENTAGE.search(hide_composition(line)) is not None


def told(fraction: float) -> str:
    """A fraction for people, in percent.

    >>> told(0.3), told(0.00002)
    ('30 %', '0.002 %')
    """
    return f"{100.0 * fraction:.6g} %"


@dataclass(frozen=True)
class _Number:
    """One number or the two ends of a range, as matched in the line."""

    first: re.Match[str]
    second: re.Match[str] | None

    @property
    def start(self) -> int:
        return self.first.start()

    @property
    def end(self) -> int:
        return self.second.end() if self.second else self.first.end()

    @property
    def unit(self) -> str | None:
        """The unit of the first number, which may stand after the second alone."""
        return self.first["unit1"] or (self.second["unit2"] if self.second else None)

    @property
    def is_bare(self) -> bool:
        """Whether neither unit nor sign nor word says that it is a share."""
        marks = [self.first[f"{mark}1"] for mark in ("upper", "lower", "about", "spread", "unit")]
        if self.second:
            marks += [self.second[f"{mark}2"] for mark in ("upper", "lower", "about", "spread", "unit")]
        return not any([*marks, self.first["between"] and self.second])


def _numbers(line: str) -> list[_Number]:
    found: list[_Number] = []
    place = 0
    while first := _FIRST.search(line, place):
        second = _SECOND.match(line, first.end())
        found.append(_Number(first, second if second and _joined(first, second) else None))
        place = found[-1].end
    return found


def _joined(first: re.Match[str], second: re.Match[str]) -> bool:
    """Whether two numbers with this between them are the ends of one range."""
    between = second["between2"].strip().lower()
    if between in ("", ","):
        return bool(first["lower1"] and second["upper2"])
    return between not in _AFTER_BETWEEN or bool(first["between"])


def _share(line: str, number: _Number) -> Share:
    text = line[number.start : number.end].strip()
    _check_surroundings(line, number)
    bases = {_basis(unit) for unit in (number.first["unit1"], number.second and number.second["unit2"]) if unit} - {
        None
    }
    if len(bases) > 1:
        raise Unreadable(f"{text!r} mixes percent by mass and by volume.")
    lower, upper, remark = _ends(text, number)
    if max(lower, upper) > 1.0 + _ROUNDING:
        belongs = " If the number belongs to the name, put the share after it: '... 0-100 %'." if number.is_bare else ""
        raise Unreadable(f"{text!r} is above 100 %.{belongs}")
    if lower > upper:
        raise Unreadable(f"the range {text!r} runs backwards; write the smaller share first.")
    basis = next(iter(bases), None)
    return Share(min(lower, 1.0), min(upper, 1.0), basis, number.start, number.end, number.is_bare, remark)


def _check_surroundings(line: str, number: _Number) -> None:
    """Refuse a minus sign before a share, a plus sign after it, and a third number after a range."""
    value = number.first["number1"]
    if re.search(r"(?:^|[\s(|:<>≤≥~-])-$", line[: number.first.start("number1")]):
        raise Unreadable(f"'-{value}' is negative. If the dash only parts name and share, put a blank after it.")
    if re.match(r"\s?\+(?![/-])", line[number.end :]):
        raise Unreadable(f"'{value}+' can be read in several ways; write '> {value} %' for more than that.")
    third = _SECOND.match(line, number.end) if number.second else None
    if third and third["between2"] not in ("", ","):
        text = line[number.start : third.end()].strip()
        raise Unreadable(f"{text!r} is no share; write it as '10 - 20 %'.")


def _ends(text: str, number: _Number) -> tuple[float, float, str | None]:
    """Smallest and largest share, and what is to be said about vague words; may lie above 1."""
    first, second = number.first, number.second
    value = _value(first["number1"], number.unit)
    if second:
        if first["upper1"] or second["lower2"] or first["spread1"] or second["spread2"]:
            raise Unreadable(f"{text!r} can be read in several ways; write it as '10 - 20 %'.")
        return value, _value(second["number2"], second["unit2"] or number.unit), None
    if first["spread1"]:
        spread = _value(first["spread1"], number.unit)
        return max(value - spread, 0.0), max(value, min(value + spread, 1.0)), None
    if first["upper1"]:
        return 0.0, value, None
    if first["lower1"]:
        return value, max(value, 1.0), None
    if first["about1"]:
        ends = value * (1.0 - APPROXIMATELY), max(value, min(value * (1.0 + APPROXIMATELY), 1.0))
        return *ends, f"{text!r} is taken as {told(ends[0])} to {told(ends[1])}"
    return value, value, None


def _value(number: str, unit: str | None) -> float:
    value = float(number.replace(",", "."))
    if unit is None:
        return 0.01 * value
    bare = re.sub(r"\s", "", unit.lower())
    if re.search(r"[wmp]/v|g/(?:100)?(?:m?l|[cd]?m[3³])", bare):
        raise Unreadable(f"'{number} {unit}' is a mass per volume, which is no share; work out the percentage.")
    if bare.startswith(("ppm", "mg")):
        if re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", number):
            raise Unreadable(
                f"'{number} {unit}' may be {number.replace(',', '.')} or a thousand times as much; "
                "write it without a sign between thousands."
            )
        return 1e-6 * value
    return 1e-3 * value if bare.startswith(("g/kg", "‰")) else 0.01 * value


def _basis(unit: str) -> str | None:
    bare = re.sub(r"[\s.()\[\]-]", "", unit.lower())
    if bare.startswith("mol"):
        raise Unreadable(f"{unit!r} is by amount of substance; a label is read by mass or by volume.")
    if bare.startswith(("v", "ppmv")) or re.search(r"v/v|vol", bare):
        return "volume"
    return None if bare in _PLAIN else "mass"


_PLAIN = frozenset({"%", "percent", "prozent", "pourcent", "porciento", "ppm", "‰"})


def basis_of_heading(line: str) -> str | None:
    """The basis that the heading of a column prints, such as "% w/w" or "Volumenanteil"; None if it prints none."""
    if found := re.search(_UNIT, line, _FLAGS):
        return _basis(found.group())
    if _FRACTION_BY_VOLUME.search(line):
        return "volume"
    return "mass" if _FRACTION_BY_MASS.search(line) else None


_FRACTION_BY_VOLUME = re.compile(r"volumenanteil|volume\s+fraction|fraction\s+volumique|by\s+volume", re.IGNORECASE)
_FRACTION_BY_MASS = re.compile(r"massenanteil|mass\s+fraction|fraction\s+massique|by\s+(?:weight|mass)", re.IGNORECASE)


def _stands_alone(line: str, number: _Number) -> bool:
    """Whether a number without a unit can be a share: at the end of the line, or a range or a column of its own."""
    before, after = line[: number.start], line[number.end :]
    if re.search(r"\bC\s*$", before):
        return False  # a number of carbon atoms: "alkanes, C 10-13"
    at_end = _END.match(after) is not None and re.search(r"(?:^|[\s|:(=])\s*$", before) is not None
    is_column = _BOUNDARY_BEFORE.search(before) is not None
    return at_end or (is_column and _BOUNDARY_AFTER.match(after) is not None)

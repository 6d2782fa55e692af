"""Who bears a name, in which language, and whether one of them can be meant."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import AmbiguousComponent, CutpointError, WrongUsage
from cutpoint.schema.identifiers import hill_formula, is_formula, split_formula
from cutpoint.schema.names import ANY_LANGUAGE, ENGLISH, LANGUAGES, search_key, search_keys

from .matches import Match

if TYPE_CHECKING:
    from .store import Store

FIELDS = "c.cas, c.name, c.formula, c.inchikey, c.molar_mass_g_mol, c.kind, b.value, b.u95, b.grade"
"""Columns of `component` (c) and of its boiling point in `evaluation` (b) that begin every row of a match."""
BOILING = "LEFT JOIN evaluation b ON b.cas = c.cas AND b.property = 'normal_boiling_point'"
CLAIM_ORDER = "CASE n.claim WHEN 'house' THEN 0 WHEN 'own' THEN 1 ELSE 2 END"
ENGLISH_FIRST = f"CASE n.language WHEN '{ENGLISH}' THEN 0 ELSE 1 END"

LEAST_SCORE = 0.7
"""Below this share of agreeing letters a name is not called near: two letters in seven may differ, none in three."""

SHORTLIST = 300
LEAST_JARO_WINKLER = 0.8
"""Names for the shortlist; a pair of names above LEAST_SCORE is seldom below this similarity
(W. E. Winkler, Proceedings of the Section on Survey Research Methods, ASA, 1990, 354-359)."""

_BY_NAME = f"""
    SELECT {FIELDS}, n.name, n.language, n.claim
    FROM name n JOIN component c ON c.cas = n.cas {BOILING}
    WHERE n.search_key = $key ORDER BY {ENGLISH_FIRST}, n.rank, c.cas, n.language
"""
_BY_SPELLING = f"""
    WITH near AS (
        SELECT search_key, cas, name, language, claim, rank FROM name
        WHERE length(search_key) BETWEEN $least AND $most
          AND ($language = '' OR language IN ($language, '{ANY_LANGUAGE}'))
          AND jaro_winkler_similarity(search_key, $key) >= $similar
        ORDER BY jaro_winkler_similarity(search_key, $key) DESC, search_key, rank, language LIMIT $shortlist
    ), lettered AS (
        SELECT *, regexp_replace(translate(search_key, $letters, $signs), '[^\\x00-\\x7f]', '~', 'g') AS signs FROM near
    ), scored AS (
        SELECT *, 1 - damerau_levenshtein(signs, $key_signs) / greatest(length(signs), length($key_signs)) AS score
        FROM lettered
    )
    SELECT {FIELDS}, n.name, n.language, n.score
    FROM scored n JOIN component c ON c.cas = n.cas {BOILING}
    WHERE n.score >= $score
    QUALIFY row_number() OVER (
        PARTITION BY c.cas ORDER BY n.score DESC, {CLAIM_ORDER}, {ENGLISH_FIRST}, n.search_key, n.language
    ) = 1
    ORDER BY n.score DESC, {CLAIM_ORDER} + CASE WHEN b.value IS NULL THEN 1 ELSE 0 END, {ENGLISH_FIRST}, n.rank, c.cas
    LIMIT $limit
"""
MOST_SIGNS = 31
"""Control characters of ASCII, of which no key has any."""
_BEYOND_ASCII = re.compile(r"[^\x00-\x7f]")
MOST_LISTED = 5
"""Components that a sentence lists."""

_LANGUAGES = "SELECT DISTINCT language FROM name ORDER BY language"

Reading = tuple[Match, str]
"""A component with one of its names, and the strength of its claim on that name."""


def language_asked(store: Store, code: str | None) -> str | None:
    """The code of a language as the store has it; raises WrongUsage for one in which it holds no name."""
    if code is None:
        return None
    asked = code.strip().lower()
    held = [language for (language,) in store.rows(_LANGUAGES)]
    if asked not in held:
        listed = ", ".join(f"{language} ({LANGUAGES[language]})" for language in held)
        raise WrongUsage(f"The store holds no names in a language {code!r}; those that it holds are {listed}.")
    return asked


def by_name(store: Store, query: str, language: str | None) -> list[Reading]:
    """Every reading of the name that the query is, English first; those in `language` alone where there are any.

    Where the query is the formula of an ion, only those of that ion: the key
    of a name drops the sign, which would make an ion its neutral namesake.
    """
    rows = [row for key in search_keys(query) if key for row in store.rows(_BY_NAME, key=key)]
    if is_charged(query):
        formula = hill_formula(*split_formula(query))
        rows = [row for row in rows if row[2] == formula]
    if language is not None:
        rows = [row for row in rows if row[10] in (language, ANY_LANGUAGE)] or rows
    return [(Match(*(*row[:9], "name", 1.0, row[9], row[10])), row[11]) for row in rows]


def by_spelling(store: Store, text: str, limit: int, language: str | None) -> list[Match]:
    """Components with a name spelled nearly like the text, nearest first; one entry each.

    Names in `language` alone where one is near.
    """
    key = search_key(text)
    if not key:
        return []
    # DuckDB counts the bytes of an edit: each letter beyond ASCII is compared as a sign of one byte instead.
    letters = "".join(dict.fromkeys(letter for letter in key if not letter.isascii()))[:MOST_SIGNS]
    signs = "".join(map(chr, range(1, 1 + len(letters))))
    key_signs = _BEYOND_ASCII.sub("~", key.translate(str.maketrans(letters, signs)))
    rows: list[tuple[Any, ...]] = []
    for asked in dict.fromkeys((language or "", "")):
        rows = rows or store.rows(
            _BY_SPELLING,
            key=key,
            letters=letters,
            signs=signs,
            key_signs=key_signs,
            language=asked,
            least=LEAST_SCORE * len(key),
            most=len(key) / LEAST_SCORE,
            similar=LEAST_JARO_WINKLER,
            shortlist=SHORTLIST,
            score=LEAST_SCORE,
            limit=limit,
        )
    return [Match(*(*row[:9], "spelling", float(row[11]), row[9], row[10])) for row in rows]


def once_each(readings: Iterable[Reading]) -> list[Match]:
    """The components of readings, each under its first name."""
    found: dict[str, Match] = {}
    for match, _ in readings:
        found.setdefault(match.cas, match)
    return list(found.values())


def strongest(readings: Sequence[Reading], query: str) -> tuple[str, str | None]:
    """The component whose claim on a name stands alone at the top, and a note on its other bearers.

    Raises AmbiguousComponent if several claim it alike: a name that means
    different substances in two languages stays ambiguous unless it is English
    and one's own.
    """
    spoken = languages_of(readings)
    bearers: list[Match] = []
    for strength in ("house", "own", "alias"):
        bearers = bearers or once_each(reading for reading in readings if reading[1] == strength)
    if len(bearers) > 1:
        raise ambiguous(once_each(readings), f"The name {query!r} belongs to {len(bearers)} components alike", spoken)
    (bearer,) = bearers
    others = [match for match in once_each(readings) if match.cas != bearer.cas]
    listed = "; ".join(f"{match.name} ({match.cas}){spoken.get(match.cas, '')}" for match in others)
    return bearer.cas, f"The name {query!r} is also used of {listed}." if others else None


def ambiguous(matches: list[Match], told: str, spoken: Mapping[str, str] = MappingProxyType({})) -> CutpointError:
    """The error that several components are meant, with all as candidates; `spoken` as `languages_of` gives it."""
    listed = ", ".join(f"{match.cas} {match.name}{spoken.get(match.cas, '')}" for match in matches[:MOST_LISTED])
    more = f" and {len(matches) - MOST_LISTED} more" if len(matches) > MOST_LISTED else ""
    return AmbiguousComponent(f"{told}; name one by its CAS number: {listed}{more}.", candidates(matches))


def languages_of(readings: Sequence[Reading]) -> dict[str, str]:
    """By CAS number a phrase on the languages in which each bears the name; empty where all do so in English alone."""
    codes: dict[str, list[str]] = {}
    for match, _ in readings:
        codes.setdefault(match.cas, []).append(match.matched_language or ENGLISH)
    if all(code == ENGLISH for held in codes.values() for code in held):
        return {}
    return {cas: f" in {' and '.join(LANGUAGES[code] for code in held)}" for cas, held in codes.items()}


def candidates(matches: Iterable[Match]) -> list[dict[str, Any]]:
    """Matches as the candidates of an error."""
    fields = ("cas", "name", "formula", "boiling_point_K", "matched_by", "score", "matched_language")
    return [{field: getattr(match, field) for field in fields} for match in matches]


def is_charged(text: str) -> bool:
    """Whether the text is the formula of an ion."""
    return is_formula(text) and split_formula(text)[1] != 0

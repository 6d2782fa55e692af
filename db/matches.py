"""What a search answers with, and how temperatures and pressures read to people.

Apart from the other results because a single look-up from a shell needs these
alone, and building a dataclass takes longer than many a query.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from cutpoint.schema.names import ANY_LANGUAGE, ENGLISH, LANGUAGES
from cutpoint.schema.properties import ICE_POINT_K


def celsius(T_K: float) -> str:
    """A temperature for people.

    >>> celsius(350.25)
    '77.1 °C'
    >>> celsius(273.14)
    '0.0 °C'
    """
    return f"{round(T_K - ICE_POINT_K, 1) + 0.0:.1f} °C"


def kilopascal(p_Pa: float) -> str:
    """A pressure for people.

    >>> kilopascal(101325.0)
    '101.325 kPa'
    """
    return f"{p_Pa / 1000:.6g} kPa"


def told_pressure(p_Pa: float, digits: int = 3) -> str:
    """A pressure for people to so many significant digits, in pascals where it is a small one.

    >>> told_pressure(517_952.0), told_pressure(101_325.0, 6), told_pressure(0.0123)
    ('518 kPa', '101.325 kPa', '0.0123 Pa')
    """
    value, unit = (p_Pa, "Pa") if p_Pa < 100.0 else (p_Pa / 1000.0, "kPa")
    return f"{float(f'{value:.{digits}g}'):.10g} {unit}"


@dataclass(frozen=True)
class Match:
    """One component that answers to a query.

    `matched_by` is `cas`, `inchikey`, `smiles`, `name`, `formula` or
    `spelling`; `matched_name` the name that was met, where it was one, and
    `matched_language` the code of its language, `mul` for all of them. `score`
    is 1 for an exact match, else the share of letters that agree (0 to 1).
    """

    cas: str
    name: str
    formula: str | None
    inchikey: str | None
    molar_mass_g_mol: float | None
    kind: str
    boiling_point_K: float | None
    boiling_point_u95_K: float | None
    grade: str | None
    matched_by: str
    score: float
    matched_name: str | None = None
    matched_language: str | None = None

    @property
    def how(self) -> str:
        """By what it was matched, with the name that was met if another is shown, and its language if not English."""
        met = self.matched_by if self.matched_name in (None, self.name) else f"{self.matched_by}: {self.matched_name}"
        foreign = self.matched_language not in (None, ENGLISH)
        return f"{met} ({LANGUAGES[self.matched_language or ENGLISH]})" if foreign else met

    def __str__(self) -> str:
        boils = "no boiling point held"
        if self.boiling_point_K is not None:
            boils = f"{celsius(self.boiling_point_K)} ± {self.boiling_point_u95_K or 0.0:.2g} K, grade {self.grade}"
        return f"{self.name} [{self.cas}] {self.formula or '?'}: {boils} ({self.how}, {self.score:.2f})"


@dataclass(frozen=True)
class Matches:
    """Ranked answers to `find`, best first. Iterates over them; `len()` counts them.

    `language` is the code of the language that was asked for, if one was.
    """

    query: str
    matches: tuple[Match, ...]
    language: str | None = field(default=None, compare=False)

    @property
    def in_other_languages(self) -> bool:
        """Whether a language was asked for, and no match bears the name in it."""
        met = {match.matched_language for match in self.matches} - {None}
        return self.language is not None and bool(met) and not met & {self.language, ANY_LANGUAGE}

    def __iter__(self) -> Iterator[Match]:
        return iter(self.matches)

    def __len__(self) -> int:
        return len(self.matches)

    def __str__(self) -> str:
        return "\n".join(str(match) for match in self.matches)

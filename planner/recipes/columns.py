"""Laboratory columns by kind: how high a theoretical plate is in them, and how much liquid it holds.

The figures of `columns.csv` are for modest boil-up, well below flooding, and an
insulated column about 2 cm wide. Throughput, diameter and packing move them by
a factor of two either way, so a column that was measured with a test mixture is
better told by its plates.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from cutpoint.schema.errors import WrongUsage

TABLE = Path(__file__).with_name("columns.csv")

HOLDUP_PER_PLATE_M3 = 1e-6
"""Liquid on a theoretical plate of a column of which only the plates are known: common practice, no source."""

_ROUNDING = 1e-9
"""Three plates of 10 cm in 30 cm shall be three, not one less by the rounding of floating-point numbers."""


@dataclass(frozen=True)
class ColumnKind:
    """A kind of column: the height of a theoretical plate, None for a head without any, and its liquid."""

    name: str
    other_spellings: tuple[str, ...]
    hetp_m: float | None
    holdup_per_plate_m3: float
    source: str

    def plates(self, height_m: float) -> int:
        """Whole theoretical plates in a column of the height in m; the pot is another."""
        return 0 if self.hetp_m is None else math.floor(height_m / self.hetp_m + _ROUNDING)


@cache
def kinds() -> tuple[ColumnKind, ...]:
    """All kinds, in the order of the table."""
    with TABLE.open(encoding="utf-8", newline="") as lines:
        return tuple(
            ColumnKind(
                row["kind"],
                tuple(row["other_spellings"].split(";")),
                float(row["hetp_cm"]) / 100.0 if row["hetp_cm"] else None,
                float(row["holdup_mL_per_plate"]) * 1e-6,
                row["source"],
            )
            for row in csv.DictReader(lines)
        )


def kind_named(name: str) -> ColumnKind:
    """The kind of column that a name means, whatever its case, hyphens and commas.

    Raises WrongUsage with the nearest spelling and the list of all kinds.
    """
    spellings = _spellings()
    key = _key(name)
    if key in spellings:
        return spellings[key]
    near = get_close_matches(key, spellings, n=1, cutoff=0.7)
    hint = f" Nearest is {spellings[near[0]].name!r}." if near else ""
    known = "; ".join(kind.name for kind in kinds())
    raise WrongUsage(f"{name!r} is no kind of column that is known here.{hint} Known are: {known}.")


@cache
def _spellings() -> dict[str, ColumnKind]:
    return {_key(spelling): kind for kind in kinds() for spelling in (kind.name, *kind.other_spellings)}


def _key(name: str) -> str:
    """A name without case, punctuation, and the words that tell nothing."""
    words = "".join(letter if letter.isalnum() else " " for letter in name.casefold()).split()
    return " ".join(word for word in words if word not in {"column", "with", "a", "the"})

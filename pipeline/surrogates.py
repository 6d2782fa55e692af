"""Pure components that stand for a cut: spread over its boiling range, in the proportions of its chemical classes.

The range is parted into as many equal slots, of `MOST` to `FEWEST`, as can all
be filled with one candidate each, so that equal parts of the mass boil in equal
intervals of temperature: what is recovered rises about straight from one end to
the other. Which class fills a slot is settled by error diffusion: every slot
adds to each class its share, and the class that is owed most pays one. Then the
masses are scaled so that the classes have their shares. Candidates up to
`BEYOND_K` outside an end count as boiling there, because the ends of a range
are nominal. The method is this project's own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

FEWEST, MOST = 3, 8
"""Surrogates of a cut: with fewer it has no shape, with more a batch takes long to follow."""

BEYOND_K = 5.0
"""How far outside the ends of a range a surrogate may boil; common practice, no source."""

DIGITS = 4
"""Decimals to which mass fractions are rounded."""


@dataclass(frozen=True)
class Candidate:
    """A pure component that may stand for a part of a cut."""

    cas: str
    chemical_class: str
    boiling_point_K: float


def spread(
    initial_K: float, final_K: float, shares: Mapping[str, float], candidates: Iterable[Candidate]
) -> dict[str, float] | None:
    """Mass fractions by CAS number, lowest boiling point first; None if the candidates cannot fill three slots.

    `shares` are the mass fractions of the chemical classes, most wanted first
    where two are owed alike. A class with less than one slot's share may find no place.
    """
    usable = [
        one
        for one in candidates
        if one.chemical_class in shares and initial_K - BEYOND_K <= one.boiling_point_K <= final_K + BEYOND_K
    ]
    for slots in range(MOST, FEWEST - 1, -1):
        chosen = _one_per_slot(initial_K, final_K, shares, usable, slots)
        if chosen is not None:
            return _weighed(chosen, shares)
    return None


def _one_per_slot(
    initial_K: float, final_K: float, shares: Mapping[str, float], usable: Sequence[Candidate], slots: int
) -> list[Candidate] | None:
    """A candidate for each slot, or None if one stays empty."""
    width = (final_K - initial_K) / slots
    in_slot: dict[int, list[Candidate]] = defaultdict(list)
    for one in usable:
        place = int((one.boiling_point_K - initial_K) // width)
        in_slot[min(max(place, 0), slots - 1)].append(one)
    owed = dict.fromkeys(shares, 0.0)
    chosen = []
    for slot in range(slots):
        if slot not in in_slot:
            return None
        owed = {name: debt + shares[name] for name, debt in owed.items()}
        there = {one.chemical_class for one in in_slot[slot]}
        paying = max((name for name in owed if name in there), key=lambda name: owed[name])
        owed[paying] -= 1.0
        middle = initial_K + (slot + 0.5) * width
        of_class = [one for one in in_slot[slot] if one.chemical_class == paying]
        chosen.append(min(of_class, key=lambda one: (abs(one.boiling_point_K - middle), one.cas)))
    return chosen


def _weighed(chosen: Sequence[Candidate], shares: Mapping[str, float]) -> dict[str, float]:
    """Equal masses, scaled so that the classes present have their shares; rounded, and still of the sum one."""
    count: dict[str, int] = defaultdict(int)
    for one in chosen:
        count[one.chemical_class] += 1
    total = sum(shares[name] for name in count)
    fractions = {
        one.cas: round(shares[one.chemical_class] / total / count[one.chemical_class], DIGITS) for one in chosen
    }
    largest = max(fractions, key=lambda cas: fractions[cas])
    others = sum(fraction for cas, fraction in fractions.items() if cas != largest)
    fractions[largest] = round(1.0 - others, DIGITS)
    return fractions

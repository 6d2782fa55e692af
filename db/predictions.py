"""What is predicted of pairs, one by one: from the store's groups and curves to azeotropes, volatilities, plates."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from .activity import SCHEME, Counts
from .azeotropes import KINDS, find_azeotropes
from .curves import CurveBank
from .pair_equilibrium import Array, Boiling, Pairs
from .pair_tables import PairTables
from .parting import MIDDLE, part
from .results import Azeotrope, RelativeVolatility
from .two_liquids import Split
from .verdicts import Mixing


class Molecule(NamedTuple):
    """What a prediction needs to know of a component, besides its curve."""

    cas: str
    name: str
    molar_mass_g_mol: float


PLAUSIBLE_LN_GAMMA = (-4.0, 40.0)
"""Beyond these no liquid goes: acids in amines reach some -3, long paraffins in water some 30; common practice."""

SURE_BELOW_K = 430.0
"""Most of what the parameters were fitted to lies below; beyond, a predicted azeotrope is never sure. From memory."""

IMPLAUSIBLE = (
    f"The published parameters of {SCHEME} give activities there that no liquid has: "
    "the temperature is outside what they were made for"
)


@dataclass(frozen=True)
class Prediction:
    """What the model says of one pair at one pressure.

    `liquids` are the mole fractions of a in two liquids that boil together.
    """

    mixing: Mixing
    volatility: RelativeVolatility
    plates: float | None
    liquids: tuple[float, float] | None


def why_not_predictable(tables: PairTables, a: Molecule, b: Molecule) -> str | None:
    """Why the model cannot speak of a pair; None if it can."""
    counts = [tables.counts(molecule.cas) for molecule in (a, b)]
    uncovered = [molecule.name for molecule, groups in zip((a, b), counts, strict=True) if not groups]
    if uncovered:
        return f"The groups of {SCHEME} do not cover the molecule of {' nor of '.join(uncovered)}"
    lacking = tables.book.unknown_interactions([groups for groups in counts if groups])
    if lacking:
        told = ", ".join(f"{one} and {other}" for one, other in lacking)
        return f"{SCHEME} has no published parameters between the groups {told}"
    return None


def model_of(
    tables: PairTables, molecules: Sequence[tuple[Molecule, Molecule]], a: CurveBank, b: CurveBank, pressure_Pa: Array
) -> Pairs:
    """The pairs ready for computing; each must be predictable. `pressure_Pa` has one pressure per pair."""
    mixtures: list[tuple[Counts, Counts]] = []
    for one, other in molecules:
        counts = tables.counts(one.cas), tables.counts(other.cas)
        assert counts[0] is not None and counts[1] is not None
        mixtures.append((counts[0], counts[1]))
    return Pairs(a.with_those_of(b), tables.book.model(mixtures), pressure_Pa)


def predict(
    pairs: Pairs, molecules: Sequence[tuple[Molecule, Molecule]], purity_a: float, purity_b: float
) -> list[Prediction | None]:
    """The predictions of all pairs at once, None where they are implausible; purities are mole fractions."""
    parting = part(pairs, purity_a, purity_b)
    spread = math.log(purity_a / (1.0 - purity_a) * purity_b / (1.0 - purity_b))
    with np.errstate(divide="ignore"):
        nominal, least, most = (
            spread * parting.K_per_ln_alpha / plates
            for plates in (parting.span.plates, parting.span.plates_most, parting.span.plates_least)
        )
    plates = parting.span.plates
    found = azeotropes_of(pairs, parting.boiling, parting.split, molecules)
    low, high = PLAUSIBLE_LN_GAMMA
    boiling = parting.boiling
    with np.errstate(invalid="ignore"):
        beyond = (boiling.least_ln_gamma < low) | (boiling.non_ideality > high)
    answers: list[Prediction | None] = []
    for p in range(len(pairs)):
        if beyond[p].any():
            answers.append(None)
            continue
        azeotropes = found.get(p, ())
        # An unstable liquid whose two parts were not found is taken for one: then nothing is sure.
        sure = (
            bool(parting.surely_azeotropic[p])
            and not parting.split.unsettled[p]
            and all(one.temperature_K < SURE_BELOW_K for one in azeotropes)
        )
        mixing = Mixing(
            azeotropes, sure, float(nominal[p]), float(least[p]),
            float(most[p]),
        )  # fmt: skip
        volatility = RelativeVolatility(*(_alpha(parting.ln_alpha[p, place]) for place in (0, MIDDLE, -1)))
        two = float(parting.split.x_lean[p]), float(parting.split.x_rich[p])
        answers.append(
            Prediction(
                mixing,
                volatility,
                float(plates[p]) if math.isfinite(plates[p]) else None,
                None if math.isnan(two[0]) else two,
            )
        )
    return answers


def _alpha(ln_alpha: float) -> float | None:
    return None if math.isnan(ln_alpha) else math.exp(ln_alpha)


def azeotropes_of(
    pairs: Pairs, boiling: Boiling, split: Split, molecules: Sequence[tuple[Molecule, Molecule]]
) -> dict[int, tuple[Azeotrope, ...]]:
    """The predicted azeotropes by the place of their pair, by rising mole fraction of a."""
    found: dict[int, list[Azeotrope]] = {}
    told = find_azeotropes(pairs, boiling, split)
    for p, x, T_K, kind in zip(told.pair.tolist(), told.x.tolist(), told.T_K.tolist(), told.kind.tolist(), strict=True):
        a, b = molecules[p]
        mass_fraction = x * a.molar_mass_g_mol / (x * a.molar_mass_g_mol + (1.0 - x) * b.molar_mass_g_mol)
        azeotrope = Azeotrope("predicted", KINDS[kind], T_K, mass_fraction, x, SCHEME, float(pairs.pressure_Pa[p]))
        found.setdefault(p, []).append(azeotrope)
    return {p: tuple(azeotropes) for p, azeotropes in found.items()}

"""Joback and Reid's additive method: normal boiling point and critical constants from a count of groups.

A molecule is cut into the method's 41 groups, each heavy atom in exactly one.
A molecule that the groups do not cover whole gets no estimate: a tertiary
nitrogen in a ring, a sulfone, anything with silicon, phosphorus or a charge
outside a nitro group. Groups that span several atoms are sought first, so the
oxygen of an ester is no ether; a lactone, whose -COO- lies in a ring, is a
ring ketone beside a ring ether. A formate is an aldehyde beside an ether.

    T_b / K   = 198.2 + Σ T_b,i
    T_c / K   = T_b [0.584 + 0.965 Σ T_c,i - (Σ T_c,i)²]^-1
    p_c / bar = [0.113 + 0.0032 n_atoms - Σ p_c,i]^-2

K. G. Joback, R. C. Reid, Chem. Eng. Commun. 57 (1987) 233-243,
doi:10.1080/00986448708960487; the group values are those of its table III.
"""

from __future__ import annotations

import math
from collections import Counter
from typing import NamedTuple

from rdkit import Chem

PA_PER_BAR = 1.0e5
CARBON = 6


class Group(NamedTuple):
    """A group: its name, the pattern of its atoms, and what it adds; NaN where the authors give no value."""

    name: str
    smarts: str
    T_b_K: float
    T_c: float
    p_c: float


GROUPS = (
    # Several atoms; sought in this order, before the single ones.
    Group("-NO2", "[$([NX3+](=O)[O-]),$([NX3+0](=O)=O)](~[OX1])~[OX1]", 152.54, 0.0437, 0.0064),
    Group("-COOH", "[CX3H0!R](=[OX1])[OX2H1+0]", 169.09, 0.0791, 0.0077),
    Group("-COO-", "[CX3H0!R](=[OX1])[OX2H0!R]", 81.10, 0.0481, 0.0005),
    Group("O=CH-", "[CX3H1!R]=[OX1]", 72.24, 0.0379, 0.0030),
    Group(">C=O", "[CX3H0!R]=[OX1]", 76.75, 0.0380, 0.0031),
    Group(">C=O ring", "[#6X3H0R]=[OX1]", 94.97, 0.0284, 0.0028),
    Group("-CN", "[CX2H0]#[NX1+0]", 125.66, 0.0496, -0.0101),
    # Carbon outside rings.
    Group("-CH3", "[CX4H3D1]", 23.58, 0.0141, -0.0012),
    Group("-CH2-", "[CX4H2!R]", 22.88, 0.0189, 0.0000),
    Group(">CH-", "[CX4H1!R]", 21.74, 0.0164, 0.0020),
    Group(">C<", "[CX4H0!R]", 18.25, 0.0067, 0.0043),
    Group("=CH2", "[$([CX3H2D1]=*)]", 18.18, 0.0113, -0.0028),
    Group("=CH-", "[$([CX3H1!R]=*)]", 24.96, 0.0129, -0.0006),
    Group("=C<", "[$([CX3H0!R]=*)]", 24.14, 0.0117, 0.0011),
    Group("=C=", "[$([CX2H0!R](=*)=*)]", 26.15, 0.0026, 0.0028),
    Group("≡CH", "[$([CX2H1D1]#*)]", 9.20, 0.0027, -0.0008),
    Group("≡C-", "[$([CX2H0!R]#*)]", 27.38, 0.0020, 0.0016),
    # Carbon in rings.
    Group("-CH2- ring", "[CX4H2R]", 27.15, 0.0100, 0.0025),
    Group(">CH- ring", "[CX4H1R]", 21.78, 0.0122, 0.0004),
    Group(">C< ring", "[CX4H0R]", 21.32, 0.0042, 0.0061),
    Group("=CH- ring", "[#6X3H1R]", 26.73, 0.0082, 0.0011),
    Group("=C< ring", "[#6X3H0R]", 31.01, 0.0143, 0.0008),
    # Halogens.
    Group("-F", "[FD1]", -0.03, 0.0111, -0.0057),
    Group("-Cl", "[ClD1]", 38.13, 0.0105, -0.0049),
    Group("-Br", "[BrD1]", 66.86, 0.0133, 0.0057),
    Group("-I", "[ID1]", 93.84, 0.0068, -0.0034),
    # Oxygen.
    Group("-OH phenol", "[$([OX2H1D1]c)]", 76.34, 0.0240, 0.0184),
    Group("-OH alcohol", "[OX2H1D1]", 92.88, 0.0741, 0.0112),
    Group("-O-", "[OX2H0!R]", 22.42, 0.0168, 0.0015),
    Group("-O- ring", "[#8X2H0R]", 31.22, 0.0098, 0.0048),
    Group("=O", "[$([OX1H0]=*)]", -10.50, 0.0143, 0.0101),
    # Nitrogen.
    Group("-NH2", "[NX3H2D1]", 73.23, 0.0243, 0.0109),
    Group(">NH", "[NX3H1!R]", 50.17, 0.0295, 0.0077),
    Group(">NH ring", "[#7X3H1R]", 52.82, 0.0130, 0.0114),
    Group(">N-", "[NX3H0!R]", 11.74, 0.0169, 0.0074),
    Group("-N=", "[$([NX2H0!R]=*)]", 74.60, 0.0255, -0.0099),
    Group("-N= ring", "[#7X2H0R]", 57.55, 0.0085, 0.0076),
    Group("=NH", "[$([NX2H1D1]=*)]", 83.08, math.nan, math.nan),
    # Sulfur.
    Group("-SH", "[SX2H1D1]", 63.56, 0.0031, 0.0084),
    Group("-S-", "[SX2H0!R]", 68.78, 0.0119, 0.0049),
    Group("-S- ring", "[#16X2H0R]", 52.10, 0.0019, 0.0051),
)
"""The method's groups, in the order in which they are sought."""

_PATTERNS = tuple((group, Chem.MolFromSmarts(group.smarts)) for group in GROUPS)
_GROUP = {group.name: group for group in GROUPS}


def count_groups(molecule: Chem.Mol) -> Counter[str] | None:
    """How often each group occurs, by name; None if the groups do not cover the whole molecule.

    The method was made for organic compounds: without carbon there is no cover.
    """
    atoms = molecule.GetAtoms()
    free = {atom.GetIdx() for atom in atoms}
    charged = {atom.GetIdx() for atom in atoms if atom.GetFormalCharge()}
    if not any(atom.GetAtomicNum() == CARBON for atom in atoms):
        return None
    counts: Counter[str] = Counter()
    for group, pattern in _PATTERNS:
        for match in _least_shared_first(molecule.GetSubstructMatches(pattern)):
            if free.issuperset(match):
                free.difference_update(match)
                counts[group.name] += 1
        if not free:
            return counts
        # Only a nitro group is written with charges, and it is sought first.
        if charged & free:
            return None
    return None


def _least_shared_first(matches: tuple[tuple[int, ...], ...]) -> list[tuple[int, ...]]:
    """Matches that share fewest atoms with others come first: a mixed anhydride gets as many esters as it can."""
    shared = Counter(atom for match in matches for atom in match)
    return sorted(matches, key=lambda match: sum(shared[atom] for atom in match))


def boiling_point_K(counts: Counter[str]) -> float:
    """Normal boiling point, K."""
    return 198.2 + _sum(counts, "T_b_K")


def critical_temperature_K(counts: Counter[str], T_b_K: float) -> float:
    """Critical temperature from the normal boiling point, K; NaN where a group has no value."""
    total = _sum(counts, "T_c")
    return T_b_K / (0.584 + 0.965 * total - total**2)


def critical_pressure_Pa(counts: Counter[str], n_atoms: int) -> float:
    """Critical pressure from the number of all atoms, hydrogens counted; Pa. NaN where a group has no value."""
    return PA_PER_BAR * (0.113 + 0.0032 * n_atoms - _sum(counts, "p_c")) ** -2


def _sum(counts: Counter[str], contribution: str) -> float:
    return math.fsum(number * getattr(_GROUP[name], contribution) for name, number in counts.items())

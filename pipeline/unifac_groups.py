"""Group counts of modified UNIFAC (Dortmund) from structure: every atom in exactly one group, or no counts at all.

A molecule is covered exactly by the patterns below: each heavy atom, with its
hydrogens, belongs to one group. What the published groups do not reach gets no
count: a ketone between two branched carbons, a lactone, an anhydride, an amine
in a ring, an ether oxygen in a ring beside a branched carbon, a peroxide, any
charge outside a nitro group, isotopes, radicals, more than one fragment.

Where two covers would do, the published assignments decide. Atoms that have
one pattern left are settled first; of several patterns the one that stands
first in `PATTERNS` is taken. So methyl tert-butyl ether has CH3O and not CH3
beside an ether carbon, a chloroacetate CH2Cl beside COO, 1,2-ethanediol the
group made for it. Ties between equal atoms are broken by canonical rank, so
the order in which the atoms are written does not matter.

Of the groups with a ring oxygen, cy-CH2OCH2 takes both neighbours whole
(tetrahydrofuran; 1,4-dioxane has two), cy-CH2O[CH2]1/2 takes one whole and one
half (two in 1,3-dioxolane), and [cy-CH2]1/2O[CH2]1/2 two halves (three in
1,3,5-trioxane). The sizes of the pyrrolidone groups are those of the whole
ring with the nitrogen's next carbon.

Groups: J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178,
and the later papers named in `sources.modified_unifac_groups`. Patterns: own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import NamedTuple

from rdkit import Chem, RDLogger

MOST_HEAVY_ATOMS = 60
"""Larger molecules are no liquids that a column parts, and the model was not fitted to them."""

CHUNK = 2000
"""Molecules handed to a worker at a time."""

_ELEMENTS = frozenset((6, 7, 8, 9, 16, 17, 35, 53))

# Neighbours that an ether, ester, amine or sulfide may have; vinyl where the papers have it.
_ALKYL_OR_ARYL = "$([CX4]),$(c1aaaaa1)"
_ORGANYL = f"{_ALKYL_OR_ARYL},$([CX3]=[CX3])"
_AC = "[cX3H0;$(c1aaaaa1);!$(c=[!c])]"
_ETHER = f"[OX2H0;!R;$(O([{_ORGANYL}])[{_ORGANYL}])]"
_RING_OXYGEN = "[OX2H0;R;!r3]"
_ESTER_OXYGEN = f"[OX2H0;!R;$(O[{_ORGANYL}])]"
_ACYL = "[CX3H0;!R;$(C[#6])]"
_CARBONATE = "[CX3;!R](=[OX1])([OX2;!R]"
_SECONDARY_N = f"[NX3H1;!R;$(N([{_ALKYL_OR_ARYL}])[{_ALKYL_OR_ARYL}])]"
_TERTIARY_N = f"[NX3H0;!R;$(N([{_ALKYL_OR_ARYL}])([{_ALKYL_OR_ARYL}])[{_ALKYL_OR_ARYL}])]"
_PYRIDINE_N = "[nX2;$(n1ccccc1)]"
_THIOPHENE_S = "[sX2;$(s1cccc1)]"
_SULFIDE = f"[SX2H0;!R;$(S([{_ALKYL_OR_ARYL}])[{_ALKYL_OR_ARYL}])]"
_NITRO = "[N+](=O)[O-]"
_KETONE = "[CX3H0;$(C([#6])[#6])]=[OX1]"

PATTERNS: tuple[tuple[str, int, str], ...] = (
    # Molecules that are one group.
    ("H2O", 1, "[OX2H2]"),
    ("CH3OH", 1, "[CX4H3][OX2H1]"),
    ("HCOOH", 1, "[CX3H1](=[OX1])[OX2H1]"),
    ("CH3CN", 1, "[CX4H3]C#N"),
    ("acrylonitrile", 1, "[CX3H2]=[CX3H1]C#N"),
    ("CH3NO2", 1, f"[CX4H3]{_NITRO}"),
    ("CS2", 1, "S=C=S"),
    ("CH3SH", 1, "[CX4H3][SX2H1]"),
    ("DMSO", 1, "[CX4H3]S(=[OX1])[CX4H3]"),
    ("furfural", 1, "[CX3H1](=[OX1])c1[cH1][cH1][cH1]o1"),
    ("DOH", 1, "[OX2H1][CX4H2][CX4H2][OX2H1]"),
    ("CH3NH2", 1, "[CX4H3][NX3H2]"),
    ("CH2Cl2", 1, "[CX4H2](Cl)Cl"),
    ("CHCl3", 1, "[CX4H1](Cl)(Cl)Cl"),
    ("CCl4", 1, "C(Cl)(Cl)(Cl)Cl"),
    ("HCON(CH3)2", 1, "[CX3H1](=[OX1])[NX3]([CX4H3])[CX4H3]"),
    ("HCONHCH3", 1, "[CX3H1](=[OX1])[NX3H1][CX4H3]"),
    ("[cy-CH2]1/2O[CH2]1/2", 3, "[CX4H2]1O[CX4H2]O[CX4H2]O1"),
    # Amides; the formamides, and the pyrrolidones with their whole ring.
    ("HCONHCH2", 1, "[CX3H1](=[OX1])[NX3H1;!R][CX4H2]"),
    ("HCON(CH2)2", 1, "[CX3H1](=[OX1])[NX3;!R]([CX4H2])[CX4H2]"),
    ("cy-CON-CH3", 1, "[CX4H3]N1[CX4H2][CX4H2][CX4H2]C1=[OX1]"),
    ("cy-CON-CH2", 1, "[CX4H2;!R]N1[CX4H2][CX4H2][CX4H2]C1=[OX1]"),
    ("cy-CON-CH", 1, "[CX4H1;!R]N1[CX4H2][CX4H2][CX4H2]C1=[OX1]"),
    ("cy-CON-C", 1, "[CX4H0;!R]N1[CX4H2][CX4H2][CX4H2]C1=[OX1]"),
    ("CONH2", 1, f"{_ACYL}(=[OX1])[NX3H2]"),
    ("CONHCH3", 1, f"{_ACYL}(=[OX1])[NX3H1][CX4H3]"),
    ("CONHCH2", 1, f"{_ACYL}(=[OX1])[NX3H1;!R][CX4H2]"),
    ("CON(CH3)2", 1, f"{_ACYL}(=[OX1])[NX3]([CX4H3])[CX4H3]"),
    ("CON(CH3)CH2", 1, f"{_ACYL}(=[OX1])[NX3;!R]([CX4H3])[CX4H2]"),
    ("CON(CH2)2", 1, f"{_ACYL}(=[OX1])[NX3;!R]([CX4H2])[CX4H2]"),
    # Amines.
    ("CH2NH2", 1, "[CX4H2][NX3H2]"),
    ("CHNH2", 1, "[CX4H1][NX3H2]"),
    ("CNH2", 1, "[CX4H0][NX3H2]"),
    ("ACNH2", 1, f"{_AC}[NX3H2]"),
    ("CH3NH", 1, f"[CX4H3]{_SECONDARY_N}"),
    ("CH2NH", 1, f"[CX4H2]{_SECONDARY_N}"),
    ("CHNH", 1, f"[CX4H1]{_SECONDARY_N}"),
    ("CH3N", 1, f"[CX4H3]{_TERTIARY_N}"),
    ("CH2N", 1, f"[CX4H2]{_TERTIARY_N}"),
    # Other nitrogen.
    ("AC2H2N", 1, f"[cH1]{_PYRIDINE_N}[cH1]"),
    ("AC2HN", 1, f"[cH1]{_PYRIDINE_N}[cX3H0]"),
    ("AC2N", 1, f"[cX3H0]{_PYRIDINE_N}[cX3H0]"),
    ("CH2CN", 1, "[CX4H2]C#N"),
    ("CH2NO2", 1, f"[CX4H2]{_NITRO}"),
    ("CHNO2", 1, f"[CX4H1]{_NITRO}"),
    ("ACNO2", 1, f"{_AC}{_NITRO}"),
    # Halogens.
    ("CCl3", 1, "[CX4H0;$(C[#6])](Cl)(Cl)Cl"),
    ("CHCl2", 1, "[CX4H1;$(C[#6])](Cl)Cl"),
    ("CCl2", 1, "[CX4H0;$(C([#6])[#6])](Cl)Cl"),
    ("CH2Cl", 1, "[CX4H2;$(C[#6])]Cl"),
    ("CHCl", 1, "[CX4H1;$(C([#6])[#6])]Cl"),
    ("CCl", 1, "[CX4H0;$(C([#6])([#6])[#6])]Cl"),
    ("ACCl", 1, f"{_AC}Cl"),
    ("Cl-(C=C)", 1, "[Cl;$(Cl[CX3]=[CX3])]"),
    ("ACF", 1, f"{_AC}F"),
    ("CF3", 1, "[CX4H0;$(C[#6])](F)(F)F"),
    ("CF2", 1, "[CX4H0;$(C([#6])[#6])](F)F"),
    ("CF", 1, "[CX4H0;$(C([#6])([#6])[#6])]F"),
    ("Br", 1, f"[Br;$(Br[{_ALKYL_OR_ARYL}])]"),
    ("I", 1, f"[I;$(I[{_ALKYL_OR_ARYL}])]"),
    # Sulfur.
    ("CH2SH", 1, "[CX4H2][SX2H1]"),
    ("(CH2)2SO2", 1, "[CX4H2][SX4](=[OX1])(=[OX1])[CX4H2]"),
    ("CH2SO2CH", 1, "[CX4H2][SX4](=[OX1])(=[OX1])[CX4H1]"),
    ("-S-S-", 1, "[SX2;!R;$(S[#6])][SX2;!R;$(S[#6])]"),
    ("CH3S", 1, f"[CX4H3]{_SULFIDE}"),
    ("CH2S", 1, f"[CX4H2]{_SULFIDE}"),
    ("CHS", 1, f"[CX4H1]{_SULFIDE}"),
    ("AC2H2S", 1, f"[cH1]{_THIOPHENE_S}[cH1]"),
    ("AC2HS", 1, f"[cH1]{_THIOPHENE_S}[cX3H0]"),
    ("AC2S", 1, f"[cX3H0]{_THIOPHENE_S}[cX3H0]"),
    # Carbonyl compounds.
    ("(CH3)2CO3", 1, f"{_CARBONATE}[CX4H3])[OX2;!R][CX4H3]"),
    ("CH2CH3CO3", 1, f"{_CARBONATE}[CX4H3])[OX2;!R][CX4H2]"),
    ("(CH2)2CO3", 1, f"{_CARBONATE}[CX4H2])[OX2;!R][CX4H2]"),
    ("COOH", 1, f"{_ACYL}(=[OX1])[OX2H1]"),
    ("HCOO", 1, f"[CX3H1](=[OX1]){_ESTER_OXYGEN}"),
    ("CH3COO", 1, f"[CX4H3]{_ACYL}(=[OX1]){_ESTER_OXYGEN}"),
    ("CH2COO", 1, f"[CX4H2]{_ACYL}(=[OX1]){_ESTER_OXYGEN}"),
    ("COO", 1, f"{_ACYL}(=[OX1]){_ESTER_OXYGEN}"),
    ("CHO", 1, "[CX3H1;$(C[#6])]=[OX1]"),
    ("CH3CO", 1, f"[CX4H3]{_KETONE}"),
    ("CH2CO", 1, f"[CX4H2]{_KETONE}"),
    # Hydroxyl groups beside one heteroatom only: no hemiacetals.
    ("ACOH", 1, f"{_AC}[OX2H1]"),
    ("OH(p)", 1, "[OX2H1;$(O[CX4H2][#6])]"),
    ("OH(s)", 1, "[OX2H1;$(O[CX4H1]([#6])[#6])]"),
    ("OH(t)", 1, "[OX2H1;$(O[CX4H0]([#6])([#6])[#6])]"),
    # Ethers.
    ("H2COCH2", 1, "[CX4H2]1O[CX4H2]1"),
    ("H2COCH", 1, "[CX4H2]1O[CX4H1]1"),
    ("H2COC", 1, "[CX4H2]1O[CX4H0]1"),
    ("HCOCH", 1, "[CX4H1]1O[CX4H1]1"),
    ("COCH", 1, "[CX4H0]1O[CX4H1]1"),
    ("cy-CH2OCH2", 1, f"[CX4H2;R]@{_RING_OXYGEN}@[CX4H2;R]"),
    ("cy-CH2O[CH2]1/2", 2, f"[CX4H2;R]@{_RING_OXYGEN}@[CX4H2;R]@{_RING_OXYGEN}@[CX4H2;R]"),
    ("CH3O", 1, f"[CX4H3]{_ETHER}"),
    ("CH2O", 1, f"[CX4H2]{_ETHER}"),
    ("CH-O", 1, f"[CX4H1]{_ETHER}"),
    # Unsaturated carbon.
    ("CH2=CH", 1, "[CX3H2]=[CX3H1]"),
    ("CH=CH", 1, "[CX3H1]=[CX3H1]"),
    ("CH2=C", 1, "[CX3H2]=[CX3H0]"),
    ("CH=C", 1, "[CX3H1]=[CX3H0]"),
    ("C=C", 1, "[CX3H0]=[CX3H0]"),
    ("CH≡C", 1, "[CX2H1]#[CX2H0]"),
    ("C≡C", 1, "[CX2H0]#[CX2H0]"),
    ("ACCH3", 1, f"{_AC}[CX4H3]"),
    ("ACCH2", 1, f"{_AC}[CX4H2]"),
    ("ACCH", 1, f"{_AC}[CX4H1]"),
    ("ACH", 1, "[cH1;$(c1aaaaa1),$(c1ccsc1)]"),
    ("AC", 1, "[cX3H0;$(c1aaaaa1),$(c1ccsc1);!$(c=[!c])]"),
    # Saturated carbon, in a ring and outside one.
    ("cy-CH2", 1, "[CX4H2;R]"),
    ("cy-CH", 1, "[CX4H1;R]"),
    ("cy-C", 1, "[CX4H0;R]"),
    ("CH3", 1, "[CX4H3]"),
    ("CH2", 1, "[CX4H2;!R]"),
    ("CH", 1, "[CX4H1;!R]"),
    ("C", 1, "[CX4H0;!R]"),
)
"""Group, how many of it the pattern stands for, and the pattern; in the order in which groups are preferred."""


class _Pattern(NamedTuple):
    group: str
    number: int
    query: Chem.Mol
    elements: frozenset[int]


class _Piece(NamedTuple):
    """A place where a pattern fits: its rank in `PATTERNS`, and the atoms that it covers."""

    rank: int
    atoms: frozenset[int]


def _compiled(group: str, number: int, smarts: str) -> _Pattern:
    query = Chem.MolFromSmarts(smarts)
    return _Pattern(group, number, query, frozenset(atom.GetAtomicNum() for atom in query.GetAtoms()))


_COMPILED = tuple(_compiled(*pattern) for pattern in PATTERNS)
_NITRO_QUERY = Chem.MolFromSmarts(f"[#6]{_NITRO}")


def group_counts(molecule: Chem.Mol) -> dict[str, int] | None:
    """How often each group occurs, by name in the order of the groups; None if they do not cover the whole molecule."""
    if not _is_eligible(molecule):
        return None
    ranks = Chem.CanonicalRankAtoms(molecule)
    pieces = _pieces_by_atom(molecule, ranks)
    if pieces is None:
        return None
    chosen = _cover(frozenset(pieces), pieces, ranks)
    if chosen is None:
        return None
    counts = Counter(piece.rank for piece in chosen)
    return {_COMPILED[rank].group: _COMPILED[rank].number * counts[rank] for rank in sorted(counts)}


def group_counts_of_all(smiles: Sequence[str], workers: int) -> list[dict[str, int] | None]:
    """Group counts of many SMILES, in their order; the same whatever the number of workers (processes)."""
    chunks = [list(smiles[start : start + CHUNK]) for start in range(0, len(smiles), CHUNK)]
    if workers == 1 or len(chunks) == 1:
        return [counts for chunk in chunks for counts in _counts_of_chunk(chunk)]
    # Spawned, not forked: a fork would share the parent's frames, and its threads' locks.
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return [counts for chunk in pool.map(_counts_of_chunk, chunks) for counts in chunk]


def _counts_of_chunk(smiles: list[str]) -> list[dict[str, int] | None]:
    RDLogger.DisableLog("rdApp.*")  # type: ignore[attr-defined]
    molecules = (None if "." in text else Chem.MolFromSmiles(text) for text in smiles)
    return [None if molecule is None else group_counts(molecule) for molecule in molecules]


def _is_eligible(molecule: Chem.Mol) -> bool:
    """Whether a molecule can have counts: one neutral molecule, not labelled, of elements that the groups know."""
    if not 0 < molecule.GetNumAtoms() <= MOST_HEAVY_ATOMS:
        return False
    charged = set()
    for atom in molecule.GetAtoms():
        if atom.GetAtomicNum() not in _ELEMENTS or atom.GetIsotope() or atom.GetNumRadicalElectrons():
            return False
        if atom.GetFormalCharge():
            charged.add(atom.GetIdx())
    if charged and not charged <= {atom for match in molecule.GetSubstructMatches(_NITRO_QUERY) for atom in match}:
        return False
    return len(Chem.GetMolFrags(molecule)) == 1


def _pieces_by_atom(molecule: Chem.Mol, ranks: Sequence[int]) -> dict[int, list[_Piece]] | None:
    """Places of every pattern by the atoms that they cover, preferred ones first; None if an atom is in none."""
    present = {atom.GetAtomicNum() for atom in molecule.GetAtoms()}
    by_atom: dict[int, list[_Piece]] = {atom: [] for atom in range(molecule.GetNumAtoms())}
    for rank, pattern in enumerate(_COMPILED):
        if not pattern.elements <= present:
            continue
        matches = molecule.GetSubstructMatches(pattern.query)
        for match in sorted(matches, key=lambda match: sorted(ranks[atom] for atom in match)):
            for atom in match:
                by_atom[atom].append(_Piece(rank, frozenset(match)))
    return by_atom if all(by_atom.values()) else None


def _cover(free: frozenset[int], pieces: dict[int, list[_Piece]], ranks: Sequence[int]) -> list[_Piece] | None:
    """Pieces that cover the free atoms exactly; of several covers the preferred one."""
    if not free:
        return []
    fitting = {atom: [piece for piece in pieces[atom] if piece.atoms <= free] for atom in free}
    if not all(fitting.values()):
        return None
    # Settled atoms first, then the preferred group.
    _, _, _, atom = min((len(fits) > 1, fits[0].rank, ranks[atom], atom) for atom, fits in fitting.items())
    for piece in fitting[atom]:
        rest = _cover(free - piece.atoms, fitting, ranks)
        if rest is not None:
            return [piece, *rest]
    return None

"""Does a structure agree with its formula, its InChIKey and its molar mass?

An identity row brings four statements about one substance: a SMILES, an InChI
with its InChIKey, a molecular formula and a molar mass. Each gives a
composition, so each can be checked against the others. The rule:

* All agree: the row is kept; the SMILES is written canonically and the formula
  in Hill order, which is no repair.
* The SMILES contradicts the InChIKey, but the InChI gives that key and the
  formula: the SMILES is written anew from the InChI. The note says what was
  wrong: lost hydrogens (the compositions differ in hydrogen only), lost
  stereochemistry (the first block of the key agrees), or other bonds. If the
  compositions agree and not even the molecule read from the InChI gives its key
  back (RDKit has its own way of writing halogen oxoacids), nothing is repaired.
* The SMILES and the InChIKey agree and the formula does not: the formula is
  taken from the structure.
* The SMILES and the formula agree and the InChI with its key does not: the
  InChIKey is computed from the SMILES.
* The SMILES cannot be read (RDKit refuses hypervalent chlorine, for one): it is
  written from the InChI where that can be read, else left out; the InChIKey
  stays if the InChI gives the same composition as the formula.
* There is no InChI: the SMILES stands if the formula agrees with it. If not,
  the molar mass decides between the two.
* There is no structure at all: the formula stands, and gives the molar mass.
* Nothing decides: the row is refused.

The molar mass is RDKit's (standard atomic weights; isotopic masses for
labelled atoms). One that is off by more than `MASS_TOLERANCE` is called a
repair; smaller differences come from older atomic weights.

Sources: InChI layers, Heller et al., J. Cheminform. 7 (2015) 23,
doi:10.1186/s13321-015-0068-4; formula order, E. A. Hill, J. Am. Chem. Soc. 22
(1900) 478-494.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from multiprocessing import get_context
from typing import NamedTuple

from rdkit import Chem, RDLogger
from rdkit.Chem import rdMolDescriptors

from cutpoint.schema.identifiers import hill_formula, is_formula, split_formula

MASS_TOLERANCE = 1e-3
"""Largest relative difference of molar masses that older atomic weights explain."""

INCHI_PREFIX = "InChI=1S/"
"""What the identity tables leave off their InChIs."""

CHUNK = 2000
"""Rows handed to a worker at a time."""

Composition = tuple[dict[str, int], int]

_ISOTOPE_MASS_NUMBER = {"D": 2, "T": 3}
_ISOTOPE_MARK = re.compile(r"\[\d+([A-Z][a-z]?)\]")
_COUNTED_PART = re.compile(r"^(\d*)(.*)$")
_CHARGE = re.compile(r"^(?:(\d+)\*)?([+-]\d+)?$")


STANDARD_ATOMIC_WEIGHT = {
    "S": 32.06, "V": 50.942, "Zn": 65.38, "Ge": 72.630, "Se": 78.971, "Kr": 83.798, "Mo": 95.95, "Cd": 112.41,
    "Sn": 118.71, "Xe": 131.29, "Yb": 173.05, "Hg": 200.59,
}  # fmt: skip
"""Abridged standard atomic weights where RDKit's table is older: T. Prohaska et al., Standard atomic weights of
the elements 2021 (IUPAC Technical Report), Pure Appl. Chem. 94 (2022) 573-600, doi:10.1515/pac-2019-0603, table 2."""


class Claim(NamedTuple):
    """What an identity row says of its substance, as text; empty where it says nothing."""

    smiles: str
    inchi: str
    inchikey: str
    formula: str
    molar_mass_g_mol: str


class Verdict(NamedTuple):
    """What is kept of a claim, or why it was refused.

    `ordinary` is true for a neutral, closed-shell, unlabelled substance.
    """

    smiles: str | None = None
    inchikey: str | None = None
    formula: str | None = None
    molar_mass_g_mol: float | None = None
    ordinary: bool = True
    repair: str | None = None
    refusal: str | None = None


def silence() -> None:
    """Keep RDKit's own messages off the terminal; verdicts carry what matters."""
    RDLogger.DisableLog("rdApp.*")  # type: ignore[attr-defined]


def composition(molecule: Chem.Mol) -> Composition:
    """Atom counts, deuterium as D and tritium as T, and charge of a molecule."""
    counts, charge = _parsed(rdMolDescriptors.CalcMolFormula(molecule, True, True))
    return dict(counts), charge


def drawn_formula(smiles: str) -> str:
    """Hill formula of what a SMILES draws; empty if it cannot be read."""
    silence()
    molecule = Chem.MolFromSmiles(smiles)
    return "" if molecule is None else hill_formula(*composition(molecule))


@lru_cache(maxsize=8192)
def _parsed(formula: str) -> Composition:
    return split_formula(_ISOTOPE_MARK.sub(r"\1", formula))


def formula_composition(text: str) -> Composition | None:
    """Atom counts and charge of a formula, isotope marks such as [18O] read as the element; None if it is none."""
    plain = _ISOTOPE_MARK.sub(r"\1", text)
    return split_formula(plain) if is_formula(plain) else None


def inchi_composition(inchi: str) -> Composition | None:
    """Atom counts (labels not told apart) and charge of an InChI without its prefix; None if there is no formula.

    The formula layer counts the molecules in their neutral form; the charge
    layer `q` and the proton layer `p` say what they are.
    """
    layers = inchi.split("/")
    counts: Counter[str] = Counter()
    for part in layers[0].split("."):
        multiplier, formula = _COUNTED_PART.match(part).groups()  # type: ignore[union-attr]
        if not is_formula(formula):
            return None
        for symbol, count in split_formula(formula)[0].items():
            counts[symbol] += count * int(multiplier or 1)
    charge = 0
    for layer in layers[1:]:
        if layer.startswith("p"):
            counts["H"] += int(layer[1:])
            charge += int(layer[1:])
        elif layer.startswith("q"):
            for part in layer[1:].split(";"):
                if match := _CHARGE.match(part):
                    charge += int(match[1] or 1) * int(match[2] or 0)
    return {symbol: count for symbol, count in counts.items() if count}, charge


def formula_molar_mass_g_mol(counts: dict[str, int]) -> float:
    """Molar mass of atom counts, g/mol. Raises ValueError for a symbol that is no element."""
    table = Chem.GetPeriodicTable()
    total = 0.0
    for symbol, count in counts.items():
        if symbol in _ISOTOPE_MASS_NUMBER:
            total += count * table.GetMassForIsotope("H", _ISOTOPE_MASS_NUMBER[symbol])
        else:
            try:
                total += count * _atomic_weight(symbol)
            except RuntimeError as unknown:
                raise ValueError(f"{symbol} is no element") from unknown
    return total


def _labels_folded(given: Composition | None) -> Composition | None:
    """The composition with every isotope of hydrogen counted as H, to compare with an InChI's formula."""
    if given is None:
        return None
    counts, charge = given
    folded = Counter({symbol: count for symbol, count in counts.items() if symbol not in _ISOTOPE_MASS_NUMBER})
    folded["H"] += sum(counts.get(symbol, 0) for symbol in _ISOTOPE_MASS_NUMBER)
    return {symbol: count for symbol, count in folded.items() if count}, charge


def _differ_in_hydrogen_only(one: Composition, other: Composition) -> bool:
    bare = [{symbol: count for symbol, count in counts.items() if symbol != "H"} for counts, _ in (one, other)]
    return bare[0] == bare[1]


def _is_ordinary(molecule: Chem.Mol, smiles: str, charge: int) -> bool:
    if charge:
        return False
    # Radicals and labels are written in square brackets, so most molecules need no look at their atoms.
    return "[" not in smiles or not any(
        atom.GetNumRadicalElectrons() or atom.GetIsotope() for atom in molecule.GetAtoms()
    )


def _key_of(molecule: Chem.Mol) -> str:
    return _hashed(Chem.MolToInchi(molecule))  # type: ignore[no-untyped-call]


def _hashed(inchi: str) -> str:
    return Chem.InchiToInchiKey(inchi) or ""  # type: ignore[no-untyped-call]


def _read_inchi(inchi: str) -> Chem.Mol | None:
    return Chem.MolFromInchi(f"{INCHI_PREFIX}{inchi}")  # type: ignore[no-untyped-call]


def _atomic_weight(symbol: str) -> float:
    return STANDARD_ATOMIC_WEIGHT.get(symbol) or float(Chem.GetPeriodicTable().GetAtomicWeight(symbol))


def _molar_mass_g_mol(molecule: Chem.Mol) -> float:
    """Molar mass, g/mol; an atom with a mass number counts with the mass of that nuclide."""
    atoms = [atom.GetMass() if atom.GetIsotope() else _atomic_weight(atom.GetSymbol()) for atom in molecule.GetAtoms()]
    hydrogens = sum(atom.GetTotalNumHs() for atom in molecule.GetAtoms())
    return sum(atoms) + hydrogens * _atomic_weight("H")


def _accept(molecule: Chem.Mol, inchikey: str, claim: Claim, repairs: Sequence[str]) -> Verdict:
    """Verdict for a molecule that stands, its mass compared with the row's."""
    counts, charge = composition(molecule)
    mass = _molar_mass_g_mol(molecule)
    smiles = Chem.MolToSmiles(molecule)
    return Verdict(
        smiles,
        inchikey or None,
        hill_formula(counts, charge),
        round(mass, 4),
        _is_ordinary(molecule, smiles, charge),
        _note([*repairs, *_mass_repair(mass, claim)]),
    )


def _accept_formula(claim: Claim, stated: Composition, inchikey: str, repairs: Sequence[str]) -> Verdict:
    """Verdict for a row that keeps its formula but no SMILES."""
    counts, charge = stated
    try:
        mass = formula_molar_mass_g_mol(counts)
    except ValueError as unknown:
        return Verdict(refusal=f"formula {claim.formula!r}: {unknown}")
    ordinary = charge == 0 and not set(counts) & set(_ISOTOPE_MASS_NUMBER)
    note = _note([*repairs, *_mass_repair(mass, claim)])
    return Verdict(None, inchikey or None, hill_formula(counts, charge), round(mass, 4), ordinary, note)


def _mass_repair(mass: float, claim: Claim) -> list[str]:
    if claim.molar_mass_g_mol and not _mass_agrees(mass, claim):
        return [f"molar mass from the formula (the source gives {claim.molar_mass_g_mol})"]
    return []


def _mass_agrees(mass: float, claim: Claim) -> bool:
    try:
        return abs(float(claim.molar_mass_g_mol) / mass - 1.0) <= MASS_TOLERANCE
    except ValueError:
        return False


def _note(repairs: Sequence[str]) -> str | None:
    return "; ".join(repairs) or None


def judge(claim: Claim) -> Verdict:
    """Compare the statements of one identity row by the rule of this module."""
    stated = formula_composition(claim.formula)
    molecule = Chem.MolFromSmiles(claim.smiles) if claim.smiles else None
    if molecule is None:
        return _judge_unreadable(claim, stated)
    drawn = composition(molecule)
    if not claim.inchikey:
        return _judge_without_inchi(claim, molecule, drawn, stated)
    key = _key_of(molecule)
    if key == claim.inchikey:
        wrong_formula = [] if drawn == stated else [f"formula from the structure (the source gives {claim.formula})"]
        return _accept(molecule, key, claim, wrong_formula)
    from_inchi = _witness(claim)
    if from_inchi is not None and from_inchi == _labels_folded(stated):
        return _judge_by_inchi(claim, molecule, drawn, from_inchi)
    if drawn == stated:
        return _accept(molecule, key, claim, ["InChIKey from the SMILES, which agrees with the formula"])
    return Verdict(refusal="SMILES, InChI and formula contradict each other")


def _witness(claim: Claim) -> Composition | None:
    """Composition by the InChI, which counts as a witness only if it gives the key that stands beside it."""
    if claim.inchi and _hashed(f"{INCHI_PREFIX}{claim.inchi}") == claim.inchikey:
        return inchi_composition(claim.inchi)
    return None


def _judge_unreadable(claim: Claim, stated: Composition | None) -> Verdict:
    if stated is None:
        return Verdict(refusal=f"no readable structure, and {claim.formula!r} is not a molecular formula")
    if not claim.inchikey:
        note = "SMILES left out: it cannot be read" if claim.smiles else "no structure in the source"
        return _accept_formula(claim, stated, "", [note])
    from_inchi = _witness(claim)
    if from_inchi is None or from_inchi != _labels_folded(stated):
        return Verdict(refusal="the SMILES cannot be read, and the InChI contradicts the formula")
    molecule = _read_inchi(claim.inchi)
    if molecule is not None and _labels_folded(composition(molecule)) == from_inchi:
        return _accept(molecule, claim.inchikey, claim, ["SMILES from the InChI (the source's cannot be read)"])
    return _accept_formula(
        claim, stated, claim.inchikey, ["SMILES left out: RDKit accepts neither its valences nor the InChI's"]
    )


def _judge_without_inchi(claim: Claim, molecule: Chem.Mol, drawn: Composition, stated: Composition | None) -> Verdict:
    if drawn == stated:
        return _accept(molecule, _key_of(molecule), claim, ["InChIKey from the SMILES (the source gives none)"])
    if _mass_agrees(_molar_mass_g_mol(molecule), claim):
        note = f"formula from the SMILES, with which the molar mass agrees (the source gives {claim.formula})"
        return _accept(molecule, _key_of(molecule), claim, [note])
    if stated is not None and _mass_agrees(formula_molar_mass_g_mol(stated[0]), claim):
        return _accept_formula(claim, stated, "", ["SMILES left out: formula and molar mass contradict it"])
    return Verdict(refusal="SMILES, formula and molar mass contradict each other, and there is no InChI")


def _judge_by_inchi(claim: Claim, molecule: Chem.Mol, drawn: Composition, from_inchi: Composition) -> Verdict:
    """The InChI agrees with key and formula: the SMILES gives way, unless it is the same molecule after all."""
    rebuilt = _read_inchi(claim.inchi)
    if rebuilt is None or _labels_folded(composition(rebuilt)) != from_inchi:
        # RDKit cannot read it back, so the drawing can only be judged by its composition.
        if _labels_folded(drawn) == from_inchi:
            return _accept(molecule, claim.inchikey, claim, [])
        stated = formula_composition(claim.formula)
        assert stated is not None
        return _accept_formula(claim, stated, claim.inchikey, ["SMILES left out: the InChI contradicts it"])
    if _labels_folded(drawn) == from_inchi and _key_of(rebuilt) != claim.inchikey:
        # Not even the InChI's own molecule gives this key back, so the key says nothing against the drawing.
        return _accept(molecule, claim.inchikey, claim, [])
    if _labels_folded(drawn) != from_inchi:
        hydrogens = _differ_in_hydrogen_only(drawn, from_inchi)
        cause = "lost hydrogens restored" if hydrogens else "its composition was another"
    elif _key_of(molecule)[:14] == claim.inchikey[:14]:
        cause = "stereochemistry restored"
    else:
        cause = "its bonds were others"
    return _accept(rebuilt, claim.inchikey, claim, [f"SMILES from the InChI: {cause}"])


def _judge_chunk(claims: list[Claim]) -> list[Verdict]:
    silence()
    return [judge(claim) for claim in claims]


def judge_all(claims: Sequence[Claim], workers: int) -> list[Verdict]:
    """Verdicts in the order of the claims; the same whatever the number of workers."""
    chunks: Iterable[list[Claim]] = [list(claims[start : start + CHUNK]) for start in range(0, len(claims), CHUNK)]
    if workers == 1 or len(claims) <= CHUNK:
        return [verdict for chunk in chunks for verdict in _judge_chunk(chunk)]
    # Spawned, not forked: a fork would share the parent's frames, and its threads' locks.
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return [verdict for chunk in pool.map(_judge_chunk, chunks) for verdict in chunk]

"""What a structure alone tells of a boiling point: numbers for a regression, and the chemical class.

The descriptors are RDKit's, of the molecule without its hydrogens:

size and shape       heavy atoms and powers of their number, molar mass, surface by P. Labute, J. Mol. Graph.
                     Model. 18 (2000) 464-477; path number by H. Wiener, J. Am. Chem. Soc. 69 (1947) 17-20;
                     J by A. T. Balaban, Chem. Phys. Lett. 89 (1982) 399-404; connectivity χ and shape κ by
                     L. H. Hall, L. B. Kier, Rev. Comput. Chem. 2 (1991) 367-422; largest distance, rotatable
                     bonds, rings, bridges, double bonds drawn Z and E
polarity             molar refractivity and lg P by S. A. Wildman, G. M. Crippen, J. Chem. Inf. Comput. Sci. 39
                     (1999) 868-873; polar surface by P. Ertl et al., J. Med. Chem. 43 (2000) 3714-3717;
                     hydrogen-bond donors and acceptors; Labute's surface split by lg P, refractivity, charge
counts               42 counts of atoms, bonds, polar groups and rings by K. T. Nguyen et al., ChemMedChem 4
                     (2009) 1803-1805
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from rdkit import Chem
from rdkit.Chem import Descriptors, GraphDescriptors
from rdkit.Chem import rdMolDescriptors as rd

Array = NDArray[np.float64]

COVERED_ELEMENTS = frozenset(("H", "B", "C", "N", "O", "F", "Si", "P", "S", "Cl", "Ge", "As", "Se", "Br", "Sn", "I"))
"""Elements whose covalent compounds a model of organic boiling points may speak of."""

_FAMILIES = {
    name: Chem.MolFromSmarts(smarts)
    for name, smarts in {
        "halogenated": "[F,Cl,Br,I]",
        "alcohol or phenol": "[OX2H][#6;!$(C=O)]",
        "ether": "[#8X2]([#6;!$(C=O)])[#6;!$(C=O)]",
        "aldehyde or ketone": "[#6X3;!$([#6]-,:[#7,#8,#16])]=[OX1]",
        "carboxylic acid": "C(=O)[OX2H]",
        "ester": "[#6X3](=O)[#8X2H0]",
        "nitrogen": "[#7]",
        "sulfur": "[#16]",
    }.items()
}
_ORGANIC_ELEMENTS = frozenset(("H", "C", "N", "O", "F", "S", "Cl", "Br", "I"))
_AROMATIC = Chem.MolFromSmarts("a")
_UNSATURATED = Chem.MolFromSmarts("[#6]=,#[#6]")

CHEMICAL_CLASSES = (
    "saturated hydrocarbon",
    "unsaturated hydrocarbon",
    "aromatic hydrocarbon",
    *_FAMILIES,
    "silicon",
    "polyfunctional",
    "other",
)
"""The classes; each molecule has exactly one."""


def is_organic(molecule: Chem.Mol) -> bool:
    """Whether a molecule is one neutral, closed-shell, covalent compound of carbon: no salt, no metal."""
    symbols = {atom.GetSymbol() for atom in molecule.GetAtoms()}
    return (
        "C" in symbols
        and symbols <= COVERED_ELEMENTS
        and Chem.GetFormalCharge(molecule) == 0
        and len(Chem.GetMolFrags(molecule)) == 1
        and not any(atom.GetNumRadicalElectrons() for atom in molecule.GetAtoms())
    )


def chemical_class(molecule: Chem.Mol) -> str:
    """One of `CHEMICAL_CLASSES`: the family of its only functional group, however often that occurs.

    An amide counts as nitrogen, a sulfoxide as sulfur, an anhydride as ester.
    Two families or more make it polyfunctional.
    """
    elements = {atom.GetSymbol() for atom in molecule.GetAtoms()}
    if not elements <= _ORGANIC_ELEMENTS:
        return "silicon" if elements <= _ORGANIC_ELEMENTS | {"Si"} else "other"
    families = [name for name, pattern in _FAMILIES.items() if molecule.HasSubstructMatch(pattern)]
    if len(families) > 1:
        return "polyfunctional"
    if families:
        return families[0]
    if "O" in elements:
        return "other"
    if molecule.HasSubstructMatch(_AROMATIC):
        return "aromatic hydrocarbon"
    return "unsaturated hydrocarbon" if molecule.HasSubstructMatch(_UNSATURATED) else "saturated hydrocarbon"


def connectivity(molecule: Chem.Mol) -> str:
    """SMILES without stereochemistry and isotopes: what stereoisomers and labelled molecules share."""
    plain = molecule
    if any(atom.GetIsotope() for atom in molecule.GetAtoms()):
        plain = Chem.Mol(molecule)
        for atom in plain.GetAtoms():
            atom.SetIsotope(0)
        plain = Chem.RemoveHs(plain)
    return str(Chem.MolToSmiles(plain, isomericSmiles=False))


def describe(molecule: Chem.Mol) -> Array:
    """Descriptors of a molecule that is organic; shape (117,), dimensionless or in RDKit's units."""
    return np.array(
        [
            *_size_and_shape(molecule),
            *_polarity(molecule),
            *rd.SlogP_VSA_(molecule),
            *rd.SMR_VSA_(molecule),
            *rd.PEOE_VSA_(molecule),
            *rd.MQNs_(molecule),
        ],
        dtype=np.float64,
    )


def _size_and_shape(molecule: Chem.Mol) -> list[float]:
    heavy = molecule.GetNumHeavyAtoms()
    distances = Chem.GetDistanceMatrix(molecule)
    wiener = float(distances.sum()) / 2.0
    stereo = [bond.GetStereo() for bond in molecule.GetBonds()]
    return [
        heavy,
        math.sqrt(heavy),
        heavy ** (2.0 / 3.0),
        math.log(heavy),
        Descriptors.MolWt(molecule),  # type: ignore[attr-defined]
        rd.CalcLabuteASA(molecule),
        wiener,
        wiener / heavy**2,
        float(distances.max()),
        # Balaban's J divides by the number of bonds.
        GraphDescriptors.BalabanJ(molecule) if stereo else 0.0,  # type: ignore[no-untyped-call]
        *(chi(molecule) for chi in (rd.CalcChi0v, rd.CalcChi1v, rd.CalcChi2v, rd.CalcChi3v, rd.CalcChi4v)),
        *(chi(molecule) for chi in (rd.CalcChi0n, rd.CalcChi1n, rd.CalcChi2n, rd.CalcChi3n, rd.CalcChi4n)),
        *(kappa(molecule) for kappa in (rd.CalcKappa1, rd.CalcKappa2, rd.CalcKappa3, rd.CalcHallKierAlpha)),
        rd.CalcNumRotatableBonds(molecule),
        rd.CalcFractionCSP3(molecule),
        rd.CalcNumRings(molecule),
        rd.CalcNumAromaticRings(molecule),
        rd.CalcNumHeterocycles(molecule),
        rd.CalcNumBridgeheadAtoms(molecule),
        rd.CalcNumSpiroAtoms(molecule),
        stereo.count(Chem.BondStereo.STEREOZ),
        stereo.count(Chem.BondStereo.STEREOE),
    ]


def _polarity(molecule: Chem.Mol) -> list[float]:
    lg_P, refractivity = rd.CalcCrippenDescriptors(molecule)
    return [
        lg_P,
        refractivity,
        rd.CalcTPSA(molecule),
        rd.CalcNumHBD(molecule),
        rd.CalcNumHBA(molecule),
        rd.CalcNumAmideBonds(molecule),
    ]

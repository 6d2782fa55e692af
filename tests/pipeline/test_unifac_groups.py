"""Group counts of modified UNIFAC against assignments made by hand; every atom once, in any order."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdkit import Chem

from cutpoint.pipeline.read import read
from cutpoint.pipeline.sources.modified_unifac_groups import SOURCE
from cutpoint.pipeline.unifac_groups import PATTERNS, group_counts, group_counts_of_all

FREDENSLUND = (
    "Aa. Fredenslund, R. L. Jones, J. M. Prausnitz, AIChE J. 21 (1975) 1086, and B. E. Poling, J. M. Prausnitz, "
    "J. P. O'Connell, The Properties of Gases and Liquids, 5th ed., McGraw-Hill 2001, table 8-21, where the examples "
    "of both schemes agree; from memory"
)
DORTMUND = "J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178, table of groups; from memory"
LATER = "the papers of 1998 to 2016 named in the source module of the groups; from memory"
MEMORY = "from memory"

ASSIGNED = (
    # name, SMILES, groups, source
    ("hexane", "CCCCCC", "2 CH3, 4 CH2", FREDENSLUND),
    ("2-methylpropane", "CC(C)C", "3 CH3, 1 CH", FREDENSLUND),
    ("2,2-dimethylpropane", "CC(C)(C)C", "4 CH3, 1 C", FREDENSLUND),
    ("2,2,4-trimethylpentane", "CC(C)CC(C)(C)C", "5 CH3, 1 CH2, 1 CH, 1 C", MEMORY),
    ("cyclohexane", "C1CCCCC1", "6 cy-CH2", DORTMUND),
    ("methylcyclohexane", "CC1CCCCC1", "1 CH3, 5 cy-CH2, 1 cy-CH", DORTMUND),
    ("1,1-dimethylcyclohexane", "CC1(C)CCCCC1", "2 CH3, 5 cy-CH2, 1 cy-C", MEMORY),
    ("decahydronaphthalene", "C1CCC2CCCCC2C1", "8 cy-CH2, 2 cy-CH", MEMORY),
    ("1-hexene", "CCCCC=C", "1 CH3, 3 CH2, 1 CH2=CH", FREDENSLUND),
    ("2-hexene", "CCCC=CC", "2 CH3, 2 CH2, 1 CH=CH", FREDENSLUND),
    ("2-methyl-1-butene", "CCC(C)=C", "2 CH3, 1 CH2, 1 CH2=C", FREDENSLUND),
    ("2-methyl-2-butene", "CC=C(C)C", "3 CH3, 1 CH=C", FREDENSLUND),
    ("2,3-dimethyl-2-butene", "CC(C)=C(C)C", "4 CH3, 1 C=C", FREDENSLUND),
    ("isoprene", "CC(=C)C=C", "1 CH3, 1 CH2=C, 1 CH2=CH", MEMORY),
    ("cyclohexene", "C1CCC=CC1", "4 cy-CH2, 1 CH=CH", MEMORY),
    ("limonene", "CC1=CCC(CC1)C(C)=C", "2 CH3, 3 cy-CH2, 1 cy-CH, 1 CH=C, 1 CH2=C", MEMORY),
    ("benzene", "c1ccccc1", "6 ACH", FREDENSLUND),
    ("toluene", "Cc1ccccc1", "5 ACH, 1 ACCH3", FREDENSLUND),
    ("ethylbenzene", "CCc1ccccc1", "1 CH3, 5 ACH, 1 ACCH2", FREDENSLUND),
    ("cumene", "CC(C)c1ccccc1", "2 CH3, 5 ACH, 1 ACCH", FREDENSLUND),
    ("tert-butylbenzene", "CC(C)(C)c1ccccc1", "3 CH3, 1 C, 5 ACH, 1 AC", MEMORY),
    ("styrene", "C=Cc1ccccc1", "1 CH2=CH, 5 ACH, 1 AC", FREDENSLUND),
    ("naphthalene", "c1ccc2ccccc2c1", "8 ACH, 2 AC", FREDENSLUND),
    ("tetralin", "C1CCc2ccccc2C1", "4 ACH, 2 ACCH2, 2 cy-CH2", MEMORY),
    ("biphenyl", "c1ccc(-c2ccccc2)cc1", "10 ACH, 2 AC", MEMORY),
    ("ethanol", "CCO", "1 CH3, 1 CH2, 1 OH(p)", DORTMUND),
    ("2-propanol", "CC(C)O", "2 CH3, 1 CH, 1 OH(s)", DORTMUND),
    ("tert-butanol", "CC(C)(C)O", "3 CH3, 1 C, 1 OH(t)", DORTMUND),
    ("cyclohexanol", "OC1CCCCC1", "5 cy-CH2, 1 cy-CH, 1 OH(s)", MEMORY),
    ("benzyl alcohol", "OCc1ccccc1", "5 ACH, 1 ACCH2, 1 OH(p)", MEMORY),
    ("methanol", "CO", "1 CH3OH", FREDENSLUND),
    ("water", "O", "1 H2O", FREDENSLUND),
    ("phenol", "Oc1ccccc1", "5 ACH, 1 ACOH", FREDENSLUND),
    ("1,2-ethanediol", "OCCO", "1 DOH", FREDENSLUND),
    ("1,2-propanediol", "CC(O)CO", "1 CH3, 1 CH2, 1 CH, 1 OH(p), 1 OH(s)", MEMORY),
    ("glycerol", "OCC(O)CO", "2 CH2, 1 CH, 2 OH(p), 1 OH(s)", MEMORY),
    ("acetone", "CC(C)=O", "1 CH3, 1 CH3CO", FREDENSLUND),
    ("2-butanone", "CCC(C)=O", "1 CH3, 1 CH2, 1 CH3CO", FREDENSLUND),
    ("3-pentanone", "CCC(=O)CC", "2 CH3, 1 CH2, 1 CH2CO", FREDENSLUND),
    ("cyclohexanone", "O=C1CCCCC1", "4 cy-CH2, 1 CH2CO", MEMORY),
    ("acetophenone", "CC(=O)c1ccccc1", "5 ACH, 1 AC, 1 CH3CO", MEMORY),
    ("acetylacetone", "CC(=O)CC(C)=O", "1 CH2, 2 CH3CO", MEMORY),
    ("propanal", "CCC=O", "1 CH3, 1 CH2, 1 CHO", FREDENSLUND),
    ("benzaldehyde", "O=Cc1ccccc1", "5 ACH, 1 AC, 1 CHO", MEMORY),
    ("methyl acetate", "COC(C)=O", "1 CH3, 1 CH3COO", MEMORY),
    ("ethyl acetate", "CCOC(C)=O", "1 CH3, 1 CH2, 1 CH3COO", MEMORY),
    ("butyl acetate", "CCCCOC(C)=O", "1 CH3, 3 CH2, 1 CH3COO", FREDENSLUND),
    ("vinyl acetate", "CC(=O)OC=C", "1 CH2=CH, 1 CH3COO", MEMORY),
    ("methyl propanoate", "CCC(=O)OC", "2 CH3, 1 CH2COO", MEMORY),
    ("butyl propanoate", "CCCCOC(=O)CC", "2 CH3, 3 CH2, 1 CH2COO", FREDENSLUND),
    ("methyl benzoate", "COC(=O)c1ccccc1", "1 CH3, 5 ACH, 1 AC, 1 COO", MEMORY),
    ("methyl methacrylate", "COC(=O)C(C)=C", "2 CH3, 1 CH2=C, 1 COO", MEMORY),
    ("diethyl malonate", "CCOC(=O)CC(=O)OCC", "2 CH3, 2 CH2, 1 CH2COO, 1 COO", MEMORY),
    ("ethyl lactate", "CCOC(=O)C(C)O", "2 CH3, 1 CH2, 1 CH, 1 OH(s), 1 COO", MEMORY),
    ("ethyl chloroacetate", "CCOC(=O)CCl", "1 CH3, 1 CH2, 1 CH2Cl, 1 COO", MEMORY),
    ("ethyl formate", "CCOC=O", "1 CH3, 1 CH2, 1 HCOO", FREDENSLUND),
    ("dimethyl ether", "COC", "1 CH3, 1 CH3O", FREDENSLUND),
    ("diethyl ether", "CCOCC", "2 CH3, 1 CH2, 1 CH2O", FREDENSLUND),
    ("diisopropyl ether", "CC(C)OC(C)C", "4 CH3, 1 CH, 1 CH-O", FREDENSLUND),
    ("methyl tert-butyl ether", "COC(C)(C)C", "3 CH3, 1 C, 1 CH3O", MEMORY),
    ("ethyl tert-butyl ether", "CCOC(C)(C)C", "4 CH3, 1 C, 1 CH2O", MEMORY),
    ("anisole", "COc1ccccc1", "5 ACH, 1 AC, 1 CH3O", MEMORY),
    ("cyclopentyl methyl ether", "COC1CCCC1", "4 cy-CH2, 1 cy-CH, 1 CH3O", MEMORY),
    ("dimethoxymethane", "COCOC", "1 CH2, 2 CH3O", MEMORY),
    ("1,2-dimethoxyethane", "COCCOC", "2 CH2, 2 CH3O", MEMORY),
    ("diglyme", "COCCOCCOC", "3 CH2, 2 CH3O, 1 CH2O", MEMORY),
    ("2-methoxyethanol", "COCCO", "2 CH2, 1 CH3O, 1 OH(p)", MEMORY),
    ("2-ethoxyethanol", "CCOCCO", "1 CH3, 2 CH2, 1 CH2O, 1 OH(p)", MEMORY),
    ("2,2'-oxydiethanol", "OCCOCCO", "3 CH2, 1 CH2O, 2 OH(p)", MEMORY),
    ("tetrahydrofuran", "C1CCOC1", "2 cy-CH2, 1 cy-CH2OCH2", DORTMUND),
    ("tetrahydropyran", "C1CCOCC1", "3 cy-CH2, 1 cy-CH2OCH2", MEMORY),
    ("1,4-dioxane", "C1COCCO1", "2 cy-CH2OCH2", DORTMUND),
    ("1,3-dioxolane", "C1COCO1", "2 cy-CH2O[CH2]1/2", MEMORY),
    ("1,3-dioxane", "C1COCOC1", "1 cy-CH2, 2 cy-CH2O[CH2]1/2", DORTMUND),
    ("1,3,5-trioxane", "C1OCOCO1", "3 [cy-CH2]1/2O[CH2]1/2", DORTMUND),
    ("methylamine", "CN", "1 CH3NH2", FREDENSLUND),
    ("ethylamine", "CCN", "1 CH3, 1 CH2NH2", FREDENSLUND),
    ("isopropylamine", "CC(C)N", "2 CH3, 1 CHNH2", FREDENSLUND),
    ("tert-butylamine", "CC(C)(C)N", "3 CH3, 1 CNH2", LATER),
    ("cyclohexylamine", "NC1CCCCC1", "5 cy-CH2, 1 CHNH2", MEMORY),
    ("dimethylamine", "CNC", "1 CH3, 1 CH3NH", FREDENSLUND),
    ("diethylamine", "CCNCC", "2 CH3, 1 CH2, 1 CH2NH", FREDENSLUND),
    ("diisopropylamine", "CC(C)NC(C)C", "4 CH3, 1 CH, 1 CHNH", FREDENSLUND),
    ("trimethylamine", "CN(C)C", "2 CH3, 1 CH3N", FREDENSLUND),
    ("triethylamine", "CCN(CC)CC", "3 CH3, 2 CH2, 1 CH2N", FREDENSLUND),
    ("2-aminoethanol", "NCCO", "1 CH2, 1 CH2NH2, 1 OH(p)", MEMORY),
    ("aniline", "Nc1ccccc1", "5 ACH, 1 ACNH2", FREDENSLUND),
    ("N,N-dimethylaniline", "CN(C)c1ccccc1", "1 CH3, 5 ACH, 1 AC, 1 CH3N", MEMORY),
    ("pyridine", "c1ccncc1", "3 ACH, 1 AC2H2N", DORTMUND),
    ("2-methylpyridine", "Cc1ccccn1", "1 CH3, 3 ACH, 1 AC2HN", DORTMUND),
    ("3-methylpyridine", "Cc1cccnc1", "2 ACH, 1 ACCH3, 1 AC2H2N", MEMORY),
    ("2,6-dimethylpyridine", "Cc1cccc(C)n1", "2 CH3, 3 ACH, 1 AC2N", DORTMUND),
    ("quinoline", "c1ccc2ncccc2c1", "6 ACH, 1 AC, 1 AC2HN", MEMORY),
    ("acetonitrile", "CC#N", "1 CH3CN", FREDENSLUND),
    ("propanenitrile", "CCC#N", "1 CH3, 1 CH2CN", FREDENSLUND),
    ("acrylonitrile", "C=CC#N", "1 acrylonitrile", FREDENSLUND),
    ("acetic acid", "CC(=O)O", "1 CH3, 1 COOH", FREDENSLUND),
    ("formic acid", "O=CO", "1 HCOOH", FREDENSLUND),
    ("benzoic acid", "O=C(O)c1ccccc1", "5 ACH, 1 AC, 1 COOH", MEMORY),
    ("1-chlorobutane", "CCCCCl", "1 CH3, 2 CH2, 1 CH2Cl", FREDENSLUND),
    ("2-chloropropane", "CC(C)Cl", "2 CH3, 1 CHCl", FREDENSLUND),
    ("2-chloro-2-methylpropane", "CC(C)(C)Cl", "3 CH3, 1 CCl", FREDENSLUND),
    ("1,2-dichloroethane", "ClCCCl", "2 CH2Cl", MEMORY),
    ("dichloromethane", "ClCCl", "1 CH2Cl2", FREDENSLUND),
    ("1,1-dichloroethane", "CC(Cl)Cl", "1 CH3, 1 CHCl2", FREDENSLUND),
    ("2,2-dichloropropane", "CC(C)(Cl)Cl", "2 CH3, 1 CCl2", FREDENSLUND),
    ("chloroform", "ClC(Cl)Cl", "1 CHCl3", FREDENSLUND),
    ("1,1,1-trichloroethane", "CC(Cl)(Cl)Cl", "1 CH3, 1 CCl3", FREDENSLUND),
    ("tetrachloromethane", "ClC(Cl)(Cl)Cl", "1 CCl4", FREDENSLUND),
    ("chlorobenzene", "Clc1ccccc1", "5 ACH, 1 ACCl", FREDENSLUND),
    ("benzyl chloride", "ClCc1ccccc1", "5 ACH, 1 AC, 1 CH2Cl", MEMORY),
    ("trichloroethene", "ClC=C(Cl)Cl", "1 CH=C, 3 Cl-(C=C)", FREDENSLUND),
    ("tetrachloroethene", "ClC(Cl)=C(Cl)Cl", "1 C=C, 4 Cl-(C=C)", MEMORY),
    ("nitromethane", "C[N+](=O)[O-]", "1 CH3NO2", FREDENSLUND),
    ("1-nitropropane", "CCC[N+](=O)[O-]", "1 CH3, 1 CH2, 1 CH2NO2", FREDENSLUND),
    ("2-nitropropane", "CC(C)[N+](=O)[O-]", "2 CH3, 1 CHNO2", FREDENSLUND),
    ("nitrobenzene", "O=[N+]([O-])c1ccccc1", "5 ACH, 1 ACNO2", FREDENSLUND),
    ("carbon disulfide", "S=C=S", "1 CS2", FREDENSLUND),
    ("methanethiol", "CS", "1 CH3SH", FREDENSLUND),
    ("ethanethiol", "CCS", "1 CH3, 1 CH2SH", FREDENSLUND),
    ("furfural", "O=Cc1ccco1", "1 furfural", FREDENSLUND),
    ("ethyl iodide", "CCI", "1 CH3, 1 CH2, 1 I", FREDENSLUND),
    ("ethyl bromide", "CCBr", "1 CH3, 1 CH2, 1 Br", FREDENSLUND),
    ("bromobenzene", "Brc1ccccc1", "5 ACH, 1 AC, 1 Br", FREDENSLUND),
    ("1-hexyne", "CCCCC#C", "1 CH3, 3 CH2, 1 CH≡C", FREDENSLUND),
    ("2-hexyne", "CCCC#CC", "2 CH3, 2 CH2, 1 C≡C", FREDENSLUND),
    ("dimethyl sulfoxide", "CS(C)=O", "1 DMSO", FREDENSLUND),
    ("fluorobenzene", "Fc1ccccc1", "5 ACH, 1 ACF", MEMORY),
    ("N,N-dimethylformamide", "CN(C)C=O", "1 HCON(CH3)2", FREDENSLUND),
    ("N,N-diethylformamide", "CCN(CC)C=O", "2 CH3, 1 HCON(CH2)2", FREDENSLUND),
    ("perfluorohexane", "FC(F)(F)" + "C(F)(F)" * 4 + "C(F)(F)F", "2 CF3, 4 CF2", FREDENSLUND),
    ("perfluoromethylcyclohexane", "FC(F)(F)C1(F)" + "C(F)(F)" * 4 + "C1(F)F", "1 CF3, 5 CF2, 1 CF", FREDENSLUND),
    ("N-methyl-2-pyrrolidone", "CN1CCCC1=O", "1 cy-CON-CH3", LATER),
    ("N-ethyl-2-pyrrolidone", "CCN1CCCC1=O", "1 CH3, 1 cy-CON-CH2", LATER),
    ("N-isopropyl-2-pyrrolidone", "CC(C)N1CCCC1=O", "2 CH3, 1 cy-CON-CH", LATER),
    ("acetamide", "CC(N)=O", "1 CH3, 1 CONH2", LATER),
    ("N-methylacetamide", "CNC(C)=O", "1 CH3, 1 CONHCH3", LATER),
    ("N-ethylacetamide", "CCNC(C)=O", "2 CH3, 1 CONHCH2", LATER),
    ("N,N-dimethylacetamide", "CN(C)C(C)=O", "1 CH3, 1 CON(CH3)2", LATER),
    ("N,N-diethylacetamide", "CCN(CC)C(C)=O", "3 CH3, 1 CON(CH2)2", LATER),
    ("N-methylformamide", "CNC=O", "1 HCONHCH3", LATER),
    ("N-ethylformamide", "CCNC=O", "1 CH3, 1 HCONHCH2", LATER),
    ("thiophene", "c1ccsc1", "2 ACH, 1 AC2H2S", LATER),
    ("2-methylthiophene", "Cc1cccs1", "1 CH3, 2 ACH, 1 AC2HS", LATER),
    ("benzothiophene", "c1ccc2sccc2c1", "5 ACH, 1 AC, 1 AC2HS", MEMORY),
    ("ethylene oxide", "C1CO1", "1 H2COCH2", LATER),
    ("propylene oxide", "CC1CO1", "1 CH3, 1 H2COCH", LATER),
    ("isobutylene oxide", "CC1(C)CO1", "2 CH3, 1 H2COC", LATER),
    ("sulfolane", "O=S1(=O)CCCC1", "2 cy-CH2, 1 (CH2)2SO2", LATER),
    ("dimethyl carbonate", "COC(=O)OC", "1 (CH3)2CO3", LATER),
    ("diethyl carbonate", "CCOC(=O)OCC", "2 CH3, 1 (CH2)2CO3", LATER),
    ("ethyl methyl carbonate", "CCOC(=O)OC", "1 CH3, 1 CH2CH3CO3", LATER),
    ("dimethyl sulfide", "CSC", "1 CH3, 1 CH3S", LATER),
    ("diethyl sulfide", "CCSCC", "2 CH3, 1 CH2, 1 CH2S", LATER),
    ("dimethyl disulfide", "CSSC", "2 CH3, 1 -S-S-", LATER),
)

WITHOUT_GROUPS = (
    ("methane", "C"),
    ("ethene", "C=C"),
    ("hydrogen", "[H][H]"),
    ("hydrogen chloride", "Cl"),
    ("ammonia", "N"),
    ("carbon dioxide", "O=C=O"),
    ("chloromethane", "CCl"),
    ("diisopropyl ketone", "CC(C)C(=O)C(C)C"),
    ("benzophenone", "O=C(c1ccccc1)c1ccccc1"),
    ("diphenyl ether", "c1ccc(Oc2ccccc2)cc1"),
    ("di-tert-butyl ether", "CC(C)(C)OC(C)(C)C"),
    ("2-methyltetrahydrofuran", "CC1CCCO1"),
    ("furan", "c1ccoc1"),
    ("gamma-butyrolactone", "O=C1CCCO1"),
    ("propylene carbonate", "CC1COC(=O)O1"),
    ("acetic anhydride", "CC(=O)OC(C)=O"),
    ("acetyl chloride", "CC(=O)Cl"),
    ("morpholine", "C1COCCN1"),
    ("piperidine", "C1CCNCC1"),
    ("N-methylimidazole", "Cn1ccnc1"),
    ("pyrazine", "c1cnccn1"),
    ("2-pyrrolidone", "O=C1CCCN1"),
    ("caprolactam", "O=C1CCCCCN1"),
    ("formamide", "NC=O"),
    ("tetramethylurea", "CN(C)C(=O)N(C)C"),
    ("isobutyronitrile", "CC(C)C#N"),
    ("benzonitrile", "N#Cc1ccccc1"),
    ("2-propanethiol", "CC(C)S"),
    ("tetrahydrothiophene", "C1CCSC1"),
    ("dimethyl sulfone", "CS(C)(=O)=O"),
    ("di-tert-butyl peroxide", "CC(C)(C)OOC(C)(C)C"),
    ("hydrogen peroxide", "OO"),
    ("1-ethoxyethanol, a hemiacetal", "CCOC(C)O"),
    ("vinyl alcohol", "C=CO"),
    ("trimethyl phosphate", "COP(=O)(OC)OC"),
    ("hexamethyldisiloxane", "C[Si](C)(C)O[Si](C)(C)C"),
    ("sodium acetate", "CC(=O)[O-].[Na+]"),
    ("glycine as zwitterion", "[NH3+]CC(=O)[O-]"),
    ("pyridine N-oxide", "[O-][n+]1ccccc1"),
    ("deuterochloroform", "[2H]C(Cl)(Cl)Cl"),
    ("carbon-13 methanol", "[13CH3]O"),
    ("methyl radical", "[CH3]"),
    ("two molecules", "CCO.O"),
    ("chain of 61 carbons", "C" * 61),
)

FORMULAS = {
    "OH(p)": "OH", "OH(s)": "OH", "OH(t)": "OH", "ACH": "CH", "AC": "C", "DOH": "C2H6O2", "DMSO": "C2H6OS",
    "acrylonitrile": "C3H3N", "furfural": "C5H4O2", "(C)": "C", "Cl-(C=C)": "Cl", "CH2CH3CO3": "C3H5O3",
    "cy-CH2OCH2": "C2H4O", "cy-CON-CH3": "C5H9NO", "cy-CON-CH2": "C5H8NO", "cy-CON-CH": "C5H7NO",
    "cy-CON-C": "C5H6NO", "CON(CH3)CH2": "C3H5NO",
}  # fmt: skip
"""Formulas of groups that their names do not spell out."""


def _atoms(formula: str) -> Counter[str]:
    counts: Counter[str] = Counter()
    for element, number in re.findall(r"(Cl|Br|[CHONFSI])(\d*)", formula):
        counts[element] += int(number or 1)
    return counts


def _atoms_of_group(group: str) -> dict[str, Fraction]:
    """Atoms of a group, from its name; A is an aromatic atom, cy- a ring, brackets are multiplied."""
    if group == "cy-CH2O[CH2]1/2":
        return {"C": Fraction(3, 2), "H": Fraction(3), "O": Fraction(1)}
    if group == "[cy-CH2]1/2O[CH2]1/2":
        return {"C": Fraction(1), "H": Fraction(2), "O": Fraction(1)}
    text = FORMULAS.get(group, group).removeprefix("cy-").removeprefix("A")
    counts: Counter[str] = Counter()
    for inside, times in re.findall(r"\((\w+)\)(\d+)", text):
        for element, number in _atoms(inside).items():
            counts[element] += number * int(times)
    counts += _atoms(re.sub(r"\(\w+\)\d+", "", text))
    return {element: Fraction(number) for element, number in counts.items()}


def _atoms_of_groups(counts: dict[str, int]) -> dict[str, Fraction]:
    total: dict[str, Fraction] = {}
    for group, number in counts.items():
        for element, atoms in _atoms_of_group(group).items():
            total[element] = total.get(element, Fraction(0)) + atoms * number
    return total


def _atoms_of_molecule(molecule: Chem.Mol) -> dict[str, Fraction]:
    return {
        element: Fraction(number)
        for element, number in Counter(atom.GetSymbol() for atom in Chem.AddHs(molecule).GetAtoms()).items()
    }


def _renumbered(molecule: Chem.Mol, order: list[int]) -> Chem.Mol:
    renumbered = Chem.RenumberAtoms(molecule, order)
    Chem.SanitizeMol(renumbered)  # the rings are not carried over
    return renumbered


def _told(groups: str) -> dict[str, int]:
    return {group: int(number) for number, group in (part.split(" ", 1) for part in groups.split(", "))}


@pytest.mark.parametrize(("name", "smiles", "groups", "source"), ASSIGNED, ids=[row[0] for row in ASSIGNED])
def test_a_molecule_has_the_groups_that_were_assigned_by_hand(name: str, smiles: str, groups: str, source: str) -> None:
    assert group_counts(Chem.MolFromSmiles(smiles)) == _told(groups), (name, source)


@pytest.mark.parametrize(("name", "smiles"), WITHOUT_GROUPS, ids=[row[0] for row in WITHOUT_GROUPS])
def test_a_molecule_that_is_not_covered_whole_has_no_counts(name: str, smiles: str) -> None:
    assert group_counts(Chem.MolFromSmiles(smiles)) is None, name


def test_every_published_group_has_a_pattern_and_a_size() -> None:
    assert {group for group, _, _ in PATTERNS} == set(read(SOURCE).frame["group"])


def test_every_pattern_is_used_by_a_molecule_or_named() -> None:
    seen = {group for _, _, groups, _ in ASSIGNED for group in _told(groups)}
    rest = {group for group, _, _ in PATTERNS} - seen
    assert rest == {"AC2S", "CH2SO2CH", "CHS", "COCH", "CON(CH3)CH2", "HCOCH", "cy-CON-C"}


FURTHER = (
    ("dibenzothiophene", "c1ccc2c(c1)sc1ccccc12", "8 ACH, 2 AC, 1 AC2S"),
    ("2-methylsulfolane", "CC1CCCS1(=O)=O", "1 CH3, 2 cy-CH2, 1 CH2SO2CH"),
    ("diisopropyl sulfide", "CC(C)SC(C)C", "4 CH3, 1 CH, 1 CHS"),
    ("2-methyl-2,3-epoxybutane", "CC1OC1(C)C", "3 CH3, 1 COCH"),
    ("2,3-epoxybutane", "CC1OC1C", "2 CH3, 1 HCOCH"),
    ("N-ethyl-N-methylacetamide", "CCN(C)C(C)=O", "2 CH3, 1 CON(CH3)CH2"),
    ("N-tert-butyl-2-pyrrolidone", "CC(C)(C)N1CCCC1=O", "3 CH3, 1 cy-CON-C"),
)


@pytest.mark.parametrize(("name", "smiles", "groups"), FURTHER, ids=[row[0] for row in FURTHER])
def test_rare_groups(name: str, smiles: str, groups: str) -> None:
    assert group_counts(Chem.MolFromSmiles(smiles)) == _told(groups), name


ALL = [row[1] for row in ASSIGNED] + [row[1] for row in FURTHER]


@given(st.sampled_from(ALL), st.randoms(use_true_random=False))
def test_the_order_of_the_atoms_does_not_matter(smiles: str, random: Random) -> None:
    molecule = Chem.MolFromSmiles(smiles)
    order = list(range(molecule.GetNumAtoms()))
    random.shuffle(order)
    assert group_counts(_renumbered(molecule, order)) == group_counts(molecule)


PIECES = (
    "C", "C(C)", "C(C)(C)", "C=C", "C(=C)", "C#C", "C1CCC(CC1)", "c1ccc(cc1)", "c1ccnc(c1)", "O", "C(=O)", "C(=O)O",
    "C(=O)N", "C(O)", "C(N)", "C(Cl)", "C(F)(F)", "C(=O)N(C)", "N(C)", "N", "S", "SS", "OC(=O)O", "C1OC1", "C1COCC1",
    "C(C#N)", "C([N+](=O)[O-])", "C(Br)", "c1ccc(s1)", "S(=O)(=O)",
)  # fmt: skip
ENDS = ("C", "CO", "CCl", "O", "N", "C(=O)O", "C#N", "C(Cl)(Cl)Cl", "C(F)(F)F", "C=O", "c1ccccc1", "Br", "C=C")


@given(st.lists(st.sampled_from(PIECES), min_size=0, max_size=6), st.sampled_from(ENDS))
def test_no_atom_is_lost_or_counted_twice(middle: list[str], end: str) -> None:
    molecule = Chem.MolFromSmiles("C" + "".join(middle) + end)
    counts = group_counts(molecule)
    if counts is None:
        return
    assert _atoms_of_groups(counts) == _atoms_of_molecule(molecule)
    order = list(reversed(range(molecule.GetNumAtoms())))
    assert group_counts(_renumbered(molecule, order)) == counts


@pytest.mark.parametrize("smiles", ALL)
def test_the_groups_of_the_assigned_add_up_to_the_formula(smiles: str) -> None:
    molecule = Chem.MolFromSmiles(smiles)
    assert _atoms_of_groups(group_counts(molecule) or {}) == _atoms_of_molecule(molecule)


def test_many_molecules_at_once_give_what_each_gives_alone() -> None:
    smiles = ["CCO", "no structure", "CCO.O", "C1CCOC1"] * 600
    one_by_one = [{"CH3": 1, "CH2": 1, "OH(p)": 1}, None, None, {"cy-CH2": 2, "cy-CH2OCH2": 1}] * 600
    assert group_counts_of_all(smiles, 1) == one_by_one
    assert group_counts_of_all(smiles, 2) == one_by_one

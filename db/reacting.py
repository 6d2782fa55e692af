"""Pairs that react with one another, so that no boiling diagram holds for them; common practice, no source.

A pair that is not named here may react all the same.
"""

from __future__ import annotations

from collections.abc import Iterable

ACID, WATER, ORGANIC = "a carboxylic acid", "water", "something organic"
REACTS = "They react"
REACTION = (
    REACTS + ", often with much heat: {}. What is said here takes them for a mixture that does not: do not distil "
    "them together."
)
EXPLODES = "{} can explode when it is heated or concentrated: do not distil it."
SALT_TOLD = "They form a salt"
SALT = SALT_TOLD + ": {}. What is predicted here leaves that out."

_OF_CAS = {
    # Sulfuric, nitric, perchloric, phosphoric acid; hydrogen chloride, bromide, iodide, fluoride.
    "a mineral acid": "7664-93-9 7697-37-2 7601-90-3 7664-38-2 7647-01-0 10035-10-6 10034-85-2 7664-39-3",
    # Acetyl, propionyl, benzoyl, oxalyl chloride, phosgene, thionyl, phosphoryl chloride, chlorosulfuric acid, sulfur
    # trioxide; acetic, propionic, maleic, phthalic, trifluoroacetic anhydride.
    # Hydrogen peroxide, peracetic acid, tert-butyl hydroperoxide, methyl ethyl ketone peroxide, dibenzoyl peroxide;
    # sodium and calcium hypochlorite, sodium and potassium chlorate; permanganate, dichromate; ammonium perchlorate
    # and nitrate, sodium and potassium nitrate.
    "an oxidiser": "7722-84-1 79-21-0 75-91-2 1338-23-4 94-36-0 7681-52-9 7778-54-3 7775-09-9 3811-04-9 7722-64-7 "
    "7778-50-9 7790-98-9 6484-52-2 7631-99-4 7757-79-1",
    "an oxidising acid": "7697-37-2 7601-90-3",
    "chloroform": "67-66-3",
    "a strong base": "1310-73-2 1310-58-3 124-41-4",
    "an acid chloride or anhydride": "75-36-5 79-03-8 98-88-4 79-37-8 75-44-5 7719-09-7 10025-87-3 7790-94-5 7446-11-9 "
    "108-24-7 123-62-6 108-31-6 85-44-9 407-25-0",
    "an amine": "7664-41-7",  # ammonia
}
_OF_GROUPS = {
    "an alcohol": "OH(p) OH(s) OH(t) CH3OH DOH",
    WATER: "H2O",
    "an amine": "CH3NH2 CH2NH2 CHNH2 CNH2 CH3NH CH2NH CHNH CH3N CH2N ACNH2 AC2H2N AC2HN AC2N",
    "an ether or epoxide": "CH3O CH2O CH-O cy-CH2OCH2 cy-CH2O[CH2]1/2 [cy-CH2]1/2O[CH2]1/2 COCH H2COC H2COCH H2COCH2 "
    "HCOCH",
    ACID: "COOH HCOOH",
    "a ketone": "CH3CO CH2CO cy-CH2CO",
    "an aldehyde": "CHO",
}
_REACTING = {
    "a mineral acid": ("an ether or epoxide", "an alcohol", "an amine"),
    "an acid chloride or anhydride": ("an alcohol", WATER, "an amine"),
    "an oxidiser": (ORGANIC,),
    "an oxidising acid": ("a ketone", "an aldehyde", ACID),
    "a strong base": ("chloroform",),
    ACID: ("an amine",),
}


# Glyceryl trinitrate, ethylene glycol dinitrate, pentaerythritol tetranitrate, cellulose nitrate, picric acid,
# 2,4,6-trinitrotoluene, sodium azide, nitromethane, acetone peroxide.
_EXPLOSIVES = "55-63-0 628-96-6 78-11-5 9004-70-0 88-89-1 118-96-7 26628-22-8 75-52-5 17088-37-8"


def told_explosive(cas: str, label: str) -> list[str]:
    """That a component by itself is not to be heated."""
    return [EXPLODES.format(label)] if cas in _EXPLOSIVES.split() else []


def told_reaction(
    cas: tuple[str, str], groups: tuple[Iterable[str], Iterable[str]], labels: tuple[str, str]
) -> list[str]:
    """That the two react, where their classes are known to; `groups` are those of their molecules."""
    classes = [_classes(*one) for one in zip(cas, groups, strict=True)]
    for one, other in ((0, 1), (1, 0)):
        for reagent in classes[one] & _REACTING.keys():
            for partner in _REACTING[reagent]:
                if partner in classes[other]:
                    known = f"{labels[one]}, {reagent}, and {labels[other]}" + (
                        "" if partner == WATER else f", {partner}"
                    )
                    return [(SALT if reagent == ACID else REACTION).format(known)]
    return []


def _classes(cas: str, groups: Iterable[str]) -> set[str]:
    of_groups = {name for name, those in _OF_GROUPS.items() if not set(groups).isdisjoint(those.split())}
    if set(groups) - {"H2O"}:
        of_groups.add(ORGANIC)
    return of_groups | {name for name, those in _OF_CAS.items() if cas in those.split()}

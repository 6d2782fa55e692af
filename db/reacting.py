"""Pairs that react with one another, so that no boiling diagram holds for them; common practice, no source.

A pair that is not named here may react all the same.
"""

from __future__ import annotations

from collections.abc import Iterable

ACID, WATER = "a carboxylic acid", "water"
REACTS = "They react"
REACTION = (
    REACTS + ", often with much heat: {}. What is said here takes them for a mixture that does not: do not distil "
    "them together."
)
SALT = "They form a salt: {}. What is predicted here leaves that out."

_OF_CAS = {
    # Sulfuric, nitric, perchloric, phosphoric acid; hydrogen chloride, bromide, iodide, fluoride.
    "a mineral acid": "7664-93-9 7697-37-2 7601-90-3 7664-38-2 7647-01-0 10035-10-6 10034-85-2 7664-39-3",
    # Acetyl, propionyl, benzoyl, oxalyl chloride, phosgene, thionyl, phosphoryl chloride, chlorosulfuric acid, sulfur
    # trioxide; acetic, propionic, maleic, phthalic, trifluoroacetic anhydride.
    # Hydrogen peroxide, peracetic acid, tert-butyl hydroperoxide, methyl ethyl ketone peroxide; sodium hypochlorite and
    # chlorate; potassium permanganate, dichromate, chlorate.
    "an oxidiser": "7722-84-1 79-21-0 75-91-2 1338-23-4 7681-52-9 7775-09-9 7722-64-7 7778-50-9 3811-04-9",
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
    "an oxidiser": ("an alcohol", "a ketone", "an aldehyde", "an ether or epoxide", "an amine", ACID),
    "an oxidising acid": ("a ketone", "an aldehyde", ACID),
    "a strong base": ("chloroform",),
    ACID: ("an amine",),
}


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
    return of_groups | {name for name, those in _OF_CAS.items() if cas in those.split()}

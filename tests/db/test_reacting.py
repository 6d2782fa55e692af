"""Pairs that react: told from groups and CAS numbers."""

from __future__ import annotations

import pytest

from cutpoint.db.reacting import told_reaction

GROUPS = {
    "64-17-5": ("CH3", "CH2", "OH(p)"), "7732-18-5": ("H2O",), "110-54-3": ("CH3", "CH2"), "64-19-7": ("CH3", "COOH"),
    "62-53-3": ("ACH", "ACNH2"), "60-29-7": ("CH3", "CH2", "CH2O"),
}  # fmt: skip
NAMES = {"64-17-5": "ethanol", "7664-93-9": "sulfuric acid", "75-36-5": "acetyl chloride", "7732-18-5": "water"}


def told(a: str, b: str) -> str:
    names = NAMES.get(a, a), NAMES.get(b, b)
    return " ".join(told_reaction((a, b), (GROUPS.get(a, ()), GROUPS.get(b, ())), names))


@pytest.mark.parametrize(
    ("a", "b", "words"),
    [
        (
            "64-17-5",
            "7664-93-9",
            "They react, often with much heat: sulfuric acid, a mineral acid, and ethanol, an alcohol.",
        ),
        ("60-29-7", "7664-93-9", "an ether or epoxide"),
        ("75-36-5", "7732-18-5", "acetyl chloride, an acid chloride or anhydride, and water."),
        ("7647-01-0", "7664-41-7", "a mineral acid, and 7664-41-7, an amine"),
        ("62-53-3", "64-19-7", "They form a salt: 64-19-7, a carboxylic acid, and 62-53-3, an amine."),
    ],
)
def test_pairs_that_react(a: str, b: str, words: str) -> None:
    assert words in told(a, b)


@pytest.mark.parametrize(("a", "b"), [("64-17-5", "7732-18-5"), ("7647-01-0", "7732-18-5"), ("110-54-3", "75-36-5")])
def test_pairs_of_which_nothing_is_said(a: str, b: str) -> None:
    assert told(a, b) == ""

"""The additive method: every heavy atom in exactly one group, or no estimate."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rdkit import Chem

from cutpoint.pipeline.group_counts import (
    GROUPS,
    boiling_point_K,
    count_groups,
    critical_pressure_Pa,
    critical_temperature_K,
)


def counts(smiles: str) -> dict[str, int] | None:
    found = count_groups(Chem.MolFromSmiles(smiles))
    return None if found is None else dict(found)


def test_the_method_has_41_groups_with_names_of_their_own() -> None:
    assert len(GROUPS) == len({group.name for group in GROUPS}) == 41


@pytest.mark.parametrize(
    ("smiles", "expected"),
    [
        ("CC(C)=O", {"-CH3": 2, ">C=O": 1}),
        ("CCOC(C)=O", {"-CH3": 2, "-CH2-": 1, "-COO-": 1}),
        ("CC(=O)O", {"-CH3": 1, "-COOH": 1}),
        ("COC=O", {"-CH3": 1, "-O-": 1, "O=CH-": 1}),
        ("CC(=O)OC(C)=O", {"-CH3": 2, "-COO-": 1, ">C=O": 1}),
        ("O=C1CCCO1", {">C=O ring": 1, "-CH2- ring": 3, "-O- ring": 1}),
        ("Oc1ccccc1", {"-OH phenol": 1, "=CH- ring": 5, "=C< ring": 1}),
        ("OCc1ccccc1", {"-OH alcohol": 1, "-CH2-": 1, "=CH- ring": 5, "=C< ring": 1}),
        ("C[N+](=O)[O-]", {"-CH3": 1, "-NO2": 1}),
        ("CC#N", {"-CH3": 1, "-CN": 1}),
        ("C=C=CC#C", {"=CH2": 1, "=C=": 1, "=CH-": 1, "≡C-": 1, "≡CH": 1}),
        ("C1CCNCC1", {"-CH2- ring": 5, ">NH ring": 1}),
        ("c1ccncc1", {"=CH- ring": 5, "-N= ring": 1}),
        ("c1ccsc1", {"=CH- ring": 4, "-S- ring": 1}),
        ("CC(C)(C)CC(C)C", {"-CH3": 5, ">C<": 1, "-CH2-": 1, ">CH-": 1}),
        ("C1CC2CCC1(C2)Cl", {"-CH2- ring": 5, ">CH- ring": 1, ">C< ring": 1, "-Cl": 1}),
        ("FC(F)(F)CI", {"-F": 3, ">C<": 1, "-CH2-": 1, "-I": 1}),
        ("CC=NO", {"-CH3": 1, "=CH-": 1, "-N=": 1, "-OH alcohol": 1}),
    ],
)
def test_groups_of_plain_molecules(smiles: str, expected: dict[str, int]) -> None:
    assert counts(smiles) == expected


@pytest.mark.parametrize(
    "smiles",
    [
        "C",  # no group for four hydrogens
        "O",
        "ClCl",  # groups only, but no carbon
        "CN1CCCC1",  # no group for a tertiary nitrogen in a ring
        "CS(C)(=O)=O",
        "C[Si](C)(C)C",
        "CCO[N+](C)(C)C",
        "C[N+](C)(C)C.[Cl-]",
        "[C-]#[N+]C",
        "[2H]C(Cl)(Cl)Cl",
    ],
)
def test_what_the_groups_do_not_cover_gets_no_estimate(smiles: str) -> None:
    assert counts(smiles) is None


def test_acetone_worked_by_hand() -> None:
    """Sums by hand from the group values: 2 × 23.58 + 76.75; 2 × 0.0141 + 0.0380; 2 × (-0.0012) + 0.0031."""
    groups = count_groups(Chem.MolFromSmiles("CC(C)=O"))
    assert groups is not None
    T_b_K = boiling_point_K(groups)
    assert T_b_K == pytest.approx(198.2 + 123.91)
    assert critical_temperature_K(groups, T_b_K) == pytest.approx(322.11 / (0.584 + 0.965 * 0.0662 - 0.0662**2))
    assert critical_pressure_Pa(groups, 10) == pytest.approx(1e5 / (0.113 + 0.032 - 0.0007) ** 2)


def test_two_dichlorobenzene_near_its_published_constants() -> None:
    """p-Dichlorobenzene: T_c 684.75 K, p_c 4.07 MPa; Poling, Prausnitz, O'Connell, 5th edition, 2001 (from memory)."""
    groups = count_groups(Chem.MolFromSmiles("Clc1ccc(Cl)cc1"))
    assert groups is not None
    assert critical_temperature_K(groups, 447.2) == pytest.approx(684.75, rel=0.02)
    assert critical_pressure_Pa(groups, 12) == pytest.approx(4.07e6, rel=0.03)


def test_an_imine_has_a_boiling_point_and_no_critical_constants() -> None:
    groups = count_groups(Chem.MolFromSmiles("CC(C)=N"))
    assert groups is not None
    assert boiling_point_K(groups) > 273.15
    assert math.isnan(critical_temperature_K(groups, 350.0))
    assert math.isnan(critical_pressure_Pa(groups, 11))


@given(st.integers(1, 30))
def test_a_longer_chain_adds_methylene_groups(n: int) -> None:
    assert counts("C" + "C" * n + "C") == {"-CH3": 2, "-CH2-": n}


@given(st.sampled_from(["CCOC(=O)c1ccccc1O", "O=C(O)COC=O", "CC(=O)OC(=O)OCC", "NCC(=O)N(C)CC#N"]), st.randoms())
def test_the_order_of_the_atoms_does_not_matter(smiles: str, random: object) -> None:
    molecule = Chem.MolFromSmiles(smiles)
    order = list(range(molecule.GetNumAtoms()))
    random.shuffle(order)  # type: ignore[attr-defined]
    assert count_groups(Chem.RenumberAtoms(molecule, order)) == count_groups(molecule)

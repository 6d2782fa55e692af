"""The structure model on an invented additive world, where the right answer is known."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from rdkit import Chem

from cutpoint.pipeline.descriptors import CHEMICAL_CLASSES, chemical_class, connectivity, describe, is_organic
from cutpoint.pipeline.estimate import ALL, Estimates, estimate

TAILS = ("", "O", "Cl", "OC", "C(=O)C", "N", "C#N", "C=C", "c1ccccc1", "C(=O)O", "S", "OC(C)=O", "[N+](=O)[O-]", "Br")
WRONG, UNTRAINED, LABELLED = "1000-10-0", "1000-20-0", "1000-30-0"


def boiling_point(smiles: str) -> float:
    """An invented law that is smooth in the structure; it stands for no substance."""
    molecule = Chem.MolFromSmiles(smiles)
    polar = sum(atom.GetAtomicNum() in (7, 8) for atom in molecule.GetAtoms())
    return 180.0 + 60.0 * molecule.GetNumHeavyAtoms() ** 0.7 + 25.0 * polar


def invented_world() -> tuple[pd.DataFrame, pd.DataFrame]:
    """About 400 chains with and without a branch, well agreed; one wrong, one not agreed on, one salt, one stream."""
    chains = [
        "C" * n + branch + "C" * m for n in range(1, 6) for m in range(1, 5) for branch in ("", "C(C)", "C(C)(C)")
    ]
    smiles = sorted({Chem.CanonSmiles(chain + tail) for chain in chains for tail in TAILS})
    table = pd.DataFrame({"smiles": smiles, "value": [boiling_point(text) for text in smiles]})
    table["cas"] = [f"{1000 + place // 10}-{place % 10}1-0" for place in range(len(table))]
    table = table.assign(u95=1.0, n_sources=3, grade="A", kind="pure")
    special = pd.DataFrame(
        [
            (WRONG, "CCCCCC(C)CCO", boiling_point("CCCCCC(C)CCO") - 100.0, 3, "A", "pure"),
            (UNTRAINED, "CCCCC(C)CC#N", 300.0, 1, "D", "pure"),
            (LABELLED, "[2H]C(C)CCl", boiling_point("CCCCl"), 3, "A", "pure"),
            ("1000-40-0", "C[N+](C)(C)C.[Cl-]", 500.0, 3, "A", "pure"),
            ("1000-50-0", "CCCC", 400.0, 3, "A", "stream"),
        ],
        columns=["cas", "smiles", "value", "n_sources", "grade", "kind"],
    ).assign(u95=1.0)
    table = pd.concat([table, special], ignore_index=True)
    return table[["cas", "smiles", "kind"]], table[["cas", "value", "u95", "n_sources", "grade"]]


@pytest.fixture(scope="module")
def world() -> tuple[pd.DataFrame, pd.DataFrame]:
    return invented_world()


@pytest.fixture(scope="module")
def made(world: tuple[pd.DataFrame, pd.DataFrame]) -> Estimates:
    return estimate(*world)


def test_the_law_is_found(made: Estimates) -> None:
    overall = made.errors.set_index("chemical_class").loc[ALL]
    assert overall["median_abs_error_K"] < 2.0
    assert overall["median_abs_error_where_additive_K"] < 0.5 * overall["additive_median_abs_error_K"]


def test_every_class_is_counted_once(made: Estimates) -> None:
    parts = made.errors.set_index("chemical_class")["n"]
    assert parts.drop(ALL).sum() == parts[ALL] == made.boiling_points["trained"].sum()
    assert set(parts.index) <= {ALL, *CHEMICAL_CLASSES}


def test_an_estimate_has_not_seen_the_value_it_judges(
    world: tuple[pd.DataFrame, pd.DataFrame], made: Estimates
) -> None:
    components, values = world
    moved = values.assign(value=values["value"].where(values["cas"] != WRONG, values["value"] + 50.0))
    before, after = (result.boiling_points.set_index("cas")["value"] for result in (made, estimate(components, moved)))
    assert before[WRONG] == after[WRONG]
    assert (before != after).any()


def test_a_wrong_value_stands_out(made: Estimates, world: tuple[pd.DataFrame, pd.DataFrame]) -> None:
    row = made.boiling_points.set_index("cas").loc[WRONG]
    assert row["value"] == pytest.approx(boiling_point("CCCCCC(C)CCO"), abs=10.0)


def test_a_value_that_is_not_agreed_on_trains_nothing(
    world: tuple[pd.DataFrame, pd.DataFrame], made: Estimates
) -> None:
    components, values = world
    moved = values.assign(value=values["value"].where(values["cas"] != UNTRAINED, 600.0))
    pd.testing.assert_frame_equal(estimate(components, moved).boiling_points, made.boiling_points)
    assert not made.boiling_points.set_index("cas").loc[UNTRAINED, "trained"]


def test_salts_and_streams_get_no_estimate(made: Estimates) -> None:
    assert not {"1000-40-0", "1000-50-0"} & set(made.boiling_points["cas"])


def test_the_order_of_rows_does_not_matter(world: tuple[pd.DataFrame, pd.DataFrame], made: Estimates) -> None:
    shuffled = (table.sample(frac=1.0, random_state=7) for table in world)
    again = estimate(*shuffled)
    pd.testing.assert_frame_equal(again.boiling_points, made.boiling_points)
    pd.testing.assert_frame_equal(again.errors, made.errors)


def test_too_little_to_learn_from_gives_no_estimate(world: tuple[pd.DataFrame, pd.DataFrame]) -> None:
    components, values = world
    few = estimate(components, values.head(50))
    assert few.boiling_points.empty
    assert few.errors.empty
    assert list(few.boiling_points.columns) == ["cas", "value", "u95", "chemical_class", "additive_value", "trained"]


def test_a_structure_that_cannot_be_read_gets_no_estimate(world: tuple[pd.DataFrame, pd.DataFrame]) -> None:
    components, values = world
    broken = components.assign(smiles=components["smiles"].where(components["cas"] != UNTRAINED, "C(C"))
    assert UNTRAINED not in set(estimate(broken, values).boiling_points["cas"])


def test_stereoisomers_and_labelled_molecules_share_their_connectivity() -> None:
    same = {connectivity(Chem.MolFromSmiles(text)) for text in ("C/C=C/C", "C/C=C\\C", "[2H]CC=CC")}
    assert len(same) == 1


@pytest.mark.parametrize(
    ("smiles", "expected"),
    [
        ("CCCC", "saturated hydrocarbon"),
        ("C1=CCCCC1", "unsaturated hydrocarbon"),
        ("C=Cc1ccccc1", "aromatic hydrocarbon"),
        ("FC(Cl)Br", "halogenated"),
        ("OCCO", "alcohol or phenol"),
        ("Oc1ccccc1", "alcohol or phenol"),
        ("C1CCOC1", "ether"),
        ("CC=O", "aldehyde or ketone"),
        ("OC=O", "carboxylic acid"),
        ("O=C1CCCO1", "ester"),
        ("CN(C)C=O", "nitrogen"),
        ("CS(C)=O", "sulfur"),
        ("C[Si](C)(C)O[Si](C)(C)C", "silicon"),
        ("OCCOC", "polyfunctional"),
        ("CC(C)=O", "aldehyde or ketone"),
        ("COC=O", "ester"),
        ("CC(Cl)=O", "polyfunctional"),
        ("CP(C)C", "other"),
        ("COOC", "other"),
    ],
)
def test_chemical_classes(smiles: str, expected: str) -> None:
    assert chemical_class(Chem.MolFromSmiles(smiles)) == expected


@pytest.mark.parametrize("smiles", ["O", "[Na+].CC(=O)[O-]", "[CH3]", "C[Hg]C", "C[N+](C)(C)C"])
def test_what_is_no_organic_molecule(smiles: str) -> None:
    assert not is_organic(Chem.MolFromSmiles(smiles))


@pytest.mark.parametrize("smiles", ["C", "CF", "C[Si](C)(C)C", "C" * 60])
def test_descriptors_are_finite(smiles: str) -> None:
    numbers = describe(Chem.MolFromSmiles(smiles))
    assert numbers.shape == (117,)
    assert np.isfinite(numbers).all()

"""Identities and observations become components: structure rules, refusals, accounts."""

from __future__ import annotations

import random

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline import structure
from cutpoint.pipeline.hand_tables import HouseTables, Substance
from cutpoint.pipeline.identities import refusal_of_cas
from cutpoint.pipeline.resolve import Resolved, resolve
from cutpoint.pipeline.structure import Claim, Verdict, inchi_composition, judge, silence
from cutpoint.schema.identifiers import cas_check_digit, is_cas
from cutpoint.schema.tables import check, empty

silence()

IDENTITY_COLUMNS = ["source_row", "cas", "formula", "molar_mass_g_mol", "smiles", "inchi", "inchikey", "names"]

# Rows of the identity tables (National Center for Biotechnology Information, PubChem, as compiled in
# chemicals 1.5.2), shortened to the names that matter.
ETHYL_ACETATE = (
    "141-78-6", "C4H8O2", "88.10512", "CCOC(=O)C", "C4H8O2/c1-3-6-4(2)5/h3H2,1-2H3",
    "XEKOWRVHYACXOJ-UHFFFAOYSA-N", ["ethyl ethanoate", "ethyl acetate"],
)  # fmt: skip
NICOTINE_OF_ANOTHER_NUMBER = (
    "22083-74-5", "C10H14N2", "162.23156", "CN1CCCC1C2=CN=CC=C2",
    "C10H14N2/c1-12-7-3-5-10(12)9-4-2-6-11-8-9/h2,4,6,8,10H,3,5,7H2,1H3",
    "SNICXCGAKADSCV-UHFFFAOYSA-N", ["3-(1-methylpyrrolidin-2-yl)pyridine", "nicotine", "54-11-5"],
)  # fmt: skip
HYDROGEN_CHLORIDE = (
    "7647-01-0", "ClH", "36.46094", "Cl", "ClH/h1H", "VEXZGXHMUGYJMC-UHFFFAOYSA-N", ["chlorane", "hydrochloric acid"],
)  # fmt: skip
WRONG_FOR_A_STREAM = (
    "8052-41-3", "C8H17BrO3", "241.12272", "CC(=O)O.C(CCCBr)CCO",
    "C6H13BrO.C2H4O2/c7-5-3-1-2-4-6-8;1-2(3)4/h8H,1-6H2;1H3,(H,3,4)",
    "", ["6-bromanylhexan-1-ol;ethanoic acid", "6-bromo-1-hexanol acetate"],
)  # fmt: skip
STODDARD = HouseTables(
    streams=(Substance("streams", 1, "8052-41-3", "Stoddard solvent", ""),),
    rows=(("streams", 1, "8052-41-3", "Stoddard solvent"),),
)


def claim(smiles: str, inchi: str, inchikey: str, formula: str, mass: str) -> Verdict:
    return judge(Claim(smiles, inchi, inchikey, formula, mass))


def identities(*rows: tuple[object, ...]) -> pd.DataFrame:
    frame = pd.DataFrame([(place, *row) for place, row in enumerate(rows, 1)], columns=IDENTITY_COLUMNS)
    return frame.assign(source="identifiers")


def observations(*rows: tuple[int, str]) -> pd.DataFrame:
    absent = dict.fromkeys(empty("observation").columns)
    told = {
        "source": "boiling_points", "field": "Tb", "property": "normal_boiling_point", "value": 350.0, "unit": "K",
        "basis": "compiled", "raw": "350.0", "status": "accepted",
    }  # fmt: skip
    frame = pd.DataFrame([absent | told | {"source_row": row, "cas": cas} for row, cas in rows])
    return check("observation", frame if rows else empty("observation"), "test")


def names(*rows: tuple[int, str, str]) -> pd.DataFrame:
    return pd.DataFrame(list(rows), columns=["source_row", "cas", "name"]).assign(
        source="boiling_points", language="en", choice=0
    )


def resolve_these(
    identity: pd.DataFrame, observed: pd.DataFrame, named: pd.DataFrame | None = None, house: HouseTables | None = None
) -> Resolved:
    house = house or HouseTables()
    return resolve(identity, observed, names() if named is None else named, empty("rejected"), house, workers=1)


def component(resolved: Resolved, cas: str) -> dict[str, object]:
    rows = resolved.components[resolved.components["cas"] == cas]
    return rows.iloc[0].astype("object").where(rows.iloc[0].notna(), None).to_dict()


# --- the structure rule, case by case -------------------------------------------------------------------------


def test_a_row_that_agrees_is_kept_without_a_note() -> None:
    _, formula, mass, smiles, inchi, key, _ = ETHYL_ACETATE
    verdict = claim(smiles, inchi, key, formula, mass)
    assert verdict == Verdict("CCOC(C)=O", key, "C4H8O2", pytest.approx(88.106, abs=1e-3), True, None, None)


def test_hill_order_is_no_repair() -> None:
    verdict = claim("[NH4+].[Cl-]", "ClH.H3N/h1H;1H3", "NLXLAEXVIDQMFP-UHFFFAOYSA-N", "H4ClN", "53.49")
    assert (verdict.formula, verdict.repair) == ("ClH4N", None)


def test_lost_hydrogens_are_restored() -> None:
    _, formula, mass, _, inchi, key, _ = ETHYL_ACETATE
    verdict = claim("[CH2]COC(=O)C", inchi, key, formula, mass)
    assert verdict.smiles == "CCOC(C)=O"
    assert verdict.repair == "SMILES from the InChI: lost hydrogens restored"


def test_lost_stereochemistry_is_restored() -> None:
    # (S)-nicotine, 54-11-5: PubChem CID 89594
    inchi = "C10H14N2/c1-12-7-3-5-10(12)9-4-2-6-11-8-9/h2,4,6,8,10H,3,5,7H2,1H3/t10-/m0/s1"
    verdict = claim("CN1CCCC1C2=CN=CC=C2", inchi, "SNICXCGAKADSCV-JTQLQIEISA-N", "C10H14N2", "162.23156")
    assert "@" in str(verdict.smiles)
    assert verdict.repair == "SMILES from the InChI: stereochemistry restored"


def test_other_bonds_give_way_to_the_inchi() -> None:
    _, formula, mass, _, inchi, key, _ = ETHYL_ACETATE
    verdict = claim("CCCC(=O)O", inchi, key, formula, mass)
    assert (verdict.smiles, verdict.inchikey) == ("CCOC(C)=O", key)
    assert verdict.repair == "SMILES from the InChI: its bonds were others"


def test_protons_of_an_inchi_are_part_of_its_composition() -> None:
    # Row of 68298-45-3, whose SMILES and InChI place the charges differently.
    inchi = "C4H6NO8P2/c6-4(7)1-5(2-12-14(8)9)3-13-15(10)11/h1-3H2/q-1/p+3"
    smiles = "C(C(=O)O)N(CO[P+](=O)O)CO[P+](=O)O"
    verdict = claim(smiles, inchi, "TVPAAMJKPIITRY-UHFFFAOYSA-Q", "C4H9NO8P2+2", "261.06")
    assert (verdict.formula, verdict.repair) == ("C4H9NO8P2+2", "SMILES from the InChI: its bonds were others")
    assert not verdict.ordinary


def test_chlorates_are_no_contradiction() -> None:
    verdict = claim(
        "[O-]Cl(=O)=O.[Na+]",
        "ClHO3.Na/c2-1(3)4;/h(H,2,3,4);/q;+1/p-1",
        "YZHUMGUJCQRKBT-UHFFFAOYSA-M",
        "ClNaO3",
        "106.44",
    )
    assert verdict.inchikey == "YZHUMGUJCQRKBT-UHFFFAOYSA-M"
    assert (verdict.smiles is not None, verdict.repair) == (True, None)


def test_a_wrong_formula_is_taken_from_the_structure() -> None:
    _, _, mass, smiles, inchi, key, _ = ETHYL_ACETATE
    verdict = claim(smiles, inchi, key, "C4H10O", mass)
    assert (verdict.formula, verdict.repair) == ("C4H8O2", "formula from the structure (the source gives C4H10O)")


def test_smiles_and_formula_overrule_a_wrong_inchi() -> None:
    # Row of 56797-55-8, whose InChI has four hydrogens too many.
    verdict = claim("[Po+]", "Po.4H/q+1;;;;", "BJUAOAWWXCMEQN-UHFFFAOYSA-N", "Po+", "209")
    assert verdict.formula == "Po+"
    assert verdict.repair == "InChIKey from the SMILES, which agrees with the formula"


def test_an_unreadable_smiles_is_left_out_and_the_key_stays() -> None:
    verdict = claim("FCl(F)F", "ClF3/c2-1(3)4", "JOHWNGGYGAVMGU-UHFFFAOYSA-N", "ClF3", "92.4482")
    assert (verdict.smiles, verdict.inchikey) == (None, "JOHWNGGYGAVMGU-UHFFFAOYSA-N")
    assert verdict.molar_mass_g_mol == pytest.approx(92.447, abs=2e-3)
    assert str(verdict.repair).startswith("SMILES left out")


def test_an_unreadable_smiles_is_written_from_a_readable_inchi() -> None:
    verdict = claim("O=Cl(=O)=O", "ClO3/c2-1(3)4", "TVWHTOUAJSGEKT-UHFFFAOYSA-N", "ClO3", "83.4512")
    assert verdict.smiles is not None
    assert str(verdict.repair).startswith("SMILES from the InChI")


def test_a_missing_inchikey_is_computed() -> None:
    verdict = claim("[OH-].[Mg+3]", "", "", "HMgO+2", "41.31234")
    assert (verdict.formula, verdict.inchikey) == ("HMgO+2", "YKAOVJVOZSMCGG-UHFFFAOYSA-M")


@pytest.mark.parametrize(("mass", "formula"), [("88.106", "C4H8O2"), ("74.122", "C4H10O")])
def test_without_an_inchi_the_molar_mass_decides(mass: str, formula: str) -> None:
    verdict = claim("CCOC(=O)C", "", "", "C4H10O", mass)
    assert verdict.formula == formula
    assert verdict.repair is not None


def test_a_formula_alone_is_kept_with_its_molar_mass() -> None:
    verdict = claim("", "", "", "D2Se", "82.988204")
    # atomic weights of IUPAC: Se 78.971; mass of deuterium 2.0141
    assert verdict.molar_mass_g_mol == pytest.approx(78.971 + 2 * 2.0141, abs=0.02)
    assert (verdict.formula, verdict.smiles, verdict.ordinary) == ("D2Se", None, False)


def test_a_wrong_molar_mass_is_repaired_and_an_old_one_is_not() -> None:
    _, formula, _, smiles, inchi, key, _ = ETHYL_ACETATE
    assert claim(smiles, inchi, key, formula, "88.11").repair is None
    assert claim(smiles, inchi, key, formula, "98.1").repair == "molar mass from the formula (the source gives 98.1)"


@pytest.mark.parametrize("formula", ["C9H20", "no formula"])
def test_what_nothing_decides_is_refused(formula: str) -> None:
    assert claim("CCO", ETHYL_ACETATE[4], ETHYL_ACETATE[5], formula, "500").refusal is not None  # type: ignore[arg-type]
    assert claim("", "", "", "Qq2", "1").refusal is not None


@pytest.mark.parametrize(
    ("smiles", "formula", "ordinary"),
    [
        ("CCO", "C2H6O", True),
        ("[Na+].[Cl-]", "ClNa", True),
        ("[CH2]O", "CH3O", False),
        ("[OH-]", "HO-", False),
        ("[2H]O[2H]", "D2O", False),
    ],
)
def test_radicals_ions_and_labelled_molecules_are_not_ordinary(smiles: str, formula: str, ordinary: bool) -> None:
    assert claim(smiles, "", "", formula, "").ordinary == ordinary


def test_labelled_hydrogen_counts_in_formula_and_mass() -> None:
    verdict = claim("[2H]C(Cl)(Cl)Cl", "", "", "CDCl3", "120.383802")
    assert (verdict.formula, verdict.molar_mass_g_mol) == ("CCl3D", pytest.approx(120.384, abs=2e-3))


@pytest.mark.parametrize(
    ("inchi", "composition"),
    [
        ("2ClH.Ra/h2*1H;/q;;+2/p-2", ({"Cl": 2, "Ra": 1}, 0)),
        ("C2H4O2/c1-2(3)4/h1H3,(H,3,4)/p-1", ({"C": 2, "H": 3, "O": 2}, -1)),
        ("2BrHO3.Mg.6H2O/c2*2-1(3)4;;;;;;;/q;;+2;;;;;;/p-2", ({"Br": 2, "H": 12, "O": 12, "Mg": 1}, 0)),
        ("Bi.4O/q-3;;;;", ({"Bi": 1, "O": 4}, -3)),
    ],
)
def test_composition_of_an_inchi(inchi: str, composition: tuple[dict[str, int], int]) -> None:
    assert inchi_composition(inchi) == composition


# --- components, refusals, accounts ---------------------------------------------------------------------------


@given(st.integers(10, 9_999_999), st.integers(0, 99), st.integers(0, 9))
def test_no_number_with_a_wrong_digit_is_accepted(first: int, second: int, digit: int) -> None:
    cas = f"{first}-{second:02d}-{digit}"
    reason = refusal_of_cas(cas)
    assert (reason is None) == is_cas(cas)
    if reason is not None:
        assert reason.endswith(str(cas_check_digit(cas[:-2])))


def test_a_wrong_digit_takes_identity_and_observations_with_it() -> None:
    wrong = ("141-78-5", *ETHYL_ACETATE[1:])
    resolved = resolve_these(identities(wrong, HYDROGEN_CHLORIDE), observations((7, "141-78-5"), (8, "7647-01-0")))
    assert resolved.components["cas"].tolist() == ["7647-01-0"]
    told = resolved.rejected.set_index(["source", "source_row", "field"])["reason"].to_dict()
    reason = "CAS check digit: it would have to be 6"
    assert told == {
        ("identifiers", 1, "*"): reason,
        ("boiling_points", 7, "Tb"): reason,
        ("boiling_points", 7, "*"): reason,
    }
    assert resolved.rows_kept == {"identifiers": 1, "boiling_points": 1}


def test_an_invented_number_is_refused() -> None:
    assert is_cas("2099453000-00-0")
    assert "invented" in str(refusal_of_cas("2099453000-00-0"))


def test_a_contradictory_row_takes_its_observations_with_it() -> None:
    contradictory = ("64-17-5", "C9H20", "500", "CCO", *ETHYL_ACETATE[4:])
    resolved = resolve_these(identities(contradictory), observations((1, "64-17-5")))
    assert resolved.components.empty
    assert set(resolved.rejected["field"]) == {"*", "Tb"}


def test_a_number_known_from_observations_alone_becomes_a_component() -> None:
    resolved = resolve_these(identities(ETHYL_ACETATE), observations((3, "123-86-4"), (4, "64-17-5")),
                             names((4, "64-17-5", "Ethanol")))  # fmt: skip
    assert component(resolved, "123-86-4")["name"] == "123-86-4"
    assert component(resolved, "64-17-5")["name"] == "ethanol"
    assert component(resolved, "64-17-5")["source"] == "boiling_points"
    assert resolved.names.set_index("cas").loc["64-17-5", "claim"] == "own"
    assert resolved.rejected.empty


def test_formula_and_mass_are_lent_but_no_structure() -> None:
    resolved = resolve_these(identities(NICOTINE_OF_ANOTHER_NUMBER), observations((1, "54-11-5")))
    borrower = component(resolved, "54-11-5")
    assert (borrower["formula"], borrower["smiles"], borrower["inchikey"]) == ("C10H14N2", None, None)
    assert borrower["repair"] == "formula and molar mass of 22083-74-5, which lists this number among its names"


def test_nothing_is_lent_by_two() -> None:
    twin = ("57-06-7", *NICOTINE_OF_ANOTHER_NUMBER[1:])
    resolved = resolve_these(identities(NICOTINE_OF_ANOTHER_NUMBER, twin), observations((1, "54-11-5")))
    assert component(resolved, "54-11-5")["formula"] is None


def test_same_inchikey_stays_two_components_with_a_note() -> None:
    twin = ("57-06-7", *NICOTINE_OF_ANOTHER_NUMBER[1:])
    resolved = resolve_these(identities(NICOTINE_OF_ANOTHER_NUMBER, twin), observations())
    assert resolved.components["repair"].tolist() == ["same InChIKey as 22083-74-5", "same InChIKey as 57-06-7"]


def test_a_stream_has_no_structure() -> None:
    resolved = resolve_these(identities(WRONG_FOR_A_STREAM), observations((1, "8052-41-3")), house=STODDARD)
    stream = component(resolved, "8052-41-3")
    assert (stream["kind"], stream["smiles"], stream["formula"]) == ("stream", None, None)
    assert stream["repair"] == "structure of identifiers row 1 not taken"
    assert resolved.rejected["field"].tolist() == ["*"]
    assert len(resolved.observations) == 1
    assert "6-bromo-1-hexanol acetate" not in set(resolved.names["name"])


def test_an_element_without_an_identity_row_comes_from_the_hand_table() -> None:
    house = HouseTables(elements=(Substance("element_forms", 1, "7704-34-9", "sulfur", "S"),),
                        rows=(("element_forms", 1, "7704-34-9", "sulfur"),))  # fmt: skip
    sulfur = component(resolve_these(identities(ETHYL_ACETATE), observations(), house=house), "7704-34-9")
    assert (sulfur["name"], sulfur["formula"], sulfur["source"]) == ("sulfur", "S", "element_forms")
    assert sulfur["molar_mass_g_mol"] == pytest.approx(32.06, abs=0.01)  # IUPAC, standard atomic weight of sulfur


def test_rules_and_names_that_meet_no_component_are_accounted_for() -> None:
    house = HouseTables(rows=(("trade_names", 1, "67-64-1", "is acetone"), ("trade_names", 2, "*", "not naphtha")))
    resolved = resolve_these(
        identities(ETHYL_ACETATE),
        observations((1, "141-78-6")),
        names((1, "141-78-6", "x"), (2, "50-00-0", "y")),
        house,
    )
    assert resolved.rows_kept == {"identifiers": 1, "boiling_points": 1, "trade_names": 1}
    lost = resolved.rejected.set_index(["source", "source_row"])
    assert set(lost.index) == {("boiling_points", 2), ("trade_names", 1)}
    assert set(lost["field"]) == {"*"}


def test_neither_row_order_nor_workers_change_the_result() -> None:
    rows = [ETHYL_ACETATE, NICOTINE_OF_ANOTHER_NUMBER, HYDROGEN_CHLORIDE, WRONG_FOR_A_STREAM]
    identity = identities(*rows)
    observed = observations((1, "54-11-5"), (2, "141-78-6"), (3, "7647-01-0"), (4, "141-78-5"))
    named = names((1, "54-11-5", "L-nicotine"), (2, "141-78-6", "acetic ether"), (3, "7647-01-0", "HCl"))
    one = resolve_these(identity, observed, named, STODDARD)
    shuffler = random.Random(7)

    def shuffled(frame: pd.DataFrame) -> pd.DataFrame:
        return frame.sample(frac=1.0, random_state=shuffler.randrange(1000))

    for _ in range(3):
        other = resolve(shuffled(identity), shuffled(observed), shuffled(named), empty("rejected"), STODDARD, workers=1)
        for table in ("components", "names", "observations", "rejected"):
            pd.testing.assert_frame_equal(getattr(one, table), getattr(other, table))
        assert one.rows_kept == other.rows_kept


def test_two_workers_give_what_one_gives(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(structure, "CHUNK", 2)
    rows = (ETHYL_ACETATE, NICOTINE_OF_ANOTHER_NUMBER, HYDROGEN_CHLORIDE, WRONG_FOR_A_STREAM)
    claims = [Claim(smiles, inchi, key, formula, mass) for _, formula, mass, smiles, inchi, key, _ in rows]
    assert structure.judge_all(claims, 2) == structure.judge_all(claims, 1)

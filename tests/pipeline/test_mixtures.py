"""The station of mixtures: every row kept or told, pairs in one order, fractions of the first component."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.pipeline.mixtures import MIXTURE_TABLES, Mixtures, mixtures, mole_fraction
from cutpoint.pipeline.read import read
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.errors import BuildFailed

COMPONENTS = pd.DataFrame(
    {
        "cas": ["64-17-5", "7732-18-5", "67-64-1", "67-66-3", "8032-32-4", "109-99-9"],
        "smiles": ["CCO", "O", "CC(C)=O", "ClC(Cl)Cl", None, "C1CCOC1"],
        "kind": ["pure", "pure", "pure", "pure", "stream", "pure"],
        "molar_mass_g_mol": [46.069, 18.015, 58.080, 119.378, None, 72.107],
    }
)

AZEOTROPE = {
    "cas_a": "64-17-5",
    "name_a": "ethanol",
    "cas_b": "7732-18-5",
    "name_b": "water",
    "pressure_kPa": "101.325",
    "temperature_C": "78.17",
    "mass_percent_a": "95.6",
    "kind": "minimum",
    "ordinal": "1",
    "citation": "invented for this test",
}
"""Close to the measured azeotrope of ethanol and water; from memory."""

ZEOTROPE = {column: AZEOTROPE[column] for column in ("cas_a", "name_a", "cas_b", "name_b", "pressure_kPa", "citation")}


def frame(*rows: dict[str, str]) -> pd.DataFrame:
    made = pd.DataFrame(list(rows), dtype="str")
    made.index = pd.RangeIndex(1, len(made) + 1, name="source_row")
    return made


def groups_and_parameters() -> dict[str, pd.DataFrame]:
    return {source.name: read(source).frame for source in all_sources() if source.name.startswith("modified_unifac")}


def of_azeotropes(*rows: dict[str, str]) -> Mixtures:
    return mixtures(COMPONENTS, {"measured_azeotropes": frame(*rows)}, workers=1)


def test_an_azeotrope_has_the_mole_fraction_of_its_masses() -> None:
    row = of_azeotropes(AZEOTROPE).tables["azeotrope"].iloc[0]
    # R. C. Weast (ed.), CRC Handbook of Chemistry and Physics: x = 0.894 of ethanol; from memory.
    assert row["mole_fraction_a"] == pytest.approx(0.8947, abs=1e-4)
    assert row["mass_fraction_a"] == pytest.approx(0.956)
    assert row["temperature_K"] == pytest.approx(351.32)
    assert row["pressure_Pa"] == pytest.approx(101_325.0)
    assert row["basis"] == "measured"


def test_a_pair_stands_in_one_order_whatever_the_order_of_the_row() -> None:
    turned = AZEOTROPE | {"cas_a": "7732-18-5", "name_a": "water", "cas_b": "64-17-5", "name_b": "ethanol"}
    turned["mass_percent_a"] = "4.4"
    pd.testing.assert_frame_equal(
        of_azeotropes(turned).tables["azeotrope"], of_azeotropes(AZEOTROPE).tables["azeotrope"]
    )
    zeotropic = mixtures(COMPONENTS, {"zeotropic_pairs": frame(ZEOTROPE | {"cas_a": "7732-18-5", "cas_b": "64-17-5"})})
    assert zeotropic.tables["zeotropic_pair"][["cas_a", "cas_b"]].values.tolist() == [["64-17-5", "7732-18-5"]]


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"temperature_C": ""}, "temperature_C '': not a number"),
        ({"mass_percent_a": ""}, "mass_percent_a '': not a number"),
        ({"mass_percent_a": "nan"}, "not a number"),
        ({"mass_percent_a": "100"}, "holds some of both"),
        ({"pressure_kPa": "0"}, "above zero"),
        ({"pressure_kPa": "inf"}, "not a number"),
        ({"kind": "positive"}, "must be one of minimum"),
        ({"ordinal": "3"}, "must be 1 or 2"),
        ({"cas_b": "50-00-0", "name_b": "formaldehyde"}, r"formaldehyde \(50-00-0\): no component"),
        ({"cas_b": "8032-32-4", "name_b": "ligroin"}, r"ligroin \(8032-32-4\): no component with a molar mass"),
        ({"cas_b": "64-17-5", "name_b": "ethanol"}, "with itself"),
    ],
)
def test_a_row_that_cannot_be_used_is_rejected_with_the_reason(change: dict[str, str], reason: str) -> None:
    made = of_azeotropes(AZEOTROPE, AZEOTROPE | {"pressure_kPa": "10"} | change)
    assert len(made.tables["azeotrope"]) == made.rows_kept["measured_azeotropes"] == 1
    (refused,) = made.rejected.to_dict("records")
    assert (refused["source"], refused["source_row"], refused["field"]) == ("measured_azeotropes", 2, "*")
    assert refused["cas"] == "64-17-5"
    assert pd.Series([refused["reason"]]).str.contains(reason).all(), refused["reason"]


def test_the_second_row_of_a_pair_at_a_pressure_is_rejected_unless_it_is_the_second_azeotrope() -> None:
    made = of_azeotropes(AZEOTROPE, AZEOTROPE | {"temperature_C": "78.2"}, AZEOTROPE | {"ordinal": "2"})
    assert list(made.tables["azeotrope"]["ordinal"]) == [1, 2]
    assert list(made.rejected["source_row"]) == [2]


def test_every_row_is_kept_or_rejected() -> None:
    frames = {source.name: read(source).frame for source in all_sources() if source.name in MIXTURE_TABLES}
    assert set(frames) == set(MIXTURE_TABLES)
    made = mixtures(COMPONENTS, frames, workers=1)
    refused = made.rejected.groupby("source").size()
    for source, rows in frames.items():
        assert made.rows_kept.get(source, 0) + int(refused.get(source, 0)) == len(rows), source


def test_counts_are_those_of_components_with_a_structure() -> None:
    counts = mixtures(COMPONENTS, groups_and_parameters(), workers=1).tables["functional_group"]
    ethanol = counts[counts["cas"] == "64-17-5"].set_index("group")["count"].to_dict()
    assert ethanol == {"CH3": 1, "CH2": 1, "OH(p)": 1}
    assert set(counts["cas"]) == set(COMPONENTS["cas"]) - {"8032-32-4"}


def test_parameters_are_published_ones_in_both_directions() -> None:
    tables = mixtures(COMPONENTS, groups_and_parameters(), workers=1).tables
    parameters = tables["group_parameter"].set_index(["group_a", "group_b"])
    assert len(parameters) == 1348
    assert all((b, a) in parameters.index and a != b for a, b in parameters.index)
    # J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178, parameter matrix; from memory.
    assert parameters.loc[("CH2", "C=C"), ["a_K", "b", "c_per_K"]].tolist() == [189.66, -0.2723, 0.0]
    assert parameters.loc[("CH2", "OH"), ["a_K", "b", "c_per_K"]].tolist() == [2777.0, -4.674, 0.001551]
    assert {a for a, _ in parameters.index} <= set(tables["group_size"]["main_group"])


def test_sizes_are_the_published_ones() -> None:
    sizes = mixtures(COMPONENTS, groups_and_parameters(), workers=1).tables["group_size"].set_index("group")
    # J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178, table of groups; from memory.
    for group, R, Q in (("CH3", 0.6325, 1.0608), ("CH2", 0.6325, 0.7081), ("H2O", 1.7334, 2.4561)):
        assert (sizes.loc[group, "R"], sizes.loc[group, "Q"]) == (R, Q)
    assert sizes.index.is_unique
    assert sizes.loc["CHO", "main_group"] != sizes.loc["CH-O", "main_group"]


def test_without_the_sizes_there_are_no_counts_and_no_parameters() -> None:
    frames = groups_and_parameters()
    del frames["modified_unifac_groups"]
    made = mixtures(COMPONENTS, frames, workers=1)
    assert made.tables["functional_group"].empty
    assert made.tables["group_parameter"].empty
    assert len(made.rejected) == 1516


def test_a_group_without_a_size_stops_the_build() -> None:
    frames = groups_and_parameters()
    sizes = frames["modified_unifac_groups"]
    frames["modified_unifac_groups"] = sizes[sizes["group"] != "DMSO"]
    with pytest.raises(BuildFailed, match="DMSO"):
        mixtures(COMPONENTS, frames, workers=1)


@given(
    st.floats(min_value=0, max_value=1),
    st.floats(min_value=2, max_value=900),
    st.floats(min_value=2, max_value=900),
)
def test_mole_fractions_of_both_add_up_and_give_the_masses_back(w_a: float, M_a: float, M_b: float) -> None:
    x_a = mole_fraction(w_a, M_a, M_b)
    assert x_a + mole_fraction(1 - w_a, M_b, M_a) == pytest.approx(1)
    assert x_a * M_a / (x_a * M_a + (1 - x_a) * M_b) == pytest.approx(w_a, abs=1e-12)

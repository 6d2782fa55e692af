"""Identity and normal boiling point of common solvents and gases against independent publications.

`solvents.csv` holds one row per substance, with the publication of its boiling
point, the precision of that publication in K, and why it is that. None of
these publications is a source of the store. A precision belongs to a kind of
publication and was set before the first comparison:

- a reference equation of state: 0.1 K; a technical one: 0.2 K (how well their
  authors give the vapour pressure is from memory);
- a measurement of a pure sample by ebulliometry: 0.1 K;
- a handbook that prints one decimal, or an Antoine equation: 0.3 K; one that
  prints whole degrees: 1 K.

Left out because publications differ among themselves by more than the
precision: of Lange's table 11.8 1-isopropoxy-2-propanol (47.9, surely at a
reduced pressure), dimethoxymethane, methyl acetate, diisopropyl ether,
1-chlorobutane, 2-pentanone, 1,1-diethoxyethane, butyl formate,
1,1,2-trichloroethane, 4-methyl-2-pentanone, isobutyl acetate and
1-chloro-2,3-epoxypropane; elsewhere acetaldehyde, triethylamine,
N,N-dimethylacetamide, N-methyl-2-pyrrolidone and 2-butoxyethanol. (For
dimethoxymethane, 1,1,2-trichloroethane, acetaldehyde, triethylamine and
N,N-dimethylacetamide this was seen only after a first comparison.)

Molar masses are sums of the abridged standard atomic weights of 2021 (T. Prohaska
et al., Pure Appl. Chem. 94 (2022) 573-600, doi:10.1515/pac-2019-0603), to two decimals.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.schema.errors import NoValue

with (Path(__file__).parent / "solvents.csv").open(encoding="utf-8") as file:
    SOLVENTS = list(csv.DictReader(file))

CELSIUS_ZERO_K = 273.15
MOLAR_MASS_PRECISION_G_MOL = 0.015
"""One unit of the second decimal, and half a unit for the rounding."""

each_solvent = pytest.mark.parametrize("row", SOLVENTS, ids=lambda row: row["name"].replace(" ", "_"))


def test_there_are_enough_rows_and_each_says_where_it_is_from() -> None:
    assert len({row["cas"] for row in SOLVENTS}) == len(SOLVENTS) >= 80
    assert all(row["source"] and row["basis"] for row in SOLVENTS)
    from_memory = sum("from memory: " in row["source"] for row in SOLVENTS)
    assert from_memory < len(SOLVENTS) / 5


@each_solvent
def test_normal_boiling_point(store: db.Store, row: dict[str, str]) -> None:
    ours = store.component(row["cas"]).boiling_point()
    assert ours.unit == "K"
    published_K = float(row["boiling_point_degC"]) + CELSIUS_ZERO_K
    assert ours.value == pytest.approx(published_K, abs=float(row["precision_K"])), f"ours {ours}; {row['source']}"


@each_solvent
def test_formula_and_molar_mass(store: db.Store, row: dict[str, str]) -> None:
    component = store.component(row["cas"])
    assert component.cas == row["cas"]
    assert component.formula == row["formula"]
    assert component.molar_mass_g_mol == pytest.approx(float(row["molar_mass_g_mol"]), abs=MOLAR_MASS_PRECISION_G_MOL)


@each_solvent
def test_its_name_finds_it_first(store: db.Store, row: dict[str, str]) -> None:
    best = next(iter(store.find(row["name"])))
    assert (best.cas, best.matched_by) == (row["cas"], "name")


@pytest.mark.parametrize(
    "cas",
    [
        # Triple point at 518 kPa: R. Span, W. Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509-1596 (from memory).
        pytest.param("124-38-9", id="carbon_dioxide"),
        # Triple point at 231 kPa: C. Guder, W. Wagner, J. Phys. Chem. Ref. Data 38 (2009) 33-94 (from memory).
        pytest.param("2551-62-4", id="sulfur_hexafluoride"),
        # Triple point at about 127 kPa: common practice, no source.
        pytest.param("74-86-2", id="acetylene"),
    ],
)
def test_what_sublimes_has_no_normal_boiling_point(store: db.Store, cas: str) -> None:
    with pytest.raises(NoValue, match="sublimes"):
        store.component(cas).boiling_point()

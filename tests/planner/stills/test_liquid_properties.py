"""What a bench needs to know of pure liquids: which value is taken, and what stands in for one that is not held."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np
import pytest

from cutpoint.planner.stills import properties
from cutpoint.planner.stills.properties import estimated_density, liquid_properties, moved_enthalpy
from cutpoint.schema.errors import NoValue
from cutpoint.schema.properties import MOLAR_GAS_CONSTANT_J_MOL_K


class SlopeOf30kJ:
    """A curve whose slope is that of an ideal vapour and 30 kJ/mol."""

    def clipped_slopes(self, T_K):
        return 30_000.0 / (MOLAR_GAS_CONSTANT_J_MOL_K * T_K**2)


@dataclass
class StandIn:
    """A component that holds what it is given."""

    values: dict = field(default_factory=dict)
    name: str = "demo"
    cas: str = "0-00-0"
    formula: str | None = "C6H14"
    smiles: str | None = "CCCCCC"
    molar_mass_g_mol: float | None = 86.178
    curve_bank: object = field(default_factory=SlopeOf30kJ)

    def held(self, name):
        value = self.values.get(name)
        return value and SimpleNamespace(value=value, u95=0.01 * value, temperature_K=298.15)


HELD = {
    "liquid_density": 660.0,
    "critical_temperature": 507.5,
    "normal_boiling_point": 341.9,
    "enthalpy_of_vaporization": 31_500.0,
    "enthalpy_of_vaporization_at_boiling_point": 28_850.0,
}


def of(boiling_K=341.9, without=(), **changes):
    held = {name: value for name, value in HELD.items() if name not in without}
    return liquid_properties([StandIn(held, **changes)], np.array([boiling_K]))


def test_what_is_held_is_taken_as_it_is():
    found = of()
    assert found.molar_mass_kg_mol[0] == pytest.approx(0.086178)
    assert (found.density_kg_m3[0], found.density_u95_kg_m3[0]) == (660.0, pytest.approx(6.6))
    assert found.enthalpy_of_vaporization_J_mol[0] == pytest.approx(28_850.0)
    assert found.critical_temperature_K[0] == 507.5
    assert found.remarks == ()


def test_an_enthalpy_held_elsewhere_is_moved():
    found = of(without=["enthalpy_of_vaporization_at_boiling_point"])
    # By hand: ((507.5 - 341.9) / (507.5 - 298.15))^0.38 = 0.79102^0.38 = 0.91475
    assert found.enthalpy_of_vaporization_J_mol[0] == pytest.approx(0.91475 * 31_500.0, rel=1e-4)
    assert found.remarks == ()


def test_at_reduced_pressure_more_heat_is_needed():
    assert of(300.0).enthalpy_of_vaporization_J_mol[0] > of(341.9).enthalpy_of_vaporization_J_mol[0]
    assert moved_enthalpy(1.0, 300.0, 300.0, 500.0) == 1.0


@pytest.mark.parametrize(
    "without",
    [["critical_temperature"], ["enthalpy_of_vaporization", "enthalpy_of_vaporization_at_boiling_point"]],
)
def test_else_the_slope_of_the_curve_tells_it_and_a_remark_says_so(without):
    found = of(without=without)
    assert found.enthalpy_of_vaporization_J_mol[0] == pytest.approx(30_000.0)
    assert "Clausius-Clapeyron" in found.remarks[0]


def test_near_the_critical_point_nothing_is_moved():
    assert of(490.0).enthalpy_of_vaporization_J_mol[0] == pytest.approx(30_000.0)


def test_without_a_curve_the_enthalpy_stays_where_it_is_held():
    found = of(without=["critical_temperature", "enthalpy_of_vaporization_at_boiling_point"], curve_bank=None)
    assert found.enthalpy_of_vaporization_J_mol[0] == 31_500.0
    assert "298 K" in found.remarks[0]


def test_a_missing_density_is_estimated_and_said():
    found = of(without=["liquid_density"])
    # By hand: 86.178 g/mol / (5 × (6 × 2 + 14 × 1) cm3/mol) = 0.6629 g/mL
    assert found.density_kg_m3[0] == pytest.approx(662.9, abs=0.1)
    assert found.density_u95_kg_m3[0] == pytest.approx(properties.ESTIMATED_DENSITY_U95 * 662.9, abs=0.1)
    assert "estimated" in found.remarks[0]


@pytest.mark.parametrize(
    ("formula", "smiles", "molar_mass", "expected"),
    [
        # A ring and a hydroxyl group: 1.2 × 100.16 / (5 × 26)
        ("C6H12O", "OC1CCCCC1", 0.10016, 924.6),
        # An ester has neither: 88.106 / (5 × 20)
        ("C4H8O2", "CCOC(C)=O", 0.088106, 881.1),
        # Three rings and more count as three: 1.3 × 178.23 / (5 × 38)
        ("C14H10", "C1=CC=C2C(=C1)C=CC3=CC=CC=C32", 0.17823, 1219.5),
    ],
)
def test_densities_from_atoms_by_hand(formula, smiles, molar_mass, expected):
    assert estimated_density(formula, smiles, molar_mass) == pytest.approx(expected, abs=0.1)


def test_water_takes_twice_the_heat():
    pair = liquid_properties([StandIn(HELD, cas="7732-18-5"), StandIn(HELD)], np.array([341.9, 341.9]))
    assert pair.heat_capacity_J_kg_K.tolist() == [4_180.0, 2_000.0]


@pytest.mark.parametrize(
    ("without", "changes"),
    [
        ([], {"molar_mass_g_mol": None}),
        (["liquid_density"], {"formula": None}),
        (["enthalpy_of_vaporization", "enthalpy_of_vaporization_at_boiling_point"], {"curve_bank": None}),
    ],
)
def test_what_cannot_be_known_is_refused_by_name(without, changes):
    with pytest.raises(NoValue, match="demo"):
        of(without=without, **changes)


def test_the_stated_uncertainty_of_an_estimated_density_holds(store):
    rows = store.rows(
        """
        SELECT formula, smiles, molar_mass_g_mol / 1000, density.value FROM component
        JOIN evaluation AS density USING (cas) JOIN evaluation AS boiling USING (cas)
        WHERE density.property = 'liquid_density' AND density.grade IN ('A', 'B', 'C') AND kind = 'pure'
        AND boiling.property = 'normal_boiling_point' AND boiling.value BETWEEN 250 AND 550 AND formula IS NOT NULL
        """
    )
    off = np.array(
        [estimated_density(formula, smiles or "", mass) / held - 1.0 for formula, smiles, mass, held in rows]
    )
    assert len(rows) > 1_000
    assert np.mean(np.abs(off) <= properties.ESTIMATED_DENSITY_U95) >= 0.95

"""Condenser, receiver, heat, ice, time and cost against figures worked out by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.stills.bench import (
    HEAT_OF_MELTING_ICE_J_KG,
    cost,
    duty,
    heats,
    holding,
    reflux_ratio_of,
)
from cutpoint.planner.stills.intervals import interval
from cutpoint.schema.errors import ImpossibleQuantity
from cutpoint.schema.properties import ATMOSPHERE_PA, MOLAR_GAS_CONSTANT_J_MOL_K

WATER = {
    "molar_mass_kg_mol": [0.018015],
    "density_kg_m3": [998.2],
    "enthalpy_of_vaporization_J_mol": [40_650.0],
    "heat_capacity_J_kg_K": [4_180.0],
}


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=50))
def test_an_interval_holds_the_central_figure(values):
    found = interval(np.array(values))
    assert found.low <= found.value <= found.high
    assert found.value == values[0]


def test_an_interval_holds_95_percent():
    values = np.concatenate([[0.0], np.random.default_rng(0).standard_normal(100_000)])
    found = interval(values)
    assert (found.low, found.high) == pytest.approx((-1.96, 1.96), abs=0.03)


def held(liquid, coolant_K=280.0, bath_K=273.15, dew_K=320.0, amounts=(1.0, 0.0)):
    return holding(
        liquid, np.array([amounts]), np.array([1e-4]), np.array([0.1, 0.1]), np.array([dew_K]), ATMOSPHERE_PA,
        coolant_K, bath_K,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("margin_K", "holds", "words"),
    [
        (20.0, True, "holds:"),
        (19.9, True, "barely"),
        (5.0, True, "barely"),
        (4.9, False, "not hold the product surely"),
        (-1.0, False, "does not hold the product:"),
    ],
)
def test_the_condenser_by_its_margin(made_up_liquid, margin_K, holds, words):
    found = held(made_up_liquid(np.array([320.0, 360.0])), coolant_K=320.0 - margin_K)
    assert found.condenser_holds is holds
    assert words in found.words[0]


def test_without_a_coolant_the_sheet_says_which_one(made_up_liquid):
    found = held(made_up_liquid(np.array([320.0, 360.0])), coolant_K=None)
    assert found.condenser_holds is None
    assert "26.9 °C or colder" in found.words[0]


def test_without_a_dew_point_nothing_is_claimed(made_up_liquid):
    found = held(made_up_liquid(np.array([320.0, 360.0])), dew_K=np.nan)
    assert found.condenser_holds is None and "cannot be said" in found.words[0]


def test_a_condensate_that_boils_at_the_coolant_is_not_held_whatever_the_dew_point(made_up_liquid):
    """A little dissolved gas hardly moves a dew point, yet does not condense."""
    found = held(made_up_liquid(np.array([150.0, 360.0])), coolant_K=300.0, dew_K=355.0, amounts=(0.1, 1.0))
    assert found.condenser_holds is False


def test_the_receiver_loses_what_saturated_air_carries(made_up_liquid):
    liquid = made_up_liquid(np.array([320.0, 360.0]))
    found = held(liquid)
    p = np.exp(liquid.ln_p(np.array([273.15])))[0, 0]
    carried_mol = p / (ATMOSPHERE_PA - p) * ATMOSPHERE_PA * 1e-4 / (MOLAR_GAS_CONSTANT_J_MOL_K * 273.15)
    assert found.receiver_pressure_Pa.value == pytest.approx(p)
    assert found.loss.value == pytest.approx(carried_mol)
    assert found.receiver_holds is True and "vented" in found.words[1]


def test_a_receiver_in_which_the_product_boils_does_not_hold_it(made_up_liquid):
    found = held(made_up_liquid(np.array([270.0, 360.0])))
    assert found.receiver_holds is False and found.loss.value == 1.0
    assert "boils there" in found.words[1]


def test_without_a_bath_the_receiver_stands_in_the_room(made_up_liquid):
    found = held(made_up_liquid(np.array([293.0, 360.0])), bath_K=None)
    assert found.receiver_bath_K is None and found.receiver_holds is False
    assert "20.0 °C" in found.words[1]


def test_a_litre_of_water_is_boiled_away(made_up_properties):
    """By hand: 998.2 g × (4.18 J/gK × 80 K + 40 650 / 18.015 J/g) = 333.8 kJ + 2252.4 kJ."""
    water = np.array([[998.2 / 18.015]])
    found = heats(
        made_up_properties(1, **WATER), water, water, np.zeros(1), 293.15, (np.array([373.15]), np.array([373.15])),
        np.array([373.15]), None,
    )  # fmt: skip
    assert found.warming_J == pytest.approx(333_798, rel=1e-5)
    assert found.boiling_J == pytest.approx(2_252_405, rel=1e-5)
    assert found.ice_kg == pytest.approx(2_252_405 / HEAT_OF_MELTING_ICE_J_KG, rel=1e-5)
    said = duty(found, 500.0, 0.5, 283.15)
    assert said.boil_up_W == 250.0
    assert said.heat_J.value == pytest.approx(2.0 * 2_586_203, rel=1e-5)
    assert said.time_s.value == pytest.approx(2_586_203 / 250.0, rel=1e-5)


def test_reflux_multiplies_what_is_boiled_up_and_the_residue_is_warmed_on(made_up_properties):
    charge, distilled = np.array([[2.0, 2.0]]), np.array([[2.0, 1.0]])
    found = heats(
        made_up_properties(2), charge, distilled, np.array([3.0]), 300.0, (np.array([350.0]), np.array([370.0])),
        np.array([345.0]), 280.0,
    )  # fmt: skip
    # 200 J/(mol K): 4 mol by 50 K and 1 mol by 20 K; 3 mol × 30 kJ/mol × 4; 3 mol cooled by 65 K.
    assert found.warming_J == pytest.approx(44_000.0)
    assert found.boiling_J == pytest.approx(360_000.0)
    assert found.cooling_J == pytest.approx(360_000.0 + 39_000.0)


def test_without_a_heater_the_time_is_not_known(made_up_properties):
    one = np.ones((1, 1))
    K = np.array([350.0])
    said = duty(heats(made_up_properties(1), one, one, np.ones(1), 300.0, (K, K), K, None), None, 0.5, 283.15)
    assert said.boil_up_W is None and said.time_s is None


def test_a_take_off_is_a_reflux_ratio(made_up_properties):
    # 30 kJ/mol, 0.125 L/mol: 240 J/mL, so 240 W boil up 1 mL/s; a quarter taken off leaves 3 to 1.
    found = reflux_ratio_of(0.25e-6, 240.0, np.ones((2, 1)), made_up_properties(1))
    assert found == pytest.approx([3.0, 3.0])


def test_more_than_is_boiled_up_cannot_be_taken_off(made_up_properties):
    with pytest.raises(ImpossibleQuantity, match=r"120 mL/min cannot be taken off.* 60 mL/min"):
        reflux_ratio_of(2e-6, 240.0, np.ones((1, 1)), made_up_properties(1))


def test_what_a_litre_costs():
    # 10 for half a litre; 3.6 MJ at 0.4 per kWh and 2 kg of ice at 0.5 come on top.
    found = cost("EUR", 10.0, np.array([5e-4]), np.array([3.6e6]), np.array([2.0]), 0.4, 0.5)
    assert found.per_litre.value == pytest.approx(20.0)
    assert found.per_litre_with_energy.value == pytest.approx(22.8)


@pytest.mark.parametrize(("price", "volume_m3"), [(None, 1e-3), (10.0, 0.0)])
def test_without_a_price_or_a_product_there_is_no_cost(price, volume_m3):
    found = cost("EUR", price, np.array([volume_m3]), np.ones(1), np.ones(1), 0.4, None)
    assert found.per_litre is None and found.per_litre_with_energy is None


def test_without_prices_of_energy_and_ice_there_is_one_cost():
    found = cost("EUR", 10.0, np.array([1e-3]), np.ones(1), np.ones(1), None, None)
    assert found.per_litre.value == pytest.approx(10.0) and found.per_litre_with_energy is None

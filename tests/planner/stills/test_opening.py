"""Opening a package of liquefied gas against closed forms and limits."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.planner.stills.opening import at_total_reflux, boil_down, open_package
from cutpoint.planner.stills.partial_pressures import mole_fractions, partial_pressures_Pa
from cutpoint.schema.properties import ATMOSPHERE_PA, MOLAR_GAS_CONSTANT_J_MOL_K

BATH_K = 300.0
NO_GASES = np.zeros(2, dtype=bool)


def boiled(liquid, amounts, ambient_Pa=ATMOSPHERE_PA, gases=None, top_vapour=None):
    amounts = np.atleast_2d(np.asarray(amounts, dtype=float))
    gases = np.zeros(amounts.shape[1], dtype=bool) if gases is None else np.asarray(gases)
    return boil_down(amounts, liquid, np.full(len(amounts), BATH_K), ambient_Pa, gases, top_vapour)


def bubble_Pa(liquid, amounts):
    return partial_pressures_Pa(liquid, mole_fractions(amounts), np.full(len(amounts), BATH_K)).sum(axis=1)


def test_it_stops_where_the_pressure_is_that_of_the_room(made_up_liquid):
    """A gas over a liquid that hardly evaporates: what stays dissolved is x = p / p*, by Raoult's law."""
    liquid = made_up_liquid(np.array([250.0, 1e5]))
    after = boiled(liquid, [3.0, 1.0])
    pure_Pa = np.exp(liquid.ln_p(np.array([BATH_K])))[0, 0]
    assert after.left_mol[0, 1] == pytest.approx(1.0, abs=1e-4)
    assert mole_fractions(after.left_mol)[0, 0] == pytest.approx(ATMOSPHERE_PA / pure_Pa, abs=1e-5)
    assert bubble_Pa(liquid, after.left_mol) == pytest.approx(ATMOSPHERE_PA, rel=1e-9)


def test_one_component_above_the_pressure_of_the_room_boils_away_and_one_below_stays(made_up_liquid):
    assert boiled(made_up_liquid(np.array([BATH_K - 0.01])), [2.0]).left_mol[0, 0] == 0.0
    assert boiled(made_up_liquid(np.array([BATH_K + 0.01])), [2.0]).left_mol[0, 0] == 2.0


@settings(max_examples=30)
@given(
    boiling_K=st.lists(st.floats(220.0, 400.0), min_size=3, max_size=3),
    amounts=st.lists(st.floats(1e-6, 10.0), min_size=3, max_size=3),
)
def test_ideal_liquids_follow_rayleigh(made_up_liquid, boiling_K, amounts):
    """d ln n_i / d ln n_j = α_ij, whatever the amounts: Lord Rayleigh's equation for constant relative volatilities."""
    liquid = made_up_liquid(np.array(boiling_K))
    after = boiled(liquid, amounts)
    if not after.left_mol.all():
        return
    fallen = np.log(after.left_mol[0] / np.array(amounts))
    p = np.exp(liquid.ln_p(np.array([BATH_K])))[0]
    assert fallen / p == pytest.approx((fallen / p)[0], rel=1e-6, abs=1e-16)


def test_the_amount_left_of_two_follows_the_closed_form(made_up_liquid):
    """ln(L0/L) = ln(x0/x) / (α-1) + α/(α-1) ln((1-x)/(1-x0)), textbook form of Rayleigh's equation."""
    liquid = made_up_liquid(np.array([270.0, 310.0]))
    after = boiled(liquid, [0.7, 0.3])
    p = np.exp(liquid.ln_p(np.array([BATH_K])))[0]
    alpha, x0, x = p[0] / p[1], 0.7, mole_fractions(after.left_mol)[0, 0]
    expected = ((x / x0) * ((1.0 - x0) / (1.0 - x)) ** alpha) ** (1.0 / (alpha - 1.0))
    assert x == pytest.approx((ATMOSPHERE_PA - p[1]) / (p[0] - p[1]), rel=1e-9)
    assert after.left_mol.sum() == pytest.approx(expected, rel=1e-4)


@settings(max_examples=30)
@given(
    amounts=st.lists(st.floats(0.0, 10.0), min_size=2, max_size=2).filter(lambda two: sum(two) > 1e-3),
    A=st.floats(-1.0, 1.5),
    plates=st.integers(0, 6),
)
def test_mass_closes_and_nothing_becomes_negative(made_up_liquid, amounts, A, plates):
    liquid = made_up_liquid(np.array([250.0, 330.0]), A)
    after = boiled(liquid, amounts, top_vapour=at_total_reflux(liquid, plates))
    assert (after.left_mol >= 0.0).all() and (after.gone_mol >= 0.0).all()
    assert after.left_mol + after.gone_mol == pytest.approx(np.array([amounts]), rel=1e-12, abs=1e-300)
    assert (bubble_Pa(liquid, after.left_mol) <= ATMOSPHERE_PA * (1.0 + 1e-9)).all()


def test_a_column_at_total_reflux_enriches_by_its_plates(made_up_liquid):
    """Fenske: the ratio of two in the vapour is α to the number of stages times that in the pot."""
    liquid = made_up_liquid(np.array([270.0, 310.0]))
    T = np.array([BATH_K])
    p = np.exp(liquid.ln_p(T))[0]
    y = at_total_reflux(liquid, 4)(np.array([[0.2, 0.8]]), T)[0]
    assert y[0] / y[1] == pytest.approx((p[0] / p[1]) ** 5 * 0.2 / 0.8)


def test_each_plate_keeps_back_more_of_what_is_heavier(made_up_liquid):
    liquid = made_up_liquid(np.array([240.0, 330.0]))
    lost = [
        boiled(liquid, [1.0, 1.0], top_vapour=at_total_reflux(liquid, plates)).gone_mol[0, 1] for plates in range(5)
    ]
    assert all(less < more for more, less in pairwise(lost))
    assert lost[0] > 0.03 and lost[4] < 1e-4


def test_batches_do_not_disturb_each_other(made_up_liquid):
    liquid = made_up_liquid(np.array([250.0, 330.0]))
    amounts = np.array([[1.0, 1.0], [0.01, 1.0], [5.0, 0.01], [1.0, 0.0]])
    together = boiled(liquid, amounts).left_mol
    alone = np.concatenate([boiled(liquid, row).left_mol for row in amounts])
    assert together == pytest.approx(alone, rel=1e-12)


def opened(liquid, properties, amounts, **options):
    return open_package(
        np.atleast_2d(np.asarray(amounts, dtype=float)), liquid, properties, np.array([False, True]),
        BATH_K, ATMOSPHERE_PA, options.pop("plates", 3), **options,
    )  # fmt: skip


def test_what_the_sheet_says(made_up_liquid, made_up_properties):
    liquid = made_up_liquid(np.array([250.0, 330.0]))
    found = opened(liquid, made_up_properties(2, molar_mass_kg_mol=[0.05, 0.1]), [[1.0, 1.0], [1.2, 1.0], [0.8, 1.0]])
    said = found.opening
    bare = np.array([1.0, 1.0]) - found.left_mol[0]
    assert said.gas_m3.value == pytest.approx(bare.sum() * MOLAR_GAS_CONSTANT_J_MOL_K * 293.15 / ATMOSPHERE_PA)
    assert said.leaves_bare.value == pytest.approx((bare @ [0.05, 0.1]) / 0.15)
    assert said.target_lost_bare.value == pytest.approx(bare[1])
    assert said.target_lost_with_column.value < said.target_lost_bare.value
    assert said.pressure_Pa.low < said.pressure_Pa.value < said.pressure_Pa.high
    assert [gas.name for gas in said.gases] == ["species 0", "species 1"]
    assert sum(gas.mass_fraction.value for gas in said.gases) == pytest.approx(1.0)
    assert said.words == ()


def test_without_plates_the_column_changes_nothing(made_up_liquid, made_up_properties):
    said = opened(made_up_liquid(np.array([250.0, 330.0])), made_up_properties(2), [1.0, 1.0], plates=0).opening
    assert said.leaves_with_column == said.leaves_bare


def test_a_gas_above_its_critical_temperature_leaves_and_says_so(made_up_liquid, made_up_properties):
    liquid = made_up_liquid(np.array([80.0, 330.0]))
    found = opened(liquid, made_up_properties(2, critical_temperature_K=[126.0, np.nan]), [0.1, 1.0])
    assert found.left_mol.tolist() == [[0.0, 1.0]]
    assert found.opening.pressure_Pa is None
    assert "species 0" in found.opening.words[0] and "critical" in found.opening.words[0]


def test_a_package_below_the_pressure_of_the_room_loses_nothing(made_up_liquid, made_up_properties):
    found = opened(made_up_liquid(np.array([310.0, 330.0])), made_up_properties(2), [1.0, 1.0])
    assert found.opening.leaves_bare.high == 0.0 and found.opening.gases == ()
    assert "Nothing flashes off" in found.opening.words[0]


@pytest.mark.parametrize(("factor", "word"), [(1.0, "agrees"), (1.5, "above"), (0.5, "below")])
def test_the_pressure_read_is_held_to_the_label(made_up_liquid, made_up_properties, factor, word):
    liquid = made_up_liquid(np.array([250.0, 330.0]))
    amounts = [[1.0, 1.0], [1.2, 1.0], [0.8, 1.0]]
    expected = opened(liquid, made_up_properties(2), amounts).opening.pressure_Pa.value
    said = opened(liquid, made_up_properties(2), amounts, read_pressure_Pa=factor * expected).opening
    assert word in said.words[-1]

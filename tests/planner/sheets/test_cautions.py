"""The block of cautions of a batch: one statement per kind, the cautious end, local codes first."""

from __future__ import annotations

from collections.abc import Sequence

from cutpoint import db
from cutpoint.planner.sheets.cautions import FIRST, LIQUEFIED_GAS, RESIDUE, cautions_for

SIX = ("diethyl ether", "acetone", "dichloromethane", "hexane", "ethyl acetate", "toluene")


def told(
    store: db.Store, names: Sequence[str], *, is_liquefied_gas: bool = False, lost_kg: float | None = None
) -> list[str]:
    components = [store.component(name) for name in names]
    boiling = {one.cas: held.value for one in components if (held := one.held("normal_boiling_point"))}
    return list(cautions_for(components, boiling_points_K=boiling, is_liquefied_gas=is_liquefied_gas, lost_kg=lost_kg))


def one(statements: Sequence[str], opening: str) -> str:
    """The one statement that begins so."""
    (found,) = [statement for statement in statements if statement.startswith(opening)]
    return found


def test_local_codes_come_first_and_there_are_few_statements(store: db.Store) -> None:
    statements = told(store, SIX)
    assert statements[0] == FIRST and "licensed practice" in FIRST and "safety data sheet" in FIRST
    assert len(statements) <= 14
    assert RESIDUE in statements and "drain" in RESIDUE and "oxidisers" in RESIDUE and "cool" in RESIDUE


def test_what_is_lit_at_room_temperature_is_listed_lowest_first(store: db.Store) -> None:
    lit = one(told(store, SIX), "The vapour can be lit at room temperature")
    places = [lit.index(name) for name in ("diethyl ether", "hexane", "acetone", "ethyl acetate", "toluene")]
    assert places == sorted(places)
    assert "dichloromethane" not in lit


def test_the_bath_stays_below_the_lowest_autoignition_temperature(store: db.Store) -> None:
    # Diethyl ether 160 °C in the store; four fifths of it.
    lights = one(told(store, SIX), "Lights by itself")
    assert "diethyl ether 160 °C, hexane 225 °C" in lights and "below 128 °C" in lights
    assert "What boils higher" not in lights
    hot = one(told(store, ("carbon disulfide", "toluene")), "Lights by itself")
    assert "below 72 °C" in hot and hot.endswith(
        "That bath does not boil toluene: leave it in the flask, or distil it at reduced pressure."
    )
    assert "the lowest held" in one(told(store, ("acetone",)), "Lights by itself")


def test_air_is_told_for_the_neediest_and_for_what_may_be_lost(store: db.Store) -> None:
    # Hexane, 1.0 % by volume: 0.1 kg / (0.086178 kg/mol) moles, 24.45 L each (25 °C), in a quarter of 1 %: 11.3 m3.
    statements = told(store, ("hexane", "ethyl acetate"), lost_kg=0.05)
    air = one(statements, "To stay below a quarter")
    assert "100 g of vapour needs up to 11 m³ of air (hexane the most)" in air
    assert "the 50 g that may be lost 5.7 m³" in air
    assert "lost" not in one(told(store, ("hexane",)), "To stay below a quarter")


def test_peroxide_formers_are_told_by_class_with_a_test(store: db.Store) -> None:
    statements = told(store, ("diisopropyl ether", "diethyl ether", "tetrahydrofuran", "styrene"))
    assert "diisopropyl ether" in one(statements, "Forms peroxides that explode after mere storage")
    assert "diethyl ether, tetrahydrofuran" in one(statements, "Forms peroxides that explode when distillation")
    assert "styrene" in one(statements, "May polymerise")
    assert sum("potassium iodide" in statement for statement in statements) == 1
    assert not any("peroxide strip" in statement for statement in told(store, ("hexane",)))


def test_exposure_limits_begin_with_the_lowest(store: db.Store) -> None:
    harmful = one(told(store, ("acetone", "carbon disulfide", "hexane")), "Harmful to breathe")
    places = [harmful.index(name) for name in ("carbon disulfide", "hexane", "acetone")]
    assert places == sorted(places)


def test_liquefied_gas_has_its_own_statement(store: db.Store) -> None:
    statements = told(store, ("propane", "isobutane", "acetone"), is_liquefied_gas=True)
    assert statements[1] == LIQUEFIED_GAS
    assert "propane, isobutane" in one(statements, "Flammable gas")
    assert "propane" not in one(statements, "The vapour can be lit")


def test_what_is_not_held_is_not_called_safe(store: db.Store) -> None:
    statements = told(store, ("water", "hexane", "isodurene"))
    assert one(statements, "No hazard data") == "No hazard data are held of isodurene, which is not the same as safe."


def test_many_components_do_not_make_many_statements(store: db.Store) -> None:
    others = (
        "methanol, ethanol, 1-propanol, 2-propanol, 1-butanol, 2-butanol, butan-2-one, methyl acetate, propyl acetate, "
        "butyl acetate, heptane, octane, pentane, cyclohexane, tetrahydrofuran, acetonitrile"
    )
    names = (*SIX, *others.split(", "))
    statements = told(store, names)
    assert len(statements) <= 15
    assert "and 1" in one(statements, "The vapour can be lit") and " more" in one(statements, "Harmful to breathe")


def test_a_component_named_twice_is_told_once(store: db.Store) -> None:
    assert told(store, ("hexane", "hexane")) == told(store, ("hexane",))


def test_nothing_at_all_still_has_the_usual_cautions() -> None:
    assert cautions_for((), boiling_points_K={})[0] == FIRST

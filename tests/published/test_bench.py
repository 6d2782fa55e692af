"""Heats of boiling and the pressure of a package against values from outside, none of which is a source of the store.

`enthalpies_at_boiling_point.csv` holds enthalpies of vaporisation at one
atmosphere with their publications. The rules that stand in where nothing is
held at the boiling point are held to the same values: 3 % for Watson's relation
over some 75 K, 8 % for the slope of a curve with an ideal vapour, whose
compressibility at one atmosphere is some 0.96.
"""

from __future__ import annotations

import csv
from functools import reduce
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cutpoint import db
from cutpoint.db.curves import CurveBank
from cutpoint.db.volatile_liquid import VolatileLiquid
from cutpoint.planner.stills.opening import open_package
from cutpoint.planner.stills.partial_pressures import DrawnLiquid
from cutpoint.planner.stills.properties import liquid_properties
from cutpoint.schema.properties import ATMOSPHERE_PA

with (Path(__file__).parent / "enthalpies_at_boiling_point.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))

AT_BOILING, AT_25_C = "enthalpy_of_vaporization_at_boiling_point", "enthalpy_of_vaporization"


class Without:
    """A component as if some of its values were not held."""

    def __init__(self, component: db.Component, *hidden: str) -> None:
        self._component, self._hidden = component, hidden

    def held(self, name: str) -> Any:
        return None if name in self._hidden else self._component.held(name)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._component, name)


@pytest.mark.parametrize(
    ("hidden", "tolerance_percent"),
    [((), None), ((AT_BOILING,), 3.0), ((AT_BOILING, AT_25_C), 8.0)],
    ids=["held", "Watson", "slope"],
)
@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_enthalpy_of_vaporisation_at_the_boiling_point(
    store: db.Store, row: dict[str, str], hidden: tuple[str, ...], tolerance_percent: float | None
) -> None:
    component: Any = Without(store.component(row["cas"]), *hidden)
    ours = liquid_properties([component], np.array([float(row["boiling_point_K"])])).enthalpy_of_vaporization_J_mol[0]
    tolerance = (tolerance_percent or float(row["tolerance_percent"])) / 100.0
    assert ours == pytest.approx(float(row["enthalpy_J_mol"]), rel=tolerance), row["source"]


def test_pressure_of_a_propellant_of_propane_and_isobutane(store: db.Store) -> None:
    """63 % propane and 37 % isobutane by mass: some 85 psi gauge at 70 °F, ± 3 (common practice, no source)."""
    components = [store.component("propane"), store.component("isobutane")]
    banks = [component.curve_bank for component in components]
    bank = reduce(CurveBank.with_those_of, [one for one in banks if one is not None])
    liquid = DrawnLiquid(VolatileLiquid(bank, None, [], 200.0, 360.0), np.zeros((1, 2)), np.ones((1, 1)))
    properties = liquid_properties(components, np.array([231.0, 261.0]))
    amounts = np.array([[0.63, 0.37]]) / properties.molar_mass_kg_mol
    package = open_package(amounts, liquid, properties, np.array([False, True]), 294.26, ATMOSPHERE_PA, 0).opening
    assert (package.pressure_Pa.value - ATMOSPHERE_PA) / 6_894.757 == pytest.approx(85.0, abs=3.0)
    assert package.leaves_bare.value == 1.0

"""Curves and values against judges that are never a source.

- CoolProp's set of reference equations of state (I. H. Bell et al., Ind. Eng.
  Chem. Res. 53 (2014) 2498-2508, doi:10.1021/ie4033999): boiling point, critical
  constants, acentric factor, density at 20 °C, enthalpy of vaporisation at
  298.15 K and at the boiling point; and between 0.5 and 0.95 of the critical
  temperature, where our curve is inside its range, vapour pressure and the
  enthalpy of vaporisation that its slope gives (`enthalpy`).
- For water, the IAPWS Industrial Formulation's saturation line (`iapws`).
- The rules of physics (`physics`), on every component.

Before them, enthalpies and curves that contradict each other give way
(`reconcile`); after them, third sources decide where a judge differs from a
value of grade A or B (`adjudicate`).

The tolerance is what a bench would notice: grade A's limit for temperatures,
grade B's for everything else. For the enthalpy by a slope, what the estimate of
the vapour's non-ideality leaves open comes to it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

import CoolProp
import CoolProp.CoolProp
import numpy as np
import pandas as pd

from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.properties import ATMOSPHERE_PA, DENSITY_TEMPERATURE_K, STANDARD_TEMPERATURE_K
from cutpoint.schema.tables import check, key_of

from . import iapws, physics
from .adjudicate import adjudicate, read_adjudications, with_third_sources
from .enthalpy import from_slope
from .evaluate import Evaluated
from .physics import COMPARISON, with_constants
from .reconcile import contradictions, doubted, without_contradicted

TOLERANCES = {
    "normal_boiling_point": 0.5,
    "critical_temperature": 0.5,
    "critical_pressure": 0.02,
    "acentric_factor": 0.02,
    "liquid_density": 0.005,
    "enthalpy_of_vaporization": 0.02,
    "enthalpy_of_vaporization_at_boiling_point": 0.02,
    "vapour_pressure": 0.02,
}
"""Largest deviation that counts as agreement: K for temperatures, absolute for the acentric factor, else relative."""

ABSOLUTE = ("normal_boiling_point", "critical_temperature", "acentric_factor")
REDUCED_TEMPERATURES = np.linspace(0.5, 0.95, 10)
NO_TEMPERATURE = 0.0

Row = tuple[str, str, float, float, bool]
"""CAS number, property, temperature in K, value of the reference, and whether our curve or our value is judged."""
_ROW = ["cas", "property", "temperature_K", "reference_value", "of_curve"]


@dataclass(frozen=True)
class Judge:
    """One fluid of the reference library."""

    cas: str
    name: str

    def state(self) -> Any:
        """The library's equation of state for the fluid."""
        return CoolProp.AbstractState("HEOS", self.name)  # type: ignore[attr-defined]

    def critical_point(self) -> tuple[float, float]:
        """Critical temperature in K and pressure in Pa as the equation's authors give them.

        The equation itself ends elsewhere for some fluids, for heptane a kelvin above.
        """
        told = json.loads(CoolProp.CoolProp.get_fluid_param_string(self.name, "JSON"))[0]["STATES"]["critical"]
        return float(told["T"]), float(told["p"])


def reference() -> str:
    """Name and version of the reference library."""
    return f"CoolProp {version('CoolProp')}"


def judges() -> list[Judge]:
    """Every pure fluid of the reference library that has a CAS number."""
    names = sorted(CoolProp.CoolProp.get_global_param_string("fluids_list").split(","))
    numbers = [(CoolProp.CoolProp.get_fluid_param_string(name, "CAS"), name) for name in names]
    return [Judge(cas, name) for cas, name in sorted(numbers) if is_cas(cas)]


@dataclass(frozen=True)
class Judged:
    """What the station hands on: enthalpies that contradict their curve, the curves, the verdicts, the third sources.

    `contradicted` is for `reconcile.without_contradicted`; the other frames pass their table's model.
    """

    contradicted: pd.DataFrame
    curves: pd.DataFrame
    verdicts: pd.DataFrame
    adjudications: pd.DataFrame


def hear_judges(evaluated: Evaluated, curves: pd.DataFrame, *, whole: bool) -> Judged:
    """Let what contradicts itself give way, compare the rest with every judge, and hear the third sources.

    `whole` tells that no source was left out of the build. Raises BuildFailed if
    a frame breaks its contract, or for a row of the table of adjudications that is wrong.
    """
    third = read_adjudications()
    contradicted = contradictions(evaluated.evaluations, curves, evaluated.components)
    curves = with_third_sources(doubted(curves, contradicted), third)
    kept = without_contradicted(evaluated, contradicted)
    verdicts = crosscheck(kept.evaluations, curves, kept.components)
    heard = adjudicate(third, kept.components, kept.observations, verdicts, whole=whole)
    return Judged(contradicted, curves, verdicts, heard)


def crosscheck(evaluations: pd.DataFrame, curves: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """The `crosscheck` frame; raises BuildFailed if it breaks its contract."""
    library = pd.DataFrame([row for judge in judges() for row in _reference_values(judge)], columns=_ROW)
    asked = pd.concat(
        [library.assign(reference=reference()), pd.DataFrame(_water(), columns=_ROW).assign(reference=iapws.REFERENCE)]
    )
    parts = [
        _of_values(asked[~asked["of_curve"]], evaluations),
        _of_curves(asked[asked["of_curve"]], with_constants(curves, evaluations)),
        physics.comparisons(evaluations, curves, components),
    ]
    table = pd.concat([part for part in parts if not part.empty] or parts, ignore_index=True)
    agrees = table["deviation"].abs() <= table["tolerance"]
    table["verdict"] = agrees.map({True: "agrees", False: "differs"})
    key = key_of("crosscheck")
    return check("crosscheck", table.sort_values(key, ignore_index=True).drop_duplicates(key), "crosscheck")


def _of_values(asked: pd.DataFrame, evaluations: pd.DataFrame) -> pd.DataFrame:
    """Evaluated values against the reference."""
    ours = evaluations[["cas", "property", "value"]].rename(columns={"value": "ours"})
    table = asked.merge(ours, on=["cas", "property"])
    return _told(table.assign(tolerance=table["property"].map(TOLERANCES).astype(float)))


def _of_curves(asked: pd.DataFrame, described: pd.DataFrame) -> pd.DataFrame:
    """Pressures and slopes of the curves against the reference, inside the range of each curve."""
    pairs = asked.merge(described, on="cas")
    pairs = pairs[pairs["temperature_K"].between(pairs["T_min_K"], pairs["T_max_K"])].reset_index(drop=True)
    by_curve = from_slope(pairs, pairs["temperature_K"])
    is_pressure = pairs["property"] == "vapour_pressure"
    tolerance = pairs["property"].map(TOLERANCES).astype(float)
    table = pairs.assign(
        ours=by_curve["p_Pa"].where(is_pressure, by_curve["enthalpy_J_mol"]),
        tolerance=tolerance.where(is_pressure, np.hypot(tolerance, by_curve["delta_Z_u95"])),
    )
    return _told(table[table["ours"].notna()])


def _told(table: pd.DataFrame) -> pd.DataFrame:
    difference = table["ours"] - table["reference_value"]
    absolute = table["property"].isin(ABSOLUTE)
    deviation = difference.where(absolute, difference / table["reference_value"])
    return table.assign(deviation=deviation)[list(COMPARISON)]


def _reference_values(judge: Judge) -> Iterator[Row]:
    """What the library says of a fluid, as far as it can."""
    state, (T_c_K, p_c_Pa) = judge.state(), judge.critical_point()
    yield judge.cas, "critical_temperature", NO_TEMPERATURE, T_c_K, False
    yield judge.cas, "critical_pressure", NO_TEMPERATURE, p_c_Pa, False
    if saturated := _saturated(state, physics.REDUCED_TEMPERATURE_OF_OMEGA * T_c_K):
        yield judge.cas, "acentric_factor", NO_TEMPERATURE, -float(np.log10(saturated.p_Pa / p_c_Pa)) - 1.0, False
    if saturated := _saturated(state, DENSITY_TEMPERATURE_K):
        yield judge.cas, "liquid_density", DENSITY_TEMPERATURE_K, saturated.liquid_kg_m3, False
    if saturated := _saturated(state, STANDARD_TEMPERATURE_K):
        yield judge.cas, "enthalpy_of_vaporization", STANDARD_TEMPERATURE_K, saturated.enthalpy_J_mol, False
    if state.keyed_output(CoolProp.iP_triple) < ATMOSPHERE_PA < p_c_Pa:  # else it sublimes at one atmosphere
        state.update(CoolProp.PQ_INPUTS, ATMOSPHERE_PA, 0.0)
        T_b_K = state.T()
        yield judge.cas, "normal_boiling_point", NO_TEMPERATURE, T_b_K, False
        if saturated := _saturated(state, T_b_K):
            # Each side's enthalpy belongs to its own boiling point, so the comparison has no temperature.
            name = "enthalpy_of_vaporization_at_boiling_point"
            yield judge.cas, name, NO_TEMPERATURE, saturated.enthalpy_J_mol, False
    for T_K in REDUCED_TEMPERATURES * T_c_K:
        if saturated := _saturated(state, float(T_K)):
            yield judge.cas, "vapour_pressure", float(T_K), saturated.p_Pa, True
            yield judge.cas, "enthalpy_of_vaporization", float(T_K), saturated.enthalpy_J_mol, True


@dataclass(frozen=True)
class _Saturated:
    """A saturation state of the library."""

    p_Pa: float
    enthalpy_J_mol: float
    liquid_kg_m3: float


def _saturated(state: Any, T_K: float) -> _Saturated | None:
    """The saturation state at the temperature; None where the library has none."""
    if not state.Tmin() <= T_K < state.T_critical():
        return None
    try:
        state.update(CoolProp.QT_INPUTS, 1.0, T_K)
        vapour_J_mol = state.hmolar()
        state.update(CoolProp.QT_INPUTS, 0.0, T_K)
    except ValueError:
        return None  # the reference finds no saturation state there, so there is nothing to compare
    return _Saturated(state.p(), vapour_J_mol - state.hmolar(), state.rhomass())


def _water() -> Iterator[Row]:
    """What the IAPWS says of water's saturation line and of its end."""
    cas, T_c_K = iapws.WATER_CAS, iapws.CRITICAL_TEMPERATURE_K
    yield cas, "normal_boiling_point", NO_TEMPERATURE, float(iapws.saturation_temperature(ATMOSPHERE_PA)), False
    yield cas, "critical_temperature", NO_TEMPERATURE, T_c_K, False
    yield cas, "critical_pressure", NO_TEMPERATURE, iapws.CRITICAL_PRESSURE_PA, False
    for T_K in REDUCED_TEMPERATURES * T_c_K:
        yield cas, "vapour_pressure", float(T_K), float(iapws.saturation_pressure(T_K)), True

"""Curves and values against a reference that is never a source.

The judge is CoolProp's set of reference equations of state (I. H. Bell et al.,
Ind. Eng. Chem. Res. 53 (2014) 2498-2508, doi:10.1021/ie4033999; for water the
IAPWS-95 formulation). Compared are the normal boiling point and the vapour
pressure between 0.5 and 0.95 of the critical temperature, where our curve is
inside its range.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

import CoolProp
import CoolProp.CoolProp
import numpy as np
import pandas as pd

from cutpoint.schema.equations import ln_pressure, pad
from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.properties import ATMOSPHERE_PA
from cutpoint.schema.tables import check

BOILING_POINT_TOLERANCE_K = 0.5
VAPOUR_PRESSURE_TOLERANCE = 0.02
REDUCED_TEMPERATURES = np.linspace(0.5, 0.95, 10)


@dataclass(frozen=True)
class Judge:
    """One fluid of the reference library."""

    cas: str
    name: str

    def state(self) -> Any:
        """The library's equation of state for the fluid."""
        return CoolProp.AbstractState("HEOS", self.name)  # type: ignore[attr-defined]


def reference() -> str:
    """Name and version of the reference library."""
    return f"CoolProp {version('CoolProp')}"


def judges() -> list[Judge]:
    """Every pure fluid of the reference library that has a CAS number."""
    names = sorted(CoolProp.CoolProp.get_global_param_string("fluids_list").split(","))
    numbers = [(CoolProp.CoolProp.get_fluid_param_string(name, "CAS"), name) for name in names]
    return [Judge(cas, name) for cas, name in sorted(numbers) if is_cas(cas)]


def crosscheck(evaluations: pd.DataFrame, curves: pd.DataFrame) -> pd.DataFrame:
    """The `crosscheck` frame; raises BuildFailed if it breaks its contract."""
    T_b = evaluations[evaluations["property"] == "normal_boiling_point"].set_index("cas")["value"]
    by_cas = curves.set_index("cas")
    rows = []
    for judge in judges():
        state = judge.state()
        if judge.cas in T_b.index:
            rows += _boiling_point(judge, state, float(T_b[judge.cas]))
        if judge.cas in by_cas.index:
            rows += _vapour_pressures(judge, state, by_cas.loc[judge.cas].to_dict())
    columns = ["cas", "property", "temperature_K", "ours", "reference_value", "deviation", "tolerance"]
    table = pd.DataFrame(rows, columns=columns).assign(reference=reference())
    agrees = table["deviation"].abs() <= table["tolerance"]
    table["verdict"] = agrees.map({True: "agrees", False: "differs"})
    key = ["cas", "property", "temperature_K"]
    return check("crosscheck", table.sort_values(key, ignore_index=True).drop_duplicates(key), "crosscheck")


def _boiling_point(judge: Judge, state: Any, ours_K: float) -> list[tuple[object, ...]]:
    if not state.keyed_output(CoolProp.iP_triple) < ATMOSPHERE_PA < state.p_critical():
        return []  # sublimes at one atmosphere
    state.update(CoolProp.PQ_INPUTS, ATMOSPHERE_PA, 0.0)
    theirs_K = state.T()
    return [(judge.cas, "normal_boiling_point", 0.0, ours_K, theirs_K, ours_K - theirs_K, BOILING_POINT_TOLERANCE_K)]


def _vapour_pressures(judge: Judge, state: Any, curve: dict[Any, Any]) -> list[tuple[object, ...]]:
    rows: list[tuple[object, ...]] = []
    coefficients = pad([np.nan if part is None else part for part in curve["coefficients"]])
    for T_K in REDUCED_TEMPERATURES * state.T_critical():
        inside_ours = curve["T_min_K"] <= T_K <= curve["T_max_K"]
        if not inside_ours or state.Tmin() > T_K:
            continue
        try:
            state.update(CoolProp.QT_INPUTS, 0.0, T_K)
        except ValueError:
            continue  # the reference finds no saturation state there, so there is nothing to compare
        theirs_Pa = state.p()
        ours_Pa = float(np.exp(ln_pressure(curve["equation"], coefficients, T_K)))
        deviation = ours_Pa / theirs_Pa - 1.0
        rows.append(
            (judge.cas, "vapour_pressure", float(T_K), ours_Pa, theirs_Pa, deviation, VAPOUR_PRESSURE_TOLERANCE)
        )
    return rows

"""What boils where: the boiling point of one component at a pressure, and what a reader must know with it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from cutpoint.schema.errors import ImpossibleQuantity
from cutpoint.schema.properties import ATMOSPHERE_PA, grade

from .matches import celsius, told_pressure
from .refusals import (
    refuse_beyond_critical_pressure,
    refuse_pressure,
    refuse_solid,
    refuse_sublimation,
    refuse_what_never_boils,
    refuse_without_curve,
)
from .results import Evaluated

if TYPE_CHECKING:
    from .component import Component

FROM_CURVE = "vapour-pressure curve"
FROM_ESTIMATE = "corresponding-states estimate"

ESTIMATED = "estimated from the normal boiling point and the structure, since no correlation of its pressure is held"
UNDER_PRESSURE = "to be had under pressure alone: at atmospheric pressure it sublimes"
IF_IT_LASTS = "to be had only if it lasts: at atmospheric pressure it decomposes before it boils"

MOST_BELOW_MELTING_K = 5.0
"""A liquid is seldom undercooled by more in a pot with boiling stones; common practice, no source."""


def boiling(component: Component, pressure_Pa: float | None) -> Evaluated:
    """Boiling temperature, K, without its sources; see `Component.boiling_point`."""
    pressure_Pa = ATMOSPHERE_PA if pressure_Pa is None else _checked(pressure_Pa)
    refuse_what_never_boils(component, pressure_Pa)
    held = component.held("normal_boiling_point")
    if held is not None and math.isclose(pressure_Pa, ATMOSPHERE_PA, rel_tol=1e-12):
        return Evaluated(
            "normal_boiling_point", held.value, held.u95, "K", held.grade, (), held.n_sources,
            pressure_Pa=pressure_Pa, rule=held.rule, remark=_remark(component, held.value, pressure_Pa, False),
        )  # fmt: skip
    return _from_curve(component, pressure_Pa)


def _from_curve(component: Component, pressure_Pa: float) -> Evaluated:
    refuse_beyond_critical_pressure(component, pressure_Pa)
    curve, bank = component.curve, component.curve_bank
    if curve is None or bank is None:
        refuse_without_curve(component, f"the boiling point at {told_pressure(pressure_Pa, 6)}")
    refuse_sublimation(component, bank, pressure_Pa)
    found = bank.boiling_points(pressure_Pa)
    T_K, u95_K = float(found.value[0]), float(found.u95[0])
    if math.isnan(T_K):
        refuse_pressure(component, bank, pressure_Pa)
    held = component.held("normal_boiling_point")
    n_sources = sources_behind(curve.n_sources, held.n_sources if held else None)
    return Evaluated(
        "boiling_point", T_K, u95_K, "K", grade("normal_boiling_point", T_K, u95_K, n_sources), (), n_sources,
        pressure_Pa=pressure_Pa, extrapolated=bool(found.extrapolated[0]),
        rule=FROM_ESTIMATE if curve.is_estimate else FROM_CURVE,
        remark=_remark(component, T_K, pressure_Pa, curve.is_estimate),
    )  # fmt: skip


def sources_behind(of_curve: int, of_boiling_point: int | None) -> int:
    """Independent sources of a boiling point read from a curve: 0 for an estimate.

    Else those of the evaluated boiling point, since the curve goes through it,
    or the curve's own where none is held.
    """
    return of_curve if of_curve == 0 or of_boiling_point is None else of_boiling_point


def _checked(pressure_Pa: float) -> float:
    if not (math.isfinite(pressure_Pa) and pressure_Pa > 0.0):
        raise ImpossibleQuantity(f"A pressure must be above 0 Pa; {pressure_Pa:g} Pa was asked for.")
    return float(pressure_Pa)


def _remark(component: Component, T_K: float, pressure_Pa: float, is_estimate: bool) -> str | None:
    """What else a reader must know, in the words that follow "that is"; None if nothing."""
    told = (
        _of_a_solid(component, T_K, pressure_Pa),
        ESTIMATED if is_estimate else None,
        {"sublimes": UNDER_PRESSURE, "decomposes": IF_IT_LASTS}.get(component.phase_behaviour or ""),
    )
    return "; and ".join(part for part in told if part) or None


def _of_a_solid(component: Component, T_K: float, pressure_Pa: float) -> str | None:
    """What to say of a boiling temperature at which the component is a solid; raises OutOfRange far below."""
    melting = component.held("melting_point")
    if melting is None or melting.value <= T_K:
        return None
    if melting.value - melting.u95 - MOST_BELOW_MELTING_K > T_K and melting.grade != "D":
        refuse_solid(component, T_K, pressure_Pa)
    return f"below the melting point ({celsius(melting.value)}): a solid there; it would sublime and block a condenser"

"""The vapour pressure of one component, and what a reader must know with it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from cutpoint.schema.errors import ImpossibleQuantity, NoValue
from cutpoint.schema.properties import grade

from .boiling import ESTIMATED, FROM_CURVE, FROM_ESTIMATE
from .curves import Array, CurveBank
from .matches import celsius
from .refusals import refuse_refused_boiling_points, refuse_temperature, refuse_without_curve
from .results import Evaluated

if TYPE_CHECKING:
    from .component import Component


def vapour_pressures(component: Component, T_K: ArrayLike) -> Array:
    """Vapour pressures, Pa, in the shape of the temperatures; see `Component.vapour_pressure`."""
    bank, temperatures = bank_of(component), np.asarray(T_K, dtype=np.float64)
    p_Pa: Array = bank.pressures_Pa(temperatures[..., np.newaxis])[..., 0]
    _refuse_gaps(component, bank, temperatures, p_Pa)
    return p_Pa


def vapour_pressure(component: Component, T_K: float) -> Evaluated:
    """Vapour pressure, Pa, with its uncertainty; see `Component.evaluated_vapour_pressure`."""
    bank, curve = bank_of(component), component.curve
    assert curve is not None
    found = bank.vapour_pressures(T_K)
    _refuse_gaps(component, bank, np.array([T_K]), found.value)
    p_Pa, u95_Pa = float(found.value[0]), float(found.u95[0])
    melting = component.held("melting_point")
    told = [ESTIMATED] if curve.is_estimate else []
    if melting is not None and melting.value - melting.u95 > T_K:
        told.append(f"of the liquid below its melting point ({celsius(melting.value)}): over the solid it is lower")
    return Evaluated(
        "vapour_pressure", p_Pa, u95_Pa, "Pa", grade("vapour_pressure", p_Pa, u95_Pa, curve.n_sources),
        tuple(curve.source.split(", ")), curve.n_sources, temperature_K=float(T_K),
        extrapolated=bool(found.extrapolated[0]), rule=FROM_ESTIMATE if curve.is_estimate else FROM_CURVE,
        remark="; and ".join(told) or None,
    )  # fmt: skip


def bank_of(component: Component) -> CurveBank:
    """The component's bank of one; raises NoValue where there is none."""
    if component.kind == "stream":
        raise NoValue(f"{component.name} is a stream, a mixture; it has no vapour pressure of its own.")
    refuse_refused_boiling_points(component)
    bank = component.curve_bank
    if bank is None:
        refuse_without_curve(component, "its vapour pressure")
    return bank


def _refuse_gaps(component: Component, bank: CurveBank, T_K: Array, p_Pa: Array) -> None:
    """Raise for the first temperature that the curve does not carry to, whose pressure is NaN."""
    if p_Pa.size and math.isnan(p_Pa.min()):
        first_K = float(T_K[np.isnan(p_Pa)].flat[0])
        if not 0.0 < first_K < math.inf:
            raise ImpossibleQuantity("A temperature must be a number of kelvins above 0 K.")
        refuse_temperature(component, bank, first_K)

"""The pure species of a feed and what a bench needs to know of each: molar mass, density, enthalpy of vaporisation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import NoValue

if TYPE_CHECKING:
    from cutpoint.db import Component

Array = NDArray[np.float64]

WATSON_EXPONENT = 0.38
"""K. M. Watson, Ind. Eng. Chem. 35 (1943) 398-406."""
GAS_CONSTANT_J_MOL_K = 8.314462618
"""SI Brochure, 9th edition 2019 (product of the exact Boltzmann and Avogadro constants)."""
TYPICAL_DENSITY_KG_M3 = 850.0
"""Of an organic solvent whose density is not held; common practice, no source."""
WATER = "7732-18-5"
HEAT_CAPACITY_J_KG_K = 2_000.0
"""Of organic liquids; common practice, no source."""
HEAT_CAPACITY_OF_WATER_J_KG_K = 4_186.0
"""At 15 °C; from memory."""


@dataclass(frozen=True)
class Species:
    """N pure species, arrays (N,): liquids at 20 °C, the enthalpy of vaporisation at the boiling point asked.

    `remarks` says where something is an estimate.
    """

    components: tuple[Component, ...]
    molar_mass_kg_mol: Array
    density_kg_m3: Array
    enthalpy_of_vaporization_J_mol: Array
    heat_capacity_J_kg_K: Array
    remarks: tuple[str, ...]


def species_of(components: Sequence[Component], boiling_K: Array) -> Species:
    """The species with the enthalpies of vaporisation at temperatures (N,); raises NoValue without a molar mass."""
    remarks: list[str] = []
    masses, densities, enthalpies = (np.empty(len(components)) for _ in range(3))
    for place, component in enumerate(components):
        if component.molar_mass_g_mol is None:
            raise NoValue(f"The store holds no molar mass of {component.name} ({component.cas}).")
        masses[place] = component.molar_mass_g_mol / 1_000.0
        density = component.held("liquid_density")
        if density is None:
            remarks.append(f"The density of {component.name} is not held: {TYPICAL_DENSITY_KG_M3:g} kg/m³ is assumed.")
        densities[place] = TYPICAL_DENSITY_KG_M3 if density is None else density.value
        enthalpies[place] = _enthalpy(component, float(boiling_K[place]), remarks)
    capacities = np.array(
        [HEAT_CAPACITY_OF_WATER_J_KG_K if one.cas == WATER else HEAT_CAPACITY_J_KG_K for one in components]
    )
    return Species(tuple(components), masses, densities, enthalpies, capacities, tuple(dict.fromkeys(remarks)))


def _enthalpy(component: Component, T_K: float, remarks: list[str]) -> float:
    """Moved from where it is held by Watson's relation, else from the slope of the curve (Clausius-Clapeyron)."""
    held, critical = component.held("enthalpy_of_vaporization"), component.held("critical_temperature")
    if held is not None and held.temperature_K is not None and critical is not None and critical.value > T_K:
        span = critical.value - held.temperature_K
        return float(held.value * ((critical.value - T_K) / span) ** WATSON_EXPONENT) if span > 0.0 else held.value
    if held is not None:
        return held.value
    bank = component.curve_bank
    if bank is None:
        raise NoValue(f"The store holds no vapour-pressure curve of {component.name} ({component.cas}).")
    remarks.append(
        f"The enthalpy of vaporisation of {component.name} is taken from the slope of its vapour-pressure curve."
    )
    slope = float(bank.clipped_ln_pressures(np.array([T_K]))[1].flat[0])
    return GAS_CONSTANT_J_MOL_K * T_K**2 * slope

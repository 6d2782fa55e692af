"""What a bench needs to know of the pure liquids of a feed: molar mass, density, heats of boiling and of warming.

Held values come first. An estimate stands in for what is not held, and a remark
says so.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import NoValue
from cutpoint.schema.identifiers import split_formula
from cutpoint.schema.properties import MOLAR_GAS_CONSTANT_J_MOL_K

if TYPE_CHECKING:
    from cutpoint.db import Component

Array = NDArray[np.float64]

WATSON_EXPONENT = 0.38
"""K. M. Watson, Ind. Eng. Chem. 35 (1943) 398-406."""
MOST_REDUCED = 0.95
"""Above this share of the critical temperature an enthalpy of vaporisation is not moved; common practice, no source."""

WATER = "7732-18-5"
HEAT_CAPACITY_J_KG_K = 2_000.0
"""Of organic liquids; common practice, no source."""
HEAT_CAPACITY_OF_WATER_J_KG_K = 4_180.0
"""Common practice, no source."""

ESTIMATED_DENSITY_U95 = 0.15
"""Relative; 95 % of the evaluated densities of grades A to C lie within it of the estimate (a test counts)."""
_RELATIVE_VOLUMES = {
    symbol: volume
    for symbols, volume in (
        ("H D", 1.0),
        ("Li Be B C N O F", 2.0),
        ("Na Mg Al Si P S Cl", 4.0),
        ("K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br", 5.0),
        ("Rb Sr Y Zr Nb Mo Ru Rh Pd Ag Cd In Sn Sb Te I", 7.5),
    )
    for symbol in symbols.split()
}
"""Molar volumes of atoms in units of 5 cm3/mol; Girolami 1994, see `estimated_density`."""
_MOST_CONTRACTION = 0.3
_BRACKETED, _RING_CLOSURE = re.compile(r"\[[^]]*\]"), re.compile(r"%\d\d|\d")
_HYDROXYL = re.compile(r"^O(?=[A-Zc])|(?<!=)O(?=$|\))")
"""An oxygen at the start or the end of a chain of a SMILES that is not doubly bonded."""


@dataclass(frozen=True)
class Properties:
    """N pure liquids, arrays (N,): densities at 20 °C, enthalpies of vaporisation at the temperatures asked.

    `density_u95_kg_m3` is an expanded uncertainty (95 %);
    `critical_temperature_K` is NaN where none is held.
    """

    names: tuple[str, ...]
    cas: tuple[str, ...]
    molar_mass_kg_mol: Array
    density_kg_m3: Array
    density_u95_kg_m3: Array
    enthalpy_of_vaporization_J_mol: Array
    heat_capacity_J_kg_K: Array
    critical_temperature_K: Array
    remarks: tuple[str, ...]


def liquid_properties(components: Sequence[Component], boiling_K: Array) -> Properties:
    """The properties of the components, the enthalpies of vaporisation at the temperatures, (N,), at which each boils.

    Raises NoValue for a component without a molar mass, or with neither
    density nor formula, or with neither enthalpy nor vapour-pressure curve.
    """
    densities = [_density(component) for component in components]
    enthalpies = [_enthalpy(component, float(T)) for component, T in zip(components, boiling_K, strict=True)]
    told = [remark for _, _, remark in densities] + [remark for _, remark in enthalpies]
    critical = [component.held("critical_temperature") for component in components]
    return Properties(
        tuple(component.name for component in components),
        tuple(component.cas for component in components),
        np.array([_molar_mass(component) for component in components]),
        np.array([value for value, _, _ in densities]),
        np.array([u95 for _, u95, _ in densities]),
        np.array([value for value, _ in enthalpies]),
        np.array([
            HEAT_CAPACITY_OF_WATER_J_KG_K if component.cas == WATER else HEAT_CAPACITY_J_KG_K
            for component in components
        ]),
        np.array([np.nan if held is None else held.value for held in critical]),
        tuple(dict.fromkeys(remark for remark in told if remark)),
    )  # fmt: skip


def _molar_mass(component: Component) -> float:
    if component.molar_mass_g_mol is None:
        raise NoValue(f"The store holds no molar mass of {component.name} ({component.cas}).")
    return component.molar_mass_g_mol / 1e3


def _density(component: Component) -> tuple[float, float, str | None]:
    """Density at 20 °C, where every evaluated one is held, its uncertainty, and what to say of it."""
    held = component.held("liquid_density")
    if held is not None:
        return held.value, held.u95, None
    if component.formula is None:
        raise NoValue(
            f"The store holds neither a density nor a formula of {component.name} ({component.cas}), "
            "so mass and volume cannot be converted."
        )
    density = estimated_density(component.formula, component.smiles or "", _molar_mass(component))
    return (
        density,
        ESTIMATED_DENSITY_U95 * density,
        f"No density of {component.name} is held: {density / 1e3:.2f} g/mL is estimated from its atoms, "
        f"± {100 * ESTIMATED_DENSITY_U95:.0f} %.",
    )


def estimated_density(formula: str, smiles: str, molar_mass_kg_mol: float) -> float:
    """Density of a liquid at room temperature from its atoms, kg/m3.

    The sum of the atoms' volumes, less a tenth for each ring and each hydroxyl
    group, at most three tenths: G. S. Girolami, J. Chem. Educ. 71 (1994)
    962-964. Of its list of contracting groups these two are read from the
    SMILES. Atoms beyond iodine count as iodine.
    """
    counts, _ = split_formula(formula)
    heaviest = max(_RELATIVE_VOLUMES.values())
    volume_m3_mol = 5e-6 * sum(_RELATIVE_VOLUMES.get(symbol, heaviest) * count for symbol, count in counts.items())
    rings = len(_RING_CLOSURE.findall(_BRACKETED.sub("", smiles))) // 2
    contraction = min(_MOST_CONTRACTION, 0.1 * (rings + len(_HYDROXYL.findall(smiles))))
    return molar_mass_kg_mol / volume_m3_mol * (1.0 + contraction)


def _enthalpy(component: Component, T_K: float) -> tuple[float, str | None]:
    """Enthalpy of vaporisation at a temperature, and what to say of it.

    One held at the normal boiling point comes first: it is the nearer one.
    """
    critical, known = component.held("critical_temperature"), _known_enthalpies(component)
    for value, at_K in known:
        if critical is not None and max(T_K, at_K) <= MOST_REDUCED * critical.value:
            return moved_enthalpy(value, at_K, T_K, critical.value), None
    if component.curve_bank is not None:
        at = np.array([T_K])
        slope = float(component.curve_bank.clipped_slopes(at)[0])
        return MOLAR_GAS_CONSTANT_J_MOL_K * T_K**2 * slope, (
            f"No enthalpy of vaporisation of {component.name} can be moved to its boiling point: it is taken from the "
            "slope of its vapour-pressure curve (Clausius-Clapeyron, ideal vapour)."
        )
    if known:
        value, at_K = known[0]
        return value, f"The enthalpy of vaporisation of {component.name} is that at {at_K:.0f} K."
    raise NoValue(
        f"The store holds neither an enthalpy of vaporisation nor a vapour-pressure curve of {component.name} "
        f"({component.cas}), so the heat of its boiling cannot be told."
    )


def _known_enthalpies(component: Component) -> list[tuple[float, float]]:
    """Values that are held, with their temperatures."""
    boiling = component.held("normal_boiling_point")
    at_boiling = component.held("enthalpy_of_vaporization_at_boiling_point")
    known = [] if boiling is None or at_boiling is None else [(at_boiling.value, boiling.value)]
    held = component.held("enthalpy_of_vaporization")
    if held is not None and held.temperature_K is not None:
        known.append((held.value, held.temperature_K))
    return known


def moved_enthalpy(value_J_mol: float, from_K: float, to_K: float, critical_K: float) -> float:
    """An enthalpy of vaporisation at another temperature, by Watson's relation (see `WATSON_EXPONENT`)."""
    return float(value_J_mol * ((critical_K - to_K) / (critical_K - from_K)) ** WATSON_EXPONENT)

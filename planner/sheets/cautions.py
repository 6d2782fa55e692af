"""The one calm block of cautions of a sheet: what the hazard figures of exactly these components ask for.

One statement per kind of hazard, with the names it is about; the cautious end
of what the sources state is used throughout. Limits beside those of
`cutpoint.db.cautions`: surfaces stay below four fifths of the autoignition
temperature in °C (EN 1127-1:2019, 6.4.2, for where vapour is always met; from
memory); air keeps vapour below a quarter of the lower flammability limit
(common practice, no source); tests for peroxides and what is done about each
class, R. J. Kelly, Chemical Health and Safety 3 (1996) 28-36; residue, fire and
liquefied gas, common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from cutpoint.db.cautions import (
    BURNS,
    HEATER_SURFACE_K,
    LIT_AT_ROOM_TEMPERATURE_K,
    LIT_WHEN_WARMED_K,
    MOLAR_MASS_OF_AIR_G_MOL,
    OF_EVERY_DISTILLATION,
    ROOM_K,
    VAPOUR_AT_THE_BENCH_K,
    cautious_end,
    concentration,
    two_digits,
)
from cutpoint.db.pair_tables import WATER
from cutpoint.schema.properties import ICE_POINT_K, MOLAR_VOLUME_OF_AIR_M3_MOL

if TYPE_CHECKING:
    from cutpoint.db import Component

MOST_NAMES = 6
"""Names in one statement; of more, the most dangerous are named and the rest counted."""
SURFACE_SHARE = 0.8
"""Share of an autoignition temperature in °C below which surfaces are kept."""
LFL_SHARE = 0.25
"""Share of the lower flammability limit below which air keeps vapour."""
SPILL_KG = 0.1

FIRST = (
    "Local codes and licensed practice come first, then the product's own safety data sheet; these figures are no "
    "substitute for either. In some places distilling solvents needs a permit."
)
LIQUEFIED_GAS = (
    "Liquefied gas: never shut it, or what it boils out of, in a closed vessel. The gas makes an explosive atmosphere: "
    "no flame, spark, switch or running motor in the room, vent into the hood. Liquid and cold metal burn the skin: "
    "insulating gloves and goggles."
)
RESIDUE = (
    "Never distil to dryness: what is left can overheat, decompose and catch fire. Take the heat away first and let "
    "the flask cool before it is opened or anything is added. Residue goes into closed, labelled solvent waste, not "
    "down the drain, and never together with oxidisers (peroxides, nitric acid, bleach, permanganate)."
)
LIT_COLD = (
    "The vapour can be lit at room temperature: {} (flash point). No flame, spark or brushed motor near it, "
    "when pouring too."
)
FIRE = (
    "Have a carbon dioxide or dry-powder extinguisher within reach and someone within call; water spreads a solvent "
    "fire. Do not leave the still alone."
)
PEROXIDE_TEST = (
    "Test with a fresh peroxide strip, or shake a little with acidified potassium iodide solution: yellow to brown "
    "means peroxides."
)


@dataclass(frozen=True)
class _Held:
    """What the store holds of the hazards of one component, cautious ends; None where it holds nothing."""

    component: Component
    boiling_point_K: float | None

    @property
    def name(self) -> str:
        return self.component.name

    @cached_property
    def figures(self) -> dict[str, float]:
        ends = {
            hazard.property: cautious_end(hazard) for hazard in self.component.hazards() if hazard.property in BURNS
        }
        return {name: end for name, end in ends.items() if end is not None}

    @property
    def flash_K(self) -> float:
        """Infinite where none is held."""
        return self.figures.get("flash_point", math.inf)

    @property
    def autoignition_K(self) -> float:
        """Infinite where none is held."""
        return self.figures.get("autoignition_temperature", math.inf)

    @property
    def burns(self) -> bool:
        return bool(self.figures)

    @property
    def is_gas(self) -> bool:
        return self.boiling_point_K is not None and self.boiling_point_K < ROOM_K

    @property
    def is_vapour(self) -> bool:
        """Whether it is met as a vapour at the bench."""
        if self.boiling_point_K is None:
            return self.burns
        return self.boiling_point_K < VAPOUR_AT_THE_BENCH_K

    @property
    def vapour_density(self) -> float | None:
        """Density of the vapour relative to air; None without a molar mass."""
        mass = self.component.molar_mass_g_mol
        return None if mass is None else mass / MOLAR_MASS_OF_AIR_G_MOL

    @property
    def air_m3_kg(self) -> float | None:
        """Air that keeps a kilogram of its vapour below a quarter of the flammability limit; None if not held."""
        limit, mass = self.figures.get("lower_flammability_limit"), self.component.molar_mass_g_mol
        if limit is None or mass is None:
            return None
        return MOLAR_VOLUME_OF_AIR_M3_MOL / (1e-3 * mass * LFL_SHARE * limit)

    @property
    def peroxide_class(self) -> str | None:
        """A, B or C; what the store calls otherwise is what distillation concentrates."""
        for hazard in self.component.hazards():
            if hazard.property == "peroxide_former":
                return hazard.text if hazard.text in ("A", "C") else "B"
        return None

    @cached_property
    def exposure_limit(self) -> tuple[float, str] | None:
        """The lowest exposure limit held, in kg/m3 where it can be, for the order, and in words."""
        vapour_g_mol = self.component.molar_mass_g_mol if self.is_vapour else None
        stated = []
        for hazard in self.component.hazards():
            end = cautious_end(hazard) if hazard.property == "exposure_limit" else None
            if end is not None:
                # An unknown molar mass leaves a mole fraction as if of air: it only sets the order of names.
                of_mole = 1e-3 * (vapour_g_mol or MOLAR_MASS_OF_AIR_G_MOL) / MOLAR_VOLUME_OF_AIR_M3_MOL
                stated.append((end * of_mole if hazard.unit == "1" else end, end, hazard.unit))
        if not stated:
            return None
        order, end, unit = min(stated)
        return order, concentration(end, unit, vapour_g_mol)


def cautions_for(
    components: Sequence[Component],
    *,
    boiling_points_K: Mapping[str, float],
    is_liquefied_gas: bool = False,
    lost_kg: float | None = None,
) -> tuple[str, ...]:
    """The cautions of a sheet, one statement each, local codes and licensed practice first.

    `components` are those of the batch, cuts and ingredients that stay in the
    flask included; `boiling_points_K` are those at the pressure of the sheet by
    CAS number, as far as they are known; `lost_kg` is the vapour that may get
    past condenser and receiver.
    """
    # Named twice on a label, said once.
    held = [_Held(one, boiling_points_K.get(one.cas)) for one in dict.fromkeys(components)]
    told = [
        [FIRST],
        [LIQUEFIED_GAS] if is_liquefied_gas else [],
        _lit(held),
        _light_by_themselves(held),
        _air(held, lost_kg),
        _heavy(held),
        _peroxides(held),
        _exposure(held),
        _not_held(held),
        [OF_EVERY_DISTILLATION],
        [RESIDUE],
        [FIRE] if any(one.burns for one in held) else [],
    ]
    return tuple(statement for statements in told for statement in statements)


def _lit(held: Sequence[_Held]) -> list[str]:
    """What can be lit at which temperature, the most easily lit first."""
    told = []
    gases = [one for one in held if one.is_gas and one.burns]
    if gases:
        told.append(
            f"Flammable gas at room temperature: {_names(gases)}. No flame, spark or hot surface where it may leak."
        )
    liquids = sorted((one for one in held if not one.is_gas), key=lambda one: one.flash_K)
    for low_K, high_K, words in (
        (0.0, LIT_AT_ROOM_TEMPERATURE_K, LIT_COLD),
        (LIT_AT_ROOM_TEMPERATURE_K, LIT_WHEN_WARMED_K, "Can be lit once warm: {} (flash point)."),
        (LIT_WHEN_WARMED_K, math.inf, "Can be lit when hot, in the flask or as distillate: {} (flash point)."),
    ):
        found = [one for one in liquids if low_K <= one.flash_K < high_K]
        if found:
            told.append(words.format(_listed(found, lambda one: one.flash_K)))
    return told


def _light_by_themselves(held: Sequence[_Held]) -> list[str]:
    """What lights on a hot surface, and how hot the bath may be; silent where no autoignition temperature is held."""
    found = sorted((one for one in held if one.autoignition_K < math.inf), key=lambda one: one.autoignition_K)
    if not found:
        return []
    lights = [one for one in found if one.autoignition_K < HEATER_SURFACE_K]
    names = _listed(lights or found[:1], lambda one: one.autoignition_K)
    limit_K = ICE_POINT_K + SURFACE_SHARE * (found[0].autoignition_K - ICE_POINT_K)
    if not lights:
        return [
            f"Lights by itself on a hot surface: {names}, the lowest held. Keep every surface that vapour can reach "
            f"below {_degrees(limit_K)}, a mantle turned up or run dry included."
        ]
    told = (
        f"Lights by itself on a hot surface: {names}. A mantle or hot plate reaches {_degrees(HEATER_SURFACE_K)} and "
        f"more at its surface: heat with a bath, and keep it below {_degrees(limit_K)}."
    )
    above = [one for one in held if one.boiling_point_K is not None and one.boiling_point_K > limit_K]
    if above:
        told += f" That bath does not boil {_names(above)}: leave it in the flask, or distil it at reduced pressure."
    return [told]


def _air(held: Sequence[_Held], lost_kg: float | None) -> list[str]:
    """Air against a flammable mixture, for the component that needs most."""
    found = [(one.air_m3_kg, one.name) for one in held if one.air_m3_kg is not None]
    if not found:
        return []
    air_m3_kg, name = max(found)
    told = (
        f"To stay below a quarter of the lower flammability limit, {1e3 * SPILL_KG:.0f} g of vapour needs up to "
        f"{two_digits(SPILL_KG * air_m3_kg)} m³ of air ({name} the most)"
    )
    if lost_kg:
        told += f", and the {two_digits(1e3 * lost_kg)} g that may be lost {two_digits(lost_kg * air_m3_kg)} m³"
    return [f"{told}: fume hood or strong ventilation."]


def _heavy(held: Sequence[_Held]) -> list[str]:
    times = [one.vapour_density for one in held if one.is_vapour and (one.vapour_density or 0.0) > 1.0]
    densities = sorted({f"{density:.1f}" for density in times if density is not None}, key=float)
    if not densities:
        return []
    span = densities[0] if len(densities) == 1 else f"{densities[0]} to {densities[-1]}"
    return [f"Vapours {span} times as heavy as air creep along bench and floor and gather in drains."]


def _peroxides(held: Sequence[_Held]) -> list[str]:
    """What may form peroxides, by class, and how to test for them."""
    words = {
        "A": "Forms peroxides that explode after mere storage: {}. Old or undated stock is not opened, moved or "
        "distilled but left to licensed disposal.",
        "B": "Forms peroxides that explode when distillation concentrates them: {}. Test before heating, and remove "
        "them first.",
        "C": "May polymerise violently when peroxides form in it: {}. Keep it inhibited, do not distil it uninhibited.",
    }
    told = []
    for letter, sentence in words.items():
        found = [one for one in held if one.peroxide_class == letter]
        if found:
            told.append(sentence.format(_names(found)))
    if told:
        told[-1] += f" {PEROXIDE_TEST}"
    return told


def _exposure(held: Sequence[_Held]) -> list[str]:
    found = sorted((*one.exposure_limit, one.name) for one in held if one.exposure_limit is not None)
    if not found:
        return []
    parts = "; ".join(f"{name} {limit}" for _, limit, name in found[:MOST_NAMES])
    return [
        f"Harmful to breathe, lowest exposure limit held: {parts}{_more(found)}. Work in the hood and vent the "
        "receiver into it."
    ]


def _not_held(held: Sequence[_Held]) -> list[str]:
    told = []
    silent = [one for one in held if not one.component.hazards() and one.component.cas != WATER]
    if silent:
        told.append(f"No hazard data are held of {_names(silent)}, which is not the same as safe.")
    unlit = [one for one in held if one.component.hazards() and not one.burns]
    if unlit:
        told.append(
            f"No flash point or flammability limit is held of {_names(unlit)}, which is not the same as not flammable."
        )
    return told


def _names(found: Sequence[_Held]) -> str:
    return ", ".join(one.name for one in found[:MOST_NAMES]) + _more(found)


def _listed(found: Sequence[_Held], temperature_K: Callable[[_Held], float]) -> str:
    """Names with a temperature each."""
    return ", ".join(f"{one.name} {_degrees(temperature_K(one))}" for one in found[:MOST_NAMES]) + _more(found)


def _more(found: Sequence[object]) -> str:
    rest = len(found) - MOST_NAMES
    return f" and {rest} more" if rest > 0 else ""


def _degrees(T_K: float) -> str:
    """A limit in whole °C, on the safe side."""
    return f"{math.floor(T_K - ICE_POINT_K + 1e-6)} °C"

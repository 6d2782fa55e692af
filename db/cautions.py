"""The usual cautions, specific to a component: sentences from its hazard figures.

The cautious end of what the sources state is used throughout. Limits: flash
points below 23 °C and 60 °C part the categories of flammable liquids in the
Globally Harmonized System (United Nations, GHS, chapter 2.6); classes of
peroxide formers and what to do about each: R. J. Kelly, Chemical Health and
Safety 3 (1996) 28-36; the rest is common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpoint.schema.properties import MOLAR_VOLUME_OF_AIR_M3_MOL

from .matches import celsius
from .results import Hazard

if TYPE_CHECKING:
    from .component import Component

LIT_AT_ROOM_TEMPERATURE_K = 296.15
LIT_WHEN_WARMED_K = 333.15
HEATER_SURFACE_K = 573.15
"""A mantle or hot plate turned up reaches 300 °C and more at its surface; common practice, no source."""
VAPOUR_AT_THE_BENCH_K = 573.15
"""What boils above about 300 °C is met as a dust or mist rather than a vapour; common practice, no source."""
ROOM_K = 293.15
"""What boils below this is a gas at the bench, K."""

COLD_TRAP_K = 195.0
"""Dry ice, -78 °C: what boils below it leaves a bench apparatus as a gas; common practice, no source."""
MOLAR_MASS_OF_AIR_G_MOL = 28.96
LIMIT_NAMES = {"TWA": "averaged over a shift", "STEL": "for a short time", "ceiling": "never to be exceeded"}
BURNS = ("flash_point", "lower_flammability_limit", "autoignition_temperature")

LAST_WORD = (
    "Local codes and licensed practice, and the product's own safety data sheet, come first; "
    "these figures are no substitute for them."
)
OF_EVERY_DISTILLATION = "Never heat a closed system: the apparatus is open to the air or to a vented line at one place."
NOT_TO_DRYNESS = "Never distil to dryness: what is left behind can overheat, decompose and catch fire."


def cautions(component: Component, boiling_point_K: float | None) -> list[str]:
    """One calm list of sentences for a component; the last defers to local codes and the safety data sheet.

    `boiling_point_K` is its evaluated normal boiling point, None where none is held.
    """
    name, molar_mass_g_mol, held = component.name, component.molar_mass_g_mol, component.hazards()
    if not held:
        nothing = f"No hazard data of {name} are held, which is not the same as safe."
        return [nothing, OF_EVERY_DISTILLATION, LAST_WORD]
    figures = {hazard.property: cautious_end(hazard) for hazard in held if hazard.property != "exposure_limit"}
    burns = any(figure in figures for figure in BURNS)
    is_vapour = (
        boiling_point_K < VAPOUR_AT_THE_BENCH_K
        if boiling_point_K is not None
        else burns or component.phase_behaviour == "sublimes"
    )
    told = [
        *_lit(name, figures.get("flash_point"), burns and boiling_point_K is not None and boiling_point_K < ROOM_K),
        *_lights_by_itself(figures.get("autoignition_temperature")),
        *_needs_air(figures.get("lower_flammability_limit"), molar_mass_g_mol),
    ]
    if not burns:
        told.append(f"No flash point or flammability limit of {name} is held, which is not the same as not flammable.")
    if is_vapour:
        told += _heavy_vapour(molar_mass_g_mol)
    limits = [hazard for hazard in held if hazard.property == "exposure_limit"]
    told += _poisons(limits, molar_mass_g_mol if is_vapour else None, _handling(component, boiling_point_K))
    told += [
        _peroxides(name, hazard.text, is_vapour and boiling_point_K is not None)
        for hazard in held
        if hazard.property == "peroxide_former"
    ]
    distils = boiling_point_K is None or boiling_point_K >= COLD_TRAP_K  # unknown is not the same as never distilled
    if burns and distils and not any("to dryness" in sentence for sentence in told):
        told.append(NOT_TO_DRYNESS)
    return [*told, OF_EVERY_DISTILLATION, LAST_WORD]


def cautious_end(hazard: Hazard) -> float | None:
    """The end of what the sources state that asks for more care, in the unit of the hazard; None for a class."""
    return hazard.conservative if hazard.conservative is not None else hazard.value


def two_digits(value: float) -> str:
    """Two digits, without an exponent where the number is large."""
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}"


def _lit(name: str, flash_point_K: float | None, is_gas: bool) -> list[str]:
    if is_gas:
        return [f"{name} is a flammable gas at room temperature: no flame, spark or hot surface where it may leak."]
    if flash_point_K is None:
        return []
    point = f"Flash point {celsius(flash_point_K)}"
    if flash_point_K < LIT_AT_ROOM_TEMPERATURE_K:
        return [
            f"{point}: the vapour over {name} can be lit at room temperature; no flame, spark or brushed motor near it."
        ]
    if flash_point_K < LIT_WHEN_WARMED_K:
        return [f"{point}: {name} can be lit once it is warm; no flame, spark or brushed motor near it."]
    return [f"{point}: hot {name} can be lit, in a pot or as distillate; no flame or spark near it."]


def _lights_by_itself(autoignition_K: float | None) -> list[str]:
    if autoignition_K is None:
        return []
    point = f"Autoignition at {celsius(autoignition_K)}"
    if autoignition_K < HEATER_SURFACE_K:
        return [
            f"{point}: a mantle or hot plate can be hotter than that and light the vapour; heat with a bath below it."
        ]
    return [f"{point}: keep every surface that vapour can reach well below it, a mantle turned up or run dry included."]


def _needs_air(limit: float | None, molar_mass_g_mol: float | None) -> list[str]:
    if limit is None:
        return []
    mass = ""
    if molar_mass_g_mol is not None:
        mass = f", {two_digits(limit * molar_mass_g_mol / MOLAR_VOLUME_OF_AIR_M3_MOL)} g in a cubic metre"
    return [
        f"From {100 * limit:.2g} % by volume in air{mass}, the vapour carries a flame: fume hood or strong ventilation."
    ]


def _heavy_vapour(molar_mass_g_mol: float | None) -> list[str]:
    if molar_mass_g_mol is None or molar_mass_g_mol <= MOLAR_MASS_OF_AIR_G_MOL:
        return []
    times = molar_mass_g_mol / MOLAR_MASS_OF_AIR_G_MOL
    return [f"Its vapour is {times:.1f} times as heavy as air: it creeps along bench and floor and gathers in drains."]


def _poisons(limits: list[Hazard], vapour_g_mol: float | None, handling: str) -> list[str]:
    """The exposure limits; with the molar mass of what is met as a vapour, mass concentrations as ppm too."""
    stated = sorted(
        (figure, hazard.limit_kind, hazard.unit) for hazard in limits if (figure := cautious_end(hazard)) is not None
    )
    if not stated:
        return []
    parts = [
        f"{concentration(figure, unit, vapour_g_mol)} {LIMIT_NAMES.get(kind, kind)}" for figure, kind, unit in stated
    ]
    return [f"Harmful to breathe: lowest exposure limit held {'; '.join(parts)}. {handling}"]


def concentration(figure: float, unit: str, vapour_g_mol: float | None) -> str:
    """An exposure limit in ppm, or in mg/m3; with the molar mass of what is met as a vapour, in ppm too."""
    if unit == "1":
        return f"{two_digits(1e6 * figure)} ppm"
    mass = f"{two_digits(1e6 * figure)} mg/m3"
    if vapour_g_mol is None:
        return mass
    return f"{mass} ({two_digits(1e9 * figure * MOLAR_VOLUME_OF_AIR_M3_MOL / vapour_g_mol)} ppm)"


def _handling(component: Component, boiling_point_K: float | None) -> str:
    """What to do against breathing it: as a condensate, a gas, or neither."""
    if component.kind == "stream" or (
        boiling_point_K is not None and COLD_TRAP_K <= boiling_point_K < VAPOUR_AT_THE_BENCH_K
    ):
        return "Vent the receiver into the hood."
    if boiling_point_K is not None and boiling_point_K < COLD_TRAP_K:
        return "A condenser does not hold it: lead it off into the hood."
    return "Raise no dust or mist of it, and work in the hood."


def _peroxides(name: str, peroxide_class: str | None, distils: bool) -> str:
    if peroxide_class == "A":
        told = (
            f"Forms peroxides that explode after mere storage: old or undated stock of {name} is not opened, moved "
            "or distilled but left to licensed disposal"
        )
        return f"{told}; test fresh stock before heating, never distil to dryness." if distils else f"{told}."
    if peroxide_class == "C":
        return (
            f"May polymerise violently when peroxides form in it: keep {name} inhibited, test it for peroxides, "
            "and do not distil it uninhibited."
        )
    return (
        f"Forms peroxides that explode when they are concentrated, as distillation does: test {name} for them before "
        "it is heated, remove them first, and never distil to dryness."
    )

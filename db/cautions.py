"""The usual cautions, specific to a component: sentences from its hazard figures.

The cautious end of what the sources state is used throughout. Limits: flash
points below 23 °C and 60 °C part the categories of flammable liquids in the
Globally Harmonized System (United Nations, GHS, chapter 2.6); the rest is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

from cutpoint.schema.properties import ATMOSPHERE_PA, MOLAR_GAS_CONSTANT_J_MOL_K, STANDARD_TEMPERATURE_K

from .matches import celsius
from .results import Hazard

LIT_AT_ROOM_TEMPERATURE_K = 296.15
LIT_WHEN_WARMED_K = 333.15
HEATER_SURFACE_K = 573.15
"""A mantle or hot plate turned up reaches 300 °C and more at its surface; common practice, no source."""
MOLAR_MASS_OF_AIR_G_MOL = 28.96
MOLAR_VOLUME_OF_AIR_M3_MOL = MOLAR_GAS_CONSTANT_J_MOL_K * STANDARD_TEMPERATURE_K / ATMOSPHERE_PA
LIMIT_NAMES = {"TWA": "averaged over a shift", "STEL": "for a short time", "Ceiling": "never to be exceeded"}

PEROXIDE_CLASSES = {
    "A": "on mere storage",
    "B": "when it is concentrated, as distillation does",
    "C": "which can set off its polymerisation",
}
"""Classes of peroxide formers: R. J. Kelly, Chemical Health and Safety 3 (1996) 28-36."""

LAST_WORD = (
    "Local codes and licensed practice, and the product's own safety data sheet, come first; "
    "these figures are no substitute for them."
)
OF_EVERY_DISTILLATION = "Never heat a closed system: the apparatus is open to the air or to a vented line at one place."


def cautions(name: str, molar_mass_g_mol: float | None, hazards: Iterable[Hazard]) -> list[str]:
    """One calm list of sentences for a component; the last defers to local codes and the safety data sheet."""
    held = list(hazards)
    if not held:
        nothing = f"No hazard data of {name} are held, which is not the same as safe."
        return [nothing, OF_EVERY_DISTILLATION, LAST_WORD]
    figures = {hazard.property: _cautious(hazard) for hazard in held if hazard.property != "exposure_limit"}
    burns = "flash_point" in figures or "lower_flammability_limit" in figures
    told = [
        *_lit(name, figures.get("flash_point")),
        *_lights_by_itself(figures.get("autoignition_temperature")),
        *_needs_air(figures.get("lower_flammability_limit"), molar_mass_g_mol),
    ]
    if not burns:
        told.append(f"No flash point or flammability limit of {name} is held, which is not the same as not flammable.")
    told += _heavy_vapour(molar_mass_g_mol)
    told += _poisons([hazard for hazard in held if hazard.property == "exposure_limit"], molar_mass_g_mol)
    told += _peroxides(name, [hazard for hazard in held if hazard.property == "peroxide_former"])
    return [*told, OF_EVERY_DISTILLATION, LAST_WORD]


def _cautious(hazard: Hazard) -> float | None:
    return hazard.conservative if hazard.conservative is not None else hazard.value


def _figure(value: float) -> str:
    """Two digits, without an exponent where the number is large."""
    return f"{value:.0f}" if value >= 100.0 else f"{value:.2g}"


def _lit(name: str, flash_point_K: float | None) -> list[str]:
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
        mass = f", {_figure(limit * molar_mass_g_mol / MOLAR_VOLUME_OF_AIR_M3_MOL)} g in a cubic metre"
    return [
        f"From {100 * limit:.2g} % by volume in air{mass}, the vapour carries a flame: fume hood or strong ventilation."
    ]


def _heavy_vapour(molar_mass_g_mol: float | None) -> list[str]:
    if molar_mass_g_mol is None or molar_mass_g_mol <= MOLAR_MASS_OF_AIR_G_MOL:
        return []
    times = molar_mass_g_mol / MOLAR_MASS_OF_AIR_G_MOL
    return [f"Its vapour is {times:.1f} times as heavy as air: it creeps along bench and floor and gathers in drains."]


def _poisons(limits: list[Hazard], molar_mass_g_mol: float | None) -> list[str]:
    stated = [(figure, hazard.limit_kind) for hazard in limits if (figure := _cautious(hazard)) is not None]
    if not stated:
        return []
    parts = []
    for kg_m3, kind in sorted(stated):
        share = ""
        if molar_mass_g_mol is not None:
            share = f" ({_figure(1e9 * kg_m3 * MOLAR_VOLUME_OF_AIR_M3_MOL / molar_mass_g_mol)} ppm)"
        parts.append(f"{_figure(1e6 * kg_m3)} mg/m3{share} {LIMIT_NAMES.get(kind, kind)}")
    return [f"Harmful to breathe: lowest exposure limit held {'; '.join(parts)}. Vent the receiver into the hood."]


def _peroxides(name: str, classes: list[Hazard]) -> list[str]:
    return [
        f"Forms explosive peroxides, {PEROXIDE_CLASSES.get(hazard.text or '', f'class {hazard.text}')}: "
        f"test {name} for them before it is heated, remove them first, and never distil to dryness."
        for hazard in classes
    ]

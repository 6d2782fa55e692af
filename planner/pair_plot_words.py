"""The words on the picture of a pair: title, axes, key, and the footnote that says what to make of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import ICE_POINT_K

from .figures import percent, pressure, quantity
from .pair_sheet import PairSheet

if TYPE_CHECKING:
    from cutpoint.db import Azeotrope, MeasuredPoint

BUBBLE = "the liquid boils (bubble line); band: 95 %, from the vapour pressures alone"
DEW = "the vapour above it, at the same temperature (dew line)"
TEMPERATURE_AXIS = "temperature, °C"
BOTH_AXIS = "mole fraction of {} in the liquid or vapour"
LIQUID_AXIS, VAPOUR_AXIS = "mole fraction of {} in the liquid", "mole fraction of {} in the vapour"
TEMPERATURES, COMPOSITIONS = "Boiling-point diagram", "Vapour over boiling liquid"
DIAGONAL = "Above the thin line the vapour is richer in {}."
PREDICTED = (
    "The lines are a prediction by {}, not a measurement: try it on a small scale first. "
    "The band is the expanded uncertainty that comes from the vapour pressures; the error of the model comes on top."
)
IDEAL = "Raoult's law takes the mixture as ideal; it cannot tell whether there is an azeotrope."
ENDS = "The lines end where a vapour-pressure curve does."
MOST_LETTERS = 40
"""Letters of a name in the key and its like; the title has them all."""


def title(sheet: PairSheet) -> str:
    """What the picture shows, in one line."""
    return f"{' and '.join(sheet.labels)} at {pressure(sheet.diagram.pressure_Pa)}"


def ends(sheet: PairSheet) -> tuple[str, str]:
    """The boiling points of pure b and pure a, to stand over their ends of the axis; `{}` for the name."""
    boiling_K = sheet.diagram.bubble_temperature_K
    of_b, of_a = ("" if end is None else f"{{}} {celsius(boiling_K[end])}" for end in sheet.pure_ends)
    return of_b, of_a


def _short_labels(sheet: PairSheet) -> tuple[str, str]:
    a, b = (name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 1]}…" for name in sheet.labels)
    return a, b


def pure(sheet: PairSheet) -> str:
    """The pure boiling points with their uncertainty; empty where neither is reached."""
    a, b = _short_labels(sheet)
    boiling_K, u95_K = sheet.diagram.bubble_temperature_K, sheet.diagram.u95_K
    told = [
        f"pure {label} {quantity('boiling_point', boiling_K[end], u95_K[end], 'K')} ({side})"
        for label, end, side in zip((b, a), sheet.pure_ends, ("left", "right"), strict=True)
        if end is not None
    ]
    return ", ".join(told)


def two_liquids(sheet: PairSheet) -> str:
    """What the flat part is; empty where there is one liquid only."""
    held = sheet.two_liquids()
    if held is None:
        return ""
    (lean, rich), boiling_celsius, _ = held
    shares = f"one with {percent(lean)}, the other with {percent(rich)} by mole {_short_labels(sheet)[0]}"
    return f"two liquids boil together at {celsius(boiling_celsius + ICE_POINT_K)}: {shares}"


def predicted(sheet: PairSheet, azeotrope: Azeotrope) -> str:
    """Label of an azeotrope of the diagram."""
    shares = _shares(sheet, azeotrope.mole_fraction_a, azeotrope.mass_fraction_a)
    source = "" if azeotrope.basis == "predicted" else f" ({azeotrope.source})"
    return f"{azeotrope.kind} azeotrope, {azeotrope.basis}: {celsius(azeotrope.temperature_K)}, {shares}{source}"


def measured(sheet: PairSheet, point: MeasuredPoint) -> str:
    """Label of a measured azeotrope, with who measured it."""
    shares = _shares(sheet, point.mole_fraction_a, sheet.mass_fraction_a(point.mole_fraction_a))
    return f"{point.kind} azeotrope, measured: {celsius(point.temperature_K)}, {shares} ({point.source})"


def _shares(sheet: PairSheet, mole_fraction_a: float, mass_fraction_a: float | None) -> str:
    by_mole = f"{percent(mole_fraction_a)} by mole"
    told = by_mole if mass_fraction_a is None else f"{percent(mass_fraction_a)} by mass ({by_mole})"
    return f"{told} {_short_labels(sheet)[0]}"


def footnotes(sheet: PairSheet) -> list[str]:
    """By which model, and the cautions: one paragraph each."""
    model = sheet.diagram.model
    told = PREDICTED.format(model)
    if model.startswith("Raoult"):
        told += f" {IDEAL}"
    if None in sheet.pure_ends:
        told += f" {ENDS}"
    return [told, f"Cautions. {' '.join(sheet.cautions)}"] if sheet.cautions else [told]

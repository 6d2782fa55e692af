"""The words on the picture of a pair: title, axes, key, and the footnote that says what to make of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import ICE_POINT_K

from .figures import percent, pressure, quantity
from .pair_sheet import PairSheet

if TYPE_CHECKING:
    from cutpoint.db import Azeotrope, MeasuredPoint

BUBBLE = "the liquid boils (bubble line); band: its expanded uncertainty, coverage 95 %"
DEW = "the vapour above it, at the same temperature (dew line)"
TEMPERATURE_AXIS = "temperature, °C"
BOTH_AXIS = "mole fraction of {}, in the liquid (solid line) and vapour (dashed)"
LIQUID_AXIS, VAPOUR_AXIS = "mole fraction of {} in the liquid", "mole fraction of {} in the vapour"
TEMPERATURES, COMPOSITIONS = "Boiling-point diagram", "Vapour over boiling liquid"
DIAGONAL = "Above the thin line the vapour is richer in {} than the liquid."
PREDICTED = "Lines are predicted with {}: no measurement. Try it on a small scale before trusting a batch to it."
IDEAL = "Raoult's law takes the mixture as ideal; it cannot tell whether there is an azeotrope."


def title(sheet: PairSheet) -> str:
    """What the picture shows, in one line."""
    return f"{' and '.join(sheet.labels)} at {pressure(sheet.diagram.pressure_Pa)}"


def ends(sheet: PairSheet) -> tuple[str, str]:
    """The boiling points of pure b and pure a, to stand over their ends of the axis; `{}` for the name."""
    boiling_K = sheet.diagram.bubble_temperature_K
    return f"{{}} {celsius(boiling_K[0])}", f"{{}} {celsius(boiling_K[-1])}"


def pure(sheet: PairSheet) -> str:
    """Both boiling points with their uncertainty."""
    a, b = sheet.labels
    boiling_K, u95_K = sheet.diagram.bubble_temperature_K, sheet.diagram.u95_K
    of_b, of_a = (quantity("boiling_point", boiling_K[end], u95_K[end], "K") for end in (0, -1))
    return f"pure {b} {of_b} (left), pure {a} {of_a} (right)"


def two_liquids(sheet: PairSheet) -> str:
    """What the flat part is; empty where there is one liquid only."""
    held = sheet.two_liquids()
    if held is None:
        return ""
    (lean, rich), boiling_celsius, _ = held
    shares = f"one with {percent(lean)}, the other with {percent(rich)} by mole {sheet.labels[0]}"
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
    return f"{told} {sheet.labels[0]}"


def footnotes(sheet: PairSheet) -> list[str]:
    """By which model, and the cautions: one paragraph each."""
    model = sheet.diagram.model
    told = [PREDICTED.format(model) + (f" {IDEAL}" if model.startswith("Raoult") else "")]
    return [*told, f"Cautions. {' '.join(sheet.cautions)}"] if sheet.cautions else told

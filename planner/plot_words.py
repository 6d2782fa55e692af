"""The words on the picture of a vapour-pressure curve: title, caption, and what the axes leave out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cutpoint.db.matches import celsius

from .figures import observed_quantity, quantity
from .plot_series import JUDGE, Sheet

EQUATIONS = {
    "antoine": "Antoine equation",
    "antoine_extended": "extended Antoine equation",
    "wagner_3_6": "Wagner equation (exponents 3 and 6)",
    "wagner_2.5_5": "Wagner equation (exponents 2.5 and 5)",
    "kirchhoff": "Rankine-Kirchhoff equation",
}
MOST_OUTLIERS = 5
"""Outliers whose reasons the caption tells; `card --evidence` lists them all."""
ESTIMATE = (
    "ESTIMATED CURVE\nNo vapour pressure of this component was used:\n"
    "it follows from the boiling point by corresponding states."
)


def is_estimate(sheet: Sheet) -> bool:
    """Whether no measurement of the pressure stands behind the curve."""
    return sheet.curve.basis == "estimated"


def title(sheet: Sheet) -> str:
    """What the picture shows, in one line."""
    return f"Vapour pressure of {sheet.component.name} [{sheet.component.cas}]"


def subtitle(sheet: Sheet) -> str:
    """The grades."""
    boiling = sheet.evaluated.get("normal_boiling_point")
    told = [
        "no normal boiling point held" if boiling is None else f"normal boiling point grade {boiling.grade}",
        f"{'estimated ' if is_estimate(sheet) else ''}vapour-pressure curve grade {sheet.curve.grade}",
    ]
    return f"Vapour pressure of the liquid; {', '.join(told)}"


def marks(sheet: Sheet) -> dict[str, str]:
    """Labels of the points that have one, by the property that tells their temperature."""
    held = sheet.evaluated
    told = {name: quantity(name, value.value, value.u95, value.unit) for name, value in held.items()}
    labels = {}
    if "normal_boiling_point" in held:
        grade = held["normal_boiling_point"].grade
        labels["normal_boiling_point"] = f"normal boiling point\n{told['normal_boiling_point']}, grade {grade}"
    if {"critical_temperature", "critical_pressure"} <= held.keys():
        labels["critical_temperature"] = f"critical point {told['critical_temperature']}, {told['critical_pressure']}"
    if "melting_point" in held:
        labels["melting_point"] = f"melting point {told['melting_point']}"
    return labels


def caption(sheet: Sheet) -> list[str]:
    """Where everything comes from, what lies outside, the cautions: one paragraph each."""
    cautions = " ".join(sheet.component.cautions())
    return [
        " ".join([_curve(sheet), *_boiling_point(sheet), _reading(sheet)]),
        *_left_out(sheet),
        f"Cautions. {cautions}",
    ]


def _curve(sheet: Sheet) -> str:
    curve, bank = sheet.curve, sheet.component.curve_bank
    assert bank is not None
    low_K, high_K = (float(limit[0]) for limit in bank.limits_K())
    made = "estimated by corresponding states, boiling point from" if is_estimate(sheet) else "from"
    if ", " in curve.source and not is_estimate(sheet):
        made = "pooled from"
    return (
        f"Curve: {EQUATIONS[curve.equation]}, {made} {curve.source}; valid from {celsius(curve.T_min_K)} to "
        f"{celsius(curve.T_max_K)}, extrapolation allowed from {celsius(low_K)} to {celsius(high_K)}."
    )


def _boiling_point(sheet: Sheet) -> Iterator[str]:
    held = sheet.evaluated.get("normal_boiling_point")
    if held is not None:
        behind = f"{held.n_sources} independent source{'s' if held.n_sources > 1 else ''}"
        behind = behind if held.n_sources else "the structure alone"
        yield f"Normal boiling point: {held.rule}, from {behind}."
    if sheet.component.phase_behaviour == "decomposes":
        yield f"{sheet.component.name} decomposes before it boils at one atmosphere."


def _reading(sheet: Sheet) -> str:
    told = "± and band: expanded uncertainty, coverage 95 %."
    judged = any(series.kind == JUDGE for series in sheet.series)
    return f"{told} Judges are references that are never a source." if judged else told


def _left_out(sheet: Sheet) -> Iterator[str]:
    if sheet.hidden:
        ranges = (f"{held.label} ({_span(float(held.T_K.min()), float(held.T_K.max()))})" for held in sheet.hidden)
        yield f"Outside the picture: {'; '.join(ranges)}."
    seen = [
        f"{held.source} {_observed(held.property, held.value, held.unit)}({held.reason or 'no reason given'})"
        for held in sheet.component.observations()
        if held.status == "outlier" and held.property in ("vapour_pressure", "normal_boiling_point")
    ]
    if seen:
        rest = f"; {len(seen) - MOST_OUTLIERS} more: `cutpoint card {sheet.component.cas} --evidence`"
        yield f"Outliers: {'; '.join(seen[:MOST_OUTLIERS])}{rest if len(seen) > MOST_OUTLIERS else ''}."


def _observed(property: str, value: float | None, unit: str) -> str:
    return "" if value is None else f"{observed_quantity(property, value, unit)} "


def _span(low_K: float, high_K: float) -> str:
    return celsius(low_K) if low_K == high_K else f"{celsius(low_K)} to {celsius(high_K)}"


def beyond_the_axis(sheet: Sheet) -> str:
    """Which series leave the axis of deviations, and how far; empty if none does."""
    told = []
    for series in sheet.clipped():
        farthest = int(np.argmax(np.abs(series.deviation)))
        at = celsius(float(series.T_K[farthest]))
        told.append(f"{series.label} ({100.0 * series.deviation[farthest]:+.3g} % at {at})")
    return f"Beyond the axis: {'; '.join(told)}." if told else ""

"""What people are shown of two components: the answer to `pair`, and to `near --hard`."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence, Set
from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius

from .figures import percent, pressure, rounded
from .page import Block, Column, Grid, Heading, Items, Paragraph
from .render import GRADE, NONE_HELD, cautions, grades_legend, hazard_remark

if TYPE_CHECKING:
    from cutpoint.db import Azeotrope, Component, HardNeighbour, HardNeighbours, Pair

DECANTER = "The vapour of a heterogeneous azeotrope condenses to two liquid layers; the fractions are those of both."

HOW_TO_READ = (
    "Hardest first. As if ideal: the difference of boiling points of an ideal pair that needs as many plates. "
    "Percentages are of {} in the azeotrope."
)


def pair(judged: Pair, warnings: Sequence[str]) -> list[Block]:
    """The answer to `pair`: the verdict first, then its reasons, figures and azeotropes."""
    a, b = judged.labels
    shown, spread = rounded(judged.delta_boiling_point_K, judged.delta_u95_K)
    volatility = judged.relative_volatility
    columns = [Column("what", wraps=True), Column("figure", right=True)]
    rows = [
        [f"boiling point of {b} minus that of {a}", f"{shown} ± {spread} K"],
        [f"relative volatility, a trace of {a} in {b}", _ratio(volatility.a_lean)],
        ["relative volatility, equal amounts", _ratio(volatility.middle)],
        [f"relative volatility, a trace of {b} in {a}", _ratio(volatility.a_rich)],
        ["difference of boiling points of an ideal pair as hard to part", _kelvin(judged.equivalent_difference_K)],
        [
            f"theoretical plates at total reflux for {judged.purity_a:.4g} and {judged.purity_b:.4g} (mole fractions)",
            NONE_HELD if judged.minimum_plates is None else f"{judged.minimum_plates:.1f}",
        ],
    ]
    return [
        Paragraph(f"{a} and {b} at {pressure(judged.pressure_Pa)}: {judged.verdict}.", strong=True),
        Items(judged.reasons),
        Grid(columns, rows),
        *_azeotropes(judged),
        *cautions(warnings),
    ]


def _azeotropes(judged: Pair) -> list[Block]:
    """Every azeotrope at the pressure, composition as that of the first component; nothing where there is none."""
    if not judged.azeotropes:
        return []
    columns = [
        Column("kind"),
        Column("basis"),
        Column("boils at", right=True),
        Column("by mass", right=True),
        Column("by mole", right=True),
        Column("source", wraps=True),
    ]
    rows = [
        [
            one.kind,
            one.basis,
            celsius(one.temperature_K),
            percent(one.mass_fraction_a),
            percent(one.mole_fraction_a),
            one.source,
        ]
        for one in judged.azeotropes
    ]
    title = f"{'Azeotrope' if len(rows) == 1 else 'Azeotropes'}, with the share of {judged.labels[0]}"
    blocks: list[Block] = [Heading(title), Grid(columns, rows)]
    if any(one.kind == "heterogeneous" for one in judged.azeotropes):
        blocks.append(Paragraph(DECANTER))
    return blocks


def _ratio(volatility: float | None) -> str:
    return NONE_HELD if volatility is None else f"{volatility:.3g}"


def _kelvin(difference_K: float | None) -> str:
    return NONE_HELD if difference_K is None else f"{difference_K:.3g} K"


def hard(
    component: Component, found: HardNeighbours, shown: Sequence[HardNeighbour], hazards: Mapping[str, Set[str]]
) -> list[Block]:
    """The answer to `near --hard`: how many were looked at, those to be shown, hardest first, and how many more."""
    looked_at = (
        f"Of {found.examined} others that boil within {found.within_K:g} K of {component.name} [{component.cas}] at "
        f"{pressure(found.pressure_Pa)}, {len(found.neighbours)} cannot surely be parted from it by distillation"
    )
    columns = [
        Column("verdict", colours={"azeotrope": "red", "close-boiling": "yellow"}),
        Column("difference", right=True),
        Column("as if ideal", right=True, spare=True),
        Column("boils at", right=True),
        Column("CAS"),
        Column("name", wraps=True),
        GRADE,
        Column("because", wraps=True),
    ]
    rows = [
        [
            other.verdict,
            f"{other.delta_K:+.2f} K",
            _kelvin(other.equivalent_difference_K),
            celsius(other.boiling_point_K),
            other.cas,
            other.name,
            other.grade,
            other.reason if other.azeotrope is None else _told(other.azeotrope),
        ]
        for other in shown
    ]
    blocks: list[Block] = [Paragraph(f"{looked_at}{':' if rows else '.'}", strong=True)]
    if rows:
        blocks += [Grid(columns, rows), *_hidden(len(found.neighbours) - len(rows))]
        blocks.append(Paragraph(HOW_TO_READ.format(component.name), faint=True))
    blocks.append(Paragraph(_counted(found)))
    if rows:
        blocks.append(Paragraph(hazard_remark(len(rows), hazards)))
        blocks.append(Paragraph(grades_legend(), faint=True))
    return [*blocks, *cautions(component.cautions())]


def _told(azeotrope: Azeotrope) -> str:
    at = f"{celsius(azeotrope.temperature_K)}, {percent(azeotrope.mass_fraction_a)} by mass"
    return f"{azeotrope.basis}, {azeotrope.kind}: {at}"


def _hidden(hidden: int) -> list[Block]:
    return [Paragraph(f"and {hidden} more, less hard: --limit shows more of them, --json all.")] if hidden else []


def _counted(found: HardNeighbours) -> str:
    """How the verdicts fell, and what the prediction could not reach."""
    verdicts = Counter(other.verdict for other in found.neighbours)
    told = ", ".join(f"{verdict} {count}" for verdict, count in verdicts.items())
    parted = f"{found.parted} of the {found.examined} can be parted from it by distillation"
    unknown = (
        f"{found.not_predictable} cannot be predicted for want of published parameters or of a curve, and are not "
        "listed: of them only the boiling points are known."
        if found.not_predictable
        else "The mixture with each could be predicted, or was measured."
    )
    return f"{parted}{f'; {told}' if told else ''}. {unknown}"

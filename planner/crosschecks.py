"""How a component's values stand against the judges, reference libraries and rules of physics: a table for people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import PROPERTIES

from .figures import observed_quantity, reading_unit, significant
from .page import Block, Column, Grid, Heading, Paragraph

if TYPE_CHECKING:
    from cutpoint.db import Crosscheck

NONE_HELD = "–"
_ORDER = tuple(PROPERTIES)


def against_the_judges(crosschecks: Sequence[Crosscheck]) -> list[Block]:
    """One row for each property and judge, of several temperatures the worst; or a sentence that there is none."""
    title = Heading("Against the judges, which are never sources")
    if not crosschecks:
        return [title, Paragraph("No judge knows this component.")]
    columns = [
        Column("property", wraps=True),
        Column("temperature", right=True),
        Column("ours", right=True),
        Column("reference", right=True),
        Column("deviation", right=True),
        Column("verdict", wraps=True, colours={"agrees": "green", "differs": "red"}),
        Column("judge", wraps=True),
    ]
    groups: dict[tuple[str, str], list[Crosscheck]] = {}
    for check in sorted(crosschecks, key=lambda check: _ORDER.index(check.property)):
        groups.setdefault((check.property, check.reference), []).append(check)
    blocks: list[Block] = [title, Grid(columns, [_row(group) for group in groups.values()])]
    if len(groups) < len(crosschecks):
        blocks.append(Paragraph("Of several temperatures the worst is shown; `--json` tells them all.", faint=True))
    return blocks


def _row(group: Sequence[Crosscheck]) -> list[str]:
    worst = max(group, key=lambda check: abs(check.deviation) / check.tolerance)
    return [
        worst.property.replace("_", " "),
        NONE_HELD if worst.temperature_K is None else celsius(worst.temperature_K),
        observed_quantity(worst.property, worst.ours, worst.unit),
        observed_quantity(worst.property, worst.reference_value, worst.unit),
        _deviation(worst),
        _verdict(worst, group),
        worst.reference,
    ]


def _deviation(check: Crosscheck) -> str:
    """In percent where the property's grades are relative, else in its unit."""
    if PROPERTIES[check.property].relative:
        return f"{100.0 * check.deviation:+z.2f} %"
    name, factor = reading_unit(check.property, check.unit)
    sign = "-" if check.deviation < 0.0 else "+" if check.deviation > 0.0 else ""
    return f"{sign}{significant(abs(check.deviation) * factor, 2)} {'K' if name == '°C' else name}".rstrip()


def _verdict(worst: Crosscheck, group: Sequence[Crosscheck]) -> str:
    """What the judge says in sum, and for whom a third source has decided where it differs."""
    differing = sum(check.verdict == "differs" for check in group)
    told = worst.verdict
    if len(group) > 1:
        told = f"differs at {differing} of {len(group)}" if differing else f"agrees at all {len(group)}"
    return told if worst.stands_with is None else f"{told}; a third source stands with {worst.stands_with}"

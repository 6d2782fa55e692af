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


def against_the_judges(crosschecks: Sequence[Crosscheck]) -> list[Block]:
    """Every comparison with a judge, or a sentence that there is none."""
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
    return [title, Grid(columns, [_row(check) for check in crosschecks])]


def _row(check: Crosscheck) -> list[str]:
    return [
        check.property.replace("_", " "),
        NONE_HELD if check.temperature_K is None else celsius(check.temperature_K),
        observed_quantity(check.property, check.ours, check.unit),
        observed_quantity(check.property, check.reference_value, check.unit),
        _deviation(check),
        check.verdict
        if check.stands_with is None
        else f"{check.verdict}; a third source stands with {check.stands_with}",
        check.reference,
    ]


def _deviation(check: Crosscheck) -> str:
    """In percent where the property's grades are relative, else in its unit."""
    if PROPERTIES[check.property].relative:
        return f"{100.0 * check.deviation:+z.2f} %"
    name, factor = reading_unit(check.property, check.unit)
    size = significant(abs(check.deviation) * factor, 2)
    return f"{'-' if check.deviation < 0.0 else '+'}{size} {'K' if name == '°C' else name}".rstrip()

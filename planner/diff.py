"""The command `diff`: what changed between two stores, hazards on the dangerous side first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .face import emit, json_option
from .figures import plain_quantity, quantity, reading_unit, significant
from .page import Block, Column, Grid, Heading, Items, Paragraph, show

if TYPE_CHECKING:
    from cutpoint.db.changes import (
        ComponentDifferences,
        CurveDifferences,
        GradeChange,
        HazardChange,
        HazardDifferences,
        PropertyDifferences,
        StoreDifferences,
        ValueChange,
    )

NONE_HELD = "–"
SMALL = 0.1
"""Changes of a value up to this share of its old U95 are counted, not listed."""
HAZARD_REMARK = (
    "Before the new store is relied on, hold each of these against its source and the product's own safety data sheet."
)


@click.command()
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option(
    "--limit", type=click.IntRange(min=1), default=20, show_default=True, help="Most entries of a list to show."
)
@json_option
def diff(old: Path, new: Path, limit: int, as_json: bool) -> None:
    """Show what changed between two stores.

    OLD and NEW are store files. Hazard figures that moved to the dangerous side come first,
    and all of them; then every table, every property, and the largest changes in units of the
    old expanded uncertainty (U95). The exit status is 0 whether they differ or not.
    """
    from cutpoint.db.differences import differences

    found = differences(old, new, limit)
    if as_json:
        emit({"identical": found.identical} | asdict(found))
    else:
        show(page(found, limit))


def page(found: StoreDifferences, limit: int) -> list[Block]:
    """The answer to `diff`; lists that the query module gives whole are cut at `limit`."""
    if found.identical:
        same = Paragraph(f"The stores hold the same rows in every table: {found.old} and {found.new}.", strong=True)
        return [same, *_build(found)]
    return [
        *_hazards(found.hazards),
        *_tables(found),
        *_build(found),
        *_evaluations(found.evaluations),
        *_curves(found.curves),
        *_components(found.components),
        *_observations(found, limit),
        *_rejections(found, limit),
    ]


def _hazards(hazards: HazardDifferences) -> list[Block]:
    """Hazard changes by kind; figures that moved by less than a reader is shown are counted, not listed."""
    blocks: list[Block] = []
    if not hazards.counts["more dangerous"]:
        blocks.append(Paragraph("No hazard figure moved to the dangerous side.", strong=True))
    for kind, count in hazards.counts.items():
        given = [change for change in hazards.changes if change.change == kind]
        seen = [change for change in given if _hazard_figure(change, "old") != _hazard_figure(change, "new")]
        if count:
            blocks.append(Heading(f"Hazards, {kind}: {count:,}"))
        if seen:
            blocks.append(_hazard_grid(seen))
        if unseen := len(given) - len(seen):
            blocks.append(Paragraph(f"{unseen:,} moved by less than the digits shown to readers.", faint=True))
        blocks += _more(count - len(given))
        if seen and kind == next(iter(hazards.counts)):
            blocks.append(Paragraph(HAZARD_REMARK))
    return blocks


def _hazard_grid(changes: Sequence[HazardChange]) -> Grid:
    columns = [
        Column("component", wraps=True),
        Column("hazard", wraps=True),
        Column("old", wraps=True),
        Column("new", wraps=True),
    ]
    rows = [
        [_component(change), _hazard_name(change), _hazard_figure(change, "old"), _hazard_figure(change, "new")]
        for change in changes
    ]
    return Grid(columns, rows)


def _component(change: HazardChange | ValueChange) -> str:
    return f"{change.name} [{change.cas}]"


def _hazard_name(change: HazardChange) -> str:
    words = change.property.replace("_", " ")
    return words if change.limit_kind in ("value", "class") else f"{words} ({change.limit_kind})"


def _hazard_figure(change: HazardChange, which: str) -> str:
    """What one of the stores says: the value and, where it is another, the cautious end; class and remark."""
    value, end, unit, text = (getattr(change, f"{which}_{part}") for part in ("value", "conservative", "unit", "text"))
    told = [plain_quantity(change.property, figure, unit) for figure in (value, end) if figure is not None]
    if len(told) == 2:
        told = told[:1] if told[0] == told[1] else [f"{told[0]} (cautious end {told[1]})"]
    return ", ".join([*told, *([text] if text else [])]) or NONE_HELD


def _tables(found: StoreDifferences) -> list[Block]:
    columns = [
        Column("table"),
        Column("added", right=True),
        Column("removed", right=True),
        Column("changed", right=True),
        Column("in the columns", wraps=True, spare=True),
    ]
    rows = [
        [
            table.table,
            f"{table.added:,}",
            f"{table.removed:,}",
            f"{table.changed:,}",
            ", ".join(f"{column} {count:,}" for column, count in table.columns.items()),
        ]
        for table in found.tables
        if table.differs
    ]
    same = [table.table for table in found.tables if not table.differs]
    blocks: list[Block] = [Heading(f"Rows, from {found.old} to {found.new}"), Grid(columns, rows)]
    return [*blocks, Paragraph(f"Without a difference: {', '.join(same)}.", faint=True)] if same else blocks


def _build(found: StoreDifferences) -> list[Block]:
    if not found.build:
        return []
    columns = [Column("item", wraps=True), Column("old", wraps=True), Column("new", wraps=True)]
    rows = [[item.item, _short(item.old), _short(item.new)] for item in found.build]
    return [Heading("Built with"), Grid(columns, rows)]


def _short(value: str | None) -> str:
    """A value of the build table; of a hash, the first twelve digits."""
    if not value:
        return NONE_HELD
    return value[:12] if len(value) >= 40 and value.isalnum() else value


def _evaluations(evaluations: Sequence[PropertyDifferences]) -> list[Block]:
    if not evaluations:
        return []
    columns = [
        Column("property", wraps=True),
        Column("added", right=True),
        Column("removed", right=True),
        Column("changed", right=True),
        Column("≤ 0.1", right=True, spare=True),
        Column("≤ 0.5", right=True, spare=True),
        Column("≤ 1", right=True, spare=True),
        Column("> 1 U95", right=True),
    ]
    rows = []
    for held in evaluations:
        sizes = (held.sizes.up_to_0_1_u95, held.sizes.up_to_0_5_u95, held.sizes.up_to_1_u95, held.sizes.above_1_u95)
        figures = (held.added, held.removed, held.changed, *sizes)
        rows.append([_words(held.property), *(f"{figure:,}" for figure in figures)])
    remark = (
        "Changed rows are counted by the change of the value in old expanded uncertainties (U95); the rest changed in "
        "uncertainty, grade, sources or rule alone."
    )
    blocks: list[Block] = [Heading("Evaluated values"), Grid(columns, rows), Paragraph(remark, faint=True)]
    return blocks + [block for held in evaluations for block in _property(held)]


def _words(property: str) -> str:
    return property.replace("_", " ")


def _property(held: PropertyDifferences) -> list[Block]:
    """Grades, lost values and largest changes of one property; nothing if none is to be shown."""
    columns = [
        Column("component", wraps=True),
        Column("old", right=True, wraps=True),
        Column("new", right=True, wraps=True),
        Column("change", right=True, wraps=True, spare=True),
        Column("U95", right=True),
        Column("grade"),
    ]
    large = [change for change in held.largest if change.change_per_u95 is None or change.change_per_u95 > SMALL]
    rows = [_value_row(held.property, change) for change in (*held.lost, *large)]
    moved = held.sizes.up_to_0_5_u95 + held.sizes.up_to_1_u95 + held.sizes.above_1_u95
    blocks: list[Block] = [Paragraph(f"Grades: {_grades(held.grades)}.")] if held.grades else []
    blocks += [Grid(columns, rows)] if rows else []
    blocks += _more(held.removed + moved - len(rows))
    return [Heading(f"{_words(held.property).capitalize()}, largest changes first"), *blocks] if blocks else []


def _value_row(property: str, change: ValueChange) -> list[str]:
    old = quantity(property, change.old_value, change.old_u95, change.unit)
    if change.new_value is None or change.new_u95 is None or change.change is None:
        return [_component(change), old, NONE_HELD, "removed", "", f"{change.old_grade} → {NONE_HELD}"]
    name, factor = reading_unit(property, change.unit)
    moved = f"{'-' if change.change < 0.0 else '+'}{significant(abs(change.change) * factor, 3)}"
    grade = change.old_grade if change.old_grade == change.new_grade else f"{change.old_grade} → {change.new_grade}"
    return [
        _component(change),
        old,
        quantity(property, change.new_value, change.new_u95, change.unit),
        f"{moved} {'K' if name == '°C' else name}".rstrip(),
        "U95 was 0" if change.change_per_u95 is None else f"{change.change_per_u95:.2g}×",
        grade,
    ]


def _grades(grades: Sequence[GradeChange]) -> str:
    return ", ".join(f"{change.old} → {change.new} {change.components:,}" for change in grades)


def _curves(curves: CurveDifferences) -> list[Block]:
    if not (curves.added or curves.removed or curves.changed):
        return []
    told = (
        f"{curves.added:,} added, {curves.removed:,} removed, {curves.changed:,} changed: "
        f"{curves.equation_changed:,} in the equation's form, {curves.source_changed:,} in the source."
    )
    grades = f" Grades: {_grades(curves.grades)}." if curves.grades else ""
    blocks: list[Block] = [Heading("Vapour-pressure curves"), Paragraph(told + grades)]
    columns = [Column("component", wraps=True), Column("old", wraps=True), Column("new", wraps=True)]
    rows = [
        [
            f"{change.name} [{change.cas}]",
            _curve(change.old_equation, change.old_source, change.old_grade),
            _curve(change.new_equation, change.new_source, change.new_grade),
        ]
        for change in curves.changes
    ]
    blocks += [Grid(columns, rows)] if rows else []
    return [*blocks, *_more(curves.removed + curves.restated + curves.added - len(rows))]


def _curve(equation: str | None, source: str | None, grade: str | None) -> str:
    return NONE_HELD if equation is None else f"{equation}, {source}, grade {grade}"


def _components(components: ComponentDifferences) -> list[Block]:
    total = components.appeared + components.disappeared + components.renamed
    if not total:
        return []
    told = (
        f"Components: {components.appeared:,} appeared, {components.disappeared:,} disappeared, "
        f"{components.renamed:,} renamed"
    )
    columns = [Column("CAS"), Column("old name", wraps=True), Column("new name", wraps=True)]
    rows = [[change.cas, change.old_name or NONE_HELD, change.new_name or NONE_HELD] for change in components.changes]
    return [Heading(told), Grid(columns, rows), *_more(total - len(rows))]


def _observations(found: StoreDifferences, limit: int) -> list[Block]:
    if not found.statuses:
        return []
    columns = [
        Column("source", wraps=True),
        Column("property", wraps=True),
        Column("now outlier", right=True),
        Column("now accepted", right=True),
    ]
    rows = [
        [status.source, _words(status.property), f"{status.became_outlier:,}", f"{status.became_accepted:,}"]
        for status in found.statuses
    ]
    return [Heading("Observations under another status"), Grid(columns, rows[:limit]), *_more(len(rows) - limit)]


def _rejections(found: StoreDifferences, limit: int) -> list[Block]:
    if not found.rejections:
        return []
    texts = [
        f"{change.source}: {change.old:,} → {change.new:,} refused because {change.reason}"
        for change in found.rejections
    ]
    return [Heading("Rejected rows and values"), Items(texts[:limit]), *_more(len(texts) - limit)]


def _more(hidden: int) -> list[Block]:
    """Say how many entries of a list are not shown."""
    return [Paragraph(f"and {hidden:,} more: --limit shows more of them.", faint=True)] if hidden > 0 else []

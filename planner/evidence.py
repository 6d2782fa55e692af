"""The command `evidence`: the quality report of the whole store, goals and what is reached first."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpoint.schema.properties import PROPERTIES

from . import evidence_tables, source_tables
from .face import emit, json_option, store_option
from .mixing_tables import wrong_pairs
from .page import Block, Grid, Heading, Items, Paragraph, printable, show
from .render import grades_legend

if TYPE_CHECKING:
    from cutpoint.db.quality import Evidence

NOT_MEASURED = "Not measured in this store."
BOILING_POINT = "normal_boiling_point"
WORST_SHOWN, PAIRS_SHOWN, REASONS_SHOWN = 5, 5, 8
"""Disputes of boiling points, pairs of sources and reasons for a refusal that a terminal is shown."""
U95 = "U95 is the expanded uncertainty with coverage 95 % (GUM, JCGM 100:2008)."


@click.command()
@click.option("--html", type=click.Path(path_type=Path), metavar="FILE", help="Also write it all as one HTML page.")
@store_option
@json_option
def evidence(html: Path | None, store: Path | None, as_json: bool) -> None:
    """Report how good the whole store is.

    The figures that are asked of it stand first, each beside the one reached. Then what is
    covered, whether the stated uncertainties hold, how far the judges are off that were never
    a source, what the sources dispute, and what was refused. The page of --html holds more:
    every table, with pictures, in one file that needs nothing else.
    """
    from cutpoint import db
    from cutpoint.db.evidence import evidence as collect

    with db.open(store) as components:
        found = collect(components)
    if html is not None:
        _write(found, html)
    if as_json:
        emit(asdict(found))
    else:
        show(page(found))
        if html is not None:
            click.echo(printable(f"The page is written to {html}."))  # as one line, so that the path can be copied


def _write(found: Evidence, html: Path) -> None:
    # Drawing takes matplotlib, which takes longer to import than the report to collect.
    from .evidence_page import document
    from .files import write_whole

    write_whole(html, document(found).encode(), "page")


def page(found: Evidence) -> list[Block]:
    """The answer to `evidence` on a terminal; lists are cut, `--html` and `--json` give them whole."""
    return [
        *_targets(found),
        *_part("Components with a value, by grade", evidence_tables.coverage(found.coverage)),
        Paragraph(f"{grades_legend()} Other properties have limits of their own. {U95}", faint=True),
        *_part("Components with a vapour-pressure curve, by grade", evidence_tables.curves(found.curves)),
        *_part(
            "Calibration: held-out values inside the stated 95 % interval, "
            "joined with that of their own source (!: not 92 to 98 %)",
            evidence_tables.calibrated(found.calibration),
        ),
        *_part("Judges, which are never sources: size of the deviation", evidence_tables.judgements(found.judgements)),
        *_part("Azeotropes of which existence or kind is predicted wrongly", wrong_pairs(found.measured_pairs)),
        *_sources(found),
        *_disputes(found),
        *_part("Observations set aside as outliers", source_tables.outliers(found.outliers, by_property=False)),
        *_part("Rows and values refused", source_tables.rejected(found.rejected[:REASONS_SHOWN], by_source=False)),
        *_more(len(found.rejected) - REASONS_SHOWN, "reasons"),
        Heading("Store"),
        Paragraph(f"{found.path}, digest {found.digest or 'not stated'}."),
        Paragraph("--html writes all of it as a page with pictures, --json as one object.", faint=True),
    ]


def _targets(found: Evidence) -> list[Block]:
    remarks = [f"{target.what}: {target.remark}." for target in found.targets if target.remark]
    blocks: list[Block] = [
        Heading("Goals, and what is reached"),
        evidence_tables.targets(found.targets),
        Paragraph(evidence_tables.summary(found.targets), strong=True),
    ]
    return [*blocks, Items(remarks)] if remarks else blocks


def _part(title: str, grid: Grid) -> list[Block]:
    return [Heading(title), grid if grid.rows else Paragraph(NOT_MEASURED)]


def _more(hidden: int, what: str) -> list[Block]:
    return [Paragraph(f"and {hidden:,} more {what}.", faint=True)] if hidden > 0 else []


def _sources(found: Evidence) -> list[Block]:
    models = [model for model in found.source_models if model.property == BOILING_POINT]
    pairs = found.disagreements
    return [
        *_part(
            "Sources of boiling points: scatter, and share of blunders",
            evidence_tables.source_models(models, with_numbers=False),
        ),
        *_part("Boiling points on which sources differ, by what came of it", source_tables.spreads(found.spreads)),
        *_part("Sources that differ most often on boiling points", source_tables.disagreements(pairs, PAIRS_SHOWN)),
        *_more(len(pairs) - PAIRS_SHOWN, "pairs"),
    ]


def _disputes(found: Evidence) -> list[Block]:
    boiling = [dispute for dispute in found.disputes if dispute.property == BOILING_POINT]
    hazards = [dispute for dispute in found.disputes if PROPERTIES[dispute.property].hazard]
    worst = {dispute.property: dispute for dispute in reversed(hazards)}  # the first of each property is the worst
    blocks = _part("Worst disputes: boiling points", source_tables.disputes(boiling[:WORST_SHOWN], with_property=False))
    blocks += _more(len(boiling) - WORST_SHOWN, "are told by --html and --json")
    if not hazards:
        return blocks
    return [
        *blocks,
        Heading("Worst dispute of each safety figure"),
        source_tables.disputes(list(reversed(worst.values())), with_property=True),
        Paragraph("In such a dispute go by the cautious end and the product's own safety data sheet."),
    ]

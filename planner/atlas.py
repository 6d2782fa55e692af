"""The command `atlas`: the verdicts of all pairs of a list, in a file that can be queried."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA

from . import units
from .face import emit, interruptible, json_option, store_option
from .page import Block, Column, Grid, Heading, Items, Paragraph, printable, show

# The making needs DuckDB, which `--help` should not wait for.
if TYPE_CHECKING:
    from .atlas_list import Skipped
    from .atlas_making import AtlasSummary

MOST_SKIPPED = 20
"""Skipped lines that the page lists; the file and `--json` hold them all."""


@click.command()
@click.option(
    "--components",
    "components",
    type=click.Path(path_type=Path, allow_dash=True),
    required=True,
    metavar="LIST",
    help="Text file with one component per line, or the first column of a CSV file; - for standard input.",
)
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Where to put the atlas, a DuckDB file.  [default: LIST with the ending .atlas.duckdb]",
)
@click.option("--at", metavar="PRESSURE", help='Pressure, such as "84 kPa".  [default: 1 atm]')
@click.option("--scheduler", metavar="ADDRESS", help="Use the Dask cluster of this scheduler, such as tcp://host:8786.")
@click.option("--processes", type=click.IntRange(min=1), help="Processes to use.  [default: one for each core]")
@click.option("--anew", is_flag=True, help="Throw away what an earlier run has put into the file.")
@store_option
@json_option
def atlas(
    components: Path,
    to: Path | None,
    at: str | None,
    scheduler: str | None,
    processes: int | None,
    anew: bool,
    store: Path | None,
    as_json: bool,
) -> None:
    """Judge all pairs of a list, into a table that can be queried.

    LIST holds names, CAS numbers, formulas, InChIKeys or SMILES; # opens a comment. A line that
    is no component of the store is told and left out. A run that was ended goes on where it was
    when the same command is given again.
    """
    from .atlas_making import make_atlas
    from .progress import telling

    if scheduler is not None and processes is not None:
        raise WrongUsage("A cluster and processes of this machine exclude each other: give --scheduler or --processes.")
    pressure_Pa = ATMOSPHERE_PA if at is None else units.pressure_Pa(at)
    path = to or _beside(components)
    try:
        with interruptible(), telling() as progress:
            summary = make_atlas(
                components, path, pressure_Pa, store=store, scheduler=scheduler, processes=processes, anew=anew,
                progress=progress,
            )  # fmt: skip
    except KeyboardInterrupt:
        told = f"Interrupted. What was judged is kept in {path}; the same command without --anew goes on from there."
        click.echo(printable(told), err=True)
        raise click.Abort from None
    if as_json:
        emit(asdict(summary))
    else:
        show(page(summary))
    if summary.problems:
        click.get_current_context().exit(1)


def _beside(components: Path) -> Path:
    if str(components) == "-":
        raise WrongUsage("A list from standard input has no place of its own: say with --to where to put the atlas.")
    return components.with_name(f"{components.stem}.atlas.duckdb")


def page(summary: AtlasSummary) -> list[Block]:
    """The answer to `atlas`: where it is, the pairs by verdict, what was left out."""
    rows = [
        [verdict, f"{count:,}", f"{100.0 * count / summary.pairs:.1f} %"] for verdict, count in summary.verdicts.items()
    ]
    head = f"The {summary.pairs:,} pairs of {summary.components:,} components are in {summary.path}."
    earlier = f" {summary.resumed_pairs:,} of the pairs were judged by an earlier run." if summary.resumed_pairs else ""
    effort = f"It took {summary.seconds:.1f} s and at most {summary.peak_rss_MiB:.0f} MiB of memory.{earlier}"
    return [
        Paragraph(head, strong=True),
        Grid([Column("verdict"), Column("pairs", right=True), Column("share", right=True)], rows),
        *_left_out(summary.skipped),
        *_failed(summary.problems),
        Paragraph(effort, faint=True),
    ]


def _left_out(skipped: Sequence[Skipped]) -> list[Block]:
    if not skipped:
        return []
    texts = [f"line {line.line_number}, {line.text!r}: {line.reason}" for line in skipped[:MOST_SKIPPED]]
    more = f"and {len(skipped) - MOST_SKIPPED:,} more, in the table `skipped` and under --json."
    counted = "1 line of the list was left out" if len(skipped) == 1 else f"{len(skipped):,} lines were left out"
    return [Heading(counted), Items([*texts, more] if len(skipped) > MOST_SKIPPED else texts)]


def _failed(problems: Sequence[str]) -> list[Block]:
    if not problems:
        return []
    return [Heading("Blocks that could not be judged; the same command tries them again"), Items(problems)]

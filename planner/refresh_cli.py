"""The command `refresh`: what the live services say today becomes a frozen snapshot."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from cutpoint.schema.errors import SourceMissing, StoreMissing

from .arguments import open_store
from .face import INTERRUPTED, emit, json_option, store_option
from .page import Block, Column, Grid, Heading, Paragraph, show

if TYPE_CHECKING:
    from cutpoint.pipeline.refresh.refreshing import RefreshReport

COMPONENTS = """SELECT cas, kind = 'pure' AND (inchikey IS NULL OR source = 'pubchem_identities') FROM component
ORDER BY cas"""
"""A structure that an earlier snapshot brought from PubChem is asked for again: the next snapshot is to hold it too."""


@click.command()
@click.option(
    "--snapshot", type=click.Path(path_type=Path), metavar="DIR", envvar="CUTPOINT_SNAPSHOT",
    help="Where to put the snapshot.  [default: the user's data folder; CUTPOINT_SNAPSHOT]",
)  # fmt: skip
@click.option(
    "--contact", envvar="CUTPOINT_CONTACT", metavar="TEXT", default="",
    help="E-mail address or web page that the services are told.  [CUTPOINT_CONTACT]",
)  # fmt: skip
@click.option(
    "--wikidata", envvar="CUTPOINT_WIKIDATA", metavar="URL",
    help="Query service to ask.  [default: Wikidata's; CUTPOINT_WIKIDATA]",
)  # fmt: skip
@click.option(
    "--pubchem", envvar="CUTPOINT_PUBCHEM", metavar="URL",
    help="PUG REST service to ask.  [default: PubChem's; CUTPOINT_PUBCHEM]",
)  # fmt: skip
@store_option
@json_option
def refresh(
    snapshot: Path | None,
    contact: str,
    wikidata: str | None,
    pubchem: str | None,
    store: Path | None,
    as_json: bool,
) -> None:
    """Fetch what Wikidata and PubChem say into a frozen snapshot.

    The components of the store, if there is one, are looked up by CAS number; substances that
    it lacks come from Wikidata's listing. The old snapshot stays until the new one is whole. A
    run that is stopped goes on where it stopped when the same command is given again.
    """
    from .progress import telling

    refreshing = _refreshing()
    components, without_structure = _components(store)
    addresses = {"wikidata": wikidata, "pubchem": pubchem}
    try:
        with telling() as progress:
            report = refreshing.refresh(
                snapshot,
                contact=contact,
                components=components,
                without_structure=without_structure,
                progress=progress,
                **{service: address for service, address in addresses.items() if address},
            )
    except KeyboardInterrupt:
        click.echo(
            "Stopped. What was fetched is kept: give the same command again, and it goes on from here.", err=True
        )
        click.get_current_context().exit(INTERRUPTED)
    if as_json:
        emit(asdict(report))
    else:
        show(page(report))


def _components(path: Path | None) -> tuple[list[str], list[str]]:
    """CAS numbers of the store's components, and of those pure ones that lack a structure of their own.

    None if no store was made yet; raises StoreMissing for one that is named with `--store`.
    """
    try:
        with open_store(path) as store:
            rows = store.rows(COMPONENTS)
    except StoreMissing:
        if click.get_current_context().get_parameter_source("store") is ParameterSource.COMMANDLINE:
            raise
        click.echo("There is no store to take components from: only Wikidata's own listing is fetched.", err=True)
        return [], []
    return [cas for cas, _ in rows], [cas for cas, lacks in rows if lacks]


def _refreshing() -> Any:
    """The module that fetches; it needs libraries that asking the store does not."""
    try:
        from cutpoint.pipeline.refresh import refreshing
    except ModuleNotFoundError as missing:
        raise SourceMissing(
            f"A refresh needs {missing.name}, which is not installed. Install the project with its extra `pipeline`."
        ) from missing
    return refreshing


def page(report: RefreshReport) -> list[Block]:
    """The answer to `refresh`: what is in the snapshot and under which licence, and what is not and why."""
    columns = [Column("table"), Column("rows", right=True), Column("licence", wraps=True)]
    rows = [[name, f"{count:,}", report.licences[name]] for name, count in report.rows.items()]
    reasons = [[reason, f"{count:,}"] for reason, count in report.rejected_by_reason.items()]
    state = "is written" if report.changed else "holds what it held before"
    blocks: list[Block] = [Heading("Snapshot"), Grid(columns, rows)]
    if reasons:
        reason_columns = [Column("reason", wraps=True), Column("items and values", right=True)]
        blocks += [Heading("Rejected, by reason"), Grid(reason_columns, reasons)]
    return [
        *blocks,
        Heading("Result"),
        Paragraph(f"The snapshot {report.folder} {state}.", strong=True),
        Paragraph(f"Digest {report.digest}"),
        Paragraph(_effort(report)),
        *_gaps(report),
        Paragraph(
            f"Next: cutpoint rebuild --snapshot {report.folder} --to new.duckdb; then cutpoint diff OLD new.duckdb "
            "tells what it changes."
        ),
    ]


def _effort(report: RefreshReport) -> str:
    begun = " It went on with a run that had stopped." if report.resumed else ""
    fetched, unchanged = report.answers["fetched"], report.answers["unchanged"]
    return f"{fetched:,} answers were fetched and {unchanged:,} had not changed, in {report.seconds:.1f} s.{begun}"


def _gaps(report: RefreshReport) -> list[Block]:
    """What could not be had."""
    told: list[Block] = []
    if report.unknown_to_pubchem:
        told.append(Paragraph(f"Not known to PubChem: {report.unknown_to_pubchem:,} CAS numbers without a structure."))
    if stale := report.answers["stale"]:
        told.append(
            Paragraph(
                f"A service failed {stale:,} times, and an older answer stands in (at most 30 days old). "
                "Run it again later."
            )
        )
    return told

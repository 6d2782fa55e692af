"""The command line: a thin face on the query module and on the rebuild.

Every command reads its arguments, asks one question, and shows the answer as a
page for people or, with `--json`, as one object in SI units.
"""

from __future__ import annotations

import logging
import os
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cutpoint.schema.errors import SourceMissing, WrongUsage
from cutpoint.schema.names import ANY_LANGUAGE, LANGUAGES

from . import render
from .arguments import asks, at_pressure, component_argument, open_store, plot_option, pressure_asked_Pa, text
from .atlas import atlas
from .diff import diff
from .evidence import evidence
from .face import Face, emit, json_option
from .log_cli import log
from .page import printable, show
from .pairs_cli import near, pair
from .plan_cli import plan
from .refresh_cli import refresh

# The query module, the pipeline and the drawing are imported inside the commands:
# `--help`, `--version` and each press of TAB would otherwise wait for DuckDB, and
# a look-up for everything that a rebuild or a picture needs.
if TYPE_CHECKING:
    from cutpoint.db import Component

SHELLS = ("bash", "zsh", "fish")
CODES = tuple(code for code in LANGUAGES if code != ANY_LANGUAGE)

snapshot_option = click.option(
    "--snapshot",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Also read this snapshot of the live sources, made by `cutpoint refresh`.",
)


@click.group("cutpoint", cls=Face, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="cutpoint", message="cutpoint %(version)s")
def cli() -> None:
    """Answer what boils where, how sure that is, and what can be parted from what.

    COMPONENT is a CAS number, a name, a formula, an InChIKey or a SMILES.
    Quantities carry a unit: "84 kPa", "640 mmHg", 5K, 1600m, 95%.

    Exit status: 0 answered, 1 the data hold no answer, 2 wrong usage.
    """


cli.add_command(atlas)
cli.add_command(diff)
cli.add_command(evidence)
cli.add_command(log)
cli.add_command(near)
cli.add_command(pair)
cli.add_command(plan)
cli.add_command(refresh)


@cli.command()
@click.argument("query", callback=text)
@click.option("--limit", type=click.IntRange(min=1), default=10, show_default=True, help="Most matches to show.")
@click.option("--lang", metavar="CODE", help=f"Read it in one language: {', '.join(CODES)}.")
@asks
def find(query: str, limit: int, lang: str | None, store: Path | None, as_json: bool) -> None:
    """Rank what a name, number, formula or structure may mean.

    QUERY is a name, a CAS number, a formula, an InChIKey or a SMILES. A mistyped name is
    answered with the nearest spellings and their scores. Names count in every
    language that the store holds, unless one is asked for.
    """
    with open_store(store) as components:
        found = components.find(query, limit, lang)
        if as_json:
            emit(asdict(found))
        else:
            show(render.matches(found, components.hazard_properties(match.cas for match in found)))


@cli.command()
@component_argument
@click.option(
    "--evidence", is_flag=True, help="List every observation behind the values, outliers too, and what judges say."
)
@plot_option("Draw the vapour-pressure curve with its band, its data and the judges.")
@asks
def card(component: str, evidence: bool, plot: Path | None, store: Path | None, as_json: bool) -> None:
    """Show one component: values, curve, hazards, cautions."""
    with open_store(store) as components:
        held = components.component(component)
        if plot is not None:
            _plot(held, plot)
        if as_json:
            emit(_card(held, evidence) | ({} if plot is None else {"plot": str(plot)}))
        else:
            show(render.card(held, evidence=evidence))
            if plot is not None:
                click.echo(printable(f"The vapour-pressure curve is drawn in {plot}."))  # one line, to be copied


def _plot(held: Component, path: Path) -> None:
    # matplotlib tells of its font cache, which is no business of the reader of a card.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from .plot import write_plot

    write_plot(held, path)


def _card(held: Component, evidence: bool) -> dict[str, Any]:
    """The object of `card --json`."""
    answer = asdict(held) | {
        "evaluations": [asdict(evaluation) for evaluation in held.evaluations()],
        "curve": None if held.curve is None else asdict(held.curve),
        "cuts": [asdict(cut) for cut in held.cuts()],
        "hazards": [asdict(hazard) for hazard in held.hazards()],
        "cautions": list(held.cautions()),
    }
    if evidence:
        answer["observations"] = [asdict(observation) for observation in held.observations()]
        answer["crosschecks"] = [asdict(check) for check in held.crosschecks()]
    return answer


@cli.command()
@component_argument
@at_pressure
@asks
def boil(component: str, at: str | None, altitude: str | None, store: Path | None, as_json: bool) -> None:
    """Say where a component boils at a pressure or an altitude."""
    pressure_Pa = pressure_asked_Pa(at, altitude)
    with open_store(store) as components:
        held = components.component(component)
        boiling = held.boiling_point(pressure_Pa)
        if as_json:
            emit(
                {
                    "cas": held.cas,
                    "name": held.name,
                    "pressure_Pa": pressure_Pa,
                    "temperature_K": boiling.value,
                    "u95_K": boiling.u95,
                    "grade": boiling.grade,
                    "extrapolated": boiling.extrapolated,
                    "sources": boiling.sources,
                    "rule": boiling.rule,
                    "remark": boiling.remark,
                    "note": held.note,
                    "cautions": list(held.cautions()),
                }
            )
        else:
            show(render.boil(held, boiling, pressure_Pa))


@cli.command()
@click.option(
    "--to",
    type=click.Path(path_type=Path),
    envvar="CUTPOINT_DB",
    help="Where to put the store.  [default: the user's data folder; CUTPOINT_DB]",
)
@click.option("--parquet", type=click.Path(path_type=Path), metavar="DIR", help="Also write every table as Parquet.")
@click.option("--without", multiple=True, metavar="SOURCE", help="Leave an open table out; may be repeated.")
@snapshot_option
@json_option
def rebuild(
    to: Path | None, parquet: Path | None, without: tuple[str, ...], snapshot: Path | None, as_json: bool
) -> None:
    """Build the component store from the open tables.

    With a snapshot, what it holds is read beside them. The old store stays in place until the new one is whole.
    """
    from cutpoint import db

    from .progress import telling

    pipeline = _pipeline()
    with telling() as progress:
        report = pipeline.build(
            to or db.default_path(),
            without=without,
            snapshot=snapshot,
            parquet=parquet,
            progress=progress,
            predict=_predict(),
        )
    if as_json:
        emit(asdict(report))
    else:
        show(render.rebuild(report))


@cli.command()
@snapshot_option
@asks
def verify(store: Path | None, snapshot: Path | None, as_json: bool) -> None:
    """Rebuild aside and compare with the store, table by table.

    A store that was built with a snapshot needs the same snapshot. The exit status is 1 if any table differs.
    """
    from .progress import telling

    with open_store(store) as components:  # a missing or damaged store is told here, before the long work
        path = components.path
    with telling() as progress:
        report = _pipeline().verify(path, snapshot=snapshot, progress=progress, predict=_predict())
    if as_json:
        emit(asdict(report))
    else:
        show(render.verify(report))
    if report.differences:
        click.get_current_context().exit(1)


def _predict() -> Any:
    """What says which azeotropes are predicted: the read side computes them, the write side only keeps them."""
    from cutpoint.db.predicted_rows import predicted_azeotropes

    return predicted_azeotropes


def _pipeline() -> Any:
    """The module that builds; it needs libraries that asking the store does not."""
    try:
        from cutpoint.pipeline import build
    except ModuleNotFoundError as missing:
        raise SourceMissing(
            f"A rebuild needs {missing.name}, which is not installed. Install the project with its extra `pipeline`."
        ) from missing
    return build


@cli.command()
@click.argument("shell", type=click.Choice(SHELLS), required=False)
def completion(shell: str | None) -> None:
    """Print the completion script of a shell.

    Without SHELL it is for the one in use.

    \b
    bash:  eval "$(cutpoint completion bash)"        in ~/.bashrc
    zsh:   eval "$(cutpoint completion zsh)"         in ~/.zshrc
    fish:  cutpoint completion fish | source         in ~/.config/fish/config.fish
    """
    from click.shell_completion import get_completion_class

    shell = shell or Path(os.environ.get("SHELL", "")).name
    completer = get_completion_class(shell) if shell in SHELLS else None
    if completer is None:
        raise WrongUsage(f"The shell in use is not known: name one of {', '.join(SHELLS)}.")
    click.echo(completer(cli, {}, "cutpoint", "_CUTPOINT_COMPLETE").source())


def main() -> None:
    """Entry point of the `cutpoint` script."""
    cli()

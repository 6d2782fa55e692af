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
from cutpoint.schema.properties import ATMOSPHERE_PA

from . import render, units
from .atlas import atlas
from .diff import diff
from .evidence import evidence
from .face import Command, Face, emit, json_option, store_option
from .page import printable, show

# The query module, the pipeline and the drawing are imported inside the commands:
# `--help`, `--version` and each press of TAB would otherwise wait for DuckDB, and
# a look-up for everything that a rebuild or a picture needs.
if TYPE_CHECKING:
    from cutpoint.db import Component, Store

SHELLS = ("bash", "zsh", "fish")


def _text(context: click.Context, parameter: click.Parameter, value: str) -> str:
    """Refuse an argument that is empty or no UTF-8: neither can name anything."""
    if not value.strip():
        raise click.BadParameter("it is empty.", context, parameter)
    if any("\ud800" <= letter <= "\udfff" for letter in value):
        raise click.BadParameter("it is not valid UTF-8.", context, parameter)
    return value


def _svg(context: click.Context, parameter: click.Parameter, path: Path | None) -> Path | None:
    """Refuse a file that is not to be an SVG, before anything is asked."""
    if path is not None and path.suffix.lower() != ".svg":
        raise WrongUsage(f"The picture is drawn as SVG: name a file that ends in .svg, not {path.name!r}.")
    return path


def _asks(command: Command) -> Command:
    """Options of every command that asks the store."""
    return store_option(json_option(command))


def _at(command: Command) -> Command:
    """Options of every command that asks at a pressure."""
    at = click.option("--at", metavar="PRESSURE", help='Pressure, such as "84 kPa".  [default: 1 atm]')
    altitude = click.option("--altitude", metavar="ALTITUDE", help="Altitude instead, such as 1600m (ISO 2533:1975).")
    return at(altitude(command))


def _component(command: Command) -> Command:
    return click.argument("component", callback=_text)(command)


def _open(path: Path | None) -> Store:
    from cutpoint import db

    return db.open(path)


def _pressure_Pa(at: str | None, altitude: str | None) -> float:
    """The pressure asked for: given, or that of the standard atmosphere at an altitude, or 1 atm."""
    if at is not None and altitude is not None:
        raise WrongUsage("A pressure and an altitude exclude each other: give --at or --altitude.")
    if altitude is not None:
        return units.standard_atmosphere_pressure_Pa(units.altitude_m(altitude))
    return ATMOSPHERE_PA if at is None else units.pressure_Pa(at)


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


@cli.command()
@click.argument("query", callback=_text)
@click.option("--limit", type=click.IntRange(min=1), default=10, show_default=True, help="Most matches to show.")
@_asks
def find(query: str, limit: int, store: Path | None, as_json: bool) -> None:
    """Rank what a name, number, formula or structure may mean.

    QUERY is a name, a CAS number, a formula, an InChIKey or a SMILES. A mistyped name is
    answered with the nearest spellings and their scores.
    """
    with _open(store) as components:
        found = components.find(query, limit)
        if as_json:
            emit(asdict(found))
        else:
            show(render.matches(found, components.hazard_properties(match.cas for match in found)))


@cli.command()
@_component
@click.option(
    "--evidence", is_flag=True, help="List every observation behind the values, outliers too, and what judges say."
)
@click.option(
    "--plot",
    type=click.Path(path_type=Path),
    metavar="FILE.svg",
    callback=_svg,
    help="Draw the vapour-pressure curve with its band, its data and the judges.",
)
@_asks
def card(component: str, evidence: bool, plot: Path | None, store: Path | None, as_json: bool) -> None:
    """Show one component: values, curve, hazards, cautions."""
    with _open(store) as components:
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
        "hazards": [asdict(hazard) for hazard in held.hazards()],
        "cautions": list(held.cautions()),
    }
    if evidence:
        answer["observations"] = [asdict(observation) for observation in held.observations()]
        answer["crosschecks"] = [asdict(check) for check in held.crosschecks()]
    return answer


@cli.command()
@_component
@_at
@_asks
def boil(component: str, at: str | None, altitude: str | None, store: Path | None, as_json: bool) -> None:
    """Say where a component boils at a pressure or an altitude."""
    pressure_Pa = _pressure_Pa(at, altitude)
    with _open(store) as components:
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
@_component
@click.option("--within", metavar="DIFFERENCE", default="5K", show_default=True, help="Half-width of the window.")
@_at
@click.option(
    "--limit",
    type=click.IntRange(min=1),
    default=30,
    show_default=True,
    help="Most neighbours to show; --json gives them all.",
)
@_asks
def near(
    component: str, within: str, at: str | None, altitude: str | None, limit: int, store: Path | None, as_json: bool
) -> None:
    """List what else boils near a component, nearest first."""
    within_K, pressure_Pa = units.temperature_difference_K(within), _pressure_Pa(at, altitude)
    with _open(store) as components:
        held = components.component(component)
        found = components.near(component, within_K, pressure_Pa)
        if as_json:
            emit(asdict(found) | {"cautions": held.cautions()})
        else:
            shown = found.neighbours[:limit]
            show(render.near(held, found, shown, components.hazard_properties(other.cas for other in shown)))


@cli.command()
@click.argument("a", callback=_text)
@click.argument("b", callback=_text)
@_at
@click.option(
    "--purity",
    multiple=True,
    metavar="PERCENT",
    help="Purity of the products in mole percent; twice for A's and B's.  [default: 95%]",
)
@click.option("--basis", type=click.Choice(["predicted"]), help="Leave measured azeotropes out.")
@_asks
def pair(
    a: str,
    b: str,
    at: str | None,
    altitude: str | None,
    purity: tuple[str, ...],
    basis: str | None,
    store: Path | None,
    as_json: bool,
) -> None:
    """Judge whether distillation can part two components.

    The verdict comes first, then the figures and reasons it stands on.
    """
    pressure_Pa = _pressure_Pa(at, altitude)
    purity_a, purity_b = _purities(purity)
    with _open(store) as components:
        judged = components.pair(a, b, pressure_Pa, purity_a=purity_a, purity_b=purity_b, basis=basis)
        warnings = _cautions_of_both(components.component(a), components.component(b), judged.labels)
    if as_json:
        emit(asdict(judged) | {"cautions": warnings})
    else:
        show(render.pair(judged, warnings))


def _cautions_of_both(a: Component, b: Component, labels: tuple[str, str]) -> list[str]:
    """What holds for one of the two is said with its label, what holds for both is said once, last."""
    common = [caution for caution in a.cautions() if caution in b.cautions()]
    pair = zip(labels, (a, b), strict=True)
    own = [(label, caution) for label, held in pair for caution in held.cautions() if caution not in common]
    return [caution if label in caution else f"{label}: {caution}" for label, caution in own] + common


def _purities(given: tuple[str, ...]) -> tuple[float, float]:
    """Purities of A's and B's product as mole fractions."""
    if len(given) > 2:
        raise WrongUsage("--purity is given at most twice: for the product of A, then for that of B.")
    parsed = [units.fraction(text) for text in given or ("95%",)]
    return parsed[0], parsed[-1]


@cli.command()
@click.option(
    "--to",
    type=click.Path(path_type=Path),
    envvar="CUTPOINT_DB",
    help="Where to put the store.  [default: the user's data folder; CUTPOINT_DB]",
)
@click.option("--parquet", type=click.Path(path_type=Path), metavar="DIR", help="Also write every table as Parquet.")
@click.option("--without", multiple=True, metavar="SOURCE", help="Leave an open table out; may be repeated.")
@json_option
def rebuild(to: Path | None, parquet: Path | None, without: tuple[str, ...], as_json: bool) -> None:
    """Build the component store from the open tables.

    The old store stays in place until the new one is whole.
    """
    from cutpoint import db

    from .progress import telling

    pipeline = _pipeline()
    with telling() as progress:
        report = pipeline.build(to or db.default_path(), without=without, parquet=parquet, progress=progress)
    if as_json:
        emit(asdict(report))
    else:
        show(render.rebuild(report))


@cli.command()
@_asks
def verify(store: Path | None, as_json: bool) -> None:
    """Rebuild aside and compare with the store, table by table.

    The exit status is 1 if any table differs.
    """
    from .progress import telling

    with _open(store) as components:  # a missing or damaged store is told here, before the long work
        path = components.path
    with telling() as progress:
        report = _pipeline().verify(path, progress=progress)
    if as_json:
        emit(asdict(report))
    else:
        show(render.verify(report))
    if report.differences:
        click.get_current_context().exit(1)


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

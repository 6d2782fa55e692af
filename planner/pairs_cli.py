"""The commands on two components: `pair`, whether distillation can part them, and `near`, what boils close by."""

from __future__ import annotations

import logging
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cutpoint.schema.errors import WrongUsage

from . import pair_page, render, units
from .arguments import asks, at_pressure, component_argument, open_store, plot_option, pressure_asked_Pa, text
from .face import emit
from .page import printable, show

if TYPE_CHECKING:
    from cutpoint.db import Component, PairDiagram, Store

WINDOW_K, HARD_WINDOW_K = 5.0, 30.0
"""Half-widths of the window of `near`; beyond the second two liquids seldom resist parting (common practice)."""


@click.command()
@component_argument
@click.option("--hard", is_flag=True, help="Only what distillation cannot part from it, hardest first.")
@click.option(
    "--within",
    metavar="DIFFERENCE",
    help=f"Half-width of the window.  [default: {WINDOW_K:g}K, with --hard {HARD_WINDOW_K:g}K]",
)
@at_pressure
@click.option(
    "--limit",
    type=click.IntRange(min=1),
    default=30,
    show_default=True,
    help="Most neighbours to show; --json gives them all.",
)
@asks
def near(
    component: str,
    hard: bool,
    within: str | None,
    at: str | None,
    altitude: str | None,
    limit: int,
    store: Path | None,
    as_json: bool,
) -> None:
    """List what else boils near a component, nearest first.

    With --hard, of all that boils there, what cannot be parted from it: what forms an
    azeotrope with it, boils too close, or cannot be judged.
    """
    pressure_Pa = pressure_asked_Pa(at, altitude)
    within_K = units.temperature_difference_K(within) if within is not None else HARD_WINDOW_K if hard else WINDOW_K
    with open_store(store) as components:
        answer = _hard if hard else _near
        answer(components, component, within_K, pressure_Pa, limit, as_json)


def _near(components: Store, query: str, within_K: float, pressure_Pa: float, limit: int, as_json: bool) -> None:
    held = components.component(query)
    found = components.near(query, within_K, pressure_Pa)
    if as_json:
        emit(asdict(found) | {"cautions": held.cautions()})
    else:
        shown = found.neighbours[:limit]
        show(render.near(held, found, shown, components.hazard_properties(other.cas for other in shown)))


def _hard(components: Store, query: str, within_K: float, pressure_Pa: float, limit: int, as_json: bool) -> None:
    held = components.component(query)
    found = components.hard_neighbours(query, within_K, pressure_Pa)
    if as_json:
        emit(asdict(found) | {"cautions": held.cautions()})
    else:
        shown = found.neighbours[:limit]
        show(pair_page.hard(held, found, shown, components.hazard_properties(other.cas for other in shown)))


@click.command()
@click.argument("a", callback=text)
@click.argument("b", callback=text)
@at_pressure
@click.option(
    "--purity",
    multiple=True,
    metavar="PERCENT",
    help="Purity of the products in mole percent; twice for A's and B's.  [default: 95%]",
)
@click.option("--basis", type=click.Choice(["predicted"]), help="Leave measured azeotropes out.")
@plot_option("Draw the boiling-point diagram, and the vapour against the liquid.")
@asks
def pair(
    a: str,
    b: str,
    at: str | None,
    altitude: str | None,
    purity: tuple[str, ...],
    basis: str | None,
    plot: Path | None,
    store: Path | None,
    as_json: bool,
) -> None:
    """Judge whether distillation can part two components.

    The verdict comes first, then the figures and reasons it stands on.
    """
    pressure_Pa = pressure_asked_Pa(at, altitude)
    purity_a, purity_b = _purities(purity)
    with open_store(store) as components:
        judged = components.pair(a, b, pressure_Pa, purity_a=purity_a, purity_b=purity_b, basis=basis)
        both = components.component(a), components.component(b)
        warnings = _cautions_of_both(*both, judged.labels)
        if plot is not None:
            diagram = components.pair_diagram(both[0].cas, both[1].cas, pressure_Pa)
            _plot(replace(diagram, measured=()) if basis else diagram, both, warnings, plot)
    if as_json:
        emit(asdict(judged) | {"cautions": warnings} | ({} if plot is None else {"plot": str(plot)}))
    else:
        show(pair_page.pair(judged, warnings))
        if plot is not None:
            click.echo(printable(f"The boiling-point diagram is drawn in {plot}."))  # one line, to be copied


def _plot(diagram: PairDiagram, both: tuple[Component, Component], warnings: list[str], path: Path) -> None:
    # matplotlib tells of its font cache, which is no business of the reader of a verdict.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from .pair_plot import write_pair_plot
    from .pair_sheet import PairSheet

    molar_masses_g_mol = both[0].molar_mass_g_mol, both[1].molar_mass_g_mol
    write_pair_plot(PairSheet(diagram, molar_masses_g_mol, tuple(warnings)), path)


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

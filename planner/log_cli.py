"""The command `log`: a batch as it was noted at the bench, held against its sheet."""

from __future__ import annotations

import logging
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .arguments import asks, open_store, plot_option
from .face import emit
from .page import printable, show

if TYPE_CHECKING:
    from cutpoint.db import Store

    from .recipes.recipe import Recipe
    from .runs.report import Expected


@click.command()
@click.argument("run", metavar="RUN.csv", type=click.Path(path_type=Path))
@click.option(
    "--recipe", "recipe_file", metavar="RECIPE.toml", type=click.Path(path_type=Path), required=True,
    help="The recipe that the batch was made by.",
)  # fmt: skip
@plot_option("Draw the noted readings over the sheet's curve, and the best fit.")
@asks
def log(run: Path, recipe_file: Path, plot: Path | None, store: Path | None, as_json: bool) -> None:
    """Hold a batch as noted at the bench against its sheet.

    RUN.csv has a header such as 'time/min; head °C; volume/mL; receiver; remark' and one line
    per reading; time, receiver and remark may be left out. Told are the thermometer's offset,
    what was in the flask, how pure each receiver is, and where the batch departed.
    """
    # matplotlib tells of its font cache, which is no business of the reader of a report.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from .runs.reading import read_run
    from .runs.report import make_report

    noted = read_run(run)
    recipe = recipe_of(recipe_file)
    with open_store(store) as components:
        expected = still_of(recipe, components)
        report = make_report(noted, expected)
    if plot is not None:
        from .runs.plot import write_run_plot

        write_run_plot(report, expected.plan.curve, plot)
    if as_json:
        emit(asdict(report) | ({} if plot is None else {"plot": str(plot)}))
        return
    from .runs.page import blocks

    show(blocks(report))
    if plot is not None:
        click.echo(printable(f"The batch is drawn over its sheet in {plot}."))  # one line, to be copied


def recipe_of(path: Path) -> Recipe:
    """The recipe in a file; raises WrongRecipe."""
    from .recipes.reading import read_recipe

    return read_recipe(path)


def still_of(recipe: Recipe, store: Store) -> Expected:
    """The still, the label's compositions and the sheet of a recipe."""
    from .runs.recipe_still import expected_of

    return expected_of(store, recipe)

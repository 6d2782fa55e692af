"""The command `plan`: from a recipe file to the separation sheet."""

from __future__ import annotations

import logging
from dataclasses import asdict
from pathlib import Path

import click

from cutpoint.schema.errors import WrongUsage

from .arguments import asks, open_store, plot_option
from .face import emit
from .page import printable, show


@click.command()
@click.argument("recipe", type=click.Path(path_type=Path), required=False)
@click.option(
    "--new", type=click.Path(path_type=Path), metavar="FILE", help="Write a commented example recipe and end."
)
@click.option("--keys", is_flag=True, help="Print every key that a recipe may have and end.")
@click.option("--html", type=click.Path(path_type=Path), metavar="FILE", help="Also write the sheet as one HTML page.")
@plot_option("Draw the head temperature against the volume distilled.")
@asks
def plan(
    recipe: Path | None,
    new: Path | None,
    keys: bool,
    html: Path | None,
    plot: Path | None,
    store: Path | None,
    as_json: bool,
) -> None:
    """Plan a distillation: the separation sheet of a recipe.

    RECIPE is a TOML file: the ingredient list as it is printed, what is wanted, and the
    glassware. `cutpoint plan --new my.toml` writes a commented example to start from.
    """
    if new is not None or keys:
        _help_writing(new, keys)
        return
    if recipe is None:
        raise WrongUsage("A recipe file is missing: cutpoint plan RECIPE.toml, or --new FILE for an example.")
    # matplotlib tells of its font cache, which is no business of the reader of a sheet.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    from .recipes.reading import read_recipe
    from .stills.plan import make_plan

    read = read_recipe(recipe)
    with open_store(store) as components:
        made = make_plan(components, read)
    files = {name: str(path) for name, path in (("html", html), ("plot", plot)) if path is not None}
    if html is not None:
        from .sheets.html import write_sheet

        write_sheet(made, html)
    if plot is not None:
        from .sheets.plot import write_plot

        write_plot(made, plot)
    if as_json:
        emit(asdict(made) | files)
        return
    from .sheets.text import blocks

    show(blocks(made))
    for name, path in files.items():
        told = "The sheet to print is" if name == "html" else "The head temperature is drawn"
        click.echo(printable(f"{told} in {path}."))  # one line, to be copied


def _help_writing(new: Path | None, keys: bool) -> None:
    """What helps to write a recipe: an example, or the list of keys."""
    from .recipes.example import write_new
    from .recipes.reference import reference

    if keys:
        click.echo(reference())
    if new is not None:
        write_new(new)
        click.echo(printable(f"An example recipe is in {new}: edit it, then run cutpoint plan {new}"))

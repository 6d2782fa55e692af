"""Progress of a rebuild on standard error: a bar on a terminal, else a line for each stage."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

Progress = Callable[[str, float], None]
"""Is told the name of the stage that begins, and the fraction of the work that is done, 0 to 1."""


@contextmanager
def telling() -> Iterator[Progress]:
    """A function to hand to the build, and its display while the build runs."""
    if not sys.stderr.isatty():
        yield _lines()
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeElapsedColumn

    columns = (TaskProgressColumn(), BarColumn(), TimeElapsedColumn(), TextColumn("{task.description}", markup=False))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=1.0)
        yield lambda stage, fraction: bar.update(task, completed=fraction, description=stage)


def _lines() -> Progress:
    """A line for each stage, however often it is told."""
    told: list[str] = []

    def tell(stage: str, fraction: float) -> None:
        if told[-1:] != [stage]:
            told.append(stage)
            click.echo(f"{fraction:4.0%}  {stage}", err=True)

    return tell

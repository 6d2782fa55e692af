"""A page: the blocks that an answer for people is made of, and the two ways to print them.

Plain text when the output is piped, tables and colour when it is a terminal;
`NO_COLOR` leaves the tables and takes every escape code away.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from rich.table import Table

PLAIN_WIDTH = 79
"""Width to which paragraphs are wrapped when there is no terminal to ask."""

NARROW = 80
"""Terminals below this width are not shown the spare columns of a grid."""


@dataclass(frozen=True)
class Heading:
    """A line that opens a part of the page."""

    text: str


@dataclass(frozen=True)
class Paragraph:
    """Running text. `strong` is for the answer itself, `faint` for a remark."""

    text: str
    strong: bool = False
    faint: bool = False


@dataclass(frozen=True)
class Items:
    """A list of sentences; `framed` sets it apart from the rest (cautions), `numbered` is for steps."""

    texts: Sequence[str]
    framed: str | None = None
    numbered: bool = False

    def marked(self) -> list[tuple[str, str]]:
        """Each sentence after its mark: a dash, or its number."""
        return [(f"{place}." if self.numbered else "-", text) for place, text in enumerate(self.texts, 1)]


@dataclass(frozen=True)
class Column:
    """A column of a grid.

    `wraps` says whether its text may be broken over lines, `spare` that a
    narrow terminal can do without it; `colours` maps cell texts to colours.
    """

    title: str
    right: bool = False
    wraps: bool = False
    spare: bool = False
    colours: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Grid:
    """Rows under column titles; every cell is text."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]


Block = Heading | Paragraph | Items | Grid


def show(blocks: Iterable[Block]) -> None:
    """Print the blocks on standard output."""
    if sys.stdout.isatty():
        _show_on_terminal(blocks)
    else:
        click.echo("\n".join(line for block in blocks for line in _plain(block)))


def printable(text: str) -> str:
    """The text with control characters replaced: what a user or a source typed must not steer a terminal."""
    return "".join(letter if letter.isprintable() or letter == "\n" else "\N{REPLACEMENT CHARACTER}" for letter in text)


def _plain(block: Block) -> list[str]:
    """The lines of a block without a terminal; rows of a grid are never broken."""
    if isinstance(block, Grid):
        return _plain_grid(block)
    if isinstance(block, Items):
        title = ["", block.framed] if block.framed else []
        marked = [(f"{mark} ", text) for mark, text in block.marked()]
        return title + [line for mark, text in marked for line in _wrapped(text, mark, " " * len(mark))]
    if isinstance(block, Heading):
        return ["", printable(block.text)]
    return _wrapped(block.text)


def _wrapped(text: str, first: str = "", further: str = "") -> list[str]:
    return click.wrap_text(printable(text), PLAIN_WIDTH, first, further).split("\n")


def _plain_grid(grid: Grid) -> list[str]:
    rows = [[column.title for column in grid.columns], *([printable(cell) for cell in row] for row in grid.rows)]
    widths = [max(map(len, cells)) for cells in zip(*rows, strict=True)]
    return ["  ".join(map(_aligned, row, widths, grid.columns)).rstrip() for row in rows]


def _aligned(cell: str, width: int, column: Column) -> str:
    return cell.rjust(width) if column.right else cell.ljust(width)


def _show_on_terminal(blocks: Iterable[Block]) -> None:
    # Rich is imported only here: a piped answer needs none of it, and should not wait for it.
    from rich.console import Console
    from rich.panel import Panel
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False, color_system=None if os.environ.get("NO_COLOR") else "auto")
    for block in blocks:
        if isinstance(block, Heading):
            console.print(Text("\n" + printable(block.text), style="bold"))
        elif isinstance(block, Grid):
            console.print(_rich_grid(block, console.width))
        elif isinstance(block, Items):
            items = Table.grid(padding=(0, 1))
            for mark, text in block.marked():
                items.add_row(mark, Text(printable(text)))
            framed = block.framed and Panel(items, title=block.framed, title_align="left", border_style="yellow")
            console.print(framed or items)
        else:
            console.print(Text(printable(block.text), style="bold" if block.strong else "dim" if block.faint else ""))


def _rich_grid(grid: Grid, width: int) -> Table:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False)
    kept = [place for place, column in enumerate(grid.columns) if width >= NARROW or not column.spare]
    for place in kept:
        column = grid.columns[place]
        table.add_column(
            column.title, justify="right" if column.right else "left", no_wrap=not column.wraps, overflow="fold"
        )
    for row in grid.rows:
        cells = [(printable(row[place]), grid.columns[place].colours) for place in kept]
        table.add_row(*(Text(cell, style=colours.get(cell, "")) for cell, colours in cells))
    return table

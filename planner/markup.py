"""The few pieces of HTML that a page is made of; all text is escaped here and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Iterable
from html import escape

from .page import Column, Grid, printable


def text(said: str) -> str:
    """Text as it may stand in an element or an attribute."""
    return escape(printable(said))


def element(tag: str, content: str, **attributes: str) -> str:
    """An element with content that is markup already; `class_` gives the attribute class."""
    given = "".join(f' {name.rstrip("_").replace("_", "-")}="{text(value)}"' for name, value in attributes.items())
    return f"<{tag}{given}>{content}</{tag}>"


def paragraph(said: str, **attributes: str) -> str:
    """A paragraph of plain text; `commands` stand between backticks."""
    return element("p", re.sub("`([^`]+)`", r"<code>\1</code>", text(said)), **attributes)


def terms(entries: Iterable[tuple[str, str]]) -> str:
    """Terms with their explanations."""
    return element("dl", "".join(element("dt", text(term)) + element("dd", text(said)) for term, said in entries))


def section(identifier: str, title: str, *parts: str) -> str:
    """A part of the page that the table of contents leads to."""
    return element("section", element("h2", text(title)) + "\n".join(parts), id=identifier)


def table(grid: Grid, caption: str) -> str:
    """A grid with its caption, which stands outside the frame: inside, it would be as wide as the table."""
    return paragraph(caption, class_="caption") + frame(grid, caption)


def frame(grid: Grid, label: str) -> str:
    """A grid as a table with headers, which scrolls in a frame of its own where it is too wide.

    `label` is what a screen reader calls it.
    """
    head = "".join(element("th", text(column.title), scope="col", **_class(column)) for column in grid.columns)
    body = "\n".join(_row(row, grid) for row in grid.rows)
    whole = element("table", element("thead", element("tr", head)) + element("tbody", body), aria_label=label)
    return element("div", whole, class_="scroll", tabindex="0", role="region", aria_label=label)


def folded(title: str, grid: Grid) -> str:
    """A grid that is shown when its title is clicked."""
    return element("details", element("summary", text(title)) + frame(grid, title))


def _row(row: Iterable[str], grid: Grid) -> str:
    cells = []
    for place, (cell, column) in enumerate(zip(row, grid.columns, strict=True)):
        if place == 0 and not column.right:
            cells.append(element("th", text(cell), scope="row", **_class(column)))
        else:
            cells.append(element("td", text(cell), **_class(column, cell)))
    return element("tr", "".join(cells))


def _class(column: Column, cell: str = "") -> dict[str, str]:
    """Class of a cell: how it is set, whether a telephone can do without it, and its colour."""
    names = ["number"] * column.right + ["wraps"] * column.wraps + ["spare"] * column.spare
    colour = column.colours.get(cell)
    names += [colour] if colour else []
    return {"class_": " ".join(names)} if names else {}

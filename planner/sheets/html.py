"""The separation sheet as one HTML page that needs nothing else, and prints on two sides of A4.

The front is for the bench: verdict, label, steps, head temperature, fractions.
The back is for the desk and the record: what cannot be parted, yield, condenser,
cost, weak points, cautions, and an empty table for the run.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..files import write_whole
from ..markup import element, frame, paragraph, section, text
from ..page import Column, Grid
from ..render import CAUTIONS, grades_legend
from ..stills.results import Plan
from . import plot, tables, words
from .style import STYLE

MOST_PAIRS = 8
"""Pairs shown, hardest first: the back of the sheet has no room for more."""
RUN = "The run"
RUN_COLUMNS = ("time", "head, °C", "mL", "receiver", "remark")
RUN_ROWS = 15
RUN_FIELDS = ("Date", "Operator", "Barometer", "Batch")


def write_sheet(plan: Plan, path: Path) -> None:
    """Write the sheet as an HTML file, whole or not at all; raises WrongUsage where it cannot be written."""
    write_whole(path, html(plan).encode(), "sheet")


def html(plan: Plan) -> str:
    """The page; the same plan gives the same text."""
    head = (
        '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{text(plan.title)}: separation sheet</title><style>{STYLE}</style>"
    )
    main = element("div", _front(plan), class_="front") + element("div", _back(plan), class_="back")
    body = element("header", _header(plan)) + element("main", main)
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n{body}\n</body></html>\n'


def _header(plan: Plan) -> str:
    return (
        element("h1", text(plan.title))
        + paragraph(plan.verdict, class_="answer")
        + paragraph(words.conditions(plan), class_="conditions")
    )


def _front(plan: Plan) -> str:
    label = [frame(tables.ingredients(plan), words.LABEL), _list(tables.remarks(plan))]
    parts = [
        section("label", words.LABEL, *label, paragraph(grades_legend(), class_="remark")),
        section("steps", words.STEPS, _list(words.steps(plan), "ol")),
        section("head", words.HEAD, _head(plan)),
        section(
            "fractions",
            words.FRACTIONS,
            frame(tables.fractions(plan, with_contents=True), words.FRACTIONS),
            paragraph(words.how_to_read(plan), class_="remark"),
        ),
        section("product", f"{words.PRODUCT}, here and at other reflux ratios", _beside(_product(plan))),
    ]
    return "\n".join(parts)


def _head(plan: Plan) -> str:
    """The picture, and beside it its figures."""
    if not plan.curve.volume_m3:
        return paragraph(words.NO_CURVE)
    drawn = element(
        "div", plot.picture(plan), class_="picture scroll", tabindex="0", role="region", aria_label=plot.TITLE
    )
    figures = frame(tables.head(plan), "Head temperature at every tenth of what distils")
    return element("div", element("figure", drawn) + element("div", figures), class_="columns wide-left")


def _back(plan: Plan) -> str:
    return "\n".join(
        [
            _opening(plan),
            section("pairs", words.PAIRS, *_pairs(plan)),
            _beside(_needed(plan)),
            section("weak", words.WEAK, _list(plan.weak_points)) if plan.weak_points else "",
            _cautions(plan.cautions),
            section("run", RUN, _run()),
        ]
    )


def _product(plan: Plan) -> list[str]:
    """What is had, here and at other reflux ratios."""
    return [frame(tables.product(plan), words.PRODUCT), frame(tables.reflux(plan), words.REFLUX)]


def _opening(plan: Plan) -> str:
    if plan.opening is None:
        return ""
    grid = frame(tables.opening(plan.opening), words.OPENING)
    return section("opening", words.OPENING, paragraph(words.package(plan.opening)), grid)


def _needed(plan: Plan) -> list[str]:
    return [
        section("duty", words.DUTY, frame(tables.duty(plan), words.DUTY)),
        section("holding", words.HOLDING, frame(tables.holding(plan), words.HOLDING), _list(plan.holding.words)),
    ]


def _beside(parts: Sequence[str]) -> str:
    """Parts that stand beside each other where there is room."""
    return element("div", "".join(element("div", part) for part in parts), class_="columns")


def _pairs(plan: Plan) -> list[str]:
    grid = tables.pairs(plan, MOST_PAIRS)
    left_out = words.pairs_left_out(len(grid.rows), plan)
    return [
        _list(words.not_parted(plan)),
        frame(grid, words.PAIRS) if grid.rows else "",
        paragraph(left_out) if left_out else "",
    ]


def _cautions(texts: Sequence[str]) -> str:
    if not texts:
        return ""
    return element("section", element("h2", CAUTIONS) + _list(texts), id="cautions", class_="cautions")


def _run() -> str:
    """An empty table for what is read at the bench."""
    fields = element("ul", "".join(element("li", text(field)) for field in RUN_FIELDS), class_="fields")
    # Set to the right, so that the first cell of an empty row is no header of it.
    columns = [Column(RUN_COLUMNS[0], right=True), *map(Column, RUN_COLUMNS[1:])]
    empty = Grid(columns, [[""] * len(columns)] * RUN_ROWS)
    return element("div", fields + frame(empty, RUN), class_="run")


def _list(texts: Sequence[str], tag: str = "ul") -> str:
    return element(tag, "".join(element("li", text(said)) for said in texts)) if texts else ""

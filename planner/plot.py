"""The picture of a vapour-pressure curve, as SVG: the curve with its band, its data and the judges.

One landscape A4 sheet. Letters are drawn as outlines, so that it looks the same
on every machine; `<title>` and `<desc>` say in words what it shows. The same
store gives the same bytes, whatever the user's own settings of matplotlib.
"""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from . import plot_words as words
from .files import write_whole
from .page import printable
from .plot_panels import draw_deviations, draw_pressures
from .plot_series import Sheet, sheet
from .plot_svg import MM_PER_INCH, svg_of

if TYPE_CHECKING:
    from cutpoint.db import Component

WIDTH_MM, HEIGHT_MM = 297.0, 210.0
"""Landscape A4 (ISO 216)."""
MARGIN_MM, SIDE_MM = 7.0, 19.0
LOWER_PANEL_MM, BETWEEN_PANELS_MM, BELOW_PANELS_MM = 46.0, 11.0, 11.0
TITLE_LINE_MM, CAPTION_LINE_MM = 6.0, 2.9
TITLE_CHARACTERS, CAPTION_CHARACTERS = 80, 205
"""Characters to a line, short enough that wide letters fit too."""
TITLE_LINES = 2


def write_plot(component: Component, path: Path) -> None:
    """Draw the vapour-pressure curve of a component into an SVG file, whole or not at all.

    Raises NoValue where there is no curve to draw, WrongUsage where the file cannot be written.
    """
    write_whole(path, svg(sheet(component)), "picture")


def svg(drawn: Sheet) -> bytes:
    """The picture as the content of an SVG file."""
    spoken = [words.subtitle(drawn), *words.marks(drawn).values(), words.beyond_the_axis(drawn), *words.caption(drawn)]
    description = " ".join(f"{part.rstrip('.')}." for part in spoken if part)
    return svg_of(lambda: _figure(drawn), words.title(drawn), description.replace("\n", " "))


def _figure(drawn: Sheet) -> Figure:
    """The sheet: title and caption take the lines they need, the upper panel what is left."""
    figure = Figure(figsize=(WIDTH_MM / MM_PER_INCH, HEIGHT_MM / MM_PER_INCH))
    title_mm, caption_mm = _write_title(figure, drawn), _write_caption(figure, drawn)
    lower_mm = caption_mm + BELOW_PANELS_MM
    upper_mm = lower_mm + LOWER_PANEL_MM + BETWEEN_PANELS_MM
    draw_pressures(_panel(figure, upper_mm, HEIGHT_MM - title_mm - upper_mm), drawn)
    draw_deviations(_panel(figure, lower_mm, LOWER_PANEL_MM), drawn)
    return figure


def _panel(figure: Figure, bottom_mm: float, height_mm: float) -> Axes:
    width_mm = WIDTH_MM - 2.0 * SIDE_MM
    return figure.add_axes(
        (SIDE_MM / WIDTH_MM, bottom_mm / HEIGHT_MM, width_mm / WIDTH_MM, height_mm / HEIGHT_MM)
    )  # fmt: skip


def _write_title(figure: Figure, drawn: Sheet) -> float:
    """Name, CAS number and grades at the head of the sheet; gives the height used, mm."""
    lines = wrap(printable(drawn.component.name), TITLE_CHARACTERS, max_lines=TITLE_LINES, placeholder=" …")
    lines[-1] += f" [{drawn.component.cas}]"
    top_mm = MARGIN_MM
    for line in lines:
        _write(figure, top_mm, line, va="top", fontsize=13.0, fontweight="bold")
        top_mm += TITLE_LINE_MM
    _write(figure, top_mm, words.subtitle(drawn), va="top", fontsize=9.0)
    return top_mm + TITLE_LINE_MM


def _write_caption(figure: Figure, drawn: Sheet) -> float:
    """Sources, what is left out, and cautions at the foot of the sheet; gives the height used, mm."""
    paragraphs = (wrap(printable(text), CAPTION_CHARACTERS, break_on_hyphens=False) for text in words.caption(drawn))
    lines = [line for paragraph in paragraphs for line in paragraph]
    for place, line in enumerate(reversed(lines)):
        _write(figure, HEIGHT_MM - MARGIN_MM - place * CAPTION_LINE_MM, line, va="bottom", fontsize=6.5)
    return MARGIN_MM + len(lines) * CAPTION_LINE_MM


def _write(figure: Figure, down_mm: float, text: str, **look: Any) -> None:
    """A line of text at the left margin, so far below the upper edge of the sheet."""
    figure.text(SIDE_MM / WIDTH_MM, 1.0 - down_mm / HEIGHT_MM, text, **look)

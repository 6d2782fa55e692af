"""The picture of a pair, as SVG: the boiling-point diagram, and the vapour against the liquid, side by side.

As wide as the text of an A4 page, in letters that stay legible on a telephone,
and as high as its words need. The same diagram gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from . import pair_plot_words as words
from .files import write_whole
from .page import printable
from .pair_plot_panels import (
    LIQUID,
    PURE,
    TWO_LIQUIDS,
    VAPOUR,
    Style,
    azeotrope_styles,
    draw_compositions,
    draw_temperatures,
    measured_styles,
)
from .pair_sheet import PairSheet
from .plot_styles import BAND
from .plot_svg import MM_PER_INCH, svg_of
from .plot_text import broken, shortened

WIDTH_MM, MARGIN_MM = 170.0, 5.0
PANEL_MM = 58.0
LEFT_PANEL_MM, RIGHT_PANEL_MM = 22.0, 106.0
"""Where each panel begins; before it stand the numbers and the title of its axis."""
TICKS_MM = 5.5
KEY_MM, KEY_INDENT_MM = 5.0, 15.0
GAP_MM = 2.5
TITLE_PT, TEXT_PT, FOOT_PT = 13.0, 10.0, 8.0
LINE_SPACING = 1.25
HEAD_LINES, AXIS_LINES = 2, 3
"""Lines over a panel, below its title, and along an axis; longer names are shortened."""
POINTS_PER_MM = 72.0 / MM_PER_INCH


def write_pair_plot(sheet: PairSheet, path: Path) -> None:
    """Draw the diagrams of a pair into an SVG file, whole or not at all.

    Raises WrongUsage where the file cannot be written.
    """
    write_whole(path, svg(sheet), "picture")


def svg(sheet: PairSheet) -> bytes:
    """The picture as the content of an SVG file."""
    told = [text for _, text in _key(sheet)]
    description = " ".join(f"{part.rstrip('.')}." for part in (*told, *words.footnotes(sheet)))
    return svg_of(lambda: figure(sheet), words.title(sheet), description)


def figure(sheet: PairSheet) -> Figure:
    """The picture as a figure, to be drawn in the style of `svg_of`."""
    return _Page(sheet).figure


def _key(sheet: PairSheet) -> Iterator[tuple[Style, str]]:
    """What each line and mark is."""
    yield LIQUID, words.BUBBLE
    yield VAPOUR, words.DEW
    if words.pure(sheet):
        yield PURE, words.pure(sheet)
    if sheet.diagram.two_liquids is not None:
        yield TWO_LIQUIDS, words.two_liquids(sheet)
    for azeotrope, style in zip(sheet.diagram.azeotropes, azeotrope_styles(sheet), strict=True):
        yield style, words.predicted(sheet, azeotrope)
    for point, style in zip(sheet.diagram.measured, measured_styles(sheet), strict=True):
        yield style, words.measured(sheet, point)


def _line_mm(size_pt: float) -> float:
    return size_pt * LINE_SPACING / POINTS_PER_MM


class _Page:
    """The page in the making: everything is broken into lines first, which tells the height, and then placed."""

    def __init__(self, sheet: PairSheet) -> None:
        self._sheet = sheet
        room_pt = (WIDTH_MM - 2.0 * MARGIN_MM) * POINTS_PER_MM
        key_room_pt = (WIDTH_MM - MARGIN_MM - KEY_INDENT_MM) * POINTS_PER_MM
        self._title = broken(printable(words.title(sheet)), room_pt, TITLE_PT, bold=True)
        self._key = [(style, broken(printable(text), key_room_pt, TEXT_PT)) for style, text in _key(sheet)]
        self._notes = [line for note in words.footnotes(sheet) for line in broken(printable(note), room_pt, FOOT_PT)]
        a = printable(sheet.labels[0])
        self._axes_titles = [
            shortened(template, a, PANEL_MM * POINTS_PER_MM, TEXT_PT, AXIS_LINES)
            for template in (words.BOTH_AXIS, words.LIQUID_AXIS, words.VAPOUR_AXIS)
        ]
        self._panel_mm = (
            MARGIN_MM + len(self._title) * _line_mm(TITLE_PT) + GAP_MM + (1 + HEAD_LINES) * _line_mm(TEXT_PT)
        )
        self._key_mm = self._panel_mm + PANEL_MM + TICKS_MM + AXIS_LINES * _line_mm(TEXT_PT) + GAP_MM
        self._notes_mm = self._key_mm + sum(len(lines) for _, lines in self._key) * _line_mm(TEXT_PT) + GAP_MM
        self._height_mm = self._notes_mm + len(self._notes) * _line_mm(FOOT_PT) + MARGIN_MM
        self.figure = Figure(figsize=(WIDTH_MM / MM_PER_INCH, self._height_mm / MM_PER_INCH))
        self._write_lines(MARGIN_MM, MARGIN_MM, self._title, TITLE_PT, fontweight="bold")
        self._draw_panels()
        self._draw_key()
        self._write_lines(MARGIN_MM, self._notes_mm, self._notes, FOOT_PT)

    def _draw_panels(self) -> None:
        left, right = (self._panel(place_mm) for place_mm in (LEFT_PANEL_MM, RIGHT_PANEL_MM))
        draw_temperatures(left, self._sheet)
        draw_compositions(right, self._sheet)
        both, liquid, vapour = self._axes_titles
        for axes, across, up in ((left, both, words.TEMPERATURE_AXIS), (right, liquid, vapour)):
            axes.set_xlabel(across, fontsize=TEXT_PT, linespacing=LINE_SPACING)
            axes.set_ylabel(up, fontsize=TEXT_PT, linespacing=LINE_SPACING)
        self._write_heads()

    def _panel(self, left_mm: float) -> Axes:
        bottom_mm = self._height_mm - self._panel_mm - PANEL_MM
        place = (left_mm / WIDTH_MM, bottom_mm / self._height_mm, PANEL_MM / WIDTH_MM, PANEL_MM / self._height_mm)
        axes = self.figure.add_axes(place)
        axes.tick_params(labelsize=TEXT_PT)
        return axes

    def _write_heads(self) -> None:
        """Over the left panel its ends, over the right one how to read it."""
        room_pt = PANEL_MM * POINTS_PER_MM
        a, b = (printable(label) for label in self._sheet.labels)
        first_mm = self._panel_mm - (1 + HEAD_LINES) * _line_mm(TEXT_PT)
        second_mm, third_mm = (first_mm + line * _line_mm(TEXT_PT) for line in (1, 2))
        for place_mm, head in ((LEFT_PANEL_MM, words.TEMPERATURES), (RIGHT_PANEL_MM, words.COMPOSITIONS)):
            self._write(place_mm, first_mm, head, TEXT_PT, fontweight="bold")
        of_b, of_a = words.ends(self._sheet)
        self._write(LEFT_PANEL_MM, second_mm, shortened(of_b, b, room_pt, TEXT_PT, 1), TEXT_PT)
        self._write(LEFT_PANEL_MM + PANEL_MM, third_mm, shortened(of_a, a, room_pt, TEXT_PT, 1), TEXT_PT, ha="right")
        reading = shortened(words.DIAGONAL, a, room_pt, TEXT_PT, HEAD_LINES).split("\n")
        self._write_lines(RIGHT_PANEL_MM, second_mm, reading, TEXT_PT)

    def _draw_key(self) -> None:
        """A sample of each line and mark on the left, its words beside it."""
        samples = self.figure.add_axes((0.0, 0.0, 1.0, 1.0), zorder=-1.0, frameon=False)
        samples.set_axis_off()
        samples.set_xlim(0.0, WIDTH_MM)
        samples.set_ylim(self._height_mm, 0.0)
        down_mm = self._key_mm
        ends = [KEY_MM, KEY_INDENT_MM - 2.0]
        for style, lines in self._key:
            middle_mm = down_mm + _line_mm(TEXT_PT) / 2.2
            across = [sum(ends) / 2.0] if style.get("linestyle") == "none" else ends
            if style is LIQUID:
                samples.fill_between(ends, middle_mm - 1.3, middle_mm + 1.3, color=BAND, linewidth=0.3)
            samples.plot(across, [middle_mm] * len(across), **style)
            self._write_lines(KEY_INDENT_MM, down_mm, lines, TEXT_PT)
            down_mm += len(lines) * _line_mm(TEXT_PT)

    def _write_lines(self, left_mm: float, down_mm: float, lines: list[str], size_pt: float, **look: Any) -> None:
        for place, line in enumerate(lines):
            self._write(left_mm, down_mm + place * _line_mm(size_pt), line, size_pt, **look)

    def _write(self, left_mm: float, down_mm: float, text: str, size_pt: float, **look: Any) -> None:
        """A line of text, its upper left corner so far from that of the page."""
        across, up = left_mm / WIDTH_MM, 1.0 - down_mm / self._height_mm
        self.figure.text(across, up, text, fontsize=size_pt, va="top", **look)

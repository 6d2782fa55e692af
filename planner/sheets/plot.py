"""Head temperature against what has distilled: for the page, and as a picture of its own."""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cutpoint.schema.errors import NoValue
from cutpoint.schema.properties import ICE_POINT_K

from ..charts import FAINT, INK, drawing, inline_svg
from ..files import write_whole
from ..page import printable
from ..plot_svg import MM_PER_INCH, svg_of
from ..stills.results import Plan
from . import words
from .amounts import ML_PER_M3, temperature, volume

TITLE = "Head temperature against volume distilled"
NAME = "head-temperature"
"""Begins every identifier of the picture in the page."""
LINE, BAND = "#0b5c7a", "#cfe3ec"
ON_PAGE_IN = (6.2, 2.75)
"""Width and height in the page, in."""
WIDTH_MM, HEIGHT_MM = 297.0, 210.0
"""Landscape A4 (ISO 216), for a file of its own."""
SIDE_MM, ABOVE_MM, BELOW_MM = 19.0, 28.0, 42.0
TITLE_CHARACTERS, CAPTION_CHARACTERS, CAPTION_LINE_MM, CAPTION_LINES = 90, 190, 3.4, 7
NARROW = 0.16
"""Share of the axis below which two names would run into each other."""


def picture(plan: Plan) -> str:
    """The picture as an `<svg>` element of a page; the plan must have a curve."""
    with drawing():
        figure = Figure(figsize=ON_PAGE_IN, layout="constrained")
        _draw(figure.add_subplot(), plan)
        return inline_svg(figure, NAME, TITLE, description(plan))


def write_plot(plan: Plan, path: Path) -> None:
    """Draw the head temperature into an SVG file, whole or not at all.

    Raises NoValue where the plan has no curve, WrongUsage where the file cannot be written.
    """
    if not plan.curve.volume_m3:
        raise NoValue("There is no head temperature to draw: nothing was found that distils.")
    write_whole(path, svg_of(lambda: _sheet(plan), f"{TITLE}: {plan.title}", description(plan)), "picture")


def description(plan: Plan) -> str:
    """What is seen, in words."""
    curve = plan.curve
    start, end = (f"{T_K - ICE_POINT_K:.1f} °C" for T_K in (curve.reading_K[0], curve.reading_K[-1]))
    changes = " ".join(
        f"{one.name.capitalize()} until {volume(one.to_volume_m3)}"
        + ("." if one.to_reading_K is None else f", {temperature(one.to_reading_K)}.")
        for one in plan.fractions
        if one.name != "residue"
    )
    return (
        f"The head reads {start} at the start and {end} after {ML_PER_M3 * curve.volume_m3[-1]:.0f} mL. The line is "
        f"for the middle of the label, the band holds 95 % of all compositions. {changes} Dashed: in the flask."
    )


def _sheet(plan: Plan) -> Figure:
    """A landscape A4 sheet with its title, its conditions and what is seen."""
    figure = Figure(figsize=(WIDTH_MM / MM_PER_INCH, HEIGHT_MM / MM_PER_INCH))
    box = (
        SIDE_MM / WIDTH_MM,
        BELOW_MM / HEIGHT_MM,
        1.0 - 2.0 * SIDE_MM / WIDTH_MM,
        1.0 - (ABOVE_MM + BELOW_MM) / HEIGHT_MM,
    )
    _draw(figure.add_axes(box), plan)
    left = SIDE_MM / WIDTH_MM
    title = wrap(printable(plan.title), TITLE_CHARACTERS, max_lines=1, placeholder=" …")[0]
    figure.text(left, 1.0 - 8.0 / HEIGHT_MM, title, va="top", fontsize=13.0, fontweight="bold")
    caption = " ".join((words.conditions(plan), description(plan), plan.verdict, *plan.cautions[:1]))
    lines = wrap(printable(caption), CAPTION_CHARACTERS, max_lines=CAPTION_LINES, placeholder=" …")
    for place, line in enumerate(lines):
        down = (BELOW_MM - 14.0 - place * CAPTION_LINE_MM) / HEIGHT_MM
        figure.text(left, down, line, va="top", fontsize=7.0)
    return figure


def _draw(axes: Axes, plan: Plan) -> None:
    curve = plan.curve
    over_mL = [ML_PER_M3 * volume for volume in curve.volume_m3]
    reading, low, high, pot = (
        [T_K - ICE_POINT_K for T_K in line] for line in (curve.reading_K, curve.low_K, curve.high_K, curve.pot_K)
    )
    axes.fill_between(over_mL, low, high, color=BAND, linewidth=0.0, label="95 % of compositions")
    axes.plot(over_mL, pot, color=FAINT, linewidth=0.8, linestyle=(0, (4, 2)), label="in the flask")
    axes.plot(over_mL, reading, color=LINE, linewidth=1.8, label="head reads")
    axes.set_xlim(0.0, over_mL[-1] or 1.0)
    axes.set_xlabel("distilled, mL")
    axes.set_ylabel("temperature, °C")
    handles, labels = axes.get_legend_handles_labels()
    axes.legend(handles[::-1], labels[::-1], loc="best", handlelength=1.6, fontsize="small")
    _mark_fractions(axes, plan, over_mL[-1])


def _mark_fractions(axes: Axes, plan: Plan, total_mL: float) -> None:
    """A line at every change of the receiver; the names above the axes, every other higher where there is no room."""
    distilled = [one for one in plan.fractions if one.name != "residue"]
    ends = [ML_PER_M3 * one.to_volume_m3.value for one in distilled]
    starts = [0.0, *ends[:-1]]
    is_crowded = any(end - start < NARROW * total_mL for start, end in zip(starts, ends, strict=True))
    look: dict[str, Any] = {"textcoords": "offset points", "xycoords": ("data", "axes fraction"), "color": INK}
    for place, (one, start, end) in enumerate(zip(distilled, starts, ends, strict=True)):
        if place + 1 < len(distilled):
            axes.axvline(end, color=INK, linewidth=0.9, linestyle=(0, (1, 1.5)))
        up = 14.0 if is_crowded and place % 2 else 2.0
        middle = min(max(0.5 * (start + end), 0.08 * total_mL), 0.92 * total_mL)
        axes.annotate(one.name, (middle, 1.0), xytext=(0.0, up), ha="center", va="bottom", **look)

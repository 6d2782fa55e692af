"""The picture of a batch: readings as noted, over the sheet's curve with its band, and the best fit; as SVG."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cutpoint.db.matches import celsius
from cutpoint.schema.properties import ICE_POINT_K

from ..files import write_whole
from ..page import printable
from ..plot_styles import GUIDE, INK
from ..plot_svg import MM_PER_INCH, svg_of
from ..plot_text import broken
from ..stills.results import HeadCurve
from .departures import BEST_FIT
from .likelihood import Readings
from .page import ML_PER_M3
from .results import RunReport

WIDTH_MM, HEIGHT_MM = 170.0, 125.0
LEFT_MM, RIGHT_MM, AXIS_MM = 18.0, 5.0, 14.0
TITLE_PT, TEXT_PT, FOOT_PT = 13.0, 10.0, 8.0
LINE_MM, TITLE_MM = 4.0, 7.0
TITLE_LINES, FOOT_LINES = 2, 4
MOST_POINTS = 1_000
"""More are drawn at even places among the rows: they would lie upon each other."""
POINTS_PER_MM = 72.0 / MM_PER_INCH

# Colours of M. Okabe and K. Ito (Color Universal Design, 2008); strokes and markers differ as well.
_SHEET: dict[str, Any] = {"color": "#0072B2", "linewidth": 1.6, "zorder": 2, "label": "the sheet's curve"}
_BAND: dict[str, Any] = {"color": "#C9DDEE", "linewidth": 0.0, "zorder": 1, "label": "95 % of what the label allows"}
_FIT: dict[str, Any] = {
    "color": "#D55E00", "linewidth": 1.4, "linestyle": (0, (5, 2)), "zorder": 3, "label": "best fit, with its offset",
}  # fmt: skip
_NOTED: dict[str, Any] = {
    "color": INK, "marker": "o", "markersize": 3.6, "markerfacecolor": "white", "markeredgewidth": 0.9,
    "linestyle": "none", "zorder": 4, "label": "noted",
}  # fmt: skip
_ODD: dict[str, Any] = _NOTED | {
    "color": "#882255",
    "marker": "X",
    "markersize": 6.0,
    "label": "noted, off the best fit",
}


def write_run_plot(report: RunReport, curve: HeadCurve, path: Path) -> None:
    """Draw a report over the sheet's curve into an SVG file, whole or not at all.

    Raises WrongUsage where the file cannot be written.
    """
    write_whole(path, svg(report, curve), "picture")


def svg(report: RunReport, curve: HeadCurve) -> bytes:
    """The picture as the content of an SVG file; the same report gives the same bytes."""
    title = f"Batch against sheet: {report.title}"
    return svg_of(lambda: figure(report, curve), title, description(report))


def description(report: RunReport) -> str:
    """What is seen, in words."""
    noted, fitted = report.noted, report.best_fit
    told = (
        f"{report.rows_used} readings, from {celsius(noted.reading_K[0])} to {celsius(noted.reading_K[-1])} "
        f"after {ML_PER_M3 * noted.volume_m3[-1]:.0f} mL. The best fit runs from {celsius(fitted.reading_K[0])} to "
        f"{celsius(fitted.reading_K[-1])}, thermometer offset {report.offset_K:+.1f} ± {report.offset_u95_K:.1f} K."
    )
    return f"{told} {report.verdict}"


def figure(report: RunReport, curve: HeadCurve) -> Figure:
    """The picture as a figure, to be drawn in the style of `svg_of`."""
    room_pt = (WIDTH_MM - 2.0 * RIGHT_MM) * POINTS_PER_MM
    title = _lines(report.title, room_pt, TITLE_PT, TITLE_LINES, bold=True)
    foot = _lines(description(report), room_pt, FOOT_PT, FOOT_LINES)
    above_mm = RIGHT_MM + TITLE_MM * len(title)
    below_mm = AXIS_MM + LINE_MM * len(foot) + RIGHT_MM
    drawn = Figure(figsize=(WIDTH_MM / MM_PER_INCH, HEIGHT_MM / MM_PER_INCH))
    box = (
        LEFT_MM / WIDTH_MM,
        below_mm / HEIGHT_MM,
        1.0 - (LEFT_MM + RIGHT_MM) / WIDTH_MM,
        1.0 - (above_mm + below_mm) / HEIGHT_MM,
    )
    _draw(drawn.add_axes(box), report, curve)
    for place, line in enumerate(title):
        _write(drawn, HEIGHT_MM - RIGHT_MM - TITLE_MM * place, line, TITLE_PT, fontweight="bold")
    for place, line in enumerate(foot):
        _write(drawn, below_mm - AXIS_MM - LINE_MM * place, line, FOOT_PT)
    return drawn


def _write(drawn: Figure, up_mm: float, line: str, size_pt: float, **look: Any) -> None:
    drawn.text(RIGHT_MM / WIDTH_MM, up_mm / HEIGHT_MM, line, fontsize=size_pt, va="top", **look)


def _lines(text: str, room_pt: float, size_pt: float, most: int, bold: bool = False) -> list[str]:
    lines = broken(printable(text), room_pt, size_pt, bold)
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1].rstrip(' .,')} …"]


def _draw(axes: Axes, report: RunReport, curve: HeadCurve) -> None:
    if curve.volume_m3:
        over_mL = _mL(curve.volume_m3)
        axes.fill_between(over_mL, _celsius(curve.low_K), _celsius(curve.high_K), **_BAND)
        axes.plot(over_mL, _celsius(curve.reading_K), **_SHEET)
    axes.plot(_mL(report.best_fit.volume_m3), _celsius(report.best_fit.reading_K), **_FIT)
    noted = _thin(Readings(_mL(report.noted.volume_m3), _celsius(report.noted.reading_K)))
    is_odd = _odd(report, noted.volume_m3)
    for chosen, style in ((~is_odd, _NOTED), (is_odd, _ODD)):
        if chosen.any():
            axes.plot(noted.volume_m3[chosen], noted.reading_K[chosen], **style)
    axes.set_xlim(left=0.0)
    axes.set_xlabel("distilled, mL", fontsize=TEXT_PT)
    axes.set_ylabel("thermometer in the still head, °C", fontsize=TEXT_PT)
    axes.tick_params(labelsize=TEXT_PT, top=True, right=True)
    axes.grid(color=GUIDE, linewidth=0.3, alpha=0.6)
    axes.legend(loc="best", fontsize=FOOT_PT)


def _odd(report: RunReport, volume_mL: Any) -> Any:
    """Whether points lie in a stretch that the best fit does not explain."""
    ends = [
        (ML_PER_M3 * one.from_volume_m3, ML_PER_M3 * one.to_volume_m3)
        for one in report.departures
        if one.against == BEST_FIT
    ]
    return np.array([any(low <= volume <= high for low, high in ends) for volume in volume_mL], dtype=bool)


def _thin(noted: Readings) -> Readings:
    n = len(noted.volume_m3)
    if n <= MOST_POINTS:
        return noted
    kept = np.linspace(0, n - 1, MOST_POINTS).astype(np.int64)
    return Readings(noted.volume_m3[kept], noted.reading_K[kept])


def _mL(volumes_m3: tuple[float, ...]) -> Any:
    return ML_PER_M3 * np.array(volumes_m3)


def _celsius(temperatures_K: tuple[float, ...]) -> Any:
    return np.array(temperatures_K) - ICE_POINT_K

"""The two panels of the picture of a pair: where its mixtures boil, and what vapour stands above which liquid.

No letter stands among the lines: what each mark means is told in the key.
Colours are those of M. Okabe and K. Ito (Color Universal Design, 2008);
strokes and markers differ as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle, islice
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from cutpoint.schema.properties import ICE_POINT_K

from .pair_sheet import PairSheet
from .plot_styles import BAND, GUIDE, INK

Style = dict[str, Any]

LIQUID: Style = {"color": "#0072B2", "linewidth": 1.8, "zorder": 3}
VAPOUR: Style = {"color": "#D55E00", "linewidth": 1.8, "linestyle": (0, (5, 2)), "zorder": 3}
EQUILIBRIUM: Style = {"color": INK, "linewidth": 1.8, "zorder": 3}
TWO_LIQUIDS: Style = {"color": "#9C9C9C", "linewidth": 6.0, "solid_capstyle": "butt", "zorder": 2}
PURE: Style = {"color": INK, "marker": "o", "markersize": 4.5, "linestyle": "none", "clip_on": False, "zorder": 5}
GRID: Style = {"color": GUIDE, "linewidth": 0.3, "alpha": 0.6}
_PREDICTED = (("D", 6.5), ("s", 6.5), ("^", 7.5), ("v", 7.5))
_MEASURED = (("o", 11.5), ("h", 12.0), ("p", 12.0), ("8", 11.5))
"""Marker and size: a measured point is drawn open, around a predicted one that agrees with it."""
TEMPERATURE_TICKS = 7
FRACTIONS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
TICKS: Style = {"length": 4.0, "width": 0.6, "top": True, "right": True}


def azeotrope_styles(sheet: PairSheet) -> list[Style]:
    """The marker of each azeotrope of the diagram."""
    chosen = islice(cycle(_PREDICTED), len(sheet.diagram.azeotropes))
    return [_point(marker, size, "white", INK, 6.0) for marker, size in chosen]


def measured_styles(sheet: PairSheet) -> list[Style]:
    """The marker of each measured azeotrope."""
    chosen = islice(cycle(_MEASURED), len(sheet.diagram.measured))
    return [_point(marker, size, "#882255", "none", 5.0) for marker, size in chosen]


def _point(marker: str, size: float, edge: str, face: str, zorder: float) -> Style:
    look = {"marker": marker, "markersize": size, "markeredgecolor": edge, "markerfacecolor": face}
    look |= {"markeredgewidth": 1.0 if face != "none" else 1.6, "linestyle": "none"}
    return look | {"clip_on": False, "zorder": zorder}


def draw_temperatures(axes: Axes, sheet: PairSheet) -> None:
    """The boiling-point diagram: bubble line with its band, dew line, two liquids, azeotropes, pure boiling points."""
    bubble, u95_K = sheet.bubble_celsius, sheet.u95_K
    axes.fill_between(sheet.liquid, bubble - u95_K, bubble + u95_K, color=BAND, linewidth=0.3, zorder=1)
    axes.plot(sheet.liquid, bubble, **LIQUID)
    axes.plot(sheet.vapour, bubble, **VAPOUR)
    pure = [end for end in sheet.pure_ends if end is not None]
    axes.plot(sheet.liquid[pure], bubble[pure], **PURE)
    held = sheet.two_liquids()
    if held is not None:
        ends, boiling_celsius, _ = held
        axes.plot(ends, np.full(ends.shape, boiling_celsius), **TWO_LIQUIDS)
    for point, style in _points(sheet):
        axes.plot([point.mole_fraction_a], [point.temperature_K - ICE_POINT_K], **style)
    low, high = sheet.temperature_limits_celsius()
    axes.set_ylim(low, high)
    ticks, told = temperature_ticks(low, high)
    axes.set_yticks(ticks, told)
    _fractions(axes)


def draw_compositions(axes: Axes, sheet: PairSheet) -> None:
    """The vapour against the liquid, with the straight line on which both are the same."""
    axes.plot([0.0, 1.0], [0.0, 1.0], color=GUIDE, linewidth=0.8, zorder=1.5)
    axes.plot(sheet.liquid, sheet.vapour, **EQUILIBRIUM)
    held = sheet.two_liquids()
    if held is not None:
        ends, _, vapour = held
        axes.plot(ends, np.full(ends.shape, vapour), **TWO_LIQUIDS)
    for point, style in _points(sheet):
        axes.plot([point.mole_fraction_a], [point.mole_fraction_a], **style)
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks(FRACTIONS, _told(FRACTIONS))
    _fractions(axes)


def _points(sheet: PairSheet) -> list[tuple[Any, Style]]:
    """Every azeotrope, predicted and measured, with its style."""
    diagram = sheet.diagram
    predicted = zip(diagram.azeotropes, azeotrope_styles(sheet), strict=True)
    return [*predicted, *zip(diagram.measured, measured_styles(sheet), strict=True)]


def _fractions(axes: Axes) -> None:
    """The axis of mole fractions, and a grid."""
    axes.set_xlim(0.0, 1.0)
    axes.set_xticks(FRACTIONS, _told(FRACTIONS))
    axes.tick_params(**TICKS)
    axes.grid(**GRID)


def _told(fractions: Sequence[float]) -> list[str]:
    return [f"{fraction:g}" for fraction in fractions]


def temperature_ticks(low_celsius: float, high_celsius: float) -> tuple[list[float], list[str]]:
    """Round temperatures between two, with as many decimals as their step needs."""
    places = MaxNLocator(TEMPERATURE_TICKS, steps=[1, 2, 5, 10]).tick_values(low_celsius, high_celsius)
    ticks = [float(place) for place in places if low_celsius <= place <= high_celsius]
    step = float(places[1] - places[0])
    decimals = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    return ticks, [f"{tick + 0.0:.{decimals}f}" for tick in np.round(ticks, decimals)]

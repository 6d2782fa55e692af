"""The two panels of a vapour-pressure sheet.

Above, ln p against 1/T, in which a vapour pressure is nearly straight; below,
what cannot be seen there: how far each source and each judge is from our curve.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patheffects import withStroke
from matplotlib.ticker import FixedLocator, NullFormatter, NullLocator

from cutpoint.schema.properties import ATMOSPHERE_PA, ICE_POINT_K

from . import plot_words as words
from .figures import PASCALS_PER_MMHG, significant
from .plot_series import CORRELATION, Array, Sheet
from .plot_styles import BAND, GUIDE, INK, SOLID, curve_style, legend, styles
from .plot_ticks import decade_ticks, round_celsius

PASCALS_PER_KPA = 1e3
MARKS = 5
"""Markers along a correlation that spans the picture; those of the others fall between them."""
LABELLED_GAP, FINER_GAP = 1.0 / 24.0, 1.0 / 120.0
"""Least distances of ticks along the axis of temperature, with and without numbers."""
ROOM_FOR_LABEL = 0.8
"""Share of the axis up to which a label fits to the right of a point."""
HALO = (withStroke(linewidth=2.5, foreground="white"),)
GRID: dict[str, Any] = {"color": GUIDE, "linewidth": 0.3, "alpha": 0.6}


def draw_pressures(axes: Axes, drawn: Sheet) -> None:
    """The curve with its band, all data, the judges' points, and boiling, melting and critical point."""
    low_kPa, high_kPa = drawn.frame.p_low_Pa / PASCALS_PER_KPA, drawn.frame.p_high_Pa / PASCALS_PER_KPA
    axes.set_yscale("log")
    axes.set_ylim(low_kPa, high_kPa)
    for stretch in drawn.stretches:
        p_kPa, x = stretch.p_Pa / PASCALS_PER_KPA, _x(stretch.T_K)
        # A band of 100 % and more has no lower edge on a logarithmic scale; it goes out of sight.
        lower_kPa = np.maximum(p_kPa * (1.0 - stretch.u95_relative), low_kPa / 10.0)
        axes.fill_between(x, lower_kPa, p_kPa * (1.0 + stretch.u95_relative), color=BAND, linewidth=0.3, zorder=1)
        axes.plot(x, p_kPa, zorder=3, **curve_style(extrapolated=stretch.extrapolated))
    _draw_series(axes, drawn, [one.p_Pa / PASCALS_PER_KPA for one in drawn.series])
    _temperature_axis(axes, drawn)
    _pressure_axes(axes, low_kPa, high_kPa)
    _mark_boiling_point(axes, drawn)
    _mark_critical_point(axes, drawn)
    _label_melting_point(axes, drawn)
    axes.legend(handles=list(legend(drawn)), loc="lower right", framealpha=0.95, handlelength=3.2)
    if words.is_estimate(drawn):
        axes.text(
            0.5, 0.04, words.ESTIMATE, transform=axes.transAxes, ha="center", va="bottom", fontsize=9.0, zorder=6,
            bbox={"boxstyle": "square,pad=0.6", "facecolor": "white", "edgecolor": INK},
        )  # fmt: skip


def draw_deviations(axes: Axes, drawn: Sheet) -> None:
    """How far each series is from our curve, in percent; what leaves the axis is marked at its edge and told."""
    limit = 100.0 * drawn.deviation_limit()
    axes.set_ylim(-limit, limit)
    for stretch in drawn.stretches:
        x, u95 = _x(stretch.T_K), 100.0 * stretch.u95_relative
        axes.fill_between(x, -u95, u95, color=BAND, linewidth=0.3, zorder=1)
        axes.plot(x, 0.0 * x, zorder=1.8, **curve_style(extrapolated=stretch.extrapolated) | {"linewidth": 1.2})
    _draw_series(axes, drawn, [100.0 * one.deviation for one in drawn.series])
    of_label = styles(drawn.series)
    for one in drawn.clipped():
        for side, marker in ((1.0, "^"), (-1.0, "v")):
            T_K = one.T_K[one.deviation * side > 0.0]
            edge = np.full(T_K.shape, side * 0.95 * limit)
            axes.plot(_x(T_K), edge, marker, color=of_label[one.label]["color"], markersize=6.0, zorder=6)
    _temperature_axis(axes, drawn)
    axes.set_xlabel("temperature, °C (scale of 1/T)")
    ticks = [-limit, -limit / 2.0, 0.0, limit / 2.0, limit]
    axes.set_yticks(ticks, [f"{tick:+g}" if tick else "0" for tick in ticks])
    axes.grid(axis="y", **GRID)
    axes.set_ylabel("deviation, %")
    told = f"Deviation of the pressure from this curve. {words.beyond_the_axis(drawn)}"
    axes.set_title(told, loc="left", fontsize=7.5, pad=3.0)


def _x(T_K: Any) -> Any:
    """Place of a temperature on the axis: reciprocal, and rising to the right."""
    return -1.0 / np.asarray(T_K, dtype=np.float64)


def _temperature_axis(axes: Axes, drawn: Sheet) -> None:
    """Round degrees Celsius, and what is solid shaded up to the melting point."""
    low_K, high_K = drawn.frame.T_low_K, drawn.frame.T_high_K
    axes.set_xlim(_x(low_K), _x(high_K))
    ticks, finer = (np.array(round_celsius(low_K, high_K, gap)) for gap in (LABELLED_GAP, FINER_GAP))
    axes.set_xticks(_x(ticks + ICE_POINT_K), [f"{tick:g}" for tick in ticks])
    axes.xaxis.set_minor_locator(FixedLocator(_x(finer + ICE_POINT_K)))
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.grid(axis="x", **GRID)
    melting = drawn.evaluated.get("melting_point")
    if melting is not None and melting.value > low_K:
        axes.axvspan(_x(low_K), _x(min(melting.value, high_K)), color=SOLID, zorder=0, linewidth=0.0)
        axes.axvline(_x(melting.value), color=GUIDE, linewidth=0.8, linestyle=(0, (6, 2, 1, 2)), zorder=1.5)


def _pressure_axes(axes: Axes, low_kPa: float, high_kPa: float) -> None:
    """Plain numbers in kPa on the left, in mmHg on the right."""
    right = axes.secondary_yaxis("right", functions=(_mmHg, _kPa))
    for side, factor, unit in ((axes, 1.0, "kPa"), (right, _mmHg(1.0), "mmHg")):
        ticks = decade_ticks(low_kPa * factor, high_kPa * factor)
        side.set_yticks(ticks, [significant(tick) for tick in ticks])
        side.yaxis.set_minor_locator(NullLocator())
        side.set_ylabel(f"vapour pressure, {unit}")
    axes.grid(axis="y", **GRID)


def _mmHg(p_kPa: Any) -> Any:
    return p_kPa * PASCALS_PER_KPA / PASCALS_PER_MMHG


def _kPa(p_mmHg: Any) -> Any:
    return p_mmHg * PASCALS_PER_MMHG / PASCALS_PER_KPA


def _draw_series(axes: Axes, drawn: Sheet, values: Sequence[Array]) -> None:
    """Every series; along a correlation a few markers, staggered from source to source."""
    of_label = styles(drawn.series)
    order = sorted({one.label for one in drawn.series if one.kind == CORRELATION})
    for one, y in zip(drawn.series, values, strict=True):
        marked = None
        if one.kind == CORRELATION:
            marked = _marked(one.T_K, drawn, (order.index(one.label) + 0.5) / len(order))
        axes.plot(_x(one.T_K), y, markevery=marked, **of_label[one.label])


def _marked(T_K: Array, drawn: Sheet, share: float) -> list[int]:
    """Which points of a correlation bear a marker: at least its middle."""
    low, high = _x(drawn.frame.T_low_K), _x(drawn.frame.T_high_K)
    places = (_x(T_K) - low) / (high - low)
    wanted = (np.arange(MARKS) + share) / MARKS
    inside = wanted[(wanted >= places[0]) & (wanted <= places[-1])]
    chosen = inside if inside.size else np.array([(places[0] + places[-1]) / 2.0])
    return sorted({int(np.argmin(np.abs(places - place))) for place in chosen})


def _mark_boiling_point(axes: Axes, drawn: Sheet) -> None:
    """The normal boiling point with its U95 and a guide from it to both axes."""
    held = drawn.evaluated.get("normal_boiling_point")
    if held is None:
        return
    x, p_kPa = _x(held.value), ATMOSPHERE_PA / PASCALS_PER_KPA
    guide = ([_x(drawn.frame.T_low_K), x, x], [p_kPa, p_kPa, drawn.frame.p_low_Pa / PASCALS_PER_KPA])
    axes.plot(*guide, color=GUIDE, linewidth=0.8, zorder=1.5)
    _mark(axes, held.value, held.u95, p_kPa, "o")
    label, left, right = words.marks(drawn)[held.property], _x(drawn.frame.T_low_K), _x(drawn.frame.T_high_K)
    if x < left + ROOM_FOR_LABEL * (right - left):
        _label(axes, label, x, p_kPa, above=False)
    else:
        _label(axes, label.replace("\n", " "), x, p_kPa, above=True)


def _mark_critical_point(axes: Axes, drawn: Sheet) -> None:
    T_c, p_c = (drawn.evaluated.get(name) for name in ("critical_temperature", "critical_pressure"))
    if T_c is None or p_c is None:
        return
    p_kPa = p_c.value / PASCALS_PER_KPA
    _mark(axes, T_c.value, T_c.u95, p_kPa, "*")
    _label(axes, words.marks(drawn)[T_c.property], _x(T_c.value), p_kPa, above=True)


def _mark(axes: Axes, T_K: float, u95_K: float, p_kPa: float, marker: str) -> None:
    """A point with its U95 of the temperature; of one nearly as large as the temperature the lower end is cut."""
    ends = _x([max(T_K - u95_K, 0.1 * T_K), T_K + u95_K])
    spread = np.abs(ends - _x(T_K))[:, np.newaxis]
    axes.errorbar([_x(T_K)], [p_kPa], xerr=spread, fmt=marker, color=INK, markersize=6.0, capsize=2.0, zorder=6)


def _label(axes: Axes, label: str, x: float, p_kPa: float, *, above: bool) -> None:
    """A label where no curve passes: to the left above a point, or to the right below it."""
    offset, side, end = ((-10.0, 5.0), "right", "bottom") if above else ((8.0, -6.0), "left", "top")
    axes.annotate(
        label, (x, p_kPa), offset, textcoords="offset points", ha=side, va=end, zorder=7, path_effects=HALO
    )  # fmt: skip


def _label_melting_point(axes: Axes, drawn: Sheet) -> None:
    """Along its line, above the curve where that is low and below it where it is high; in words if out of sight."""
    held = drawn.evaluated.get("melting_point")
    if held is None:
        return
    label, x = words.marks(drawn)[held.property], _x(held.value)
    left, right = _x(drawn.frame.T_low_K), _x(drawn.frame.T_high_K)
    if not left < x < right:
        beside = f"{label} ({'left' if x <= left else 'right'} of the picture)"
        axes.text(0.01, 0.97, beside, transform=axes.transAxes, va="top", zorder=7, path_effects=HALO)
        return
    height, end = (0.97, "top") if x < (left + right) / 2.0 else (0.03, "bottom")
    axes.annotate(
        label, (x, height), (3.0, 0.0), xycoords=("data", "axes fraction"), textcoords="offset points", rotation=90.0,
        ha="left", va=end, zorder=7, path_effects=HALO,
    )  # fmt: skip

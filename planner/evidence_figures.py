"""The pictures of the quality report; their numbers stand in the tables beside them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib import colormaps
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from cutpoint.db.targets import (
    CALIBRATED_COVERAGE,
    LARGEST_DEVIATION_K,
    LARGEST_PRESSURE_DEVIATION,
    MEDIAN_DEVIATION_K,
    MEDIAN_PRESSURE_DEVIATION,
    P95_DEVIATION_K,
)

from .charts import BAND, FAINT, GRADE_COLOURS, INK, WIDTH_IN
from .evidence_tables import GRADES, source_words, words

if TYPE_CHECKING:
    from cutpoint.db.quality import Disagreement, GradeCalibration, Judgement, PropertyCoverage

UNGRADED_COLOUR = "#8d7b9a"
BINS_PER_DECADE = 4
LEAST_FOR_HISTOGRAM = 5
"""Components below which a histogram would show less than the table."""

_LIMITS = {
    "normal_boiling_point": (MEDIAN_DEVIATION_K, P95_DEVIATION_K, LARGEST_DEVIATION_K),
    "vapour_pressure": (MEDIAN_PRESSURE_DEVIATION, LARGEST_PRESSURE_DEVIATION),
}

_SHORT = {"enthalpy_of_vaporization_at_boiling_point": "enthalpy of vaporization\nat boiling point"}


def _label(property: str) -> str:
    return _SHORT.get(property, words(property))


def coverage(covered: Sequence[PropertyCoverage]) -> Figure:
    """Share of each grade among the components that have a value, by property."""
    figure = Figure(figsize=(WIDTH_IN, 1.1 + 0.33 * len(covered)), layout="constrained")
    axes = figure.add_subplot()
    places = np.arange(len(covered))
    totals = np.array([held.n_components for held in covered], dtype=np.float64)
    left = np.zeros(len(covered))
    for grade in GRADES:
        share = 100.0 * np.array([held.grades[grade] for held in covered]) / totals
        axes.barh(places, share, left=left, height=0.72, color=GRADE_COLOURS[grade], label=grade)
        left += share
    for place, held in zip(places, covered, strict=True):
        axes.text(102, float(place), f"{held.n_components:,}", va="center", color=INK)
    axes.set_yticks(places, [_label(held.property) for held in covered])
    axes.set_ylim(len(covered) - 0.5, -0.5)
    axes.set_xlim(0, 100)
    axes.set_xlabel("% of components")
    axes.spines["left"].set_visible(False)
    axes.tick_params(axis="y", length=0)
    _grade_legend(figure, GRADES)
    return figure


def _grade_legend(figure: Figure, grades: Sequence[str]) -> None:
    patches = [Patch(color=GRADE_COLOURS.get(grade, UNGRADED_COLOUR), label=grade) for grade in grades]
    figure.legend(
        handles=patches, loc="outside upper left", ncols=len(patches), title="grade", handlelength=1.0, alignment="left"
    )


def can_be_drawn(judgement: Judgement) -> bool:
    """Whether a judgement has enough deviations for a histogram."""
    return sum(case.mean_abs_deviation > 0.0 for case in judgement.deviations) >= LEAST_FOR_HISTOGRAM


def limits(judgement: Judgement) -> tuple[float, ...]:
    """Deviations that the goals name for this property."""
    return _LIMITS.get(judgement.property, ())


def deviations(judgement: Judgement) -> Figure:
    """Histogram of the sizes of the deviations, on a logarithmic axis, by grade."""
    figure = Figure(figsize=(WIDTH_IN, 3.1), layout="constrained")
    axes = figure.add_subplot()
    scale = 100.0 if judgement.relative else 1.0
    sizes = scale * np.array([case.mean_abs_deviation for case in judgement.deviations])
    grades = np.array([case.grade or "none" for case in judgement.deviations])
    told = [grade for grade in (*GRADES, "none") if grade in grades]
    edges = _edges(sizes[sizes > 0.0])
    sizes = np.clip(sizes, edges[0], edges[-1])  # an exact agreement stands in the first bin
    axes.hist(
        [sizes[grades == grade] for grade in told],
        bins=edges.tolist(),
        stacked=True,
        color=[GRADE_COLOURS.get(grade, UNGRADED_COLOUR) for grade in told],
    )
    _mark(axes, [scale * limit for limit in limits(judgement)])
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter("{x:g}")
    unit = "%" if judgement.relative else judgement.unit
    axes.set_xlabel(f"size of the deviation{'' if unit == '1' else f', {unit}'}")
    axes.set_ylabel("components")
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5, integer=True))
    _grade_legend(figure, told)
    return figure


def _edges(sizes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Edges of the bins, whole decades from end to end, three at least."""
    low, high = np.floor(np.log10(sizes.min())), np.ceil(np.log10(sizes.max()))
    low = max(min(low, high - 3), high - 7)
    return np.logspace(low, high, round((high - low) * BINS_PER_DECADE) + 1)


def _mark(axes: Axes, marks: Sequence[float]) -> None:
    for limit in marks:
        axes.axvline(limit, color=INK, linewidth=1.0, linestyle=(0, (4, 3)))
        axes.annotate(
            f"{limit:g}", (limit, 1.0), xycoords=axes.get_xaxis_transform(), xytext=(0, 2), ha="center",
            textcoords="offset points", fontsize=9,
        )  # fmt: skip


def calibration(rows: Sequence[GradeCalibration]) -> Figure:
    """Coverage of the 95 % intervals by property and grade, with the band that is asked."""
    measured = [row for row in rows if row.coverage is not None]
    properties = list(dict.fromkeys(row.property for row in measured))
    figure = Figure(figsize=(WIDTH_IN, 1.1 + 0.5 * len(properties)), layout="constrained")
    axes = figure.add_subplot()
    low, high = CALIBRATED_COVERAGE
    axes.axvspan(100 * low, 100 * high, color=BAND, zorder=0)
    axes.axvline(95, color=FAINT, linewidth=0.8, zorder=1)
    for row in measured:
        place = properties.index(row.property) + (GRADES.index(row.grade) - 1.5) * 0.2
        _draw_coverage(axes, row, place)
    axes.set_yticks(range(len(properties)), [_label(property) for property in properties])
    axes.set_ylim(len(properties) - 0.5, -0.5)
    for edge in range(1, len(properties)):
        axes.axhline(edge - 0.5, color="#e6e6e6", linewidth=0.8, zorder=0)
    least = min((100 * row.coverage for row in measured if row.coverage is not None), default=100.0)
    axes.set_xlim(min(80.0, 5.0 * np.floor(least / 5.0) - 2.0), 101.0)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel("% inside the stated interval")
    _grade_legend(figure, GRADES)
    return figure


def _draw_coverage(axes: Axes, row: GradeCalibration, place: float) -> None:
    """A dot with the bounds that so few values can tell; hollow where they are too few to judge."""
    colour = GRADE_COLOURS[row.grade]
    if row.coverage is None:
        return
    if row.coverage_low is not None and row.coverage_high is not None:
        axes.hlines(place, 100 * row.coverage_low, 100 * row.coverage_high, color=colour, linewidth=1.4)
    fill = "white" if row.met is None else colour
    axes.plot(100 * row.coverage, place, "o", color=colour, markerfacecolor=fill, markersize=5.5, zorder=3)


def disagreements(pairs: Sequence[Disagreement]) -> Figure:
    """Heat map: share of shared components whose boiling points differ, for each pair of sources."""
    names = sorted(
        {name for pair in pairs for name in (pair.source_a, pair.source_b)}, key=lambda name: ("(" in name, name)
    )
    share = np.full((len(names), len(names)), np.nan)
    figure = Figure(figsize=(1.9 + 0.52 * len(names), 2.0 + 0.46 * len(names)), layout="constrained")
    axes = figure.add_subplot()
    highest = max(pair.share_differing for pair in pairs)
    for pair in pairs:
        places = sorted((names.index(pair.source_a), names.index(pair.source_b)))
        column, row = places
        share[row, column] = 100.0 * pair.share_differing
        ink = "white" if pair.share_differing > 0.6 * highest else INK
        axes.text(column, row - 0.14, f"{share[row, column]:.0f}", ha="center", va="center", color=ink)
        axes.text(column, row + 0.24, f"{pair.n_shared:,}", ha="center", va="center", color=ink, fontsize=6.5)
    edges = np.arange(len(names) + 1) - 0.5
    # In a score of steps the colour bar is drawn; in its 256 it would be a bitmap.
    colours = colormaps["YlOrBr"].resampled(20)
    mesh = axes.pcolormesh(edges, edges, share, cmap=colours, vmin=0.0, edgecolors="white", linewidth=1.0)
    labels = [source_words(name).replace(" (curves)", " *") for name in names]
    axes.set_xticks(range(len(names)), labels, rotation=90)
    axes.set_yticks(range(len(names)), labels)
    axes.set_xlim(-0.5, len(names) - 1.5)
    axes.set_ylim(len(names) - 0.5, 0.5)
    axes.tick_params(length=0)
    for side in ("left", "bottom"):
        axes.spines[side].set_visible(False)
    bar = figure.colorbar(mesh, ax=axes, shrink=0.6, pad=0.02)
    bar.set_label("% of shared components more than 1 K apart")
    bar.outline.set_visible(False)
    return figure

"""How the sources and judges of a vapour-pressure curve are told apart, in colour and in black and white.

Colours are those of M. Okabe and K. Ito (Color Universal Design, 2008), which
the colour-blind can tell apart, without the yellow, which is lost on paper, and
with a wine red and a grey in its place. Markers and strokes differ as well.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from matplotlib.artist import Artist
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from .plot_series import BOILING_POINT, CORRELATION, JUDGE, Series, Sheet

Style = dict[str, Any]
"""What `Axes.plot` is told of a line and its markers."""

INK, OUTLIER, BAND, SOLID, GUIDE = "black", "#555555", "#C9DDEE", "#F0F0F0", "#999999"
DASHED = (0, (4, 2))
SOURCES = (
    ("#0072B2", "o", "-"),
    ("#D55E00", "s", (0, (6, 1))),
    ("#009E73", "^", (0, (3, 1))),
    ("#CC79A7", "v", (0, (5, 1, 1, 1))),
    ("#E69F00", "D", (0, (1, 1))),
    ("#56B4E9", "P", (0, (8, 2, 2, 2))),
    ("#882255", "X", "-"),
    ("#7F7F7F", "<", (0, (4, 2))),
)
"""Colour, marker and stroke of the sources of one picture in the order of their names; seven are the most today."""
OUTLIERS = ("+", "1", "2", "3")
AGREEING_JUDGES = (("D", 6.5), ("s", 4.5), ("o", 3.0))
"""Marker and size: judges speak of the same temperatures, so each is drawn inside the one before."""
DIFFERING_JUDGES = (("X", 6.0), ("P", 4.5), ("*", 3.0))


def curve_style(*, extrapolated: bool) -> Style:
    """Our curve: solid in its valid range, dashed as far as it may be extrapolated."""
    return {"color": INK, "linewidth": 1.6, "linestyle": DASHED if extrapolated else "-"}


def styles(series: Sequence[Series]) -> dict[str, Style]:
    """The style of each label. Sources keep theirs however many judges and outliers there are."""
    met: Counter[Sequence[Any]] = Counter()

    def next_of(choices: Sequence[Any]) -> Any:
        met[choices] += 1
        return choices[(met[choices] - 1) % len(choices)]

    of_label = {one.label: one for one in sorted(series, key=lambda one: one.label)}
    return {label: _style(one, next_of) for label, one in of_label.items()}


def _style(one: Series, next_of: Any) -> Style:
    if one.kind == JUDGE:
        marker, size = next_of(AGREEING_JUDGES if one.believed else DIFFERING_JUDGES)
        style = {"color": INK, "marker": marker, "markersize": size, "zorder": 5}
    elif one.kind == BOILING_POINT:
        style = {"color": INK if one.believed else OUTLIER, "zorder": 4}
        style |= {"marker": "|", "markersize": 9.0} if one.believed else {"marker": "x", "markersize": 5.0}
    elif one.believed:
        colour, marker, stroke = next_of(SOURCES)
        style = {"color": colour, "marker": marker, "linestyle": stroke, "markersize": 4.2, "zorder": 2}
    else:
        style = {"color": OUTLIER, "marker": next_of(OUTLIERS), "linestyle": ":", "markersize": 5.5, "zorder": 2}
    points = {} if one.kind == CORRELATION else {"linestyle": "none"}
    return {"linewidth": 0.9, "markerfacecolor": "white", "markeredgewidth": 0.9} | style | points


def legend(drawn: Sheet) -> Iterator[Artist]:
    """The entries of the legend: our curve, its band, then every series."""
    yield Line2D([], [], label="this store's curve, valid range", **curve_style(extrapolated=False))
    if any(stretch.extrapolated for stretch in drawn.stretches):
        yield Line2D([], [], label="extrapolated, as far as allowed", **curve_style(extrapolated=True))
    yield Patch(color=BAND, label="its expanded uncertainty, 95 %")
    of_label = styles(drawn.series)
    for label, kind in {one.label: one.kind for one in drawn.series}.items():
        judge = " (judge, never a source)" if kind == JUDGE else ""
        yield Line2D([], [], label=f"{label}{judge}", **of_label[label])

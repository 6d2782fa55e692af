"""What every picture that a command writes has in common: one look, the same bytes every time, and words beside it.

Letters are drawn as outlines, so that a picture looks the same on every
machine; `<title>` and `<desc>` say in words what it shows.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from html import escape
from typing import Any

import matplotlib.style
from matplotlib.figure import Figure

from .page import printable

MM_PER_INCH = 25.4
FONT = "DejaVu Sans"
"""It comes with matplotlib, and so is on every machine."""

_STYLE: dict[Any, Any] = {
    "svg.fonttype": "path",
    "svg.hashsalt": "cutpoint",
    "font.family": FONT,
    "font.size": 8.0,
    "text.parse_math": False,  # a name may hold a dollar sign
    "legend.fontsize": 7.0,
    "axes.linewidth": 0.6,
    "xtick.direction": "in",
    "ytick.direction": "in",
}


def svg_of(draw: Callable[[], Figure], title: str, description: str) -> bytes:
    """The figure that `draw` makes, as the content of an SVG file, whatever the user's own settings of matplotlib."""
    with matplotlib.style.context(_STYLE, after_reset=True):
        buffer = io.BytesIO()
        draw().savefig(buffer, format="svg", metadata={"Creator": "cutpoint", "Date": None})
    return _accessible(buffer.getvalue(), title, description)


def _accessible(picture: bytes, title: str, description: str) -> bytes:
    """The SVG with a title and a description that a screen reader finds: the letters themselves are outlines."""
    named = (
        ' role="img" aria-labelledby="title" aria-describedby="description">\n'
        f' <title id="title">{escape(printable(title))}</title>\n'
        f' <desc id="description">{escape(printable(description))}</desc>'
    )
    return re.sub(rb"(<svg\b[^>]*)>", lambda opening: opening[1] + named.encode(), picture, count=1)

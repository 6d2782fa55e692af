"""Pictures as inline SVG: one look for all, the same bytes every time, and words for those who cannot see them."""

from __future__ import annotations

import io
import re
from contextlib import AbstractContextManager
from html import escape
from typing import Any

import matplotlib.style
from matplotlib.figure import Figure

GRADE_COLOURS = {"A": "#1b6f8a", "B": "#6ab0a3", "C": "#e0a93b", "D": "#b9b4ad"}
"""Colours of the grades: told apart by lightness too."""

INK, FAINT, BAND = "#24292e", "#6b7278", "#dfeee6"

WIDTH_IN = 5.2
"""Width of a picture, in: at 11 pt its text stays readable on a telephone, and is not huge on a desk."""

_STYLE: dict[Any, Any] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 11.0,
    "figure.facecolor": "none",
    "axes.facecolor": "none",
    "axes.edgecolor": FAINT,
    "axes.labelcolor": INK,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "legend.frameon": False,
    "svg.fonttype": "none",
    "path.simplify": False,
}


def drawing() -> AbstractContextManager[None]:
    """The look of all pictures, whatever the user's own settings are."""
    return matplotlib.style.context(_STYLE, after_reset=True)


def inline_svg(figure: Figure, name: str, title: str, description: str) -> str:
    """The picture as an `<svg>` element to stand in a page.

    `name` is unique on the page and begins every identifier in the element, so
    that several pictures can share a page; `title` and `description` are what
    a screen reader says. The same figure gives the same bytes.
    """
    buffer = io.StringIO()
    with matplotlib.rc_context({"svg.hashsalt": name}):
        figure.savefig(buffer, format="svg", metadata=dict.fromkeys(("Creator", "Date", "Format", "Type")))
    drawn = buffer.getvalue()
    drawn = drawn[drawn.index("<svg") :].strip()
    for pattern in (r'(\bid=")', r"(url\(#)", r'(href="#)'):
        drawn = re.sub(pattern, rf"\g<1>{name}-", drawn)
    opening, rest = drawn.split(">", 1)
    size = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', opening)
    shape = f'viewBox="0 0 {size[1]} {size[2]}"' if size else ""
    said = f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(description)}</desc>'
    namespaces = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    labels = f'role="img" aria-labelledby="{name}-title" aria-describedby="{name}-desc"'
    return f"<svg {namespaces} {shape} {labels}>{said}{rest}"

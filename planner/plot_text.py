"""Text that fits the room it has on a picture: measured in the picture's own letters, then broken or shortened."""

from __future__ import annotations

import re
from bisect import bisect_right
from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from .plot_svg import FONT

NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
_BOUND = re.compile(r" (?=[±°%]|kPa|mmHg)|(?<=±) ")


@lru_cache(maxsize=4096)
def width_pt(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a line of text, in points."""
    letters = FontProperties(family=FONT, size=size_pt, weight="bold" if bold else "normal")
    return float(text_to_path.get_text_width_height_descent(text, letters, False)[0])


def broken(text: str, room_pt: float, size_pt: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than the room: broken at spaces, a long word at a hyphen, or else anywhere.

    A number stays with its unit and its uncertainty.
    """
    lines, rest = [], _BOUND.sub(NO_BREAK_SPACE, " ".join(text.split()))
    while rest:
        fits = bisect_right(range(1, len(rest) + 1), room_pt, key=lambda n: width_pt(rest[:n], size_pt, bold)) or 1
        end = len(rest) if fits == len(rest) else rest.rfind(" ", 0, fits + 1)
        if end <= 0:
            end = rest.rfind("-", 0, fits) + 1 or fits
        lines.append(rest[:end].rstrip())
        rest = rest[end:].lstrip()
    return lines


def shortened(template: str, name: str, room_pt: float, size_pt: float, most_lines: int, bold: bool = False) -> str:
    """The template with as much of the name in place of its `{}` as `most_lines` lines hold, joined by line breaks."""
    for letters in range(len(name), 0, -1):
        told = name if letters == len(name) else f"{name[:letters].rstrip(' -,')}…"
        lines = broken(template.replace("{}", told), room_pt, size_pt, bold)
        if len(lines) <= most_lines:
            break
    return "\n".join(lines)

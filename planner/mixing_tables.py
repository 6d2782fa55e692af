"""Table of the quality report on predicted azeotropes: measured pairs of which the prediction is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from .figures import pressure
from .page import Column, Grid

if TYPE_CHECKING:
    from cutpoint.db import Azeotrope
    from cutpoint.db.quality import MeasuredPair

NONE_FORMED = "none"


def wrong_pairs(pairs: Sequence[MeasuredPair]) -> Grid:
    """Measured pairs of which existence or kind of the azeotrope is predicted wrongly, those of existence first."""
    wrong = [pair for pair in pairs if pair.problem is None and not (pair.existence_right and pair.kind_right)]
    wrong.sort(key=lambda pair: (pair.existence_right, pair.name_a, pair.name_b))
    columns = [
        Column("pair", wraps=True), Column("at", right=True), Column("measured", wraps=True),
        Column("predicted", wraps=True),
    ]  # fmt: skip
    rows = [
        [f"{pair.name_a} + {pair.name_b}", pressure(pair.pressure_Pa), _told(pair.measured), _told(pair.predicted)]
        for pair in wrong
    ]
    return Grid(columns, rows)


def _told(azeotropes: Sequence[Azeotrope]) -> str:
    if not azeotropes:
        return NONE_FORMED
    return "; ".join(
        f"{one.kind}, {one.temperature_K - 273.15:.1f} °C, {100.0 * one.mass_fraction_a:.1f} % by mass of the first"
        for one in azeotropes
    )

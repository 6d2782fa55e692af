"""What follows from a comparison, in words."""

from __future__ import annotations

from collections.abc import Sequence

from ..figures import percent
from .departures import BEST_FIT
from .fitting import Fit
from .reasons import MISREAD
from .results import CompositionRow, RunReport
from .run import Run

LARGE_OFFSET_K = 1.0
"""An offset that is larger, and surely there, is worth a correction."""
SURE_DIFFERENCE = 0.01
"""Mass fraction by which an estimate must differ from the sheet's middle to be named."""
MOST_OFF = 0.3
"""Share of the readings off the best fit beyond which no composition explains the run; common practice, no source."""
FEWEST_EFFECTIVE = 40.0
MOST_NAMED = 2


def explained_by(composition: Sequence[CompositionRow], found: Fit) -> str:
    """What is different from the sheet where the best fit explains the readings."""
    differing = [
        (row.estimate.value - row.sheet, row.name)
        for row in composition
        if abs(row.estimate.value - row.sheet) > SURE_DIFFERENCE and row.is_told
    ]
    parts = [
        f"{'more' if by > 0.0 else 'less'} {name} than the middle of the label"
        for by, name in sorted(differing, key=lambda one: -abs(one[0]))[:MOST_NAMED]
    ]
    if abs(found.offset_K) > max(found.offset_u95_K, 0.5 * LARGE_OFFSET_K):
        parts.append(f"a thermometer that reads {abs(found.offset_K):.1f} K too {_side(found.offset_K)}")
    return f"Explained by {' and '.join(parts)}." if parts else "Within what the label allows, at the rim of it."


def verdict(report: RunReport) -> str:
    """Whether the batch did what the sheet said."""
    off = [one for one in report.departures if one.against == BEST_FIT and one.reason != MISREAD]
    followed = f"{report.rows_used - report.rows_off} of {report.rows_used} readings follow the best composition"
    if report.rows_off > MOST_OFF * report.rows_used:
        return f"The batch did not do what any composition of the label does: only {followed}."
    if off:
        stretches = "one stretch" if len(off) == 1 else f"{len(off)} stretches"
        return f"The batch did what the label allows but for {stretches}: {followed}."
    if any(one.against != BEST_FIT for one in report.departures):
        return f"The batch departed from the sheet as another composition or thermometer would make it: {followed}."
    return f"The batch did what the sheet said: {followed}."


def words(report: RunReport, found: Fit, run: Run, n_beyond: int) -> tuple[str, ...]:
    """What follows, and what was taken for granted."""
    told = [*_offset(report), *_edges(report.composition), *_untold(report.composition)]
    if report.plateau is None:
        told.append("No plateau was found: nowhere does the reading stand still over a twentieth of the volume.")
    told += _product(report)
    if n_beyond:
        told.append(
            f"{n_beyond} readings at volumes beyond all that the sheet distils are not compared: check the amount in "
            "the recipe and the volumes."
        )
    if found.effective_size < FEWEST_EFFECTIVE and len(found.prior) > 1:
        told.append(
            f"The intervals of the composition are rough: they stand on some {found.effective_size:.0f} independent "
            "compositions."
        )
    return (*told, *run.remarks)


def _side(offset_K: float) -> str:
    return "high" if offset_K > 0.0 else "low"


def _offset(report: RunReport) -> list[str]:
    offset, u95 = report.offset_K, report.offset_u95_K
    if abs(offset) <= max(u95, LARGE_OFFSET_K):
        return []
    bulb = "too low, below the side arm" if offset > 0.0 else "too high, above the side arm"
    correction = report.thermometer_correction_K - offset
    return [
        f"The thermometer reads {abs(offset):.1f} ± {u95:.1f} K too {_side(offset)}, or its bulb stands {bulb}. Check "
        f"it against the boiling point of water; if it is the thermometer, its correction is {correction:+.1f} K."
    ]


def _edges(composition: Sequence[CompositionRow]) -> list[str]:
    return [
        f"{row.name} is drawn to the {row.edge} end of its range, "
        f"{percent(row.label_low if row.edge == 'lower' else row.label_high)}: the truth may lie beyond the label, or "
        "the column parts otherwise than the recipe says."
        for row in composition
        if row.edge
    ]


def _untold(composition: Sequence[CompositionRow]) -> list[str]:
    names = [row.name for row in composition if not row.is_told and row.label_high > row.label_low]
    if not names:
        return []
    return [f"Of {', '.join(names)} this run tells hardly more than the label does."]


def _product(report: RunReport) -> list[str]:
    product, sheet = report.product, report.sheet_product
    if product is None:
        return ["The readings between which the sheet collects the product were not reached."]
    purity = product.target_purity
    told = []
    if purity.high < sheet.wanted_purity:
        told.append(
            f"Between the sheet's changes the product holds {percent(purity.value)} {report.target}, less than the "
            f"{percent(sheet.wanted_purity)} wanted: distil it again, or change by the readings found here."
        )
    if product.recovery.high < sheet.recovery.low:
        told.append(
            f"Less {report.target} was had than the sheet promised: look for it in the other receivers and the flask."
        )
    return told

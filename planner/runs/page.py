"""What people are shown of a batch held against its sheet."""

from __future__ import annotations

from collections.abc import Sequence

from cutpoint.db.matches import celsius

from ..figures import percent, rounded, significant
from ..page import Block, Column, Grid, Heading, Items, Paragraph
from ..render import NONE_HELD, cautions
from ..stills.results import Interval
from .results import Collected, CompositionRow, Departure, RunReport

ML_PER_M3 = 1e6
MOST_DEPARTURES = 15
"""Stretches shown, the largest of them; `--json` gives all."""

HOW_TO_READ = (
    "Estimates are means of the compositions that the label allows, weighed by how well each explains the readings; in "
    "brackets what holds 95 % of them. Shares are by mass."
)


def blocks(report: RunReport) -> list[Block]:
    """The answer to `log`: verdict, thermometer, composition, receivers, departures, what follows, cautions."""
    return [
        Heading(report.title),
        Paragraph(report.verdict, strong=True),
        Paragraph(_compared(report)),
        Grid([Column("what", wraps=True), Column("figure", right=True)], _thermometer(report)),
        Heading("What was in the flask"),
        _composition(report.composition),
        Paragraph(HOW_TO_READ, faint=True),
        *_collected(report),
        *_departures(report.departures),
        *_follows(report.words),
        *cautions(report.cautions),
    ]


def _follows(words: Sequence[str]) -> list[Block]:
    return [Heading("What follows"), Items(words)] if words else []


def _compared(report: RunReport) -> str:
    return (
        f"Of {report.rows_read} rows noted, {report.rows_used} are compared; they lie within "
        f"{report.residual_rms_K:.2g} K (root mean square) of the best fit."
    )


def _thermometer(report: RunReport) -> list[list[str]]:
    offset, spread = rounded(report.offset_K, report.offset_u95_K)
    rows = []
    if report.plateau is not None:
        plateau = report.plateau
        over = f"{_mL(plateau.from_volume_m3)} to {_mL(plateau.to_volume_m3)} mL"
        rows = [
            [f"plateau from {over}, as noted", celsius(plateau.reading_K)],
            *([] if plateau.sheet_reading_K is None else [["the sheet there", celsius(plateau.sheet_reading_K)]]),
            ["the best fit there", celsius(plateau.fitted_reading_K)],
        ]
    if report.thermometer_correction_K:
        rows.append(["correction of the thermometer in the recipe", f"{report.thermometer_correction_K:+.2g} K"])
    sign = "" if offset.startswith("-") else "+"
    return [*rows, ["offset of the thermometer beyond its correction", f"{sign}{offset} ± {spread} K"]]


def _composition(rows: Sequence[CompositionRow]) -> Grid:
    columns = [
        Column("ingredient", wraps=True),
        Column("label, %", right=True),
        Column("sheet, %", right=True),
        Column("this batch, %", right=True),
        Column("remark", wraps=True),
    ]
    return Grid(columns, [_ingredient(row) for row in rows])


def _ingredient(row: CompositionRow) -> list[str]:
    remark = f"at the {row.edge} end" if row.edge else "" if row.is_told else "not told by the run"
    if row.label_high <= row.label_low:
        remark = "given"
    label = f"{_share(row.label_low)}–{_share(row.label_high)}" if row.label_high > row.label_low else ""
    return [row.name, label or _share(row.label_low), _share(row.sheet), share(row.estimate), remark]


def _collected(report: RunReport) -> list[Block]:
    """Each receiver, and the product as the sheet's changes would have it, beside what the sheet promised."""
    columns = [
        Column("what", wraps=True),
        Column("from mL", right=True),
        Column("to mL", right=True),
        Column("g", right=True),
        Column(f"{report.target}, %", right=True),
        Column("of all of it, %", right=True),
    ]
    promised = report.sheet_product
    rows = [_receiver(one) for one in (*report.receivers, *([report.product] if report.product else []))]
    rows.append(
        ["as the sheet promised", NONE_HELD, NONE_HELD, _interval(promised.mass_kg, 1e3), share(promised.purity),
         share(promised.recovery)]
    )  # fmt: skip
    return [Heading("What was collected"), Grid(columns, rows)]


def _receiver(one: Collected) -> list[str]:
    return [
        one.name, _mL(one.from_volume_m3), _mL(one.to_volume_m3), _interval(one.mass_kg, 1e3),
        share(one.target_purity), share(one.recovery),
    ]  # fmt: skip


def _departures(found: Sequence[Departure]) -> list[Block]:
    title = Heading("Where the batch departed")
    if not found:
        return [title, Paragraph("Nowhere: every reading lies within what the sheet allows.")]
    largest = sorted(found, key=lambda one: -abs(one.difference_K))[:MOST_DEPARTURES]
    rows = [
        [
            _mL(one.from_volume_m3),
            _mL(one.to_volume_m3),
            f"{one.lines[0]}" if one.lines[0] == one.lines[1] else f"{one.lines[0]}–{one.lines[1]}",
            f"{one.difference_K:+.1f} K",
            one.against,
            one.reason,
        ]
        for one in found
        if one in largest
    ]
    columns = [
        Column("from mL", right=True),
        Column("to mL", right=True),
        Column("lines", right=True),
        Column("off by", right=True),
        Column("against"),
        Column("likely reason", wraps=True),
    ]
    hidden = len(found) - len(rows)
    more = [Paragraph(f"and {hidden} more, smaller: --json gives all.")] if hidden else []
    return [title, Grid(columns, rows), *more]


def share(found: Interval) -> str:
    """A mass fraction in percent with its interval.

    >>> share(Interval(0.52, 0.5, 0.545))
    '52.0 (50.0–54.5)'
    """
    return _interval(found, 100.0)


def _interval(found: Interval, factor: float) -> str:
    value, low, high = (factor * number for number in (found.value, found.low, found.high))
    half = 0.5 * (high - low)
    if half <= 5e-4 * abs(value) or half <= 0.0:
        return significant(value) if value else "0"
    told, from_, to = (rounded(number, half)[0] for number in (value, low, high))
    return f"{told} ({from_}–{to})"


def _share(fraction: float) -> str:
    return percent(fraction).removesuffix(" %")


def _mL(volume_m3: float) -> str:
    return significant(ML_PER_M3 * volume_m3, 3) if volume_m3 else "0"

"""What the comparison of a batch with its sheet holds: frozen dataclasses in SI units, fields as in `log --json`.

Volumes are those of liquids at 20 °C, shares are mass fractions. Readings are
those of the thermometer; predicted readings have the recipe's correction in
them, and those of the fit the offset that was found as well.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..stills.results import Interval, Product, Share


@dataclass(frozen=True)
class Plateau:
    """The longest stretch over which the reading stands still: what was noted there on average, and predicted."""

    from_volume_m3: float
    to_volume_m3: float
    reading_K: float
    sheet_reading_K: float | None
    fitted_reading_K: float


@dataclass(frozen=True)
class CompositionRow:
    """One ingredient: its range on the label, the sheet's middle, and what the run makes of it.

    `edge` is `lower` or `upper` where the run pulls to an end of the range, as
    if the truth lay beyond; `is_told` is false where the run says hardly more
    than the label does.
    """

    name: str
    label_low: float
    label_high: float
    sheet: float
    estimate: Interval
    edge: str | None
    is_told: bool


@dataclass(frozen=True)
class Collected:
    """What was collected between two volumes, by the compositions that explain the run.

    `recovery` is the share of the target in the batch that is in it.
    """

    name: str
    from_volume_m3: float
    to_volume_m3: float
    mass_kg: Interval
    target_purity: Interval
    recovery: Interval
    contents: tuple[Share, ...]


@dataclass(frozen=True)
class Departure:
    """A stretch where the readings lie outside a band: by how much on average, and the likely reason.

    `against` is `sheet` for what the best composition explains, and `best fit`
    for what nothing on the label does.
    """

    from_volume_m3: float
    to_volume_m3: float
    lines: tuple[int, int]
    difference_K: float
    against: str
    reason: str


@dataclass(frozen=True)
class Trace:
    """Volumes and temperatures of the same length."""

    volume_m3: tuple[float, ...]
    reading_K: tuple[float, ...]


@dataclass(frozen=True)
class RunReport:
    """A batch held against its sheet.

    `offset_K` is reading minus true temperature beyond the recipe's correction;
    `residual_rms_K` is of the readings used against the best fit, `rows_off` how
    many of them lie off it by more than chance makes likely.
    `product` is what was collected between the sheet's changes of receiver,
    None where the run does not reach them, and `sheet_product` what the sheet
    promised.
    """

    title: str
    target: str
    rows_read: int
    rows_used: int
    rows_off: int
    thermometer_correction_K: float
    offset_K: float
    offset_u95_K: float
    residual_rms_K: float
    plateau: Plateau | None
    composition: tuple[CompositionRow, ...]
    receivers: tuple[Collected, ...]
    product: Collected | None
    sheet_product: Product
    departures: tuple[Departure, ...]
    noted: Trace
    best_fit: Trace
    verdict: str
    """One sentence: whether the batch did what the sheet said."""
    words: tuple[str, ...]
    """What follows from it, and what was taken for granted."""
    cautions: tuple[str, ...]

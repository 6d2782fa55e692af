"""What was noted at the bench, in SI units."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line of the notes: what it does not tell is None.

    `line` is the line of the file; `time_s` counts from the first time noted;
    `reading_K` is that of the thermometer in the still head, uncorrected;
    `volume_m3` is all that has distilled so far, over all receivers.
    """

    line: int
    time_s: float | None
    reading_K: float | None
    volume_m3: float | None
    receiver: str | None
    remark: str | None

    @property
    def is_compared(self) -> bool:
        """Whether it can be held against a curve: before the first drop the thermometer is not yet in vapour."""
        return self.reading_K is not None and self.volume_m3 is not None and self.volume_m3 > 0.0


@dataclass(frozen=True)
class Run:
    """The notes of a batch in the order of the file; `remarks` say what was taken for granted in reading them."""

    rows: tuple[Row, ...]
    remarks: tuple[str, ...]

    @property
    def compared(self) -> tuple[Row, ...]:
        """The rows that can be held against a curve."""
        return tuple(row for row in self.rows if row.is_compared)

"""The account of a hand table that does not pass `normalise`: every row that was read is either kept or told."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping

import pandas as pd

from cutpoint.schema.tables import check, empty

from .normalise import WHOLE_ROW

Cells = dict[str, str]
"""The stripped cells of a row by column."""


class Refused(Exception):
    """A row that cannot be used; the message is the reason."""


class Account:
    """What was kept and what was refused, row by row; `station` is named if the refusals break their contract."""

    def __init__(self, station: str) -> None:
        self.station = station
        self.kept: Counter[str] = Counter()
        self.refused: list[dict[str, object]] = []

    def rows(self, frames: Mapping[str, pd.DataFrame], source: str) -> Iterator[tuple[int, Cells]]:
        """Row number and stripped cells of a source; nothing if it was left out."""
        if source in frames:
            for row, cells in zip(frames[source].index, frames[source].to_dict("records"), strict=True):
                yield int(row), {str(column): str(text).strip() for column, text in cells.items()}

    def refuse(self, source: str, row: int, cells: Cells, reason: str) -> None:
        """Tell why a whole row is not used."""
        cas = cells.get("cas", cells.get("cas_a"))
        told = {"source": source, "source_row": row, "field": WHOLE_ROW, "cas": cas}
        self.refused.append(told | {"raw": "\t".join(cells.values()), "reason": reason})

    def rejected(self) -> pd.DataFrame:
        """The table `rejected` of all refusals."""
        frame = pd.DataFrame(self.refused, columns=list(empty("rejected").columns))
        return check("rejected", frame, self.station)


def number(cells: Cells, column: str) -> float:
    """A cell as a finite number; an empty or unreadable one refuses the row."""
    try:
        found = float(cells[column])
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise Refused(f"{column} {cells[column]!r}: not a number")
    return found

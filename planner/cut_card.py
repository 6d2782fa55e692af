"""What a card says of a stream: the grades that are sold under its CAS number, and over which range each boils."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cutpoint.db.cuts import told_range

from .figures import significant
from .page import Block, Column, Grid, Paragraph

if TYPE_CHECKING:
    from cutpoint.db import Cut


def cut_card(cuts: Sequence[Cut]) -> list[Block]:
    """A grid of the grades with their ranges, and for a lone one what stands for it and where that was published."""
    if not cuts:
        return [Paragraph("None: a stream boils over a range, and that of this one is not held.")]
    columns = [Column("sold as", wraps=True), Column("boils from", right=True), Column("definition", wraps=True)]
    blocks: list[Block] = [Grid(columns, [[cut.name, told_range(cut), cut.definition] for cut in cuts])]
    if len(cuts) == 1:
        cut = cuts[0]
        parts = ", ".join(f"{part.name} {significant(100 * part.mass_fraction, 3)} %" for part in cut.surrogates)
        blocks += [Paragraph(f"It is planned with by mass as {parts}."), Paragraph(f"From {cut.source}.", faint=True)]
    return [*blocks, Paragraph("Ranges are nominal; the data sheet of the product at hand decides.", faint=True)]

"""What a card says of the vapour-pressure curve: how it was made, how far it carries, how sure it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius
from cutpoint.schema.errors import CutpointError
from cutpoint.schema.properties import ATMOSPHERE_PA

from .figures import pressure, quantity, significant
from .page import Block, Column, Grid, Paragraph

if TYPE_CHECKING:
    from cutpoint.db import Component, Curve

SHOWN_PRESSURES_PA = (1e2, 1e3, 1e4, ATMOSPHERE_PA, 1e6)
"""From a good rotary pump to an autoclave."""

NOT_TOLD = "–"


def curve_card(component: Component) -> list[Block]:
    """Rule, range and limits of the curve in words, and a grid of boiling points with its band at a few pressures."""
    curve = component.curve
    if curve is None:
        return [Paragraph("None: no correlation of its vapour pressure is held.")]
    blocks: list[Block] = [Paragraph(f"{_made(curve)} Grade {curve.grade}."), Paragraph(_range(curve))]
    if component.refused_boiling is not None:
        return [*blocks, Paragraph(f"It is not used: every boiling point was refused ({component.refused_boiling}).")]
    rows = [_row(component, pressure_Pa) for pressure_Pa in SHOWN_PRESSURES_PA]
    columns = [
        Column("at", right=True),
        Column("boils at", right=True),
        Column("pressure known to", right=True),
        Column("", wraps=True),
    ]
    blocks.append(Grid(columns, rows))
    if any(NOT_TOLD in row for row in rows):
        blocks.append(Paragraph("Why a line has no answer, `cutpoint boil` says.", faint=True))
    return blocks


def _made(curve: Curve) -> str:
    if curve.is_estimate:
        return (
            f"Estimated from the normal boiling point and the structure by corresponding states ({curve.equation}): "
            "no correlation of its vapour pressure is held."
        )
    if curve.rule == "pooled":
        return f"One curve through all sound correlations, those of {curve.source} ({curve.equation})."
    others = curve.n_sources - 1
    compared = (
        f"compared with {others} other {'source' if others == 1 else 'sources'}" if others else "confirmed by none"
    )
    return f"The best single correlation, that of {curve.source} ({curve.equation}), {compared}."


def _range(curve: Curve) -> str:
    told = f"It is valid from {celsius(curve.T_min_K)} to {celsius(curve.T_max_K)}"
    down = [f"down to {celsius(curve.T_lowest_K)}"] if curve.T_lowest_K < curve.T_min_K else []
    up = [f"up to {celsius(curve.T_highest_K)}"] if curve.T_highest_K > curve.T_max_K else []
    if not down and not up:
        return f"{told}; farther out no answer is given."
    return (
        f"{told}; beyond that extrapolated, and marked so, {' and '.join(down + up)}; farther out no answer is given."
    )


def _row(component: Component, pressure_Pa: float) -> list[str]:
    """Pressure, boiling point there, the band of the pressure, and what to know about it."""
    shown = pressure(pressure_Pa)
    try:
        boiling = component.boiling_point(pressure_Pa)
        there = component.evaluated_vapour_pressure(boiling.value)
    except CutpointError:
        return [shown, NOT_TOLD, NOT_TOLD, ""]
    melting = component.held("melting_point")
    remarks = ["extrapolated"] if boiling.extrapolated else []
    if melting is not None and boiling.value < melting.value - melting.u95:
        remarks.append("a solid there")
    temperature = quantity("boiling_point", boiling.value, boiling.u95, "K")
    return [shown, temperature, f"± {significant(100.0 * there.u95 / there.value, 2)} %", ", ".join(remarks)]

"""Round ticks for the scales of a vapour-pressure chart: degrees Celsius over 1/T, and pressures by decades."""

from __future__ import annotations

import math
from itertools import pairwise

from cutpoint.schema.properties import ICE_POINT_K

DIGITS = (
    (1.0, (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0)),
    (6.0, (1.0, 2.0, 5.0)),
    (math.inf, (1.0,)),
)
"""First digits of the ticks, by the most decades over which there is room for them."""
WIDEST_STEP, FINEST_STEP = 10_000.0, 0.1


def decade_ticks(low: float, high: float) -> list[float]:
    """Round ticks for a logarithmic axis between two positive numbers: 1, 2 and 5 of each decade, or more, or fewer."""
    decades = math.log10(high / low)
    digits = next(digits for most, digits in DIGITS if decades <= most)
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    return [tick for power in powers for digit in digits if low <= (tick := float(f"{digit:g}e{power}")) <= high]


def round_celsius(low_K: float, high_K: float, gap: float) -> list[float]:
    """Round temperatures in °C between two temperatures in K, for an axis that is linear in 1/T.

    Neighbours are at least `gap` apart, a fraction of the axis. The steps grow
    along the axis as on a slide rule: an interval is divided into ten, five or
    two parts as there is room, and a tenth of it again.
    """
    span = 1.0 / low_K - 1.0 / high_K

    def inside(ticks: list[float]) -> list[float]:
        return [tick for tick in ticks if low_K <= tick + ICE_POINT_K <= high_K]

    def divided(start: float, end: float) -> list[float]:
        if start + ICE_POINT_K > high_K or end + ICE_POINT_K < low_K:
            return []
        for parts in (10, 5, 2):
            step = (end - start) / parts
            ticks = [round(start + step * part, 6) for part in range(parts + 1)]
            places = [1.0 / (tick + ICE_POINT_K) / span for tick in inside(ticks)]
            if step >= FINEST_STEP and all(left - right >= gap for left, right in pairwise(places)):
                return inside(ticks) if parts < 10 else [tick for ends in pairwise(ticks) for tick in divided(*ends)]
        return inside([start, end])

    return sorted({*divided(-WIDEST_STEP, 0.0), *divided(0.0, WIDEST_STEP)})

"""Why readings may lie off their curve: what was noted beside them, the rate, and where on the curve they lie.

The signs are common practice at the bench, no source; a reason is a guess to look after.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

FLOODED = "The column flooded, or was driven too fast: less heat, and total reflux until it has drained."
WATER = "Water or another liquid came over with it: it forms an azeotrope, or the liquid parted. Dry the feed first."
HEAT = "The heat was interrupted or too weak, so that the vapour no longer reached the bulb."
BULB = "The thermometer bulb stood wrong: its top belongs level with the lower edge of the side arm."
COOLANT = "The coolant failed or was too warm. Stop the heat until it runs again."
BUMPED = "The flask bumped and liquid splashed up to the bulb: fresh boiling stones into the cold flask."
FORESHOT = "Foreshot: something lighter than the label tells, or what was left in the apparatus from before."
UNSTEADY = "Taken off before the column was steady: keep it at total reflux until the reading stands still."
TOO_FAST = "Taken off too fast, faster than elsewhere in the run: what boils higher came over with it."
MISREAD = "One reading alone: misread or miswritten."
EARLY = "The change came early: fewer plates at work than the recipe says, too little reflux, or a leak of heat."
LATE = "The change came late: better parted than the sheet supposes, or the volume was read too high."
HOT = "Superheated vapour at the bulb (too strong a heat, bulb too low), or something heavier than the label tells."
COLD = "A draught or weak heat at the still head, a bulb too high, or something lighter or water in the feed."

_NOTED = (
    (r"flood|chok", FLOODED),
    (r"cool(ant|er|ing)|condenser (warm|hot)|chiller|tap (off|shut)", COOLANT),
    (
        r"heat(ing|er)? (was )?(off|out|cut|fail|stop|down|low)|power|mantle (off|out)|stopped|paused?|break\b|lunch",
        HEAT,
    ),
    (r"bump|splash|foam", BUMPED),
    (r"water|wet|cloud|turbid|milky|layer|droplet", WATER),
    (r"bulb|thermometer (moved|slipped|loose)", BULB),
)
_FAST, _SLOW = 1.6, 0.5
_AT_THE_START = 0.06
_STEEP_K = 3.0


@dataclass(frozen=True)
class Signs:
    """What is known of a stretch.

    `rate` is its take-off over the median of the run, None without times;
    `place` is its first volume over all that distils; `rise_K` is how far the
    predicted curve climbs around it; `remarks` are those noted with it.
    """

    n: int
    difference_K: float
    place: float
    rate: float | None
    rise_K: float
    remarks: str


def reason(signs: Signs) -> str:
    """The likeliest reason in words; what was noted beside the readings goes first."""
    for pattern, told in _NOTED:
        if re.search(pattern, signs.remarks, re.IGNORECASE):
            return told
    if signs.n == 1:
        return MISREAD
    is_high = signs.difference_K > 0.0
    if signs.place < _AT_THE_START:
        return UNSTEADY if is_high else FORESHOT
    if signs.rate is not None and is_high and signs.rate > _FAST:
        return TOO_FAST
    if signs.rate is not None and not is_high and signs.rate < _SLOW:
        return HEAT
    if signs.rise_K > _STEEP_K:
        return EARLY if is_high else LATE
    return HOT if is_high else COLD

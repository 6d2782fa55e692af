"""The boiling of liquids that may part into two: at the bubble point both lie under one vapour.

The vapour pressure of what has parted is that of either liquid, Σ x'_i γ'_i p*_i,
not that of the one liquid which it would be unparted.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from .equilibrium import (
    MOST_ROUNDS,
    UNSETTLED,
    Liquid,
    PhaseEquilibrium,
    among,
    answer,
    bubble_search,
    why_no_temperature,
)
from .liquid_split import ACTIVITY_TOLERANCE, LiquidSplit, LnGamma, fractions, log_of, settled, split
from .minimise import Array, Places
from .mixture_curves import MixtureCurves
from .temperature_search import FOUND, NO_VALUE, temperatures_where

_LN_PRESSURE_TOLERANCE = 2 * ACTIVITY_TOLERANCE
"""A pressure is known no better than the activities in two liquids are the same."""
_SAME_LN_PRESSURE = 10 * ACTIVITY_TOLERANCE


@dataclass(frozen=True)
class BoilingLiquid:
    """A liquid at its bubble point, `equilibrium.liquid` being the whole, and the liquids that it then is."""

    equilibrium: PhaseEquilibrium
    liquids: LiquidSplit


class _Parted(Liquid):
    """ln p over liquids of which those in `two` lie in two, whose amounts (2, S, N) are kept from step to step."""

    def __init__(self, curves: MixtureCurves, ln_gamma: LnGamma, z: Array) -> None:
        super().__init__(curves, ln_gamma, z)
        self.two = np.zeros(len(z), dtype=np.bool_)
        self.amounts = np.stack([z, np.zeros_like(z)])

    def keep(self, rows: Places, liquids: LiquidSplit) -> None:
        """Go on from these liquids."""
        self.two[rows] = liquids.two_liquids
        parts = ((liquids.first, liquids.first_amount), (liquids.second, liquids.second_amount))
        for n, (x, amount) in zip(self.amounts, parts, strict=True):
            n[rows] = x * amount[:, None]

    def ln_activities(self, T_K: Array, rows: Places) -> Array:
        ln_a = np.empty((len(rows), self._x.shape[1]))
        two = self.two[rows]
        ln_a[~two] = super().ln_activities(T_K[~two], rows[~two])
        if two.any():
            places, T = rows[two], T_K[two]
            n = settled(self._ln_gamma, self._x[places], T, self.amounts[:, places])
            self.amounts[:, places] = n
            x = fractions(n[0])
            ln_a[two] = log_of(x) + self._ln_gamma(x, T)
        return ln_a


def boiling_temperature(curves: MixtureCurves, ln_gamma: LnGamma, z: Array, ln_p: Array) -> BoilingLiquid:
    """Where liquids, in one or two as they are stable, begin to boil at given pressures."""
    parted, liquids, present = _Parted(curves, ln_gamma, z), _unknown(z), z > 0.0
    low, high = curves.limits_K(present)
    T, end = bubble_search(curves, parted, z, ln_p)
    reason = why_no_temperature(curves, end, present)
    rows = np.flatnonzero((end != NO_VALUE) & (low <= high))
    for _ in range(MOST_ROUNDS):
        found, before = split(ln_gamma, z[rows], T[rows]), parted.two[rows]
        parted.keep(rows, found)
        _put(found, liquids, rows)
        # What seemed, as one liquid, to boil beyond the curves may yet boil within them as two.
        asked = found.two_liquids | (end[rows] == FOUND)
        reason[rows[asked]] = found.reason[asked]
        kept = asked & found.converged
        rows, before = rows[kept], before[kept]
        ln_p_found, _ = parted.ln_pressure(T[rows], rows)
        rows = rows[(before != parted.two[rows]) | (np.abs(ln_p_found - ln_p[rows]) > _SAME_LN_PRESSURE)]
        if not rows.size:
            break
        T[rows], end[rows] = temperatures_where(
            among(rows, parted), ln_p[rows], T[rows], low[rows], high[rows], _LN_PRESSURE_TOLERANCE
        )
        reason[rows] = why_no_temperature(curves, end[rows], present[rows])
        rows = rows[end[rows] == FOUND]
    reason[rows] = UNSETTLED
    equilibrium = answer(curves, T, ln_p, z, parted.vapour, reason)
    failed = np.flatnonzero(~equilibrium.converged)
    _put(_unknown(z[failed]), liquids, failed)
    liquids.reason[failed] = reason[failed]
    return BoilingLiquid(equilibrium, liquids)


def boiling_pressure(curves: MixtureCurves, ln_gamma: LnGamma, z: Array, T_K: Array) -> BoilingLiquid:
    """Where liquids, in one or two as they are stable, begin to boil at given temperatures."""
    liquids = split(ln_gamma, z, T_K)
    parted, rows, ln_p = _Parted(curves, ln_gamma, z), np.flatnonzero(liquids.converged), np.full(len(z), np.nan)
    parted.keep(np.arange(len(z)), liquids)
    ln_p[rows], _ = parted.ln_pressure(T_K[rows], rows)
    reason = curves.why_not(T_K, z > 0.0)
    reason = np.where(reason == "", liquids.reason, reason)
    return BoilingLiquid(answer(curves, T_K, ln_p, z, parted.vapour, reason), liquids)


def _unknown(z: Array) -> LiquidSplit:
    """Liquids of which nothing is known."""
    gap, no = np.full(len(z), np.nan), np.zeros(len(z), dtype=np.bool_)
    return LiquidSplit(
        gap, np.full_like(z, np.nan), np.full_like(z, np.nan), gap.copy(), gap.copy(), no, no.copy(),
        np.full(len(z), "", dtype=object),
    )  # fmt: skip


def _put(found: LiquidSplit, into: LiquidSplit, rows: Places) -> None:
    """Write the liquids found into those of all states, at their rows."""
    for field in fields(LiquidSplit):
        getattr(into, field.name)[rows] = getattr(found, field.name)

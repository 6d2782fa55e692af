"""The vapour-pressure curves of the components of a mixture: how far they carry together, and which one does not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .curves import Array, CurveBank

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class MixtureCurves:
    """Curves of N components and what these are called; only components that are present count, (S, N)."""

    names: tuple[str, ...]
    bank: CurveBank

    def ln_pressures(self, T_K: Array, present: Mask) -> tuple[Array, Array]:
        """ln(p* / Pa) and its slope in 1/K, (S, N): 0 for what is absent, held beyond a curve's end (see `why_not`)."""
        ln_p, slope = self.bank.clipped_ln_pressures(T_K[:, None]), self.bank.clipped_slopes(T_K[:, None])
        return np.where(present, ln_p, 0.0), np.where(present, slope, 0.0)

    def limits_K(self, present: Mask) -> tuple[Array, Array]:
        """Lowest and highest temperatures to which all curves carry, (S,); the lowest is above where none does."""
        lowest, highest = self.bank.limits_K()
        return (
            np.where(present, lowest, 1.0).max(axis=-1, initial=1.0),
            np.where(present, highest, 1e5).min(axis=-1, initial=1e5),
        )

    def extrapolated(self, T_K: Array, present: Mask) -> Mask:
        """Where a curve is asked outside its valid range, (S,)."""
        low, high = self.bank.range_K()
        outside = present & ((low > T_K[:, None]) | (high < T_K[:, None]))
        return np.asarray(outside.any(axis=-1))

    def why_not(self, T_K: Array, present: Mask) -> NDArray[np.object_]:
        """Which curve does not carry to the temperatures, (S,); empty where all do."""
        reason = np.full(len(T_K), "", dtype=object)
        short = present & ~self.bank.carries(T_K[:, None])
        for row in np.flatnonzero(short.any(axis=-1)):
            place = int(np.argmax(short[row]))
            low, high = self._limits_of(place)
            reason[row] = f"the curve of {self.names[place]} carries from {low} to {high}, not to {T_K[row]:.6g} K"
        return reason

    def why_no_temperature(self, upward: bool, present: Mask) -> str:
        """Why a search ended at the upper, else at the lower, of the limits; `present` of one state, (N,)."""
        lowest, highest = self.bank.limits_K()
        first_end, last_start = (
            int(np.argmin(np.where(present, highest, np.inf))),
            int(np.argmax(np.where(present, lowest, -np.inf))),
        )
        if lowest[last_start] > highest[first_end]:
            return (
                f"the curve of {self.names[first_end]} ends at {self._limits_of(first_end)[1]}, "
                f"below the start of that of {self.names[last_start]} at {self._limits_of(last_start)[0]}"
            )
        if upward:
            return f"it is above {self._limits_of(first_end)[1]}, where the curve of {self.names[first_end]} ends"
        return f"it is below {self._limits_of(last_start)[0]}, where the curve of {self.names[last_start]} starts"

    def _limits_of(self, place: int) -> tuple[str, str]:
        low, high = (f"{end[place]:.6g} K" for end in self.bank.limits_K())
        return low, high

"""The liquids of a feed as a column asks for them: many batches, each with pressure and draws of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.volatile_liquid import Boiling, VolatileLiquid

Array = NDArray[np.float64]
Places = NDArray[np.int64]


@dataclass
class Liquids:
    """S batches of one liquid: `ln_p`, (S, N), is ln p less the draw of each ln p*, `gamma_scale`, (S, N), scales ln γ.

    The draws are what the vapour pressures and the activity model may be off by
    (GUM supplement 1, JCGM 101:2008: propagation of distributions by Monte Carlo).
    """

    liquid: VolatileLiquid
    ln_p: Array
    gamma_scale: Array
    _last: Boiling | None = None

    def take(self, rows: Places) -> Liquids:
        """The same of some of the batches."""
        return Liquids(self.liquid, self.ln_p[rows], self.gamma_scale[rows])

    def vapour(self, x: Array, T_K: Array) -> tuple[Array, Array]:
        """Vapours over liquids (A, S, N), mole fractions that sum to 1, and bubble points (A, S), from near by."""
        A, S, N = x.shape
        ln_p, scale = np.tile(self.ln_p, (A, 1)), np.tile(self.gamma_scale, (A, 1))
        self._last = self.liquid.vapour(x.reshape(-1, N), T_K.reshape(-1), ln_p, scale)
        return self._last.y.reshape(x.shape), self._last.T_K.reshape(A, S)

    def slopes(self) -> Array:
        """∂y_i/∂x_j within the sum of 1 at the liquids asked last, (A, S, N, N)."""
        assert self._last is not None
        S, N = self.ln_p.shape
        return self.liquid.vapour_slopes(self._last).reshape(-1, S, N, N)

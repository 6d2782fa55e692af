"""Newton's method for many small systems of equations at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def newton(
    missed: Callable[[Array], Array],
    u: Array,
    h: Array,
    moved: Callable[[Array, Array, Array, Array], Array],
    tolerance: float,
    rounds: int,
) -> tuple[Array, Array]:
    """Where n equations in n unknowns hold, for each of the starts `u`, (P, n); and by how much they are missed, (P,).

    `missed` says at points (P, n + 1, n) by how much each equation is missed,
    in the same shape; slopes are differences over `h`, (n,) or (P, n). `moved`
    makes the next point from this one, the full step, (P, n) each, what is
    missed, and the slopes, (P, equation, unknown). A row within the tolerance is left as it is.
    """
    n = u.shape[1]
    moves = h[..., None, :] * np.eye(n + 1, n, k=-1)
    for _ in range(rounds):
        misses = missed(u[:, None] + moves)
        miss = misses[:, 0]
        worst = np.abs(miss).max(axis=1)
        far = worst > tolerance
        if not far.any():
            break
        with np.errstate(all="ignore"):
            slopes = np.swapaxes((misses[:, 1:] - misses[:, :1]) / h[..., None], 1, 2)
            step = np.asarray(np.linalg.solve(slopes + 1e-14 * np.eye(n), miss[..., None])[..., 0], dtype=np.float64)
            u = np.where(far[:, None], moved(u, step, miss, slopes), u)
    return u, worst

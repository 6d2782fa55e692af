"""The plateau of a run: the longest stretch over which the reading hardly moves with the volume."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STILL_K = 1.5
"""Readings that stay within this much of each other stand still; common practice, no source."""
FEWEST = 3
LEAST_SHARE = 0.05
"""Of all that was distilled: a shorter stretch is no plateau."""


def find_plateau(volume_m3: Array, reading_K: Array) -> tuple[int, int] | None:
    """First and last place of the plateau in readings in the order of their volumes, (n,); None where there is none.

    Medians of three neighbours decide, so that one wrong reading does not end it.
    """
    n = len(volume_m3)
    padded = np.concatenate([reading_K[:1], reading_K, reading_K[-1:]])
    smooth = np.median(np.stack([padded[:-2], padded[1:-1], padded[2:]]), axis=0)
    best = (0.0, 0, 0)
    for start in range(n):
        run = smooth[start:]
        moves = np.maximum.accumulate(run) - np.minimum.accumulate(run) > STILL_K
        end = start + (int(np.argmax(moves)) if moves.any() else n - start) - 1
        if end - start + 1 >= FEWEST:
            best = max(best, (float(volume_m3[end] - volume_m3[start]), start, end), key=lambda one: one[0])
    length, start, end = best
    if length <= 0.0 or length < LEAST_SHARE * float(volume_m3[-1]):
        return None
    return start, end

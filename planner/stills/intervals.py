"""From a figure in every sampled composition to what a sheet says of it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .results import Interval

Array = NDArray[np.float64]

_PERCENTILES = (2.5, 97.5)
"""Of a probabilistically symmetric interval for a coverage of 95 % (GUM supplement 1, JCGM 101:2008, 7.7)."""


def interval(values: Array) -> Interval:
    """The figure of row 0, the central composition, and the 95 % interval of all rows, (S,), widened to hold it.

    NaN in any row gives NaN at both ends.
    """
    low, high = np.percentile(values, _PERCENTILES)
    central = float(values[0])
    return Interval(central, float(np.minimum(low, central)), float(np.maximum(high, central)))

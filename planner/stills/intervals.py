"""From the figures of all compositions to one figure with its interval."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .results import Interval

COVERAGE = (0.025, 0.975)
"""Quantiles of a coverage of 95 %, as in the GUM."""


def interval(values: NDArray[np.float64]) -> Interval:
    """The figure of the central composition, first of (S,), and the interval that holds 95 % of all."""
    low, high = np.quantile(values, COVERAGE)
    # With few compositions the central figure may lie outside: then the interval reaches to it.
    return Interval(float(values[0]), float(min(low, values[0])), float(max(high, values[0])))

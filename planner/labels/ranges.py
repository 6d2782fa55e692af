"""The compositions that the shares of a label allow: each within its ends, all together 100 %."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cutpoint.schema.errors import WrongLabel

from .shares import told

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from .reading import LabelLine

ROUNDING = 0.005
"""By how much printed shares may miss 100 % because each was rounded; common practice, no source."""

_NOTHING = 1e-12


@dataclass(frozen=True, eq=False)
class Bounds:
    """Smallest and largest fraction of each ingredient, shape (k,), as narrow as the sum of 1 makes them.

    `remark` says what was done where rounded shares miss 100 % by a little.
    """

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    remark: str | None = None


def bounds(lines: Sequence[LabelLine]) -> Bounds:
    """The bounds that the lines of a label allow, tightened: no ingredient can have less than the others leave.

    Shares that miss 100 % by no more than rounding are scaled to it. Raises
    WrongLabel, with the sum written out, where they cannot sum to 100 %.
    """
    lower = np.array([line.lower for line in lines])
    upper = np.array([line.upper for line in lines])
    remark = None
    if lower.sum() > 1.0 + _NOTHING:
        remark = _missed(lines, lower, "smallest", "more")
        lower = lower / lower.sum()
        upper = np.maximum(upper, lower)
    elif upper.sum() < 1.0 - _NOTHING:
        remark = _missed(lines, upper, "largest", "less")
        upper = upper / upper.sum()
    return Bounds(*_tightened(lower, upper), remark)


def central(allowed: Bounds) -> NDArray[np.float64]:
    """The composition, shape (k,), that lies equally far along every range: lower + t (upper - lower), summing to 1."""
    width = allowed.upper - allowed.lower
    total = width.sum()
    if total <= _NOTHING:
        return allowed.lower / allowed.lower.sum()
    return allowed.lower + width * ((1.0 - allowed.lower.sum()) / total)


def _tightened(
    lower: NDArray[np.float64], upper: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # One pass is exact: each range is the shadow of the polytope on its axis.
    lifted = np.maximum(lower, 1.0 - (upper.sum() - upper))
    lowered = np.minimum(upper, 1.0 - (lower.sum() - lower))
    # Rounding alone can put the ends of a point the wrong way round.
    return np.clip(np.minimum(lifted, lowered), 0.0, 1.0), np.clip(np.maximum(lifted, lowered), 0.0, 1.0)


def _missed(lines: Sequence[LabelLine], ends: NDArray[np.float64], which: str, than: str) -> str:
    """What to say of shares that miss 100 % by rounding; raises WrongLabel for more than that."""
    total = float(ends.sum())
    terms = " + ".join(f"{100.0 * end:.6g} (line {line.number})" for line, end in zip(lines, ends, strict=True) if end)
    written = f"{terms or '0'} = {told(total)}"
    if abs(total - 1.0) <= ROUNDING + _NOTHING:
        return f"The {which} shares sum to {told(total)}; taken as rounded, and scaled to 100 %."
    if than == "more":
        help = "Look for a share that is too high, or printed on another basis."
    else:
        help = "Add what is not listed as a line with 'balance', and say in [meanings] what it is."
    raise WrongLabel(f"The {which} shares sum to {than} than 100 %: {written}. {help}")

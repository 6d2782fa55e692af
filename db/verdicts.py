"""From the numbers to one of five verdicts, over the whole interval of their uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .pair_tables import WATER
from .results import Azeotrope, Thresholds

BENCH_K = 298.15
"""What boils below is a gas at the bench."""

SIMPLE, FRACTIONAL, CLOSE = "simple distillation", "fractional distillation", "close-boiling"
AZEOTROPE, UNDECIDED = "azeotrope", "undecided"

NOT_BEYOND = "no column parts them beyond it at this pressure"


@dataclass(frozen=True)
class Mixing:
    """What is predicted of how a pair parts at a pressure.

    `equivalent_K` is the difference of boiling points of an ideal pair that
    needs as many plates, `least_K` and `most_K` its ends over the uncertainty
    (0 where no number of plates parts the pair); NaN where a curve ends before.
    `surely_azeotropic` says whether the azeotropes stand over the whole uncertainty.
    """

    azeotropes: tuple[Azeotrope, ...]
    surely_azeotropic: bool
    equivalent_K: float
    least_K: float
    most_K: float


@dataclass(frozen=True)
class Known:
    """All that bears on the verdict of a pair at a pressure; `stays_solid`: one is a solid where the other boils.

    `measured` are azeotropes at the pressure, `measured_nearby` says whether one was found within a factor of two.
    """

    cas: tuple[str, str]
    delta_K: float
    u95_K: float
    measured: tuple[Azeotrope, ...]
    measured_nearby: bool
    is_zeotropic: bool
    stays_solid: bool
    mixing: Mixing | None

    @property
    def azeotropes(self) -> tuple[Azeotrope, ...]:
        """Those that count: measured before predicted, and none predicted where it was measured that there is none."""
        predicted = () if self.mixing is None or self.is_zeotropic else self.mixing.azeotropes
        return self.measured or predicted


def verdict(known: Known, thresholds: Thresholds) -> tuple[str, str]:
    """The verdict and the sentence that says why."""
    if known.measured:
        return AZEOTROPE, f"They form an azeotrope: {NOT_BEYOND}."
    delta_K = abs(known.delta_K)
    by_difference = max(delta_K - known.u95_K, 0.0), delta_K + known.u95_K
    mixing = known.mixing
    if mixing is None or (math.isnan(mixing.equivalent_K) and not mixing.azeotropes):
        if known.is_zeotropic:
            return _between(*by_difference, thresholds, "No azeotrope was found when it was measured, and the")
        if by_difference[0] >= thresholds.unrelated_K and known.stays_solid:
            return SIMPLE, "The one is a solid where the other boils, and boils far above it: it is left in the flask."
        if by_difference[0] >= thresholds.unrelated_K and WATER not in known.cas:
            return _between(*by_difference, thresholds, "How they mix is not known, but the")
        return UNDECIDED, (
            "The boiling points alone cannot tell whether they form an azeotrope; "
            "a small trial batch, or a published measurement of the pair, would settle it."
        )
    if mixing.azeotropes and known.is_zeotropic:
        return UNDECIDED, (
            "An azeotrope is predicted where none was found when it was measured: the prediction is wrong here, and "
            "how many plates the pair takes is not known; a measured vapour-liquid equilibrium would settle it."
        )
    if mixing.azeotropes:
        if mixing.surely_azeotropic:
            return AZEOTROPE, f"They are predicted to form an azeotrope: {NOT_BEYOND}."
        if known.measured_nearby:
            return AZEOTROPE, f"It is predicted here and was measured at a pressure nearby: {NOT_BEYOND}."
        otherwise = _class_of(mixing.most_K, thresholds)
        return UNDECIDED, (
            "An azeotrope is predicted, but within the uncertainty there may be none, and then the pair is one for "
            f"{otherwise}; a published measurement, or distilling a sample of that composition, would settle it."
        )
    return _between(mixing.least_K, mixing.most_K, thresholds, "The equivalent")


def _between(least_K: float, most_K: float, thresholds: Thresholds, subject: str) -> tuple[str, str]:
    least, most = _class_of(least_K, thresholds), _class_of(most_K, thresholds)
    interval = f"{subject} difference of boiling points lies between {least_K:.3g} and {most_K:.3g} K"
    if least != most:
        return UNDECIDED, (
            f"{interval}, which allows both {least} and {most}; better boiling points, "
            "or a measured vapour-liquid equilibrium, would settle it."
        )
    limits = {
        SIMPLE: f"{thresholds.simple_K:g} K or more",
        FRACTIONAL: f"{thresholds.close_K:g} to {thresholds.simple_K:g} K",
        CLOSE: f"less than {thresholds.close_K:g} K",
    }
    return least, f"{interval}: {least} by common practice ({limits[least]})."


def _class_of(difference_K: float, thresholds: Thresholds) -> str:
    if difference_K >= thresholds.simple_K:
        return SIMPLE
    return FRACTIONAL if difference_K >= thresholds.close_K else CLOSE


def stays_solid(melting_K: tuple[float | None, float | None], boiling_K: tuple[float, float]) -> bool:
    """Whether the one that boils later is a solid at the bench and where the other, a liquid there, boils."""
    later = 0 if boiling_K[0] > boiling_K[1] else 1
    melting, first_K = melting_K[later], boiling_K[1 - later]
    return melting is not None and first_K > BENCH_K and melting > first_K

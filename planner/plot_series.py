"""What the picture of a vapour-pressure curve shows, in numbers: curve and band, data, judges, deviations.

Temperatures in K, pressures in Pa; deviations and uncertainties are relative to
the pressure of our curve. The modules `plot` and `plot_panels` draw it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.equations import ln_pressure, pad
from cutpoint.schema.errors import NoValue, OutOfRange
from cutpoint.schema.properties import ATMOSPHERE_PA, STANDARD_TEMPERATURE_K

if TYPE_CHECKING:
    from cutpoint.db import Component, Curve, CurveBank, Evaluation

Array = NDArray[np.float64]

LOWEST_PRESSURE_PA = 1e3
"""Where the picture begins, unless the curve begins higher: about what a bench reaches; common practice, no source."""
HIGHEST_PRESSURE_PA = 1e6
"""Where it ends if no critical point is known."""
LEAST_RATIO = 100.0
"""A curve that ends at a low pressure is shown over at least this ratio of pressures."""
HEADROOM = 0.08
"""Room above the highest pressure, for labels: a share of the height."""
SAMPLES = 120
"""Temperatures at which a line is drawn: ln p against 1/T is nearly straight."""
ROUND_LIMITS = (0.002, 0.003, 0.005, 0.01, 0.02, 0.03, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0)
"""Half-widths of the axis of deviations; what lies beyond the widest is always clipped."""
COMMON_SHARE = 90.0
"""Percentage of a series' points by which its need of room on the axis of deviations is judged."""

CORRELATION, POINT, BOILING_POINT, JUDGE = "correlation", "point", "boiling point", "judge"


@dataclass(frozen=True)
class Frame:
    """The window of the picture."""

    T_low_K: float
    T_high_K: float
    p_low_Pa: float
    p_high_Pa: float

    def holds(self, T_K: Array, p_Pa: Array) -> NDArray[np.bool_]:
        """Which points lie inside."""
        return (np.clip(T_K, self.T_low_K, self.T_high_K) == T_K) & (
            np.clip(p_Pa, self.p_low_Pa, self.p_high_Pa) == p_Pa
        )


@dataclass(frozen=True)
class Stretch:
    """Our curve over its valid range, or over one side of the allowed extrapolation."""

    T_K: Array
    p_Pa: Array
    u95_relative: Array
    extrapolated: bool


@dataclass(frozen=True)
class Series:
    """What one source or judge says: a correlation inside its own range, or points.

    `kind` is one of the four above. `believed` is false for an outlier, and for
    what a judge says otherwise than we do. `deviation` is from our curve, NaN
    where that does not reach.
    """

    kind: str
    label: str
    believed: bool
    T_K: Array
    p_Pa: Array
    deviation: Array


@dataclass(frozen=True)
class Sheet:
    """All that the picture of one component shows, and in `hidden` what lies outside its frame."""

    component: Component
    curve: Curve
    evaluated: dict[str, Evaluation]
    frame: Frame
    stretches: tuple[Stretch, ...]
    series: tuple[Series, ...]
    hidden: tuple[Series, ...]

    def deviation_limit(self) -> float:
        """Half-width of the axis of deviations, round.

        It holds the band of the valid range and twice what the middle one of
        the correlations and judges needs, so that one that is far off squashes
        nothing.
        """
        bands = [stretch.u95_relative for stretch in self.stretches if not stretch.extrapolated]
        told = [series for series in self.series if series.believed and series.kind != BOILING_POINT]
        reached = [float(np.percentile(self.visible(series), COMMON_SHARE)) for series in told]
        needed = max([1.2 * float(np.median(band)) for band in bands] + [2.0 * float(np.median(reached or 0.0))])
        return next((limit for limit in ROUND_LIMITS if limit >= needed), ROUND_LIMITS[-1])

    def visible(self, series: Series) -> Array:
        """Magnitudes of the deviations at the points inside the frame; zero where our curve does not reach."""
        inside = self.frame.holds(series.T_K, series.p_Pa)
        return np.where(inside, np.nan_to_num(np.abs(series.deviation)), 0.0)

    def clipped(self) -> list[Series]:
        """What leaves the axis of deviations: the points that do, and the farthest of a correlation."""
        limit, beyond = self.deviation_limit(), []
        for series in self.series:
            seen = self.visible(series)
            places = np.flatnonzero(seen > limit)
            if places.size:
                if series.kind == CORRELATION:
                    places = np.array([np.argmax(seen)])
                parts = (series.T_K[places], series.p_Pa[places], series.deviation[places])
                beyond.append(Series(series.kind, series.label, series.believed, *parts))
        return beyond


def sheet(component: Component) -> Sheet:
    """Everything to be drawn of one component.

    Raises NoValue for a stream, for a substance that sublimes, and where no
    curve is held or it is not believed.
    """
    curve, bank = _curve(component)
    evaluated = {held.property: held for held in component.evaluations()}
    frame = _frame(bank, evaluated)
    shown: list[Series] = []
    hidden: list[Series] = []
    for series in (
        *_correlations(component, bank, frame),
        *_boiling_points(component, bank),
        *_judged(component, bank),
    ):
        (shown if frame.holds(series.T_K, series.p_Pa).any() else hidden).append(series)
    return Sheet(component, curve, evaluated, frame, tuple(_stretches(curve, bank, frame)), tuple(shown), tuple(hidden))


def _curve(component: Component) -> tuple[Curve, CurveBank]:
    if component.phase_behaviour == "sublimes":
        raise NoValue(
            f"{component.name} ({component.cas}) sublimes: it goes from solid to vapour, "
            "so there is no vapour-pressure curve of a boiling liquid to draw."
        )
    with suppress(OutOfRange):
        component.vapour_pressure(STANDARD_TEMPERATURE_K)  # where there is no curve it says in words why
    curve, bank = component.curve, component.curve_bank
    assert curve is not None and bank is not None
    return curve, bank


def _frame(bank: CurveBank, evaluated: dict[str, Evaluation]) -> Frame:
    """From 1 kPa to the critical point, else to 1 MPa, as far as curve and boiling point go, with a margin."""
    p_lowest, p_highest = (float(limit[0]) for limit in bank.pressure_limits_Pa())
    p_low = max(p_lowest, min(LOWEST_PRESSURE_PA, p_highest / LEAST_RATIO))
    p_high, T_high = min(p_highest, HIGHEST_PRESSURE_PA), 0.0
    if {"critical_temperature", "critical_pressure"} <= evaluated.keys():
        p_high, T_high = evaluated["critical_pressure"].value, evaluated["critical_temperature"].value
    if "normal_boiling_point" in evaluated:
        p_high, T_high = max(p_high, ATMOSPHERE_PA), max(T_high, evaluated["normal_boiling_point"].value)
    T_low, T_reached = (float(bank.boiling_points(p).value[0]) for p in (p_low, min(p_high, p_highest)))
    T_high = max(T_high, T_reached)
    margin = 0.03 * (1.0 / T_low - 1.0 / T_high)
    ratio = p_high / p_low
    return Frame(
        1.0 / (1.0 / T_low + margin), 1.0 / (1.0 / T_high - margin), p_low / ratio**0.02, p_high * ratio**HEADROOM
    )  # fmt: skip


def _stretches(curve: Curve, bank: CurveBank, frame: Frame) -> Iterator[Stretch]:
    lowest_K, highest_K = (float(limit[0]) for limit in bank.limits_K())
    ends = ((lowest_K, curve.T_min_K, True), (curve.T_min_K, curve.T_max_K, False), (curve.T_max_K, highest_K, True))
    for low_K, high_K, extrapolated in ends:
        low_K, high_K = max(low_K, lowest_K, frame.T_low_K), min(high_K, highest_K, frame.T_high_K)
        if low_K < high_K:
            T_K = _temperatures(low_K, high_K)
            values = bank.vapour_pressures(T_K[:, np.newaxis])
            p_Pa, u95_Pa = values.value[:, 0], values.u95[:, 0]
            yield Stretch(T_K, p_Pa, u95_Pa / p_Pa, extrapolated)


def _temperatures(low_K: float, high_K: float) -> Array:
    """Temperatures between two, both included, evenly spaced in 1/T."""
    inner_K = 1.0 / np.linspace(1.0 / low_K, 1.0 / high_K, SAMPLES)[1:-1]
    return np.concatenate([[low_K], inner_K, [high_K]])


def _series(kind: str, label: str, believed: bool, T_K: Array, p_Pa: Array, bank: CurveBank) -> Series:
    return Series(kind, label, believed, T_K, p_Pa, p_Pa / bank.pressures_Pa(T_K[:, np.newaxis])[:, 0] - 1.0)


def _correlations(component: Component, bank: CurveBank, frame: Frame) -> Iterator[Series]:
    """Every observed vapour pressure: correlations inside their own ranges, and single values."""
    for seen in component.observations():
        if seen.property != "vapour_pressure":
            continue
        believed = seen.status == "accepted"
        label = seen.source if believed else f"{seen.source}, outlier"
        if seen.equation and seen.coefficients and seen.T_min_K and seen.T_max_K:
            low_K, high_K = max(seen.T_min_K, frame.T_low_K), min(seen.T_max_K, frame.T_high_K)
            T_K = _temperatures(low_K, high_K) if low_K < high_K else _temperatures(seen.T_min_K, seen.T_max_K)
            p_Pa = np.exp(ln_pressure(seen.equation, pad(seen.coefficients), T_K))
            yield _series(CORRELATION, label, believed, T_K, p_Pa, bank)
        elif seen.value is not None and seen.temperature_K is not None:
            yield _series(POINT, label, believed, np.array([seen.temperature_K]), np.array([seen.value]), bank)


def _boiling_points(component: Component, bank: CurveBank) -> Iterator[Series]:
    """The boiling points that sources print, taken as observed at one atmosphere: accepted ones, and outliers."""
    printed = [seen for seen in component.observations() if seen.property == "normal_boiling_point"]
    for status, label in (("accepted", "printed boiling points"), ("outlier", "printed boiling points, outliers")):
        T_K = np.array([seen.value for seen in printed if seen.status == status and seen.value is not None])
        if T_K.size:
            yield _series(BOILING_POINT, label, status == "accepted", T_K, np.full(T_K.shape, ATMOSPHERE_PA), bank)


def _judged(component: Component, bank: CurveBank) -> Iterator[Series]:
    """What each library says of the pressure and of the boiling point: where it agrees, and where it differs."""
    points: dict[tuple[str, bool], list[tuple[float, float]]] = {}
    for check in component.crosschecks():
        if check.kind != "library":
            continue
        told = points.setdefault((check.reference, check.verdict == "differs"), [])
        if check.property == "vapour_pressure" and check.temperature_K is not None:
            told.append((check.temperature_K, check.reference_value))
        elif check.property == "normal_boiling_point":
            told.append((check.reference_value, ATMOSPHERE_PA))
    for (reference, differs), told in sorted(points.items()):
        if told:
            T_K, p_Pa = np.array(sorted(told)).T
            yield _series(JUDGE, f"{reference}, differs" if differs else reference, not differs, T_K, p_Pa, bank)

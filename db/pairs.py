"""Whether distillation can part two components, taken as an ideal mixture."""

from __future__ import annotations

import math

from cutpoint.schema.errors import ImpossibleQuantity, OutOfRange, WrongUsage

from .boiling import FROM_ESTIMATE
from .component import Component
from .matches import celsius
from .results import Pair, RelativeVolatility, Thresholds, told_apart

IDEAL = (
    "Non-ideality and azeotropes are not yet looked at: the verdict takes the mixture as ideal (Raoult's law), "
    "and an azeotrope would overrule it."
)

NO_VOLATILITY = RelativeVolatility(None, None, None)


def judge(
    a: Component,
    b: Component,
    pressure_Pa: float,
    purity_a: float,
    purity_b: float,
    basis: str | None,
    thresholds: Thresholds,
) -> Pair:
    """The answer of `Store.pair`; see there."""
    if a.cas == b.cas:
        raise WrongUsage(f"{a.name} ({a.cas}) was named twice; a pair needs two different components.")
    if basis not in (None, "predicted"):
        raise WrongUsage(f"The basis can only be 'predicted', not {basis!r}.")
    _check_purities(purity_a, purity_b)
    boiling_a, boiling_b = a.boiling_point(pressure_Pa), b.boiling_point(pressure_Pa)
    delta_K = boiling_b.value - boiling_a.value
    u95_K = math.hypot(boiling_a.u95, boiling_b.u95)
    labels = told_apart(a.name, a.cas, b.name, b.cas)
    reasons = [_told_difference(labels, delta_K, u95_K)]
    volatility, gaps = _relative_volatility(a, b, labels, boiling_a.value, boiling_b.value, pressure_Pa)
    plates = minimum_plates(volatility, purity_a, purity_b)
    verdict, why = _verdict(abs(delta_K), u95_K, thresholds)
    reasons.append(why)
    if plates is not None:
        reasons.append(
            f"At least {plates:.1f} theoretical plates at total reflux, the pot counted as one, for {purity_a:.4g} of "
            f"{labels[0]} and {purity_b:.4g} of {labels[1]} (mole fractions; Fenske)."
        )
    reasons += gaps
    for label, boiling in zip(labels, (boiling_a, boiling_b), strict=True):
        if boiling.extrapolated:
            reasons.append(f"The curve of {label} is extrapolated to this pressure.")
        if boiling.grade == "D" and boiling.rule != FROM_ESTIMATE:
            reasons.append(f"The boiling point of {label} is of grade D: {boiling.u95:.2g} K, or one source alone.")
        if boiling.remark:
            reasons.append(f"The boiling point of {label} is {boiling.remark}.")
    if volatility != NO_VOLATILITY:
        reasons += _told_estimates(a, b, labels)
    reasons.append(IDEAL)
    return Pair(
        {"cas": a.cas, "name": a.name}, {"cas": b.cas, "name": b.name}, float(pressure_Pa), delta_K, u95_K, volatility,
        None, plates, purity_a, purity_b, verdict, tuple(reasons),
    )  # fmt: skip


def _told_estimates(a: Component, b: Component, labels: tuple[str, str]) -> list[str]:
    """A sentence where the relative volatility rests on an estimated curve."""
    both = zip(labels, (a.curve, b.curve), strict=True)
    estimated = [label for label, curve in both if curve is not None and curve.is_estimate]
    if not estimated:
        return []
    curves = "an estimated curve" if len(estimated) == 1 else "estimated curves"
    return [
        f"The relative volatility rests on {curves} of {' and of '.join(estimated)}: "
        "no correlation of that vapour pressure is held."
    ]


def minimum_plates(volatility: RelativeVolatility, purity_a: float, purity_b: float) -> float | None:
    """Theoretical plates at total reflux, the pot counted as one; None where a relative volatility is unknown or 1.

    M. R. Fenske, Ind. Eng. Chem. 24 (1932) 482-485, with the geometric mean of
    the three relative volatilities. Purities are mole fractions in (0, 1).
    """
    alphas = (volatility.a_lean, volatility.middle, volatility.a_rich)
    known = [alpha for alpha in alphas if alpha is not None]
    if len(known) < len(alphas):
        return None
    ln_alpha = abs(sum(math.log(alpha) for alpha in known)) / len(known)
    if ln_alpha == 0.0:
        return None
    return math.log(purity_a / (1.0 - purity_a) * purity_b / (1.0 - purity_b)) / ln_alpha


def _check_purities(purity_a: float, purity_b: float) -> None:
    for purity in (purity_a, purity_b):
        if not 0.0 < purity < 1.0:
            raise ImpossibleQuantity(
                f"A purity is a mole fraction between 0 and 1, both excluded; {purity:g} was given."
            )
    if purity_a + purity_b <= 1.0:
        raise WrongUsage(
            f"Purities of {purity_a:g} and {purity_b:g} are no separation; together they must be more than 1."
        )


def _told_difference(labels: tuple[str, str], delta_K: float, u95_K: float) -> str:
    if delta_K == 0.0:
        return f"Both boil at the same temperature, ± {u95_K:.2g} K."
    first, second = labels if delta_K > 0.0 else reversed(labels)
    # Two significant digits of the uncertainty, and the value to the same place (GUM, 7.2.6).
    places = max(0, 1 - math.floor(math.log10(u95_K))) if u95_K > 0.0 else 1
    return f"{first} boils {abs(delta_K):.{places}f} ± {u95_K:.{places}f} K below {second}."


def _verdict(delta_K: float, u95_K: float, thresholds: Thresholds) -> tuple[str, str]:
    """The verdict that holds over the whole interval delta ± U95, with the reason."""

    def of(difference_K: float) -> str:
        if difference_K >= thresholds.simple_K:
            return "simple distillation"
        return "fractional distillation" if difference_K >= thresholds.close_K else "close-boiling"

    least, most = of(max(delta_K - u95_K, 0.0)), of(delta_K + u95_K)
    if least != most:
        return "undecided", f"Within its uncertainty the difference allows both {least} and {most}."
    limits = {
        "simple distillation": f"The difference is {thresholds.simple_K:g} K or more",
        "fractional distillation": f"The difference is between {thresholds.close_K:g} K and {thresholds.simple_K:g} K",
        "close-boiling": f"The difference is less than {thresholds.close_K:g} K",
    }
    return least, f"{limits[least]}: {least} by common practice."


def _relative_volatility(
    a: Component, b: Component, labels: tuple[str, str], T_a_K: float, T_b_K: float, pressure_Pa: float
) -> tuple[RelativeVolatility, list[str]]:
    """p*_a / p*_b at the boiling points of b, of the equimolar mixture and of a; and a sentence for what is missing."""
    banks = zip(labels, (a.curve_bank, b.curve_bank), strict=True)
    without = [label for label, bank in banks if bank is None]
    if without:
        gap = f"No vapour-pressure curve is held of {' nor '.join(without)}, so no relative volatility is known."
        return NO_VOLATILITY, [gap]
    light, heavy = (a, b) if T_a_K <= T_b_K else (b, a)
    T_middle_K = _bubble_point_K(light, heavy, min(T_a_K, T_b_K), max(T_a_K, T_b_K), pressure_Pa)
    alphas: list[float | None] = []
    gaps: list[str] = []
    for T_K in (T_b_K, T_middle_K, T_a_K):
        try:
            alphas.append(a.vapour_pressure(T_K) / b.vapour_pressure(T_K))
        except OutOfRange as gap:
            alphas.append(None)
            gaps.append(f"No relative volatility is known at {celsius(T_K)}: {gap.message}")
    return RelativeVolatility(*alphas), gaps


def _bubble_point_K(light: Component, heavy: Component, low_K: float, high_K: float, pressure_Pa: float) -> float:
    """Boiling point of the equimolar ideal mixture, which lies between those of the two; by bisection.

    Where a curve ends, the light one is above any pressure in question and the
    heavy one adds next to nothing.
    """
    while high_K - low_K > 1e-10 * high_K:
        T_K = 0.5 * (low_K + high_K)
        p_light, p_heavy = (_pressure_Pa(component, T_K) for component in (light, heavy))
        total = (math.inf if math.isnan(p_light) else p_light) + (0.0 if math.isnan(p_heavy) else p_heavy)
        low_K, high_K = (low_K, T_K) if 0.5 * total > pressure_Pa else (T_K, high_K)
    return 0.5 * (low_K + high_K)


def _pressure_Pa(component: Component, T_K: float) -> float:
    bank = component.curve_bank
    assert bank is not None
    return float(bank.pressures_Pa(T_K)[0])

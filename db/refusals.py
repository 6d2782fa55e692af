"""Why no boiling point or vapour pressure can be told, in words: what was asked, what is known instead, what to ask.

Each function returns where it does not apply and raises where it does; those
annotated `NoReturn` always raise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NoReturn

from cutpoint.schema.errors import NoValue, OutOfRange
from cutpoint.schema.properties import ATMOSPHERE_PA

from .matches import celsius, told_pressure

if TYPE_CHECKING:
    from .component import Component
    from .curves import CurveBank

REFUSED_BOILING_POINT = "boils "
"""How the reasons begin for which the evaluation refuses a boiling point that nothing can have."""


def refuse_what_never_boils(component: Component, pressure_Pa: float) -> None:
    """NoValue for a stream, for what decomposes at the pressure, and where nothing is held to answer from."""
    label = _label(component)
    if component.kind == "stream":
        from .cuts import told_ranges

        raise NoValue(
            f"{label} is a stream, a mixture sold under one CAS number: it has a boiling range, not a boiling point."
            f"{told_ranges(component.cuts())}"
        )
    if component.phase_behaviour == "sublimes":
        _refuse_sublimation_without_liquid(component)
        return
    if component.phase_behaviour == "decomposes" and pressure_Pa >= ATMOSPHERE_PA:
        below = (
            "but no vapour-pressure curve is held to say where" if component.curve is None else "so ask for a lower one"
        )
        raise NoValue(
            f"{label} decomposes before it boils at {told_pressure(pressure_Pa, 6)}. "
            f"It may boil undecomposed under reduced pressure, {below}."
        )
    refuse_refused_boiling_points(component)
    if component.held("normal_boiling_point") is None and component.curve is None:
        known = ", ".join(held.property.replace("_", " ") for held in component.evaluations())
        raise NoValue(
            f"The store holds no boiling point of {label} and no vapour-pressure curve; "
            f"it holds {known or 'no property at all'}.{_fate(component)}{_over_the_solid(component)}"
        )


def refuse_refused_boiling_points(component: Component) -> None:
    """NoValue where the evaluation refused every boiling point: the curve would bring them back."""
    if component.refused_boiling is not None:
        raise NoValue(
            f"Every boiling point that the sources give of {_label(component)} was refused: "
            f"{component.refused_boiling}. So neither that nor a vapour pressure is told."
        )


def refuse_without_curve(component: Component, wanted: str) -> NoReturn:
    """NoValue: `wanted` would have to be read from a curve, and there is none."""
    held = component.held("normal_boiling_point")
    known = "no normal boiling point is known either"
    if held is not None:
        known = f"known is the normal boiling point, {celsius(held.value)} ± {held.u95:.2g} K (grade {held.grade})"
    raise NoValue(
        f"The store holds no vapour-pressure curve of {_label(component)}, so {wanted} is not known; "
        f"{known}.{_fate(component)}{_over_the_solid(component)}"
    )


def refuse_sublimation(component: Component, bank: CurveBank, pressure_Pa: float) -> None:
    """NoValue for what sublimes, below the pressure at which its solid, liquid and vapour are together."""
    melting = component.held("melting_point")
    if melting is None or component.phase_behaviour != "sublimes":
        return
    liquid_from_K = max(melting.value, float(bank.limits_K()[0][0]))
    liquid_from_Pa = float(bank.pressures_Pa(liquid_from_K)[0])
    if not pressure_Pa >= liquid_from_Pa:
        raise NoValue(
            f"{_label(component)} has no boiling point at {told_pressure(pressure_Pa, 6)}: it sublimes, its solid "
            f"turning to vapour without melting{_printed(component, melting.value)}. "
            f"A liquid that boils is there from about {told_pressure(liquid_from_Pa)} and {celsius(liquid_from_K)} up."
        )


def refuse_beyond_critical_pressure(component: Component, pressure_Pa: float) -> None:
    """OutOfRange above the critical pressure, where nothing boils."""
    critical = component.held("critical_pressure")
    if critical is not None and pressure_Pa > critical.value:
        raise OutOfRange(
            f"{_label(component)} does not boil at {told_pressure(pressure_Pa, 6)}: above its critical pressure, "
            f"{told_pressure(critical.value, 4)}, liquid and vapour are one."
        )


def refuse_pressure(component: Component, bank: CurveBank, pressure_Pa: float) -> NoReturn:
    """OutOfRange: the curve does not reach the pressure, even extrapolated."""
    raise OutOfRange(
        f"The vapour-pressure curve of {_label(component)} does not carry to {told_pressure(pressure_Pa, 6)}. "
        f"{range_of(bank)}"
    )


def refuse_temperature(component: Component, bank: CurveBank, T_K: float) -> NoReturn:
    """OutOfRange: the curve does not reach the temperature, even extrapolated."""
    asked = f"{celsius(T_K)} ({T_K:.6g} K)"
    critical = component.held("critical_temperature")
    if critical is not None and critical.value < T_K:
        raise OutOfRange(
            f"{_label(component)} has no vapour pressure at {asked}: above its critical temperature, "
            f"{celsius(critical.value)}, liquid and vapour are one."
        )
    raise OutOfRange(f"The vapour-pressure curve of {_label(component)} does not carry to {asked}. {range_of(bank)}")


def refuse_solid(component: Component, T_K: float, pressure_Pa: float) -> NoReturn:
    """OutOfRange: it would boil far below its melting point."""
    melting, bank = component.evaluated("melting_point").value, component.curve_bank
    boils = ""
    if bank is not None and bank.limits_K()[0][0] <= melting <= bank.limits_K()[1][0]:
        boils = f" The liquid boils from about {told_pressure(float(bank.pressures_Pa(melting)[0]), 2)} up."
    raise OutOfRange(
        f"{_label(component)} is a solid where it would boil at {told_pressure(pressure_Pa, 6)}: {celsius(T_K)} "
        f"lies below its melting point, {celsius(melting)}; it would sublime and block a condenser.{boils}"
    )


def range_of(bank: CurveBank) -> str:
    """A sentence on how far a lone curve is valid, and how far beyond it may be extrapolated."""
    (T_min, T_max), (T_lowest, T_highest) = (
        [float(end[0]) for end in ends] for ends in (bank.range_K(), bank.limits_K())
    )
    p_min, p_max = (told_pressure(float(bank.pressures_Pa(T_K)[0])) for T_K in (T_min, T_max))
    p_lowest, p_highest = (told_pressure(float(end[0])) for end in bank.pressure_limits_Pa())
    told = f"It is valid from {celsius(T_min)} ({p_min}) to {celsius(T_max)} ({p_max})"
    down = [f"down to {celsius(T_lowest)} ({p_lowest})"] if T_lowest < T_min else []
    up = [f"up to {celsius(T_highest)} ({p_highest})"] if T_highest > T_max else []
    if not down and not up:
        return f"{told}, and not extrapolated."
    return f"{told}. Beyond that, {' and '.join(down + up)}, its answers are extrapolated and marked so."


def _label(component: Component) -> str:
    return f"{component.name} ({component.cas})"


def _refuse_sublimation_without_liquid(component: Component) -> None:
    """NoValue for what sublimes, where its melting point or the liquid's curve is missing to answer at any pressure."""
    melting = component.held("melting_point")
    if melting is not None and component.curve is not None:
        return
    known = "no melting point is held either" if melting is None else f"it melts at {celsius(melting.value)}"
    printed = "" if melting is None else _printed(component, melting.value)
    missing = "how its liquid boils under pressure" if component.curve is None else "from which pressure on it melts"
    raise NoValue(
        f"{_label(component)} sublimes at atmospheric pressure, its solid turning to vapour without melting{printed}. "
        f"So it has no boiling point there, and {missing} is not known; {known}.{_over_the_solid(component)}"
    )


def _printed(component: Component, melting_K: float) -> str:
    """What sources print as its boiling point, which below the melting point is that of the solid."""
    values = [seen.value for seen in component.observations() if seen.property == "normal_boiling_point"]
    below = sorted({celsius(value) for value in values if value is not None and value < melting_K}, key=len)
    return f" (for which sources give {' and '.join(below)} at one atmosphere)" if below else ""


def _fate(component: Component) -> str:
    """A sentence on what becomes of it on heating, where that is not boiling."""
    if component.phase_behaviour in (None, "boils"):
        return ""
    return f" At atmospheric pressure it {component.phase_behaviour} on heating."


def _over_the_solid(component: Component) -> str:
    """A sentence on the correlation of the pressure over the solid, if one is held."""
    for seen in component.observations():
        if seen.property == "sublimation_pressure" and seen.T_min_K is not None and seen.T_max_K is not None:
            span = f"from {celsius(seen.T_min_K)} to {celsius(seen.T_max_K)}"
            return f" The pressure over its solid is held {span}, as {seen.source} gives it (`card --evidence`)."
    return ""

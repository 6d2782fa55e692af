"""What would part a pair that one distillation does not, where numbers support it: a pressure, water, two layers."""

from __future__ import annotations

from collections.abc import Sequence

from .component import Component
from .matches import told_pressure
from .pair_tables import WATER, PairTables
from .predictions import Prediction
from .results import Azeotrope

OTHER_PRESSURES_PA = (10e3, 500e3)
"""Where an azeotrope is computed again: a bench pump's vacuum and a small pressure column."""

WATER_G_MOL = 18.015

MOST_IN_WATER = 0.10
"""Largest mass fraction that water takes up of what a washing is to leave; common practice, no source."""

LEAST_SHIFT = 0.05
"""Change of the mass fraction from which distilling at two pressures is worth a thought; common practice, no source."""


def remedies(
    labels: tuple[str, str],
    components: tuple[Component, Component],
    azeotropes: Sequence[Azeotrope],
    here: Prediction,
    elsewhere: Sequence[Prediction | None],
) -> list[str]:
    """One sentence for each way past an azeotrope that the numbers support.

    `here` is predicted at the pressure asked, `elsewhere` at each of `OTHER_PRESSURES_PA`.
    """
    if any(one.kind == "heterogeneous" for one in azeotropes) and here.liquids:
        return [_told_layers(labels, components, here.liquids)]
    # Where the model does not see the azeotrope here, its seeing none elsewhere tells nothing.
    return _told_pressures(labels, elsewhere) if here.mixing.azeotropes else []


def told_washing(labels: tuple[str, str], components: tuple[Component, Component], tables: PairTables) -> list[str]:
    """That water takes the one out of the other, where it mixes with the one and dissolves little of the other."""
    if WATER in (components[0].cas, components[1].cas):
        return []
    shares = [_mass_fraction_in_water(component, tables) for component in components]
    for (taken, left), (in_water, little) in (((0, 1), shares), ((1, 0), shares[::-1])):
        if in_water == 1.0 and little is not None and little <= MOST_IN_WATER:
            return [
                f"Washing with water: at 25 °C it takes up {labels[taken]} in any amount and about "
                f"{100.0 * little:.1g} % by mass of {labels[left]} (predicted); then dry what is left."
            ]
    return []


def _mass_fraction_in_water(component: Component, tables: PairTables) -> float | None:
    x, mass = tables.solubility_in_water(component.cas), component.molar_mass_g_mol
    if x is None or mass is None:
        return None
    return x * mass / (x * mass + (1.0 - x) * WATER_G_MOL)


def _told_layers(labels: tuple[str, str], components: tuple[Component, Component], liquids: tuple[float, float]) -> str:
    lean, rich = (_mass_percent(x, components) for x in liquids)
    return (
        f"Two liquids boil together, of {lean:.2g} and {rich:.3g} % {labels[0]} by mass (predicted): a decanter that "
        "parts the layers of the distillate, and returns one, parts the pair."
    )


def _mass_percent(x: float, components: tuple[Component, Component]) -> float:
    mass_a, mass_b = (component.molar_mass_g_mol or 1.0 for component in components)
    return 100.0 * x * mass_a / (x * mass_a + (1.0 - x) * mass_b)


def _told_pressures(labels: tuple[str, str], elsewhere: Sequence[Prediction | None]) -> list[str]:
    """Where the azeotrope is gone at another pressure, or moves far enough for two pressures to part the pair."""
    told = []
    shares = []
    for pressure_Pa, there in zip(OTHER_PRESSURES_PA, elsewhere, strict=True):
        if there is None or None in (
            there.volatility.a_lean,
            there.volatility.middle,
            there.volatility.a_rich,
        ):
            continue  # a curve ends before
        glass = "" if pressure_Pa < 101_325.0 else " (never in glass)"
        if not there.mixing.azeotropes:
            told.append(f"At {told_pressure(pressure_Pa)}{glass} no azeotrope is predicted.")
        elif len(there.mixing.azeotropes) == 1:
            shares.append((pressure_Pa, there.mixing.azeotropes[0].mass_fraction_a))
    if len(shares) == 2 and abs(shares[1][1] - shares[0][1]) >= LEAST_SHIFT:
        (low_Pa, low), (high_Pa, high) = shares
        told.append(
            f"The predicted azeotrope moves from {100.0 * low:.0f} % {labels[0]} by mass at {told_pressure(low_Pa)} "
            f"to {100.0 * high:.0f} % at {told_pressure(high_Pa)} (never in glass): two pressures part them."
        )
    return told

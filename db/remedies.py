"""What would part a pair that one distillation does not, where numbers support it: a pressure, water, two layers."""

from __future__ import annotations

from collections.abc import Sequence

from .component import Component
from .matches import told_pressure
from .predictions import Prediction
from .results import Azeotrope

OTHER_PRESSURES_PA = (10e3, 500e3)
"""Where an azeotrope is computed again: a bench pump's vacuum and a small pressure column."""

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
    return _told_pressures(labels, elsewhere)


def _told_layers(labels: tuple[str, str], components: tuple[Component, Component], liquids: tuple[float, float]) -> str:
    lean, rich = (_mass_percent(x, components) for x in liquids)
    return (
        f"The distillate falls into two layers, of {lean:.2g} and {rich:.3g} % {labels[0]} by mass where it boils: "
        "a decanter that returns one layer parts them."
    )


def _mass_percent(x: float, components: tuple[Component, Component]) -> float:
    mass_a, mass_b = (component.molar_mass_g_mol or 1.0 for component in components)
    return 100.0 * x * mass_a / (x * mass_a + (1.0 - x) * mass_b)


def _told_pressures(labels: tuple[str, str], elsewhere: Sequence[Prediction | None]) -> list[str]:
    """Where the azeotrope is gone at another pressure, or moves far enough for two pressures to part the pair."""
    told = []
    shares = []
    for pressure_Pa, there in zip(OTHER_PRESSURES_PA, elsewhere, strict=True):
        if there is None or None in (there.volatility.a_lean, there.volatility.a_rich):
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

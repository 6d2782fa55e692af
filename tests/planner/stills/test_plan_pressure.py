"""A sheet at the pressure of a place higher up against vapour-pressure curves alone: real components, one recipe."""

from __future__ import annotations

import numpy as np
import pytest

from cutpoint import db
from cutpoint.db.curves import Array
from cutpoint.planner.recipes.reading import parse_recipe
from cutpoint.planner.stills.plan import make_plan
from cutpoint.schema.properties import ATMOSPHERE_PA

HIGH_UP_PA = 84_000.0

RECIPE = """\
label = "{label}"
[feed]
mass = "1 kg"
[target]
ingredient = "{target}"
purity = "60 %"
[place]
pressure = "{pressure_Pa} Pa"
[column]
plates = {plates}
"""


def readings_K(store: db.Store, label: str, plates: int, pressure_Pa: float) -> Array:
    """The curve of the still head, over a target that is the last line of the label."""
    target = label.rsplit(", ", 1)[-1].split(" ")[0]
    text = RECIPE.format(label=label, target=target, pressure_Pa=pressure_Pa, plates=plates)
    return np.array(make_plan(store, parse_recipe(text.encode(), "recipe.toml")).curve.reading_K)


@pytest.mark.parametrize("pressure_Pa", [ATMOSPHERE_PA, HIGH_UP_PA])
@pytest.mark.parametrize(("trace", "name"), [("heptane", "toluene"), ("methanol", "water")])
def test_nearly_pure_it_comes_over_at_its_boiling_point(
    store: db.Store, trace: str, name: str, pressure_Pa: float
) -> None:
    readings = readings_K(store, f"{trace} 0.01 %, {name} 99.99 %", 0, pressure_Pa)
    assert readings == pytest.approx(store.component(name).boiling_point(pressure_Pa).value, abs=0.05)


def sunk_K(store: db.Store, light: str, heavy: str, readings: Array) -> Array:
    """Where each reading sinks to with the pressure, by the slopes of the vapour-pressure curves.

    Along the bubble points of a liquid d ln p = Σ y_i d ln p*_i, where activity
    coefficients do not move. Which y belongs to a reading, the boiling diagram tells.
    """
    x = np.linspace(0.0, 1.0, 401)
    boiling = store.mixture([light, heavy]).bubble_temperature_K(np.stack([x, 1.0 - x], axis=1), ATMOSPHERE_PA)
    from_azeotrope = slice(int(np.argmin(boiling.temperature_K)), None, -1)
    y = np.interp(readings, boiling.temperature_K[from_azeotrope], boiling.vapour[from_azeotrope, 0])
    way_K = 6.0  # about as far as it sinks, so that the slopes are those on the way
    pressures = [
        [store.component(name).vapour_pressure(T_K) for T_K in (readings - way_K, readings)] for name in (light, heavy)
    ]
    slopes = np.log([above / below for below, above in pressures]) / way_K
    return np.asarray(readings - np.log(ATMOSPHERE_PA / HIGH_UP_PA) / (y * slopes[0] + (1.0 - y) * slopes[1]))


@pytest.mark.parametrize(
    ("light", "heavy", "plates"),
    [("cyclohexane", "toluene", 0), ("ethanol", "water", 0), ("cyclohexane", "toluene", 4)],
)
def test_every_reading_of_a_mixture_sinks_as_the_curves_say(
    store: db.Store, light: str, heavy: str, plates: int
) -> None:
    """Within 0.3 K, a hundredth of the volume sooner or later.

    Relative volatilities are some 1 % larger at the lower pressure, so the
    heavier comes over that much later; activity coefficients move as well.
    """
    label = f"{light} 40 %, {heavy} 60 %"
    below, high_up = (readings_K(store, label, plates, pressure_Pa) for pressure_Pa in (ATMOSPHERE_PA, HIGH_UP_PA))
    sunk = sunk_K(store, light, heavy, below)
    near = np.stack([sunk[:-2], sunk[1:-1], sunk[2:]])
    assert (high_up[1:-1] > near.min(axis=0) - 0.3).all()
    assert (high_up[1:-1] < near.max(axis=0) + 0.3).all()

"""Invented batches: a still that needs no store, a sheet made with it, and notes made from its curves."""

from __future__ import annotations

import sys
from collections.abc import Callable
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cutpoint.planner.runs.report import Expected
from cutpoint.planner.stills.results import (
    Cost,
    Duty,
    EndSign,
    Fraction,
    HeadCurve,
    Holding,
    IngredientRow,
    Interval,
    Plan,
    Product,
    Share,
)

EXACT = Interval(0.0, 0.0, 0.0)


@pytest.fixture(scope="session")
def stand_in() -> Any:
    """The module of the stand-in still."""
    # Test folders are no packages, so the module is loaded from where it stands.
    specification = spec_from_file_location("stand_in_still", Path(__file__).with_name("stand_in_still.py"))
    assert specification is not None and specification.loader is not None
    module = module_from_spec(specification)
    sys.modules[specification.name] = module  # dataclasses look there for the names in annotations
    specification.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def expected(stand_in: Any) -> Callable[..., Expected]:
    """What a recipe with the stand-in still lets expect; the target is the first ingredient."""

    def make(still: Any, correction_K: float = 0.0) -> Expected:
        return Expected(still, still.sample, sheet(still, correction_K))

    return make


def sheet(still: Any, correction_K: float) -> Plan:
    """A sheet of the middle of the label: product until the head reads 5 K above its start."""
    tried = still.sample(100, 7)
    width = still.upper - still.lower
    middle = still.lower + width * (1.0 - still.lower.sum()) / width.sum()
    curves = still.run(np.concatenate([middle[None], tried]))
    volume = np.linspace(0.0, curves.volume_m3[0, -1], 101)
    heads = np.stack([np.interp(volume, v, t) for v, t in zip(curves.volume_m3, curves.head_K, strict=True)])
    heads = heads - correction_K
    low, high = np.quantile(heads, (0.025, 0.975), axis=0)
    curve = HeadCurve(*(tuple(map(float, line)) for line in (volume, heads[0], low, high, heads[0] + 10.0)))
    end = int(np.argmax(heads[0] > heads[0, 0] + 5.0))
    return _plan(still, correction_K, middle, curve, volume[end], heads[0, end])


def _at(value: float, by: float = 0.05) -> Interval:
    return Interval(float(value), float(value * (1.0 - by)), float(value * (1.0 + by)))


def _plan(still: Any, correction_K: float, middle: Any, curve: HeadCurve, end_m3: float, end_K: float) -> Plan:
    rows = tuple(
        IngredientRow(
            name, name, None, "component", Interval(float(w), float(a), float(b)), float(T), None, 0.5, "B", None
        )
        for name, w, a, b, T in zip(still.names, middle, still.lower, still.upper, still.boiling_K, strict=True)
    )
    contents = tuple(Share(row.name, None, row.mass_fraction) for row in rows)
    product = Fraction(
        "product", Interval(curve.reading_K[0], curve.low_K[0], curve.high_K[0]), _at(end_K, 0.001), EXACT,
        _at(end_m3), _at(end_m3), _at(800.0 * end_m3), contents,
    )  # fmt: skip
    after = Fraction(
        "after-run", _at(end_K, 0.001), _at(curve.reading_K[-1], 0.001), _at(end_m3), _at(curve.volume_m3[-1]),
        _at(curve.volume_m3[-1] - end_m3), _at(0.1), contents,
    )  # fmt: skip
    return Plan(
        title="Used eluent of an invented teaching lab", pressure_Pa=83_500.0, altitude_m=1_600.0, n_compositions=101,
        plates=0, column="bare still head", reflux_ratio=0.0, thermometer_correction_K=correction_K,
        feed_mass_kg=_at(0.4, 0.0), feed_volume_m3=_at(5e-4, 0.0),
        charge_volume_m3=_at(5e-4, 0.0), ingredients=rows, opening=None, curve=curve,
        fractions=(product, after),
        product=Product(
            still.names[0], 0.9, True, _at(0.93), _at(0.8), _at(end_m3), _at(800.0 * end_m3), 0.98, 0.9
        ),
        reflux_scan=(), end_sign=EndSign(330.0, 370.0, 1e-5, "It climbs."), pairs=(), not_parted=(),
        holding=Holding(EXACT, None, None, None, None, None, ()), duty=Duty(EXACT, EXACT, EXACT, None, None),
        cost=Cost("EUR", None, None), mass_closure=0.0, verdict="It should work.", weak_points=(),
        cautions=("Flammable: no flame, no spark.",),
    )  # fmt: skip

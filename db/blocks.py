"""The verdicts of many pairs at once: the columns of the atlas, one entry per pair, in the order asked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from cutpoint.schema.errors import CutpointError
from cutpoint.schema.properties import ATMOSPHERE_PA

from .pairs import all_known, check_purities, counted_plates, melting_K
from .predictions import IMPLAUSIBLE, Molecule, Prediction, model_of, predict, why_not_predictable
from .results import Thresholds
from .verdicts import verdict

if TYPE_CHECKING:
    from .component import Component
    from .results import Evaluated
    from .store import Store

COLUMNS = (
    "cas_a", "cas_b", "verdict", "delta_boiling_point_K", "delta_u95_K", "alpha_a_lean", "alpha_middle", "alpha_a_rich",
    "minimum_plates", "equivalent_difference_K", "predictable", "problem", "azeotropes", "reason",
)  # fmt: skip
"""What `judge_block` gives."""


def judge_block(
    store: Store,
    pairs: Sequence[tuple[str, str]],
    pressure_Pa: float = ATMOSPHERE_PA,
    *,
    purity_a: float = 0.95,
    purity_b: float = 0.95,
    thresholds: Thresholds | None = None,
) -> dict[str, list[Any]]:
    """`Store.pair` for many pairs of CAS numbers, without the reasons; lists by `COLUMNS`.

    A pair that has no answer has no verdict, and `problem` says why: nothing is
    raised for a single pair. `azeotropes` are those that count, as
    `Pair.azeotropes`. Raises ImpossibleQuantity or WrongUsage for purities.
    """
    check_purities(purity_a, purity_b)
    limits = thresholds or Thresholds()
    tables = store.pair_tables
    numbers = sorted({cas for pair in pairs for cas in pair})
    tables.load_counts(numbers)
    members = {cas: _Member(store, cas, pressure_Pa) for cas in numbers}
    problems = [_problem(store, members[a], members[b]) for a, b in pairs]
    asked = [place for place, problem in enumerate(problems) if problem is None]
    predictions: dict[int, Prediction] = {}
    if asked:
        couples = [(members[pairs[place][0]].molecule, members[pairs[place][1]].molecule) for place in asked]
        bank = store.curve_bank
        curves_a, curves_b = (
            bank.take(np.array([members[pairs[place][side]].curve_place for place in asked], dtype=np.int64))
            for side in (0, 1)
        )
        ready = model_of(tables, couples, curves_a, curves_b, np.full(len(asked), float(pressure_Pa)))
        for place, prediction in zip(asked, predict(ready, couples, purity_a, purity_b), strict=True):
            if prediction is None:
                problems[place] = IMPLAUSIBLE
            else:
                predictions[place] = prediction
    columns: dict[str, list[Any]] = {name: [] for name in COLUMNS}
    for place, (cas_a, cas_b) in enumerate(pairs):
        row = _row(
            store, members[cas_a], members[cas_b], predictions.get(place), pressure_Pa, (purity_a, purity_b), limits
        )
        row["problem"] = problems[place]
        for name in COLUMNS:
            columns[name].append(row[name])
    return columns


class _Member:
    """A component of the block: its boiling point at the pressure, or why there is none, and its curve's place."""

    def __init__(self, store: Store, cas: str, pressure_Pa: float) -> None:
        self.cas = cas
        self.boiling: Evaluated | None = None
        self.problem: str | None = None
        self.curve_place: int | None = None
        self.melting_K: float | None = None
        self.molecule = Molecule(cas, cas, math.nan)
        try:
            component: Component = store.component(cas)
            self.boiling = component.boiling_point(pressure_Pa)
        except CutpointError as problem:
            self.problem = problem.message
            return
        self.melting_K = melting_K(component)
        self.molecule = Molecule(cas, component.name, component.molar_mass_g_mol or math.nan)
        if component.curve_bank is not None:
            self.curve_place = store.curve_place(cas)


def _problem(store: Store, a: _Member, b: _Member) -> str | None:
    for member in (a, b):
        if member.problem is not None:
            return member.problem
    without = [member.molecule.name for member in (a, b) if member.curve_place is None]
    if without:
        return f"No vapour-pressure curve is held of {' nor of '.join(without)}"
    return why_not_predictable(store.pair_tables, a.molecule, b.molecule)


def _row(
    store: Store,
    a: _Member,
    b: _Member,
    prediction: Prediction | None,
    pressure_Pa: float,
    purities: tuple[float, float],
    thresholds: Thresholds,
) -> dict[str, Any]:
    """The columns of one pair, without its problem."""
    row: dict[str, Any] = dict.fromkeys(COLUMNS) | {"cas_a": a.cas, "cas_b": b.cas, "predictable": False}
    row["azeotropes"] = ()
    if a.boiling is None or b.boiling is None:
        return row
    tables = store.pair_tables
    known = all_known(
        (a.cas, b.cas), (a.boiling, b.boiling), (a.melting_K, b.melting_K), prediction,
        tables.measured(a.cas, b.cas), tables.zeotropic(a.cas, b.cas), pressure_Pa,
    )  # fmt: skip
    row["verdict"], row["reason"] = verdict(known, thresholds)
    row |= {"delta_boiling_point_K": known.delta_K, "delta_u95_K": known.u95_K, "azeotropes": known.azeotropes}
    if prediction is None:
        return row
    volatility, equivalent_K = prediction.volatility, prediction.mixing.equivalent_K
    return row | {
        "alpha_a_lean": volatility.a_lean,
        "alpha_middle": volatility.middle,
        "alpha_a_rich": volatility.a_rich,
        "minimum_plates": counted_plates(prediction, known.azeotropes, *purities),
        "equivalent_difference_K": equivalent_K if math.isfinite(equivalent_K) else None,
        "predictable": True,
    }

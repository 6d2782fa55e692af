"""How well predicted azeotropes agree with measured ones: every pair that was measured, and the goals."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpoint.schema.errors import CutpointError

from .pairs import Predictor
from .predictions import IMPLAUSIBLE
from .quality import AT_LEAST, AT_MOST, MeasuredPair, Target
from .results import Azeotrope
from .store import Store

SHARE_FOUND, SHARE_OF_NONE = 0.95, 0.90
MEDIAN_TEMPERATURE_K, MEDIAN_MASS_FRACTION = 0.6, 0.03


def measured_pairs(store: Store) -> tuple[MeasuredPair, ...]:
    """Every measured pair at every pressure, beside its prediction; in the order of the CAS numbers."""
    tables = store.pair_tables
    found = []
    for cas_a, cas_b in tables.pairs_measured():
        azeotropes, zeotropic = tables.measured(cas_a, cas_b), tables.zeotropic(cas_a, cas_b)
        a, b = store.component(cas_a), store.component(cas_b)
        predictor = Predictor(tables, a, b, (a.name, b.name))
        sources = {one.pressure_Pa: one.source for one in zeotropic}
        sources |= {one.pressure_Pa: one.source for one in azeotropes}
        for pressure_Pa, source in sorted(sources.items()):
            here = tuple(one for one in azeotropes if one.pressure_Pa == pressure_Pa)
            predicted, problem = _predicted(predictor, pressure_Pa)
            off_K, off_w = _off(here, predicted)
            found.append(
                MeasuredPair(cas_a, a.name, cas_b, b.name, pressure_Pa, here, predicted, problem, source, off_K, off_w)
            )
    return tuple(found)


def _predicted(predictor: Predictor, pressure_Pa: float) -> tuple[tuple[Azeotrope, ...], str | None]:
    if predictor.problem is not None:
        return (), predictor.problem
    try:
        [there] = predictor.at([pressure_Pa], 0.95, 0.95)
        if there is None:
            return (), IMPLAUSIBLE
    except CutpointError as problem:
        return (), problem.message
    if there.volatility.middle is None:
        return (), "A vapour-pressure curve does not carry to where the mixture boils"
    return there.mixing.azeotropes, None


def _off(measured: Sequence[Azeotrope], predicted: Sequence[Azeotrope]) -> tuple[float | None, float | None]:
    """Predicted minus measured temperature, and mass fraction, of the two that are nearest in composition."""
    if not measured or not predicted:
        return None, None
    one, other = min(
        ((one, other) for one in measured for other in predicted),
        key=lambda pair: abs(pair[0].mass_fraction_a - pair[1].mass_fraction_a),
    )
    return other.temperature_K - one.temperature_K, other.mass_fraction_a - one.mass_fraction_a


def mixing_targets(pairs: Sequence[MeasuredPair]) -> tuple[Target, ...]:
    """The goals for predicted azeotropes, among the pairs that can be predicted."""
    able = [pair for pair in pairs if pair.problem is None]
    forming, none = [pair for pair in able if pair.measured], [pair for pair in able if not pair.measured]
    off_K = [abs(pair.off_K) for pair in forming if pair.off_K is not None]
    off_w = [abs(pair.off_mass_fraction) for pair in forming if pair.off_mass_fraction is not None]
    unable = len(pairs) - len(able)
    remark = f"{unable} of {len(pairs)} measured pairs cannot be predicted" if unable else None
    return (
        _target(
            "azeotropes_predicted", "measured azeotropes that are predicted", AT_LEAST, SHARE_FOUND,
            _share([pair.existence_right for pair in forming]), "1", len(forming), remark,
        ),
        _target(
            "zeotropic_predicted", "pairs measured to form none that are predicted so", AT_LEAST, SHARE_OF_NONE,
            _share([pair.existence_right for pair in none]), "1", len(none), None,
        ),
        _target(
            "azeotrope_temperature", "temperature of predicted azeotropes: median deviation", AT_MOST,
            MEDIAN_TEMPERATURE_K, float(np.median(off_K)) if off_K else None, "K", len(off_K), None,
        ),
        _target(
            "azeotrope_composition", "mass fraction of predicted azeotropes: median deviation", AT_MOST,
            MEDIAN_MASS_FRACTION, float(np.median(off_w)) if off_w else None, "1", len(off_w), None,
        ),
    )  # fmt: skip


def _share(right: Sequence[bool]) -> float | None:
    return math.fsum(right) / len(right) if right else None


def _target(
    key: str, what: str, relation: str, limit: float, reached: float | None, unit: str, n: int, remark: str | None
) -> Target:
    met = None if reached is None else (reached <= limit if relation == AT_MOST else reached >= limit)
    return Target(key, what, relation, limit, reached, unit, n, met, remark)

"""Where the sources contradict each other: disputes about one value, and disagreements between two sources.

Both look at what the sources print, before anything is believed or refused.
Boiling points that follow from vapour-pressure correlations are among them:
each correlation is asked, inside its stated range, where it reaches 101 325 Pa.
Estimates and streams, which boil over a range, are not.

**The score of a dispute.** The values are parted at the widest gap between
neighbours. The gap counts in units of the property's grade C limit (10 K for a
temperature, 10 % for an enthalpy); for temperatures in proportion to T above
298.15 K, since what an error does to the vapour pressure goes as ΔT / T
(Trouton's rule: F. Trouton, Phil. Mag. 18 (1884) 54-57), and 30 K are a
misprint for a solvent but within the art for a molten metal. That is multiplied
by the square of the number of independent sources in the smaller camp: one
source alone may have a misprint, two that say the same make it a dispute.
Independent are sources of different houses with different numbers; a number
repeated to the last digit counts once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.equations import WIDTH, temperature_at
from cutpoint.schema.properties import (
    ATMOSPHERE_PA,
    DENSITY_TEMPERATURE_K,
    EVALUATED_PROPERTIES,
    PROPERTIES,
    STANDARD_TEMPERATURE_K,
)

from .quality import Disagreement, Dispute, DisputedValue, Spread
from .store import Store

DIFFERENCE_K = 1.0
"""Two sources disagree on a boiling point when they are farther apart than this, K."""

LEAST_SHARED = 10
"""Two sources that share fewer components are not compared."""

WORST_BOILING_POINTS = 20
WORST_OF_OTHERS = 5
"""Disputes told of boiling points, and of each other property."""

ROUNDING = 1e-9
"""An uncertainty that was set to the distance of the other camp reaches it, whatever the last digits say."""

SPREADS_K = (1.0, 10.0, 100.0)
"""Widths by which components are counted whose boiling points are spread wider, K."""

SAME_TEMPERATURE_K = 10.0
"""Densities stated within so many kelvins of each other are compared."""

_ORDER = tuple(PROPERTIES)

_LIMITS = ", ".join(
    f"('{name}', {PROPERTIES[name].grade_limits[2]}, {PROPERTIES[name].relative}, {PROPERTIES[name].unit == 'K'})"
    for name in EVALUATED_PROPERTIES
)

# What every source says of each component, before it is judged; `point` holds the rows of correlations.
_SAID = f"""
    point AS (SELECT unnest({{rows}}::BIGINT[]) AS row, unnest({{values_K}}::DOUBLE[]) AS value_K),
    everything AS (
        SELECT cas, property, source, source_row, field, 'values' AS speaks_by, value, raw, status, reason
        FROM observation
        WHERE value IS NOT NULL AND basis <> 'estimated'
        AND NOT coalesce(starts_with(reason, 'density of a solid'), false)
        AND NOT (property = 'liquid_density'
            AND coalesce(abs(temperature_K - {DENSITY_TEMPERATURE_K}) > {SAME_TEMPERATURE_K}, false))
        AND NOT (property = 'enthalpy_of_vaporization'
            AND coalesce(abs(temperature_K - {STANDARD_TEMPERATURE_K}) > 0.01, false))
        UNION ALL
        SELECT cas, 'normal_boiling_point', source, source_row, field, 'correlations', value_K, raw, status, reason
        FROM point JOIN observation o ON o.rowid = point.row
    ),
    said AS (SELECT * FROM everything ANTI JOIN (SELECT cas FROM component WHERE kind = 'stream') USING (cas))
"""

_HOUSES = "least(count(DISTINCT split_part(source, '_', 1)) FILTER ({0}), count(DISTINCT value) FILTER ({0}))"

_WORST = f"""
    WITH {_SAID},
    limits(property, limit_c, relative, kelvin) AS (VALUES {_LIMITS}),
    neighbours AS (
        SELECT cas, property, value, value - lag(value) OVER ordered AS gap,
            (value + lag(value) OVER ordered) / 2 AS middle
        FROM said SEMI JOIN limits USING (property) WINDOW ordered AS (PARTITION BY cas, property ORDER BY value)
    ),
    gaps AS (
        SELECT *, gap / limit_c / CASE WHEN relative THEN abs(middle) WHEN kelvin
            THEN greatest(1, middle / {STANDARD_TEMPERATURE_K}) ELSE 1 END AS width
        FROM neighbours JOIN limits USING (property) WHERE gap > 0
    ),
    widest AS (
        SELECT cas, property, arg_max(value, width) AS upper_from, arg_max(gap, width) AS gap, max(width) AS width
        FROM gaps GROUP BY cas, property HAVING max(width) > 1
    ),
    camps AS (
        SELECT cas, property, upper_from, gap, width, {_HOUSES.format("WHERE value < upper_from")} AS n_lower,
            {_HOUSES.format("WHERE value >= upper_from")} AS n_upper
        FROM widest JOIN said USING (cas, property) GROUP BY ALL
    ),
    scored AS (SELECT *, width * least(n_lower, n_upper) ** 2 AS score FROM camps),
    worst AS (
        SELECT * FROM scored
        QUALIFY row_number() OVER (PARTITION BY property ORDER BY score DESC, cas)
            <= CASE WHEN property = 'normal_boiling_point' THEN {WORST_BOILING_POINTS} ELSE {WORST_OF_OTHERS} END
    )
    SELECT cas, coalesce(name, cas), phase_behaviour, property, score, gap, n_lower, n_upper,
        e.value, e.u95, e.grade, e.n_sources, e.rule,
        said.source, source_row, field, speaks_by, said.value, raw, status, reason,
        CASE WHEN said.value < upper_from THEN 'lower' ELSE 'upper' END
    FROM worst JOIN said USING (cas, property) LEFT JOIN component c USING (cas)
    LEFT JOIN evaluation e USING (cas, property)
    ORDER BY property <> 'normal_boiling_point', property, score DESC, cas, said.value, said.source, source_row, field
"""

# A source may say several values of one component; their median speaks for it.
_PAIRS = f"""
    WITH {_SAID},
    voice AS (
        SELECT cas, CASE speaks_by WHEN 'values' THEN source ELSE source || ' (correlations)' END AS speaker,
            median(value) AS value
        FROM said WHERE property = 'normal_boiling_point' GROUP BY ALL
    )
    SELECT a.speaker, b.speaker, count(*), count(*) FILTER (WHERE abs(a.value - b.value) > {DIFFERENCE_K}),
        count(*) FILTER (WHERE a.value = b.value), median(abs(a.value - b.value))
    FROM voice a JOIN voice b ON a.cas = b.cas AND a.speaker < b.speaker
    GROUP BY a.speaker, b.speaker HAVING count(*) >= {LEAST_SHARED} ORDER BY a.speaker, b.speaker
"""


# Components whose sources differ by more than each of the widths, by the grade that came of it.
_SPREADS = f"""
    WITH {_SAID},
    spread AS (
        SELECT cas, max(value) - min(value) AS width FROM said WHERE property = 'normal_boiling_point'
        GROUP BY cas HAVING count(DISTINCT source) > 1
    )
    SELECT wider_than_K, coalesce(grade, 'none'), count(*)
    FROM spread JOIN (SELECT unnest({list(SPREADS_K)}) AS wider_than_K) ON width > wider_than_K
    LEFT JOIN evaluation e ON e.cas = spread.cas AND property = 'normal_boiling_point' GROUP BY ALL ORDER BY ALL
"""


@dataclass(frozen=True)
class CorrelationPoints:
    """Normal boiling points, K, worked out from vapour-pressure correlations; `rows` are those of `observation`."""

    rows: tuple[int, ...]
    values_K: tuple[float, ...]

    def written_into(self, query: str) -> str:
        """The query with the points in it; numbers alone, so nothing needs quoting."""
        return query.format(rows=list(self.rows), values_K=list(self.values_K))


def points_of_correlations(store: Store) -> CorrelationPoints:
    """Where each vapour-pressure correlation reaches 101 325 Pa inside its stated range."""
    given = store.rows(
        "SELECT equation, rowid, coefficients, T_min_K, T_max_K FROM observation "
        "WHERE property = 'vapour_pressure' AND equation IS NOT NULL AND basis <> 'estimated' "
        "AND T_min_K IS NOT NULL AND T_max_K IS NOT NULL ORDER BY equation, source, source_row, field"
    )
    rows: list[int] = []
    values_K: list[float] = []
    for equation, together in groupby(given, key=lambda row: row[0]):
        _, numbers, coefficients, T_min_K, T_max_K = zip(*together, strict=True)
        T_b_K = temperature_at(equation, _padded(coefficients), ATMOSPHERE_PA, T_min_K, T_max_K)
        reached = np.flatnonzero(np.isfinite(T_b_K))
        rows += [numbers[place] for place in reached]
        values_K += T_b_K[reached].tolist()
    return CorrelationPoints(tuple(rows), tuple(values_K))


def _padded(coefficients: Sequence[Sequence[float | None]]) -> NDArray[np.float64]:
    """Lists of coefficients as an array (rows, WIDTH), NULL as NaN."""
    padded = np.full((len(coefficients), WIDTH), np.nan)
    for place, row in enumerate(coefficients):
        padded[place, : len(row)] = np.array(row, dtype=np.float64)
    return padded


def disputes(store: Store, points: CorrelationPoints) -> tuple[Dispute, ...]:
    """The worst disputes by score: twenty of boiling points, then five of each other property."""
    rows = store.rows(points.written_into(_WORST))
    found = [_dispute(list(together)) for _, together in groupby(rows, key=lambda row: (row[0], row[3]))]
    return tuple(sorted(found, key=lambda dispute: _ORDER.index(dispute.property)))


def _dispute(rows: Sequence[tuple[Any, ...]]) -> Dispute:
    cas, name, phase_behaviour, property, *camps, value, u95, grade, n_sources, rule = rows[0][:13]
    said = tuple(DisputedValue(*row[13:]) for row in rows)
    stated = (value, u95, grade, n_sources, rule, *_decision(value, u95, said))
    fields = (cas, name, phase_behaviour, property, PROPERTIES[property].unit, *camps, *stated, said)
    return Dispute(*fields)


def _decision(
    value: float | None, u95: float | None, said: Sequence[DisputedValue]
) -> tuple[str, bool] | tuple[None, None]:
    """The camp that the store stands with, and whether its uncertainty reaches another.

    The camp is the nearer one, unless the value is farther from both than a quarter of the gap.
    """
    if value is None or u95 is None:
        return None, None
    below = max(voice.value for voice in said if voice.camp == "lower")
    above = min(voice.value for voice in said if voice.camp == "upper")
    margin = (above - below) / 4
    reach = u95 * (1.0 + ROUNDING)
    if value <= below + margin:
        return "lower", value + reach >= above
    if value >= above - margin:
        return "upper", value - reach <= below
    return "neither", value - reach <= below or value + reach >= above


def disagreements(store: Store, points: CorrelationPoints) -> tuple[Disagreement, ...]:
    """Every pair of sources that share enough boiling points, in the order of their names."""
    return tuple(
        Disagreement(a, b, shared, differing, identical, differing / shared, median_K)
        for a, b, shared, differing, identical, median_K in store.rows(points.written_into(_PAIRS))
    )


def spreads(store: Store, points: CorrelationPoints) -> tuple[Spread, ...]:
    """How many components have boiling points that are spread wider than each of `SPREADS_K` over the sources."""
    found: dict[float, dict[str, int]] = {width: {} for width in SPREADS_K}
    for width, grade, count in store.rows(points.written_into(_SPREADS)):
        found[float(width)][grade] = count
    return tuple(Spread(width, sum(grades.values()), grades) for width, grades in found.items())

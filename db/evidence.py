"""The quality report of a whole store, from its tables alone: what is covered, how well, and what was not believed.

`evidence` puts it together; the judges are in `judged`, the disputes between
sources in `disputes`, and the goals and what is reached in `targets`.
"""

from __future__ import annotations

import math
from typing import Any

from cutpoint.schema.properties import PROPERTIES

from .disputes import disagreements, disputes, points_of_correlations, spreads
from .judged import judgements
from .mixing_evidence import measured_pairs, mixing_targets
from .quality import (
    Adjudication,
    CurveCoverage,
    Evidence,
    GradeCalibration,
    OutlierKind,
    PropertyCoverage,
    Refusal,
    SourceAccount,
    SourceModel,
    StructureModelClass,
)
from .store import Store
from .targets import LEAST_HELD_OUT, calibrated, targets

_ORDER = tuple(PROPERTIES)

# What a reason says before a colon, or before the figure it is about, is its kind.
_KIND = "regexp_replace(split_part(reason, ':', 1), ' near .*', '')"

# Rows that were refused whole, and single values of rows that were not.
_REFUSED = f"""
    WITH refused AS (
        SELECT *, {_KIND} AS kind FROM rejected
        WHERE field = '*' OR (source, source_row) NOT IN (SELECT (source, source_row) FROM rejected WHERE field = '*')
    ),
    examples AS (
        SELECT * FROM refused QUALIFY row_number() OVER (PARTITION BY kind ORDER BY source, source_row, field) = 1
    )
    SELECT kind, r.source, count(*), any_value(e.source), any_value(e.source_row), any_value(e.raw)
    FROM refused r JOIN examples e USING (kind) GROUP BY kind, r.source ORDER BY count(*) DESC, kind, r.source
"""

_OUTLIERS = f"""
    SELECT {_KIND} AS kind, property, count(*) FROM observation WHERE status = 'outlier'
    GROUP BY kind, property ORDER BY count(*) DESC, kind, property
"""


def evidence(store: Store) -> Evidence:
    """The quality report of the open store. Raises StoreDamaged if its tables cannot be read."""
    build = {str(item): str(value) for item, value in store.rows("SELECT item, value FROM build ORDER BY item")}
    judged = judgements(store)
    covered, calibration, classes = _coverage(store), _calibration(store), _structure_model(store)
    points = points_of_correlations(store)
    pairs = measured_pairs(store)
    return Evidence(
        path=str(store.path),
        digest=build.get("digest"),
        build={item: value for item, value in build.items() if not item.startswith(("digest", "source:"))},
        rows=_rows(store),
        targets=targets(judged, covered, calibration, classes) + mixing_targets(pairs),
        coverage=covered,
        curves=_curves(store),
        calibration=calibration,
        judgements=judged,
        measured_pairs=pairs,
        adjudications=_adjudications(store),
        structure_model=classes,
        source_models=_source_models(store),
        spreads=spreads(store, points),
        disputes=disputes(store, points),
        disagreements=disagreements(store, points),
        rejected=_rejected(store),
        outliers=_outliers(store),
        sources=_sources(store),
    )


def _rows(store: Store) -> dict[str, int]:
    tables = [table for (table,) in store.rows("SELECT table_name FROM duckdb_tables() ORDER BY table_name")]
    counts = ", ".join(f'(SELECT count(*) FROM "{table}")' for table in tables)
    return dict(zip(tables, store.rows(f"SELECT {counts}")[0], strict=True))


def _by_grade(rows: list[tuple[Any, ...]]) -> dict[str, dict[str, int]]:
    """Rows (subject, grade, count) as counts by grade for each subject."""
    counts: dict[str, dict[str, int]] = {}
    for subject, grade, count in rows:
        counts.setdefault(subject, dict.fromkeys("ABCD", 0))[grade] = count
    return counts


def _coverage(store: Store) -> tuple[PropertyCoverage, ...]:
    counts = _by_grade(store.rows("SELECT property, grade, count(*) FROM evaluation GROUP BY ALL ORDER BY ALL"))
    return tuple(
        PropertyCoverage(property, sum(counts[property].values()), counts[property])
        for property in sorted(counts, key=_ORDER.index)
    )


def _curves(store: Store) -> tuple[CurveCoverage, ...]:
    counts = _by_grade(store.rows("SELECT rule, grade, count(*) FROM vapour_curve GROUP BY ALL ORDER BY ALL"))
    return tuple(CurveCoverage(rule, sum(grades.values()), grades) for rule, grades in counts.items())


def _calibration(store: Store) -> tuple[GradeCalibration, ...]:
    rows = store.rows("SELECT property, grade, n_held_out, n_blunders, coverage FROM calibration")
    rows.sort(key=lambda row: (_ORDER.index(row[0]), row[1]))
    return tuple(_graded(*row) for row in rows)


def _graded(property: str, grade: str, n: int, n_blunders: int, coverage: float | None) -> GradeCalibration:
    low = high = met = None
    if n and coverage is not None:
        low, high = score_interval(coverage, n)
        met = calibrated(coverage) if n >= LEAST_HELD_OUT else None
    return GradeCalibration(property, grade, n, n_blunders, coverage, low, high, met)


def score_interval(share: float, n: int) -> tuple[float, float]:
    """Bounds (95 %) of the proportion of which `share` was found among n cases.

    E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212, doi:10.1080/01621459.1927.10502953.

    >>> low, high = score_interval(0.5, 100)
    >>> round(low, 3), round(high, 3)
    (0.404, 0.596)
    """
    z2 = 1.959964**2
    centre = (share + z2 / (2 * n)) / (1 + z2 / n)
    half = math.sqrt(z2) / (1 + z2 / n) * math.sqrt(share * (1 - share) / n + z2 / (4 * n**2))
    return max(centre - half, 0.0), min(centre + half, 1.0)


def _structure_model(store: Store) -> tuple[StructureModelClass, ...]:
    rows = store.rows(
        "SELECT chemical_class, n, median_abs_error_K, p90_abs_error_K, coverage_u95, additive_coverage, "
        "additive_median_abs_error_K, median_abs_error_where_additive_K FROM structure_model "
        "ORDER BY chemical_class <> 'all', chemical_class"
    )
    return tuple(StructureModelClass(*row) for row in rows)


def _source_models(store: Store) -> tuple[SourceModel, ...]:
    rows = store.rows(
        "SELECT property, source, speaks_by, precision, company, n_compared, scatter, blunder_probability "
        "FROM source_model ORDER BY source, speaks_by, "
        "array_position(['fine', 'middle', 'coarse', 'covers', 'nearly covers'], precision), "
        "array_position(['few', 'some', 'many'], company)"
    )
    rows.sort(key=lambda row: _ORDER.index(row[0]))
    return tuple(_source_model(*row) for row in rows)


def _source_model(
    property: str, source: str, speaks_by: str, precision: str, company: str, n: int, scatter: float, blunders: float
) -> SourceModel:
    entry = PROPERTIES[property]
    unit = "1" if entry.relative else entry.unit
    return SourceModel(property, source, speaks_by, precision, company, n, scatter, unit, entry.relative, blunders)


def _adjudications(store: Store) -> tuple[Adjudication, ...]:
    rows = store.rows(
        "SELECT cas, coalesce(name, cas), property, stands_with, value, unit, a.source, remark "
        "FROM adjudication a LEFT JOIN component USING (cas) ORDER BY cas, property"
    )
    return tuple(Adjudication(*row) for row in rows)


def _rejected(store: Store) -> tuple[Refusal, ...]:
    found: dict[str, Refusal] = {}
    for kind, source, count, *example in store.rows(_REFUSED):
        known = found.get(kind)
        sources = {**known.sources, source: count} if known else {source: count}
        found[kind] = Refusal(kind, sum(sources.values()), sources, *example)
    return tuple(sorted(found.values(), key=lambda refusal: (-refusal.n, refusal.reason)))


def _outliers(store: Store) -> tuple[OutlierKind, ...]:
    found: dict[str, dict[str, int]] = {}
    for kind, property, count in store.rows(_OUTLIERS):
        found.setdefault(kind or "no reason is given", {})[property] = count
    kinds = [OutlierKind(kind, sum(counts.values()), counts) for kind, counts in found.items()]
    return tuple(sorted(kinds, key=lambda outliers: (-outliers.n, outliers.reason)))


def _sources(store: Store) -> tuple[SourceAccount, ...]:
    rows = store.rows(
        "SELECT source, title, citation, licence, rows_read, rows_kept, rows_rejected, values_rejected "
        "FROM source ORDER BY source"
    )
    return tuple(SourceAccount(*row) for row in rows)

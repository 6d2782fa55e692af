"""What changed between two stores, so that an update of a source can be reviewed like code.

Both files are attached, read-only, to one connection; the rows of a table are
told apart by its key. A number counts as changed when its relative change is
above `ROUNDING`: evaluated values differ in their last digits from one machine
to another. Counts of changed rows, by table and column, are exact.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from cutpoint.schema import UNINDEXED_KEYS
from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.properties import PROPERTIES

from .changes import (
    HAZARD_CHANGES,
    LESS_DANGEROUS,
    MORE_DANGEROUS,
    NEWLY_HELD,
    NO_LONGER_HELD,
    RESTATED,
    BuildItem,
    ComponentChange,
    ComponentDifferences,
    CurveChange,
    CurveDifferences,
    GradeChange,
    HazardChange,
    HazardDifferences,
    PropertyDifferences,
    RejectionChange,
    SizesOfChange,
    StatusChange,
    StoreDifferences,
    TableDifferences,
    ValueChange,
)
from .side_by_side import TwoStores

ROUNDING = 1e-9
"""Largest relative change that is taken for floating-point rounding."""

DANGEROUS_WHEN_HIGHER = ("upper_flammability_limit",)
"""Hazard properties that call for more care when they rise; all others do when they fall."""

_ORDER = tuple(PROPERTIES)


def differences(old: str | os.PathLike[str], new: str | os.PathLike[str], limit: int = 20) -> StoreDifferences:
    """What changed from the store `old` to the store `new`.

    Counts are of everything; lists of components hold `limit` entries of a
    kind, but all hazards that moved to the dangerous side. Raises StoreMissing,
    StoreOutdated or StoreDamaged, naming which of the two, and WrongUsage for
    a negative limit.
    """
    if limit < 0:
        raise WrongUsage(f"The limit of a list cannot be {limit}: give 0 or more.")
    with TwoStores(Path(old).expanduser(), Path(new).expanduser()) as both:
        return StoreDifferences(
            old=str(old),
            new=str(new),
            build=_build(both),
            tables=_tables(both),
            hazards=_hazards(both, limit),
            evaluations=_evaluations(both, limit),
            curves=_curves(both, limit),
            components=_components(both, limit),
            statuses=_statuses(both),
            rejections=_rejections(both),
        )


def _build(both: TwoStores) -> tuple[BuildItem, ...]:
    rows = both.rows(
        "SELECT item, o.value, n.value FROM old.build o FULL JOIN new.build n USING (item) "
        "WHERE o.value IS DISTINCT FROM n.value AND item <> 'digest' AND NOT starts_with(item, 'digest:') ORDER BY item"
    )
    return tuple(BuildItem(*row) for row in rows)


def _tables(both: TwoStores) -> tuple[TableDifferences, ...]:
    keys = both.keys()
    return tuple(_table(both, table, keys[table]) for table in both.columns if table != "build")


def _table(both: TwoStores, table: str, key: tuple[str, ...]) -> TableDifferences:
    others = [column for column in both.columns[table] if column not in key]
    changed = [f'o."{column}" IS DISTINCT FROM n."{column}"' for column in others]
    both_hold = f'o."{key[0]}" IS NOT NULL AND n."{key[0]}" IS NOT NULL'
    only_new, only_old = f'o."{key[0]}" IS NULL', f'n."{key[0]}" IS NULL'
    conditions = [f"{both_hold} AND ({condition})" for condition in (" OR ".join(changed), *changed)]
    counts = _counts(only_new, only_old, *conditions)
    same_key = ", ".join(f'"{column}"' for column in key)
    (row,) = both.rows(f'SELECT {counts} FROM old."{table}" o FULL JOIN new."{table}" n USING ({same_key})')
    columns = {column: count for column, count in zip(others, row[3:], strict=True) if count}
    return TableDifferences(table, row[0], row[1], row[2], columns)


def _counts(*conditions: str) -> str:
    """Columns that count the rows for which a condition holds; `count_if` would say NULL of no rows."""
    return ", ".join(f"count(*) FILTER (WHERE {condition})" for condition in conditions)


def _hazards(both: TwoStores, limit: int) -> HazardDifferences:
    rows = both.rows(
        "SELECT cas, coalesce(name, cas), property, limit_kind, "
        "o.value, o.conservative, o.unit, o.text, n.value, n.conservative, n.unit, n.text "
        "FROM old.hazard o FULL JOIN new.hazard n USING (cas, property, limit_kind) LEFT JOIN named USING (cas) "
        "WHERE o IS DISTINCT FROM n"
    )
    found: dict[str, list[tuple[float, HazardChange]]] = {kind: [] for kind in HAZARD_CHANGES}
    for *identity, old_value, old_end, old_unit, old_text, new_value, new_end, new_unit, new_text in rows:
        moves = [0.0]
        if old_unit == new_unit:
            sign = -1.0 if identity[2] in DANGEROUS_WHEN_HIGHER else 1.0
            moves = [sign * _move(old_value, new_value), sign * _move(old_end, new_end)]
        old = (old_value, old_end, old_unit, old_text)
        new = (new_value, new_end, new_unit, new_text)
        kind = _hazard_change(old, new, moves)
        if kind is not None:
            fields = [*identity, kind, *old, *new]
            found[kind].append((max(map(abs, moves)), HazardChange(*fields)))
    changes: list[HazardChange] = []
    for kind, entries in found.items():
        entries.sort(key=lambda entry: (_ORDER.index(entry[1].property), -entry[0], entry[1].cas, entry[1].limit_kind))
        changes += [change for _, change in (entries if kind == MORE_DANGEROUS else entries[:limit])]
    return HazardDifferences({kind: len(entries) for kind, entries in found.items()}, tuple(changes))


def _move(old: float | None, new: float | None) -> float:
    """Relative change of a figure that both stores hold, 0 for rounding; hazard figures are above zero."""
    if old is None or new is None or abs(new - old) <= ROUNDING * abs(old):
        return 0.0
    return (new - old) / old


def _hazard_change(old: tuple[Any, ...], new: tuple[Any, ...], moves: list[float]) -> str | None:
    """The kind of a change between two (value, cautious end, unit, text); None if only the sources changed."""
    if old[2] is None:
        return NEWLY_HELD
    if new[2] is None:
        return NO_LONGER_HELD
    to_a_worse_class = old[2] == new[2] == "class" and (new[3] or "Z") < (old[3] or "Z")  # class A is the worst
    if min(moves, default=0.0) < 0.0 or to_a_worse_class:
        return MORE_DANGEROUS
    came_or_went = [(before is None) != (after is None) for before, after in zip(old, new, strict=True)]
    if old[2:] != new[2:] or any(came_or_went):
        return RESTATED
    return LESS_DANGEROUS if max(moves) > 0.0 else None


def _evaluations(both: TwoStores, limit: int) -> tuple[PropertyDifferences, ...]:
    # `moved` is |change| in old U95: 0 for rounding, infinite where that uncertainty is zero.
    both.rows(
        "CREATE TEMP TABLE evaluated AS SELECT property, cas, coalesce(n.unit, o.unit) AS unit, "
        "o.value AS old_value, o.u95 AS old_u95, o.grade AS old_grade, "
        "n.value AS new_value, n.u95 AS new_u95, n.grade AS new_grade, n.value - o.value AS change, "
        f"CASE WHEN abs(n.value - o.value) <= {ROUNDING} * abs(o.value) THEN 0.0 "
        "WHEN o.u95 = 0 THEN CAST('inf' AS DOUBLE) ELSE abs(n.value - o.value) / o.u95 END AS moved "
        "FROM old.evaluation o FULL JOIN new.evaluation n USING (property, cas) WHERE o IS DISTINCT FROM n"
    )
    sizes = (
        "moved = 0", "moved > 0 AND moved <= 0.1", "moved > 0.1 AND moved <= 0.5", "moved > 0.5 AND moved <= 1",
        "moved > 1",
    )  # fmt: skip
    counts = _counts("old_value IS NULL", "new_value IS NULL", "moved IS NOT NULL", *sizes)
    counted = both.rows(f"SELECT property, {counts} FROM evaluated GROUP BY property")
    grades = _grade_changes(both, "SELECT property, old_grade, new_grade FROM evaluated")
    largest = _value_changes(both, "moved > 0", "moved DESC, abs(change) DESC, cas", limit)
    lost = _value_changes(both, "new_value IS NULL", "old_grade, cas", limit)
    return tuple(
        PropertyDifferences(
            property, added, removed, changed, SizesOfChange(*sizes), grades.get(property, ()),
            largest.get(property, ()), lost.get(property, ()),
        )
        for property, added, removed, changed, *sizes in sorted(counted, key=lambda row: _ORDER.index(row[0]))
    )  # fmt: skip


def _grade_changes(both: TwoStores, graded: str) -> dict[str, tuple[GradeChange, ...]]:
    """By property, from a query for (property, old_grade, new_grade)."""
    rows = both.rows(
        f"SELECT property, old_grade, new_grade, count(*) FROM ({graded}) "
        "WHERE old_grade <> new_grade GROUP BY ALL ORDER BY ALL"
    )
    changes: dict[str, tuple[GradeChange, ...]] = {}
    for property, old, new, components in rows:
        changes[property] = (*changes.get(property, ()), GradeChange(old, new, components))
    return changes


def _value_changes(both: TwoStores, condition: str, order: str, limit: int) -> dict[str, tuple[ValueChange, ...]]:
    """The first `limit` rows of each property among the evaluations that differ."""
    rows = both.rows(
        "SELECT property, cas, coalesce(name, cas), unit, old_value, old_u95, old_grade, new_value, new_u95, "
        "new_grade, change, CASE WHEN isfinite(moved) THEN moved END FROM "
        f"(SELECT *, row_number() OVER (PARTITION BY property ORDER BY {order}) AS place "
        f"FROM evaluated WHERE {condition}) LEFT JOIN named USING (cas) WHERE place <= {limit} ORDER BY property, place"
    )
    changes: dict[str, tuple[ValueChange, ...]] = {}
    for property, *fields in rows:
        changes[property] = (*changes.get(property, ()), ValueChange(*fields))
    return changes


def _curves(both: TwoStores, limit: int) -> CurveDifferences:
    both.rows(
        "CREATE TEMP TABLE curves AS SELECT cas, o.equation AS old_equation, o.source AS old_source, "
        "o.grade AS old_grade, n.equation AS new_equation, n.source AS new_source, n.grade AS new_grade "
        "FROM old.vapour_curve o FULL JOIN new.vapour_curve n USING (cas) WHERE o IS DISTINCT FROM n"
    )
    restated = "old_equation <> new_equation OR old_source <> new_source OR old_grade <> new_grade"
    conditions = (
        "old_grade IS NULL", "new_grade IS NULL", "old_grade IS NOT NULL AND new_grade IS NOT NULL",
        "old_equation <> new_equation", "old_source <> new_source", restated,
    )  # fmt: skip
    (counts,) = both.rows(f"SELECT {_counts(*conditions)} FROM curves")
    grades = _grade_changes(both, "SELECT 'vapour_pressure' AS property, old_grade, new_grade FROM curves")
    rows = both.rows(
        "SELECT cas, coalesce(name, cas), old_equation, old_source, old_grade, new_equation, new_source, new_grade "
        "FROM curves LEFT JOIN named USING (cas) "
        f"WHERE old_grade IS NULL OR new_grade IS NULL OR {restated} "
        f"ORDER BY new_grade IS NOT NULL, old_grade IS NULL, old_grade, cas LIMIT {limit}"
    )
    fields = [*counts, grades.get("vapour_pressure", ()), tuple(CurveChange(*row) for row in rows)]
    return CurveDifferences(*fields)


def _components(both: TwoStores, limit: int) -> ComponentDifferences:
    kinds = ("old_name IS NULL", "new_name IS NULL", "old_name <> new_name")
    (counts,) = both.rows(f"SELECT {_counts(*kinds)} FROM named")
    listed = [
        both.rows(f"SELECT cas, old_name, new_name FROM named WHERE {kind} ORDER BY cas LIMIT {limit}")
        for kind in kinds
    ]
    fields = [*counts, tuple(ComponentChange(*row) for rows in listed for row in rows)]
    return ComponentDifferences(*fields)


def _statuses(both: TwoStores) -> tuple[StatusChange, ...]:
    key = ", ".join(UNINDEXED_KEYS["observation"])
    rows = both.rows(
        f"""SELECT source, n.property, {_counts("n.status = 'outlier'", "n.status = 'accepted'")} """
        f"FROM old.observation o JOIN new.observation n USING ({key}) WHERE o.status <> n.status "
        "GROUP BY source, n.property ORDER BY count(*) DESC, source, n.property"
    )
    return tuple(StatusChange(*row) for row in rows)


def _rejections(both: TwoStores) -> tuple[RejectionChange, ...]:
    counted = "(SELECT source, reason, count(*) AS refused FROM {}.rejected GROUP BY ALL)"
    rows = both.rows(
        "SELECT source, reason, coalesce(o.refused, 0) AS before, coalesce(n.refused, 0) AS after "
        f"FROM {counted.format('old')} o FULL JOIN {counted.format('new')} n USING (source, reason) "
        "WHERE before <> after ORDER BY abs(after - before) DESC, source, reason"
    )
    return tuple(RejectionChange(*row) for row in rows)

"""How far the store is from its judges, by property, grade and component.

A judge is a `reference` of the table `crosscheck`: a reference library that is
never a source, or a rule of physics, whose deviation is as the table states it
(of an order of two temperatures, the part that breaks it). Of a library all
components are told; of a rule, those that break it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np

from cutpoint.schema.equations import BAND_PRESSURES_PA
from cutpoint.schema.properties import PROPERTIES

from .quality import Deviation, JudgedGrade, Judgement
from .store import Store

LIBRARIES = ("CoolProp", "IAPWS")
"""First letters of the references that are libraries; every other reference is a rule of physics."""

BENCH_PRESSURES_PA = (5e3, 500e3)
"""Range in which agreement of vapour pressures is asked: from a good vacuum pump's to an autoclave's."""

BENCH_CONDITION = "5 to 500 kPa"

_ORDER = tuple(PROPERTIES)

# An evaluated value's uncertainty holds for the temperature to which the value belongs; that of a
# vapour pressure is the band of its curve.
_POINTS = """
    SELECT reference, x.property, x.cas, coalesce(name, x.cas),
        CASE WHEN x.property = 'vapour_pressure' THEN v.grade ELSE e.grade END,
        ours, reference_value, x.deviation, verdict = 'differs', stands_with,
        CASE WHEN x.temperature_K = 0 OR abs(x.temperature_K - coalesce(e.temperature_K, 0)) < 0.01 THEN e.u95 END,
        CASE WHEN x.property = 'vapour_pressure' THEN band_u95_relative END,
        x.property = 'vapour_pressure' AND coalesce(v.basis = 'estimated', false)
    FROM crosscheck x LEFT JOIN component USING (cas)
    LEFT JOIN evaluation e ON e.cas = x.cas AND e.property = x.property
    LEFT JOIN vapour_curve v ON v.cas = x.cas
    LEFT JOIN adjudication a ON a.cas = x.cas AND a.property = x.property
    ORDER BY reference, x.property, x.cas, x.temperature_K
"""


class _Point(NamedTuple):
    """One comparison at one condition."""

    reference: str
    property: str
    cas: str
    name: str
    grade: str | None
    ours: float
    reference_value: float
    deviation: float
    differs: bool
    adjudicated: str | None
    u95: float | None
    estimated: bool


def judgements(store: Store) -> tuple[Judgement, ...]:
    """Every property against every judge: libraries first, then rules; vapour pressures at the bench first."""
    points = [_point(*row) for row in store.rows(_POINTS)]
    found = []
    for (reference, property), together in groupby(points, key=lambda point: point[:2]):
        cases = list(together)
        if property == "vapour_pressure" and _kind(reference) == "library":
            low, high = BENCH_PRESSURES_PA
            at_the_bench = [case for case in cases if low <= case.reference_value <= high]
            found += [_judged(at_the_bench, BENCH_CONDITION)] if at_the_bench else []
        found.append(_judged(cases, None))
    return tuple(sorted(found, key=lambda judged: (judged.kind, judged.reference, _ORDER.index(judged.property))))


def _kind(reference: str) -> str:
    return "library" if reference.startswith(LIBRARIES) else "rule"


def _point(*row: Any) -> _Point:
    reference, property, cas, name, grade, ours, theirs, told, differs, adjudicated, u95, band, estimated = row
    deviation = told
    if _kind(reference) == "rule":
        u95 = None  # what a rule leaves open is its tolerance, in which both sides have a part
    elif PROPERTIES[property].relative:
        deviation = (ours - theirs) / theirs
        if band is not None:
            u95 = float(np.interp(np.log(ours), np.log(BAND_PRESSURES_PA), band))
        elif u95 is not None:
            u95 = u95 / abs(ours)
    return _Point(reference, property, cas, name, grade, ours, theirs, deviation, differs, adjudicated, u95, estimated)


def _judged(points: Sequence[_Point], condition: str | None) -> Judgement:
    first = points[0]
    deviations = [_component(list(cases)) for _, cases in groupby(points, key=lambda point: point.cas)]
    deviations.sort(key=lambda case: (-case.mean_abs_deviation, case.cas))
    sizes = [case.mean_abs_deviation for case in deviations]
    kind = _kind(first.reference)
    told = deviations if kind == "library" else [case for case in deviations if case.n_differing]
    entry = PROPERTIES[first.property]
    return Judgement(
        reference=first.reference,
        kind=kind,
        property=first.property,
        condition=condition,
        unit="1" if entry.relative else entry.unit,
        relative=entry.relative,
        n_components=len(deviations),
        n_points=len(points),
        n_differing=sum(case.n_differing for case in deviations),
        n_components_differing=sum(case.n_differing > 0 for case in deviations),
        median_abs_deviation=float(np.median(sizes)),
        p95_abs_deviation=float(np.percentile(sizes, 95)),
        by_grade=tuple(_by_grade(deviations)),
        deviations=tuple(told),
    )


def _component(points: Sequence[_Point]) -> Deviation:
    first = points[0]
    u95 = [point.u95 for point in points if point.u95 is not None]
    inside = None
    if len(u95) == len(points):
        inside = sum(abs(point.deviation) <= spread for point, spread in zip(points, u95, strict=True))
    alone = len(points) == 1
    return Deviation(
        cas=first.cas,
        name=first.name,
        grade=first.grade,
        n_points=len(points),
        n_differing=sum(point.differs for point in points),
        ours=first.ours if alone else None,
        reference_value=first.reference_value if alone else None,
        deviation=_mean(point.deviation for point in points),
        mean_abs_deviation=_mean(abs(point.deviation) for point in points),
        u95=None if inside is None else _mean(u95),
        n_inside_u95=inside,
        adjudicated=first.adjudicated,
        estimated=first.estimated,
    )


def _mean(numbers: Iterable[float]) -> float:
    return float(np.mean(list(numbers)))


def _by_grade(deviations: Sequence[Deviation]) -> Iterable[JudgedGrade]:
    for grade in sorted({case.grade for case in deviations}, key=lambda grade: grade or "Z"):
        cases = [case for case in deviations if case.grade == grade]
        sizes = [case.mean_abs_deviation for case in cases]
        stated = [(case.n_inside_u95, case.n_points) for case in cases if case.n_inside_u95 is not None]
        inside = sum(held for held, _ in stated) / sum(points for _, points in stated) if stated else None
        yield JudgedGrade(grade, len(cases), float(np.median(sizes)), float(np.percentile(sizes, 95)), inside)

"""The goals of this project for its store, beside what is reached.

Asked of boiling points and vapour pressures is agreement with CoolProp's
reference equations of state (I. H. Bell et al., Ind. Eng. Chem. Res. 53 (2014)
2498-2508, doi:10.1021/ie4033999), which are never a source. The limits are this
project's own goals.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .quality import (
    AT_LEAST,
    AT_MOST,
    Deviation,
    GradeCalibration,
    Judgement,
    PropertyCoverage,
    StructureModelClass,
    Target,
)

JUDGE = "CoolProp"
"""First word of the judge whose agreement is asked."""

SURE_GRADES = ("A", "B")
MEDIAN_DEVIATION_K = 0.04
P95_DEVIATION_K = 0.30
LARGEST_DEVIATION_K = 1.0
"""A boiling point of grade A or B that is farther off needs a row in `adjudication`."""
SHARE_THAT_KNOWS = 0.90
LEAST_A_OR_B, LEAST_A = 4000, 2000
CALIBRATED_COVERAGE = (0.92, 0.98)
LEAST_HELD_OUT = 30
"""Held-out values below which a coverage is shown but not judged: chance alone would move it by 8 %."""
MEDIAN_PRESSURE_DEVIATION = 0.004
LARGEST_PRESSURE_DEVIATION, SHARE_OF_FLUIDS = 0.02, 0.90
MOST_OF_ADDITIVE_ERROR = 0.5


def calibrated(coverage: float) -> bool:
    """Whether 95 % intervals hold as often as asked."""
    low, high = CALIBRATED_COVERAGE
    return low <= coverage <= high


def targets(
    judged: Sequence[Judgement],
    covered: Sequence[PropertyCoverage],
    calibration: Sequence[GradeCalibration],
    classes: Sequence[StructureModelClass],
) -> tuple[Target, ...]:
    """Every goal, in the order of the report."""
    return (
        *_boiling_points(judged),
        *_numbers(covered),
        *_calibration(calibration),
        *_vapour_pressures(judged),
        _structure_model(classes),
    )


def _target(
    key: str,
    what: str,
    relation: str,
    limit: float,
    reached: float | None,
    unit: str,
    n: int,
    remark: str | None = None,
) -> Target:
    met = None
    if reached is not None:
        met = reached <= limit if relation == AT_MOST else reached >= limit
    return Target(key, what, relation, limit, reached, unit, n, met, remark)


def _deviations(judged: Sequence[Judgement], property: str) -> list[Deviation]:
    """All components against the judge; of several conditions, those that are asked about come first."""
    for judgement in judged:
        if judgement.reference.startswith(JUDGE) and judgement.property == property:
            return list(judgement.deviations)
    return []


def _boiling_points(judged: Sequence[Judgement]) -> list[Target]:
    # Where a third source stood with the judge and was heard, agreement is no longer earned.
    found = [case for case in _deviations(judged, "normal_boiling_point") if case.adjudicated != "reference"]
    sure = [case for case in found if case.grade in SURE_GRADES]
    unsure = [case for case in found if case.grade not in SURE_GRADES and case.n_inside_u95 is not None]
    far = [case for case in sure if case.mean_abs_deviation > LARGEST_DEVIATION_K]
    adjudicated = sum(case.adjudicated is not None for case in far)
    sizes = np.array([case.mean_abs_deviation for case in sure])
    inside = [case.n_inside_u95 == case.n_points for case in unsure]
    of_sure = f"boiling point, grades A and B, against {JUDGE}"
    return [
        _target(
            "boiling_point_median_deviation", f"{of_sure}: median deviation", AT_MOST, MEDIAN_DEVIATION_K,
            float(np.median(sizes)) if sure else None, "K", len(sure),
        ),
        _target(
            "boiling_point_p95_deviation", f"{of_sure}: 95th percentile", AT_MOST, P95_DEVIATION_K,
            float(np.percentile(sizes, 95)) if sure else None, "K", len(sure),
        ),
        _target(
            "boiling_points_off_unadjudicated", f"{of_sure}: more than {LARGEST_DEVIATION_K:g} K off, not adjudicated",
            AT_MOST, 0, len(far) - adjudicated if sure else None, "components", len(sure),
            f"{adjudicated} more are adjudicated" if adjudicated else None,
        ),
        _target(
            "unsure_boiling_points_inside_u95",
            f"boiling point, other grades, against {JUDGE}: reference inside U95", AT_LEAST, SHARE_THAT_KNOWS,
            float(np.mean(inside)) if inside else None, "1", len(unsure),
        ),
    ]  # fmt: skip


def _numbers(covered: Sequence[PropertyCoverage]) -> list[Target]:
    boiling = [held for held in covered if held.property == "normal_boiling_point"]
    total = sum(held.n_components for held in boiling)
    a = sum(held.grades["A"] for held in boiling)
    b = sum(held.grades["B"] for held in boiling)
    return [
        _target("boiling_points_a_or_b", "boiling points of grade A or B", AT_LEAST, LEAST_A_OR_B, a + b,
                "components", total),
        _target("boiling_points_a", "boiling points of grade A", AT_LEAST, LEAST_A, a, "components", total),
    ]  # fmt: skip


def _calibration(calibration: Sequence[GradeCalibration]) -> list[Target]:
    boiling = [row for row in calibration if row.property == "normal_boiling_point"]
    others = [row for row in calibration if row.property != "normal_boiling_point"]
    return [
        *_coverage("boiling_point_coverage", "boiling point", boiling),
        *_coverage("other_coverage", "other properties", others),
    ]


def _coverage(key: str, what: str, rows: Sequence[GradeCalibration]) -> list[Target]:
    """Least and greatest coverage of any grade in which enough values were held out."""
    low, high = CALIBRATED_COVERAGE
    enough = [row.coverage for row in rows if row.n_held_out >= LEAST_HELD_OUT and row.coverage is not None]
    n = sum(row.n_held_out for row in rows)
    few = [f"{_short(row)} ({row.n_held_out})" for row in rows if row.n_held_out < LEAST_HELD_OUT]
    remark = f"fewer than {LEAST_HELD_OUT} held out, not judged: {', '.join(few)}" if few else None
    said = f"95 % intervals, {what}"
    return [
        _target(f"{key}_least", f"{said}: least coverage of a grade", AT_LEAST, low,
                min(enough, default=None), "1", n, remark),
        _target(f"{key}_greatest", f"{said}: greatest coverage of a grade", AT_MOST, high,
                max(enough, default=None), "1", n),
    ]  # fmt: skip


def _short(row: GradeCalibration) -> str:
    words = "" if row.property == "normal_boiling_point" else f"{row.property.replace('_', ' ')} "
    return f"{words}{row.grade}"


def _vapour_pressures(judged: Sequence[Judgement]) -> list[Target]:
    """Curves from correlations are asked; estimates, which claim less, are told beside them."""
    everything = _deviations(judged, "vapour_pressure")
    found = np.array([case.mean_abs_deviation for case in everything if not case.estimated])
    estimates = np.array([case.mean_abs_deviation for case in everything if case.estimated])
    of_pressures = f"vapour pressure, 5 to 500 kPa, against {JUDGE}"
    within = float(np.mean(found <= LARGEST_PRESSURE_DEVIATION)) if found.size else None
    remark = None
    if estimates.size:
        n_within = int(np.sum(np.append(found, estimates) <= LARGEST_PRESSURE_DEVIATION))
        remark = (
            f"curves from correlations; with the {estimates.size} estimated ones, whose median deviation is "
            f"{np.median(estimates):.1%}, {n_within} of {found.size + estimates.size}".replace("%", " %")
        )
    return [
        _target(
            "vapour_pressure_median_deviation", f"{of_pressures}: median fluid's mean deviation", AT_MOST,
            MEDIAN_PRESSURE_DEVIATION, float(np.median(found)) if found.size else None, "1", found.size,
        ),
        _target(
            "vapour_pressure_fluids_within",
            f"{of_pressures}: fluids within {LARGEST_PRESSURE_DEVIATION:.0%}".replace("%", " %"), AT_LEAST,
            SHARE_OF_FLUIDS, within, "1", found.size, remark,
        ),
    ]  # fmt: skip


def _structure_model(classes: Sequence[StructureModelClass]) -> Target:
    what = "structure model, held out: its median error over that of the additive method"
    everything = [row for row in classes if row.chemical_class == "all"]
    ratio, n, remark = None, 0, None
    for row in everything:
        ours, additive = row.median_abs_error_where_additive_K, row.additive_median_abs_error_K
        if ours is not None and additive:
            ratio, n = ours / additive, round(row.n * row.additive_coverage)
            remark = f"{ours:.2f} K against {additive:.2f} K"
    return _target("structure_model_error_ratio", what, AT_MOST, MOST_OF_ADDITIVE_ERROR, ratio, "1", n, remark)

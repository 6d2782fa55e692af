"""Tables of the quality report on what the store is worth: goals, coverage, calibration, judges, models.

In the units people read; the terminal and the HTML page show the same ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from cutpoint.schema.properties import PROPERTIES

from .figures import observed_quantity, significant
from .page import Column, Grid

if TYPE_CHECKING:
    from cutpoint.db.quality import (
        Adjudication,
        CurveCoverage,
        Deviation,
        GradeCalibration,
        Judgement,
        PropertyCoverage,
        SourceModel,
        StructureModelClass,
        Target,
    )

NONE_HELD = "–"
MET = {True: "met", False: "not met", None: "not measured"}
GRADES = "ABCD"
COMPANIES = ("few", "some", "many")
_MET_COLOURS = {"met": "green", "not met": "red", "not measured": "yellow"}
_GRADE_COLOURS = {"A": "green", "B": "cyan", "C": "yellow", "D": "red"}
_RELATION = {"at most": "≤", "at least": "≥"}


def words(property: str) -> str:
    """A property's name as text."""
    return property.replace("_", " ")


def source_words(source: str) -> str:
    """A source's name as text; a chemist calls its correlations curves."""
    return source.replace("_", " ").replace("(correlations)", "(curves)")


def percent(share: float, digits: int = 3) -> str:
    """A share as a percentage.

    >>> percent(0.92308), percent(0.003063), percent(1.0)
    ('92.3 %', '0.306 %', '100 %')
    """
    return f"{significant(100.0 * share, digits)} %"


def deviation(size: float, unit: str, relative: bool) -> str:
    """The size of a deviation or scatter: a percentage if relative, else in the property's unit."""
    if relative:
        return percent(size, 2)
    return f"{significant(size, 2)} {'' if unit == '1' else unit}".rstrip()


def _amount(value: float, unit: str) -> str:
    """A goal, or what is reached."""
    if unit == "components":
        return f"{value:,.0f}"
    return percent(value) if unit == "1" else f"{significant(value, 2)} {unit}"


def summary(figures: Sequence[Target]) -> str:
    """How many of the goals are reached."""
    met = sum(figure.met is True for figure in figures)
    missing = sum(figure.met is None for figure in figures)
    told = f"{met} of the {len(figures)} goals are reached"
    return f"{told}; {missing} are not measured in this store." if missing else f"{told}."


def targets(figures: Sequence[Target]) -> Grid:
    """Every goal, beside what is reached."""
    columns = [
        Column("figure", wraps=True),
        Column("asked", right=True),
        Column("reached", right=True),
        Column("", colours=_MET_COLOURS),
        Column("cases", right=True, spare=True),
    ]
    rows = [
        [
            figure.what,
            f"{_RELATION[figure.relation]} {_amount(figure.limit, figure.unit)}",
            NONE_HELD if figure.reached is None else _amount(figure.reached, figure.unit),
            MET[figure.met],
            f"{figure.n:,}" if figure.n else NONE_HELD,
        ]
        for figure in figures
    ]
    return Grid(columns, rows)


def coverage(covered: Sequence[PropertyCoverage]) -> Grid:
    """Components with a value, by property and grade."""
    return _graded("property", [(words(held.property), held.n_components, held.grades) for held in covered])


def curves(covered: Sequence[CurveCoverage]) -> Grid:
    """Components with a vapour-pressure curve, by rule and grade."""
    return _graded("rule", [(held.rule, held.n_components, held.grades) for held in covered])


def _graded(title: str, rows: Iterable[tuple[str, int, Mapping[str, int]]]) -> Grid:
    columns = [Column(title, wraps=True), *(Column(grade, right=True) for grade in (*GRADES, "all"))]
    told = [[what, *(f"{grades[grade]:,}" for grade in GRADES), f"{total:,}"] for what, total, grades in rows]
    return Grid(columns, told)


def calibrated(rows: Sequence[GradeCalibration]) -> Grid:
    """Coverage of the intervals by property and grade, in short."""
    told: dict[str, dict[str, str]] = {}
    for row in rows:
        told.setdefault(words(row.property), {})[row.grade] = _coverage(row)
    columns = [Column("property", wraps=True), *(Column(grade, right=True) for grade in GRADES)]
    return Grid(columns, [[what, *(cells.get(grade, NONE_HELD) for grade in GRADES)] for what, cells in told.items()])


def _coverage(row: GradeCalibration) -> str:
    if row.coverage is None or row.met is None:
        return "too few"
    return f"{'' if row.met else '! '}{percent(row.coverage)}"


def calibration(rows: Sequence[GradeCalibration]) -> Grid:
    """Coverage of the intervals by property and grade, with what chance leaves open and the values behind it."""
    columns = [
        Column("property", wraps=True),
        Column("grade", colours=_GRADE_COLOURS),
        Column("inside", right=True),
        Column("", colours=_MET_COLOURS),
        Column("could be", right=True),
        Column("held out", right=True),
        Column("blunders", right=True),
    ]
    told = [
        [
            words(row.property),
            row.grade,
            NONE_HELD if row.coverage is None else percent(row.coverage),
            "too few" if row.met is None else MET[row.met],
            _between(row.coverage_low, row.coverage_high),
            f"{row.n_held_out:,}",
            f"{row.n_blunders:,}",
        ]
        for row in rows
    ]
    return Grid(columns, told)


def _between(low: float | None, high: float | None) -> str:
    return NONE_HELD if low is None or high is None else f"{100 * low:.0f} to {100 * high:.0f} %"


def judged(judgement: Judgement) -> str:
    """What is judged, with its condition."""
    return words(judgement.property) + (f", {judgement.condition}" if judgement.condition else "")


def judgements(judged_properties: Sequence[Judgement]) -> Grid:
    """Every property against every judge, in short."""
    columns = [
        Column("judge", wraps=True),
        Column("property", wraps=True),
        Column("components", right=True),
        Column("median", right=True),
        Column("95 % within", right=True, spare=True),
        Column("differ", right=True),
    ]
    rows = [
        [
            judgement.reference,
            judged(judgement),
            f"{judgement.n_components:,}",
            deviation(judgement.median_abs_deviation, judgement.unit, judgement.relative),
            deviation(judgement.p95_abs_deviation, judgement.unit, judgement.relative),
            f"{judgement.n_components_differing:,}",
        ]
        for judgement in judged_properties
    ]
    return Grid(columns, rows)


def by_grade(judgement: Judgement) -> Grid:
    """The components of each grade against one judge."""
    columns = [
        Column("grade", colours=_GRADE_COLOURS),
        Column("components", right=True),
        Column("median", right=True),
        Column("95 % within", right=True),
        Column("reference inside U95", right=True),
    ]
    rows = [
        [
            grade.grade or NONE_HELD,
            f"{grade.n_components:,}",
            deviation(grade.median_abs_deviation, judgement.unit, judgement.relative),
            deviation(grade.p95_abs_deviation, judgement.unit, judgement.relative),
            NONE_HELD if grade.share_inside_u95 is None else percent(grade.share_inside_u95),
        ]
        for grade in judgement.by_grade
    ]
    return Grid(columns, rows)


def farthest(judgement: Judgement, limit: int) -> Grid:
    """The components that differ, farthest off first."""
    columns = [
        Column("component", wraps=True),
        Column("grade", colours=_GRADE_COLOURS),
        Column("ours", right=True),
        Column("reference", right=True),
        Column("deviation", right=True),
        Column("U95", right=True),
        Column("adjudicated for"),
    ]
    rows = [_off(judgement, case) for case in judgement.deviations if case.n_differing]
    return Grid(columns, rows[:limit])


def _off(judgement: Judgement, case: Deviation) -> list[str]:
    both = [
        NONE_HELD
        if value is None
        else observed_quantity(judgement.property, value, PROPERTIES[judgement.property].unit)
        for value in (case.ours, case.reference_value)
    ]
    sign = "-" if case.deviation < 0.0 else "+"
    return [
        f"{case.name} [{case.cas}]",
        case.grade or NONE_HELD,
        *both,
        sign + deviation(abs(case.deviation), judgement.unit, judgement.relative),
        NONE_HELD if case.u95 is None else deviation(case.u95, judgement.unit, judgement.relative),
        case.adjudicated or NONE_HELD,
    ]


def adjudications(rows: Sequence[Adjudication]) -> Grid:
    """Disagreements with a judge that a third source decides."""
    columns = [
        Column("component", wraps=True),
        Column("property", wraps=True),
        Column("third source says", right=True),
        Column("stands with"),
        Column("source", wraps=True),
        Column("remark", wraps=True),
    ]
    told = [
        [
            f"{row.name} [{row.cas}]",
            words(row.property),
            observed_quantity(row.property, row.value, row.unit),
            row.stands_with,
            row.source,
            row.remark,
        ]
        for row in rows
    ]
    return Grid(columns, told)


def structure_model(classes: Sequence[StructureModelClass]) -> Grid:
    """Held-out errors of the structure model by chemical class, beside those of the additive method."""
    columns = [
        Column("class", wraps=True),
        Column("held out", right=True),
        Column("median", right=True),
        Column("90 % within", right=True),
        Column("inside U95", right=True),
        Column("additive covers", right=True),
        Column("its median", right=True),
        Column("ours there", right=True),
    ]
    rows = [
        [
            row.chemical_class,
            f"{row.n:,}",
            f"{row.median_abs_error_K:.1f} K",
            f"{row.p90_abs_error_K:.1f} K",
            percent(row.coverage_u95),
            percent(row.additive_coverage),
            _kelvins(row.additive_median_abs_error_K),
            _kelvins(row.median_abs_error_where_additive_K),
        ]
        for row in classes
    ]
    return Grid(columns, rows)


PRECISION_WORDS = {
    "fine": "finely",
    "middle": "to 0.1 K",
    "coarse": "to 1 K",
    "covers": "inside its range",
    "nearly covers": "just beyond it",
}
"""How finely a source states temperatures (other values are all called fine), or where its correlation is asked."""


def _kelvins(size: float | None) -> str:
    return NONE_HELD if size is None else f"{size:.1f} K"


def source_models(models: Sequence[SourceModel], *, with_numbers: bool) -> Grid:
    """Scatter and share of blunders of each voice on one property; a column for each size of company.

    With numbers: of the components on which it was compared, too.
    """
    told: dict[tuple[str, str], dict[str, str]] = {}
    for model in models:
        said = f"{deviation(model.scatter, model.unit, model.relative)}, {percent(model.blunder_probability, 2)}"
        number = f" ({model.n_compared:,})" if with_numbers else ""
        row = told.setdefault((voice(model.source, model.speaks_by), model.precision), {})
        row[model.company] = said + number
    columns = [
        Column("source", wraps=True),
        Column("states"),
        *(Column(f"{company} voices", right=True) for company in COMPANIES),
    ]
    rows = [
        [said, PRECISION_WORDS[precision], *(cells.get(company, NONE_HELD) for company in COMPANIES)]
        for (said, precision), cells in told.items()
    ]
    return Grid(columns, rows)


def voice(source: str, speaks_by: str) -> str:
    """A source, and whether it speaks through its correlations."""
    return source_words(source) + (" (curves)" if speaks_by == "correlations" else "")

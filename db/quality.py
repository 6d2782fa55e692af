"""What the quality report of a store answers with: frozen dataclasses in SI units.

Field names are those of `cutpoint evidence --json`. A deviation is ours minus
the reference: in the property's unit, or relative to the reference (`relative`,
and `unit` is then "1") for properties whose uncertainty is relative. None stands for what
was not measured in this store.
"""

from __future__ import annotations

from dataclasses import dataclass

from .results import Azeotrope

AT_MOST = "at most"
AT_LEAST = "at least"


@dataclass(frozen=True)
class Target:
    """A figure that is asked of the store, and the one reached.

    `key` is its stable name, `n` the number of cases behind `reached`; `met` is
    None where it was not measured; `remark` says what was left out.
    """

    key: str
    what: str
    relation: str
    limit: float
    reached: float | None
    unit: str
    n: int
    met: bool | None
    remark: str | None

    def __str__(self) -> str:
        reached = "not measured" if self.reached is None else f"{self.reached:.4g}"
        return f"{self.what}: {reached}, asked {self.relation} {self.limit:g} ({self.unit})"


@dataclass(frozen=True)
class Deviation:
    """One component against one judge, over `n_points` conditions.

    `deviation` is the mean, `mean_abs_deviation` the mean of the sizes, `u95`
    the mean expanded uncertainty that the store states, in the same terms: None
    where it states none for these conditions, and then `n_inside_u95` is None.
    `ours` and `reference_value` are given where there is one condition.
    `adjudicated` is "ours" or "reference" where a third source has decided,
    `estimated` whether ours comes from an estimated vapour-pressure curve.
    """

    cas: str
    name: str
    grade: str | None
    n_points: int
    n_differing: int
    ours: float | None
    reference_value: float | None
    deviation: float
    mean_abs_deviation: float
    u95: float | None
    n_inside_u95: int | None
    adjudicated: str | None
    estimated: bool


@dataclass(frozen=True)
class JudgedGrade:
    """The components of one grade against one judge; medians and percentiles are over components.

    `share_inside_u95` is the share of points at which the stated interval holds the reference value.
    """

    grade: str | None
    n_components: int
    median_abs_deviation: float
    p95_abs_deviation: float
    share_inside_u95: float | None


@dataclass(frozen=True)
class Judgement:
    """One property against one judge; `kind` is "library" for a reference library, "rule" for a rule of physics.

    `condition` says which points count, where not all do. `n_differing` are the
    points outside the judge's tolerance. `deviations` are all components, those
    that are farthest off first; of a rule, those that break it.
    """

    reference: str
    kind: str
    property: str
    condition: str | None
    unit: str
    relative: bool
    n_components: int
    n_points: int
    n_differing: int
    n_components_differing: int
    median_abs_deviation: float
    p95_abs_deviation: float
    by_grade: tuple[JudgedGrade, ...]
    deviations: tuple[Deviation, ...]


@dataclass(frozen=True)
class PropertyCoverage:
    """How many components have a value of the property, by grade."""

    property: str
    n_components: int
    grades: dict[str, int]


@dataclass(frozen=True)
class CurveCoverage:
    """How many components have a vapour-pressure curve made by the rule, by grade."""

    rule: str
    n_components: int
    grades: dict[str, int]


@dataclass(frozen=True)
class GradeCalibration:
    """How often the 95 % intervals of one property and grade held values that were held out.

    `coverage_low` and `coverage_high` bound the coverage that so few values can
    tell (95 %, score interval: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927)
    209-212, doi:10.1080/01621459.1927.10502953). `met` is None where they are
    too few to judge.
    """

    property: str
    grade: str
    n_held_out: int
    n_blunders: int
    coverage: float | None
    coverage_low: float | None
    coverage_high: float | None
    met: bool | None


@dataclass(frozen=True)
class StructureModelClass:
    """Held-out errors of the structure model of the boiling point, for one chemical class; see the table."""

    chemical_class: str
    n: int
    median_abs_error_K: float
    p90_abs_error_K: float
    coverage_u95: float
    additive_coverage: float
    additive_median_abs_error_K: float | None
    median_abs_error_where_additive_K: float | None


@dataclass(frozen=True)
class SourceModel:
    """How far a source scatters and how often it blunders; `unit` is "1" where the scatter is `relative`."""

    property: str
    source: str
    speaks_by: str
    precision: str
    company: str
    n_compared: int
    scatter: float
    unit: str
    relative: bool
    blunder_probability: float


@dataclass(frozen=True)
class Adjudication:
    """A disagreement with a judge that a third source decides."""

    cas: str
    name: str
    property: str
    stands_with: str
    value: float
    unit: str
    source: str
    remark: str


@dataclass(frozen=True)
class DisputedValue:
    """What one source says in a dispute; `camp` is "lower" or "upper".

    `speaks_by` is "values", or "correlations" for a boiling point worked out
    from a vapour-pressure correlation.
    """

    source: str
    source_row: int
    field: str
    speaks_by: str
    value: float
    raw: str
    status: str
    reason: str | None
    camp: str


@dataclass(frozen=True)
class Dispute:
    """A property of a component on which independent sources fall into two camps.

    `gap` is the empty space between the camps, `n_lower` and `n_upper` the
    independent sources in each, `score` how bad it is (`disputes`). `value` and
    what follows it is what the store stands for, None if nothing;
    `stands_with` is the camp that it lies in or near, "neither" if well between;
    `left_open` whether its uncertainty reaches a value of another camp.
    """

    cas: str
    name: str
    phase_behaviour: str | None
    property: str
    unit: str
    score: float
    gap: float
    n_lower: int
    n_upper: int
    value: float | None
    u95: float | None
    grade: str | None
    n_sources: int | None
    rule: str | None
    stands_with: str | None
    left_open: bool | None
    observations: tuple[DisputedValue, ...]


@dataclass(frozen=True)
class Spread:
    """How many boiling points are spread over the sources by more than `wider_than_K`, by the grade that came of it.

    The grade "none" stands for those that have no boiling point in this store.
    """

    wider_than_K: float
    n_components: int
    grades: dict[str, int]


@dataclass(frozen=True)
class Disagreement:
    """The boiling points of two sources, as they print them, outliers too.

    `n_differing` of the `n_shared` components differ by more than
    `DIFFERENCE_K`; `n_identical` agree to the last digit.
    """

    source_a: str
    source_b: str
    n_shared: int
    n_differing: int
    n_identical: int
    share_differing: float
    median_abs_difference_K: float


@dataclass(frozen=True)
class Refusal:
    """Rows and values refused for one kind of reason, with one of them as an example."""

    reason: str
    n: int
    sources: dict[str, int]
    example_source: str
    example_source_row: int
    example_raw: str


@dataclass(frozen=True)
class OutlierKind:
    """Observations kept in sight but out of the evaluation, for one kind of reason."""

    reason: str
    n: int
    properties: dict[str, int]


@dataclass(frozen=True)
class SourceAccount:
    """What became of the rows of one open table."""

    source: str
    title: str
    citation: str
    licence: str
    rows_read: int
    rows_kept: int
    rows_rejected: int
    values_rejected: int


@dataclass(frozen=True)
class MeasuredPair:
    """What was measured of a pair at a pressure, and what is predicted there with everything measured left out.

    `measured` is empty where none was found to form. `problem` says why there
    is no prediction. `off_K` and `off_mass_fraction` are predicted minus
    measured, of the two azeotropes that are nearest to one another.
    """

    cas_a: str
    name_a: str
    cas_b: str
    name_b: str
    pressure_Pa: float
    measured: tuple[Azeotrope, ...]
    predicted: tuple[Azeotrope, ...]
    problem: str | None
    source: str
    off_K: float | None = None
    off_mass_fraction: float | None = None

    @property
    def existence_right(self) -> bool:
        """Whether any is predicted where any was measured, and none where none was."""
        return bool(self.measured) == bool(self.predicted)

    @property
    def kind_right(self) -> bool:
        """Whether the kinds are the same."""
        return {one.kind for one in self.measured} == {one.kind for one in self.predicted}


@dataclass(frozen=True)
class Evidence:
    """The quality report of a whole store; empty tuples where its tables are empty."""

    path: str
    digest: str | None
    build: dict[str, str]
    rows: dict[str, int]
    targets: tuple[Target, ...]
    coverage: tuple[PropertyCoverage, ...]
    curves: tuple[CurveCoverage, ...]
    calibration: tuple[GradeCalibration, ...]
    judgements: tuple[Judgement, ...]
    measured_pairs: tuple[MeasuredPair, ...]
    adjudications: tuple[Adjudication, ...]
    structure_model: tuple[StructureModelClass, ...]
    source_models: tuple[SourceModel, ...]
    spreads: tuple[Spread, ...]
    disputes: tuple[Dispute, ...]
    disagreements: tuple[Disagreement, ...]
    rejected: tuple[Refusal, ...]
    outliers: tuple[OutlierKind, ...]
    sources: tuple[SourceAccount, ...]

    def __str__(self) -> str:
        return "\n".join(map(str, self.targets))

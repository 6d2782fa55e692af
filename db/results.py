"""What the query module answers with: frozen dataclasses in SI units, with the unit in the name.

Field names are those of the command line's `--json`. `str()` of each is for
people (°C, kPa); `dataclasses.asdict` is for machines.
"""

from __future__ import annotations

from dataclasses import dataclass

from .matches import celsius, kilopascal


@dataclass(frozen=True)
class Evaluated:
    """One value at stated conditions, with its expanded uncertainty (coverage 95 %, GUM) and grade.

    `sources` are the open tables behind it, `n_sources` how many independent
    ones the evaluation counted. `extrapolated` marks a value from outside the
    stated range of the curve; `remark` says what else a reader must know, as
    that a boiling point lies below the melting point.
    """

    property: str
    value: float
    u95: float
    unit: str
    grade: str
    sources: tuple[str, ...]
    n_sources: int
    temperature_K: float | None = None
    pressure_Pa: float | None = None
    extrapolated: bool = False
    rule: str = ""
    remark: str | None = None

    def __str__(self) -> str:
        if self.unit == "K":
            value = f"{celsius(self.value)} ± {self.u95:.2g} K"
        elif self.unit == "Pa":
            value = f"{kilopascal(self.value)} ± {self.u95 / self.value:.1%}"
        else:
            value = f"{self.value:.6g} ± {self.u95:.2g} {self.unit}"
        at = f" at {kilopascal(self.pressure_Pa)}" if self.pressure_Pa is not None and self.unit != "Pa" else ""
        at += f" at {celsius(self.temperature_K)}" if self.temperature_K is not None else ""
        told = f"{', extrapolated' if self.extrapolated else ''}{f'; {self.remark}' if self.remark else ''}"
        return f"{value}{at}, grade {self.grade}{told}"


@dataclass(frozen=True)
class Evaluation:
    """The evaluated value of one property: a row of the table `evaluation`."""

    property: str
    value: float
    u95: float
    unit: str
    temperature_K: float | None
    grade: str
    n_sources: int
    lowest: float
    highest: float
    rule: str

    def __str__(self) -> str:
        value = f"{self.value:.6g} ± {self.u95:.2g} {self.unit}"
        return f"{self.property}: {value}, grade {self.grade}, {self.n_sources} sources ({self.rule})"


@dataclass(frozen=True)
class Observation:
    """What one source says: a row of the table `observation`, outliers included."""

    property: str
    value: float | None
    unit: str
    temperature_K: float | None
    pressure_Pa: float | None
    equation: str | None
    coefficients: tuple[float, ...] | None
    T_min_K: float | None
    T_max_K: float | None
    basis: str
    raw: str
    source: str
    source_row: int
    field: str
    status: str
    reason: str | None

    def __str__(self) -> str:
        said = f"{self.value:.6g} {self.unit}" if self.value is not None else f"{self.equation} correlation"
        why = f": {self.reason}" if self.reason else ""
        return f"{self.property} {said} ({self.source}, row {self.source_row}, {self.status}{why})"


@dataclass(frozen=True)
class Hazard:
    """One hazard figure; `conservative` is the cautious end of all that sources state."""

    property: str
    limit_kind: str
    value: float | None
    conservative: float | None
    unit: str
    text: str | None
    sources: str

    def __str__(self) -> str:
        said = self.text or ""
        if self.value is not None:
            # A mole fraction in air is read in ppm; other shares as they stand.
            in_ppm = self.property == "exposure_limit" and self.unit == "1"
            factor, unit = (1e6, "ppm") if in_ppm else (1.0, self.unit)
            said = f"{self.value * factor:.4g} {unit}"
            if self.conservative not in (None, self.value):
                said += f" (cautious end {self.conservative * factor:.4g})"
        kind = "" if self.limit_kind in ("value", "class") else f" ({self.limit_kind})"
        return f"{self.property}{kind}: {said} [{self.sources}]"


@dataclass(frozen=True)
class Curve:
    """The vapour-pressure curve of a component: a row of the table `vapour_curve`.

    It is valid from `T_min_K` to `T_max_K` and may be extrapolated from
    `T_lowest_K` to `T_highest_K`. `band_u95_relative` is the relative expanded
    uncertainty of the pressure where the curve reaches each of
    `band_pressures_Pa`. `rule` says how it was made: `pooled`, `chosen`, or
    `corresponding states` for an estimate.
    """

    equation: str
    coefficients: tuple[float, ...]
    band_pressures_Pa: tuple[float, ...]
    band_u95_relative: tuple[float, ...]
    T_min_K: float
    T_max_K: float
    T_lowest_K: float
    T_highest_K: float
    relative_residual: float | None
    u95_relative: float
    rule: str
    basis: str
    grade: str
    n_sources: int
    source: str

    @property
    def is_estimate(self) -> bool:
        """Whether it was made without any correlation, from the boiling point and the structure."""
        return self.rule == "corresponding states"

    def __str__(self) -> str:
        span = f"{celsius(self.T_min_K)} to {celsius(self.T_max_K)}"
        made = f"{self.equation} ({self.rule}) from {self.source}"
        return f"{made}, {span}, ± {self.u95_relative:.1%}, grade {self.grade}"


@dataclass(frozen=True)
class Neighbour:
    """A component that boils near another.

    `delta_K` is its boiling point minus the other's. `is_estimate` marks one
    that no source measured or correlated there, always of grade D.
    """

    cas: str
    name: str
    boiling_point_K: float
    delta_K: float
    grade: str
    is_estimate: bool

    def __str__(self) -> str:
        line = f"{self.delta_K:+.1f} K  {celsius(self.boiling_point_K)}  {self.name} [{self.cas}], grade {self.grade}"
        return f"{line}, an estimate" if self.is_estimate else line


@dataclass(frozen=True)
class Neighbours:
    """What else boils within a window, nearest first.

    `boiling_point_K`, `grade` and `remark` are the component's own, as
    `boiling_point` gives them. Left out is what would be a solid there.
    `without_curve` counts the components that have a normal boiling point but
    no curve that reaches the pressure, and so could not be looked at.
    """

    cas: str
    pressure_Pa: float
    within_K: float
    boiling_point_K: float
    grade: str
    remark: str | None
    neighbours: tuple[Neighbour, ...]
    without_curve: int

    def __str__(self) -> str:
        head = f"within {self.within_K:g} K of {celsius(self.boiling_point_K)} at {kilopascal(self.pressure_Pa)}:"
        lines = [head, *(str(neighbour) for neighbour in self.neighbours)]
        if self.without_curve:
            lines.append(f"({self.without_curve} components have no curve that reaches this pressure)")
        return "\n".join(lines)


@dataclass(frozen=True)
class Thresholds:
    """Where one verdict ends and the next begins, K between the boiling points of a pair that mixes ideally.

    `simple_K` or more: simple distillation. Less than `close_K`: close-boiling
    (about a relative volatility of 1.2, some thirty plates for 95 % purity).
    Between them: fractional distillation. A pair that mixes otherwise is put
    where an ideal one that needs as many plates would be. Where nothing is
    known of how a pair mixes, a difference of `unrelated_K` is taken to be too
    large for an azeotrope, if neither is water. Common practice, no source.
    """

    simple_K: float = 25.0
    close_K: float = 5.0
    unrelated_K: float = 100.0


@dataclass(frozen=True)
class RelativeVolatility:
    """Relative volatility of a over b, (y_a/x_a)/(y_b/x_b): above 1 where a is the more volatile.

    `a_lean`: a trace of a in b; `middle`: equal amounts (mole fraction 0.5);
    `a_rich`: a trace of b in a. Each at the boiling point of that mixture at
    the pressure asked; None where a curve does not reach that temperature.
    """

    a_lean: float | None
    middle: float | None
    a_rich: float | None


@dataclass(frozen=True)
class Azeotrope:
    """A mixture of a and b that boils unchanged at `pressure_Pa`.

    `basis` is `measured` or `predicted`, `kind` `minimum`, `maximum` or
    `heterogeneous` (two liquids boil together; the fractions are the vapour's).
    """

    basis: str
    kind: str
    temperature_K: float
    mass_fraction_a: float
    mole_fraction_a: float
    source: str
    pressure_Pa: float

    def __str__(self) -> str:
        share = f"{100.0 * self.mass_fraction_a:.3g} % by mass of the first"
        return f"{self.kind} azeotrope ({self.basis}), {celsius(self.temperature_K)}, {share} [{self.source}]"


@dataclass(frozen=True)
class Pair:
    """Whether distillation can part two components.

    `delta_boiling_point_K` is the boiling point of b minus that of a (positive:
    a boils first), both at `pressure_Pa`. `azeotropes` are those that count,
    measured before predicted, by rising share of a; `azeotrope` is the
    lowest-boiling of them.
    `minimum_plates` are theoretical plates at total reflux, the pot counted as
    one; `equivalent_difference_K` the difference of boiling points of an ideal
    pair that needs as many. `verdict` is one of `simple distillation`,
    `fractional distillation`, `close-boiling`, `azeotrope`, `undecided`.
    """

    a: dict[str, str]
    b: dict[str, str]
    pressure_Pa: float
    delta_boiling_point_K: float
    delta_u95_K: float
    relative_volatility: RelativeVolatility
    azeotrope: Azeotrope | None
    azeotropes: tuple[Azeotrope, ...]
    minimum_plates: float | None
    equivalent_difference_K: float | None
    purity_a: float
    purity_b: float
    verdict: str
    reasons: tuple[str, ...]

    @property
    def labels(self) -> tuple[str, str]:
        """What to call the two: their names, with the CAS numbers where the names are the same."""
        return told_apart(self.a["name"], self.a["cas"], self.b["name"], self.b["cas"])

    def __str__(self) -> str:
        head = f"{' + '.join(self.labels)} at {kilopascal(self.pressure_Pa)}: {self.verdict}"
        return "\n".join([head, *(f"  {reason}" for reason in self.reasons)])


def told_apart(name_a: str, cas_a: str, name_b: str, cas_b: str) -> tuple[str, str]:
    """The names of two components, with the CAS numbers where they are the same.

    >>> told_apart("hexane", "110-54-3", "hexane", "110-54-3")
    ('hexane [110-54-3]', 'hexane [110-54-3]')
    """
    return (name_a, name_b) if name_a != name_b else (f"{name_a} [{cas_a}]", f"{name_b} [{cas_b}]")

"""What a comparison of two stores answers with: frozen dataclasses in SI units.

Field names are those of `cutpoint diff --json`. `old_…` is the first store,
`new_…` the second; None stands where the one holds nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

MORE_DANGEROUS = "more dangerous"
RESTATED = "restated"
NO_LONGER_HELD = "no longer held"
LESS_DANGEROUS = "less dangerous"
NEWLY_HELD = "newly held"

HAZARD_CHANGES = (MORE_DANGEROUS, RESTATED, NO_LONGER_HELD, LESS_DANGEROUS, NEWLY_HELD)
"""Kinds of a hazard change, the one to be looked at first first."""


@dataclass(frozen=True)
class BuildItem:
    """An item of the table `build` that differs: a library's version, a source's hash, the sources left out."""

    item: str
    old: str | None
    new: str | None


@dataclass(frozen=True)
class TableDifferences:
    """How many rows of a table differ, told apart by its key; `columns` counts the changed rows by column."""

    table: str
    added: int
    removed: int
    changed: int
    columns: dict[str, int]

    @property
    def differs(self) -> bool:
        """Whether any row differs."""
        return bool(self.added or self.removed or self.changed)


@dataclass(frozen=True)
class HazardChange:
    """A hazard figure that moved, came or went; `change` is one of `HAZARD_CHANGES`.

    More dangerous is what the value or its cautious end says when it moves so
    that more care is due: everything down, but the upper flammability limit up.
    Restated is a class, a remark, or a figure in another unit, which cannot be compared.
    """

    cas: str
    name: str
    property: str
    limit_kind: str
    change: str
    old_value: float | None
    old_conservative: float | None
    old_unit: str | None
    old_text: str | None
    new_value: float | None
    new_conservative: float | None
    new_unit: str | None
    new_text: str | None


@dataclass(frozen=True)
class HazardDifferences:
    """`counts` of every kind of change; `changes` in that order: all on the dangerous side, the first of the others."""

    counts: dict[str, int]
    changes: tuple[HazardChange, ...]


@dataclass(frozen=True)
class GradeChange:
    """How many components went from one grade to another."""

    old: str
    new: str
    components: int


@dataclass(frozen=True)
class SizesOfChange:
    """Changed evaluations, counted by the size of the value's change in old expanded uncertainties.

    `none` are those of which something else changed: uncertainty, grade, sources, rule.
    """

    none: int
    up_to_0_1_u95: int
    up_to_0_5_u95: int
    up_to_1_u95: int
    above_1_u95: int


@dataclass(frozen=True)
class ValueChange:
    """An evaluated value that changed or went; `change_per_u95` is |change| / `old_u95`, None where that is zero."""

    cas: str
    name: str
    unit: str
    old_value: float
    old_u95: float
    old_grade: str
    new_value: float | None
    new_u95: float | None
    new_grade: str | None
    change: float | None
    change_per_u95: float | None


@dataclass(frozen=True)
class PropertyDifferences:
    """The evaluations of one property: counts, and the first rows of `largest` (by change / U95) and `lost`."""

    property: str
    added: int
    removed: int
    changed: int
    sizes: SizesOfChange
    grades: tuple[GradeChange, ...]
    largest: tuple[ValueChange, ...]
    lost: tuple[ValueChange, ...]


@dataclass(frozen=True)
class CurveChange:
    """A vapour-pressure curve that came, went, or is now of another form, source or grade."""

    cas: str
    name: str
    old_equation: str | None
    old_source: str | None
    old_grade: str | None
    new_equation: str | None
    new_source: str | None
    new_grade: str | None


@dataclass(frozen=True)
class CurveDifferences:
    """The vapour-pressure curves: counts, and the first of `changes`: those that went, are restated, came.

    `restated` are the changed ones that are of another form, source or grade.
    """

    added: int
    removed: int
    changed: int
    equation_changed: int
    source_changed: int
    restated: int
    grades: tuple[GradeChange, ...]
    changes: tuple[CurveChange, ...]


@dataclass(frozen=True)
class ComponentChange:
    """A component that is new (`old_name` is None), gone (`new_name` is None), or shown under another name."""

    cas: str
    old_name: str | None
    new_name: str | None


@dataclass(frozen=True)
class ComponentDifferences:
    """Components that appeared, disappeared or were renamed: counts, and the first of each kind by CAS number."""

    appeared: int
    disappeared: int
    renamed: int
    changes: tuple[ComponentChange, ...]


@dataclass(frozen=True)
class StatusChange:
    """Observations of one source and property that both stores hold, under another status."""

    source: str
    property: str
    became_outlier: int
    became_accepted: int


@dataclass(frozen=True)
class RejectionChange:
    """Rows and values of a source refused for one reason, where their number differs."""

    source: str
    reason: str
    old: int
    new: int


@dataclass(frozen=True)
class StoreDifferences:
    """What changed from the store `old` to the store `new`; both are paths.

    `build` leaves out the digests, which say again that the tables differ, and
    is itself not among the `tables`.
    """

    old: str
    new: str
    build: tuple[BuildItem, ...]
    tables: tuple[TableDifferences, ...]
    hazards: HazardDifferences
    evaluations: tuple[PropertyDifferences, ...]
    curves: CurveDifferences
    components: ComponentDifferences
    statuses: tuple[StatusChange, ...]
    rejections: tuple[RejectionChange, ...]

    @property
    def identical(self) -> bool:
        """Whether every row of every table is the same, whatever it was built with."""
        return not any(table.differs for table in self.tables)

    def __str__(self) -> str:
        if self.identical:
            return f"{self.old} and {self.new} hold the same rows"
        lines = [f"{self.old} → {self.new}:"]
        for table in self.tables:
            if table.differs:
                lines.append(f"  {table.table}: {table.added} added, {table.removed} removed, {table.changed} changed")
        return "\n".join(lines)

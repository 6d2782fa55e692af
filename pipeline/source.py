"""What a source module declares: the pin of one open table, and what its columns mean."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pandas as pd

LIVE_DISTRIBUTION = "snapshot"
"""In place of a package, for the files of a snapshot of the live sources."""

LIVE_VALUES = "wikidata_values"
"""Source of a snapshot that holds values."""

LIVE_SOURCES = ("pubchem_identities", "pubchem_synonyms", "wikidata_items", "wikidata_names")
"""Sources of a snapshot whose identities and names stand behind those of the packaged tables."""


@dataclass(frozen=True)
class Value:
    """A column that holds one property: canonical = text * scale + offset.

    `temperature_K` and `pressure_Pa` are the conditions to which the value
    belongs: a number, or the name of the column that holds them.
    `unit` is given only where it is not the property's canonical one.
    """

    column: str
    property: str
    scale: float = 1.0
    offset: float = 0.0
    temperature_K: float | str | None = None
    pressure_Pa: float | str | None = None
    unit: str | None = None
    basis: str | None = None


@dataclass(frozen=True)
class Coefficient:
    """One coefficient of a correlation: a column or a constant, times `scale`, plus `offset`."""

    column: str | float
    scale: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class Correlation:
    """Columns that hold one correlation; `field` names it in `observation.field`.

    The coefficients stand in the order of the equation's form, after
    conversion to K, Pa and natural logarithms. `T_min_K` and `T_max_K` are
    columns, constants, or None where the table states no range.
    """

    field: str
    property: str
    equation: str
    coefficients: tuple[Coefficient, ...]
    T_min_K: str | float | None = None
    T_max_K: str | float | None = None


@dataclass(frozen=True)
class Repair:
    """One cell of the file that is read as something else: what is written there, what it is read as, and why."""

    source_row: int
    column: str
    written: str
    read_as: str
    reason: str


@dataclass(frozen=True)
class Source:
    """One open table: where it was published, where it is read from, and what its columns hold.

    `layout` is `table` (delimited text with a header), `identity` (the
    headerless identifier files: number, CAS, formula, molar mass, SMILES,
    InChI, InChIKey, then names) or `own` (the module gives `rows`, a function
    from the file to a frame of text). `distribution` is the installed package
    that ships the file, `cutpoint` for hand-entered tables beside the modules,
    or `LIVE_DISTRIBUTION`. `basis` is how the table as a whole came by its values.
    """

    name: str
    title: str
    citation: str
    licence: str
    distribution: str
    file: str
    sha256: str
    basis: str = "compiled"
    layout: str = "table"
    delimiter: str = "\t"
    cas_column: str = "CAS"
    cas_is_digits: bool = False
    name_column: str | None = None
    values: tuple[Value, ...] = ()
    correlations: tuple[Correlation, ...] = ()
    repairs: tuple[Repair, ...] = ()
    rows: Callable[[Path], pd.DataFrame] | None = field(default=None, compare=False, repr=False)


def is_live(source: Source) -> bool:
    """Whether a source is a file of a snapshot."""
    return source.distribution == LIVE_DISTRIBUTION

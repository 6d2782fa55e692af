"""One pandera model per table of the store: the single declaration of every column.

The DuckDB schema, its keys, checks and comments (`ddl`), the Parquet metadata
and the validation at each station all come from here. `Config.metadata["key"]`
is the key of a table; a column's `description` is its comment.
"""

from __future__ import annotations

import pandas as pd
import pandera.pandas as pa

from . import UNINDEXED_KEYS
from .cut_tables import CutSurrogateTable, CutTable
from .equations import BAND_PRESSURES_PA, FORMS
from .errors import BuildFailed
from .identifiers import INCHIKEY_PATTERN
from .mixture_tables import (
    AzeotropeTable,
    FunctionalGroupTable,
    GroupParameterTable,
    GroupSizeTable,
    ZeotropicPairTable,
)
from .names import LANGUAGES
from .properties import HAZARD_PROPERTIES, PROPERTIES
from .table import CAS, Table, column

KINDS = ("pure", "stream")
PHASE_BEHAVIOURS = ("boils", "sublimes", "decomposes")
NAME_KINDS = ("systematic", "common", "trade", "index")
NAME_CLAIMS = ("house", "own", "alias")
BASES = ("measured", "compiled", "correlated", "estimated")
GRADES = ("A", "B", "C", "D")
UNITS = ("K", "Pa", "m3_mol", "J_mol", "kg_m3", "1", "class")
LIMIT_KINDS = ("TWA", "STEL", "ceiling", "value", "class")
"""Time-weighted average over a shift, short-term limit, ceiling never to be passed; a value; a class in words."""
VERDICTS = ("agrees", "differs")
CURVE_RULES = ("pooled", "chosen", "corresponding states")
"""How a curve was made: through all sound correlations, the best single one, or from structure and boiling point."""
COMPANIES = ("few", "some", "many")
PRECISIONS = ("fine", "middle", "coarse", "covers", "nearly covers")
SPEAKS_BY = ("values", "correlations")
STANDS_WITH = ("ours", "reference")
VALUE_FORMS = ("molar_density_rackett", "density_vdi", "density_linear", "enthalpy_watson", "enthalpy_vdi")
"""Correlations of densities and enthalpies; their formulas stand in `pipeline/correlations.py`."""

_PROPERTY = {"isin": tuple(PROPERTIES)}


class SourceTable(Table):
    """One row per open table that was read."""

    source: str = column("short name of the open table", unique=True)
    title: str = column("what the table is called where it was published")
    citation: str = column("full citation of the original publication")
    licence: str = column("licence under which the distribution ships the table")
    distribution: str = column("package that ships it, with its version; or this project")
    file: str = column("file inside the distribution")
    sha256: str = column("SHA-256 of the file's content", str_matches=r"^[0-9a-f]{64}$")
    rows_read: int = column("rows of the file", ge=0)
    rows_kept: int = column("rows that gave at least one value or identity", ge=0)
    rows_rejected: int = column("rows that gave nothing; each stands in `rejected`", ge=0)
    values_rejected: int = column("single values refused in rows that were otherwise kept", ge=0)

    class Config:
        metadata = {"name": "source", "key": ["source"]}


class ComponentTable(Table):
    """One row per substance, or per stream sold under one CAS number."""

    cas: str = column("CAS Registry Number", unique=True, **CAS)
    name: str = column("name to show")
    formula: str = column("molecular formula in Hill order, charge last", nullable=True)
    molar_mass_g_mol: float = column("molar mass, g/mol", nullable=True, gt=0)
    smiles: str = column("canonical SMILES", nullable=True)
    inchikey: str = column("standard InChIKey", nullable=True, str_matches=INCHIKEY_PATTERN)
    kind: str = column("pure substance, or a stream: a cut or mixture under one number", isin=KINDS)
    phase_behaviour: str = column("what happens on heating at 101 325 Pa", nullable=True, isin=PHASE_BEHAVIOURS)
    source: str = column("open table that gave the identity")
    repair: str = column("what was repaired in the identity, and from what", nullable=True)

    class Config:
        metadata = {"name": "component", "key": ["cas"]}


class NameTable(Table):
    """One row per name of a component in a language."""

    search_key: str = column("key by which the name is looked up", str_length={"min_value": 1})
    cas: str = column("CAS Registry Number", **CAS)
    name: str = column("the name as written")
    language: str = column("ISO 639 code of the language; mul for a name in all languages", isin=tuple(LANGUAGES))
    kind: str = column("how the name is made", isin=NAME_KINDS)
    claim: str = column(
        "strength of the claim: house (a stated rule of this project), own (the component's first names), alias",
        isin=NAME_CLAIMS,
    )
    rank: int = column("place among the components that share the key in the language, 1 first", ge=1)
    source: str = column("open table that gave the name")

    class Config:
        metadata = {"name": "name", "key": UNINDEXED_KEYS["name"]}


class ObservationTable(Table):
    """One row per value, or per correlation, as one source gives it."""

    source: str = column("open table")
    source_row: int = column("line of the file, the first data row being 1", ge=1)
    field: str = column("column of the file that holds it")
    cas: str = column("CAS Registry Number", **CAS)
    property: str = column("property of the vocabulary", **_PROPERTY)
    value: float = column("value in the canonical unit; NULL for a correlation", nullable=True)
    unit: str = column("canonical unit", isin=UNITS)
    temperature_K: float = column("temperature to which the value belongs, K", nullable=True, gt=0)
    pressure_Pa: float = column("pressure to which the value belongs, Pa", nullable=True, gt=0)
    equation: str = column("form of a correlation", nullable=True, isin=(*FORMS, *VALUE_FORMS))
    coefficients: object = column("coefficients of the correlation, padded with NaN to 8", nullable=True)
    T_min_K: float = column("lower end of the correlation's stated range, K", nullable=True, ge=0)
    T_max_K: float = column("upper end of the correlation's stated range, K", nullable=True, gt=0)
    basis: str = column("how the source came by it", isin=BASES)
    raw: str = column("the text of the file, before any conversion")
    status: str = column("accepted, or outlier: kept in sight, out of the evaluation", isin=("accepted", "outlier"))
    reason: str = column("why it is an outlier, or what was repaired", nullable=True)

    class Config:
        metadata = {
            "name": "observation",
            "key": UNINDEXED_KEYS["observation"],
            "sql": {"coefficients": "DOUBLE[]"},
        }


class EvaluationTable(Table):
    """One row per (component, property): the value this store stands for."""

    cas: str = column("CAS Registry Number", **CAS)
    property: str = column("property of the vocabulary", **_PROPERTY)
    value: float = column("evaluated value in the canonical unit")
    u95: float = column("expanded uncertainty, coverage 95 %, same unit", ge=0)
    unit: str = column("canonical unit", isin=UNITS)
    temperature_K: float = column("temperature to which the value belongs, K", nullable=True, gt=0)
    grade: str = column("A, B, C or D: a statement about the uncertainty", isin=GRADES)
    n_sources: int = column("independent sources behind it; 0 for an estimate from the structure", ge=0)
    lowest: float = column("lowest accepted observation")
    highest: float = column("highest accepted observation")
    rule: str = column("rule by which it was evaluated")

    class Config:
        metadata = {"name": "evaluation", "key": ["cas", "property"]}


class VapourCurveTable(Table):
    """One row per component: the vapour-pressure curve this store stands for, through its evaluated boiling point."""

    cas: str = column("CAS Registry Number", unique=True, **CAS)
    equation: str = column("form of the equation", isin=tuple(FORMS))
    coefficients: object = column("coefficients, padded with NaN to 8")
    T_min_K: float = column("lower end of the valid range, K", gt=0)
    T_max_K: float = column("upper end of the valid range, K", gt=0)
    T_lowest_K: float = column("lowest temperature to which the curve may be extrapolated, K", gt=0)
    T_highest_K: float = column("highest temperature to which the curve may be extrapolated, K", gt=0)
    relative_residual: float = column("root mean square deviation of the other correlations", nullable=True, ge=0)
    u95_relative: float = column("largest of the band inside the range, between 1 kPa and 1 MPa", ge=0)
    band_u95_relative: object = column(
        "relative expanded uncertainty of the pressure where the curve reaches each of "
        f"{', '.join(f'{pressure:g}' for pressure in BAND_PRESSURES_PA)} Pa; linear in ln p between them"
    )
    rule: str = column("how the curve was made", isin=CURVE_RULES)
    basis: str = column("how the source came by it", isin=BASES)
    grade: str = column("A, B, C or D: a statement about the uncertainty", isin=GRADES)
    n_sources: int = column("correlations that were compared; 0 for an estimate", ge=0)
    source: str = column("open tables of the curve; those of the boiling point for an estimate")

    class Config:
        metadata = {
            "name": "vapour_curve",
            "key": ["cas"],
            "sql": {"coefficients": "DOUBLE[]", "band_u95_relative": "DOUBLE[]"},
        }


class SourceModelTable(Table):
    """One row per (property, voice, precision, company): how far a source scatters, and how often it blunders."""

    property: str = column("property of the vocabulary", **_PROPERTY)
    source: str = column("open table")
    speaks_by: str = column("plain values, or correlations", isin=SPEAKS_BY)
    precision: str = column("how finely it states values, or whether its correlations reach", isin=PRECISIONS)
    company: str = column("how many voices speak of the component", isin=COMPANIES)
    n_compared: int = column("components on which it was compared with others", ge=0)
    scatter: float = column("standard uncertainty of a sound value, unit of the property or relative to it", gt=0)
    blunder_probability: float = column("chance that a value is no scatter of the truth at all", ge=0, le=1)

    class Config:
        metadata = {"name": "source_model", "key": ["property", "source", "speaks_by", "precision", "company"]}


class CalibrationTable(Table):
    """One row per (property, grade): how often the stated intervals hold values that were held out."""

    property: str = column("property of the vocabulary", **_PROPERTY)
    grade: str = column("grade that the others' value got while one was held out", isin=GRADES)
    n_held_out: int = column("held-out values that are no blunders of their source", ge=0)
    n_blunders: int = column("held-out values that are: counted, and no test of an interval", ge=0)
    coverage: float = column("fraction of the held-out values inside the stated 95 % interval", nullable=True)

    class Config:
        metadata = {"name": "calibration", "key": ["property", "grade"]}


class AdjudicationTable(Table):
    """One row per disagreement with a judge that a third source decides."""

    cas: str = column("CAS Registry Number", **CAS)
    property: str = column("property of the vocabulary", **_PROPERTY)
    stands_with: str = column("with whom the third source stands", isin=STANDS_WITH)
    value: float = column("value of the third source, in the canonical unit")
    unit: str = column("canonical unit", isin=UNITS)
    temperature_K: float = column("temperature to which the value belongs, K", nullable=True, gt=0)
    source: str = column("citation of the third source", str_length={"min_value": 10})
    remark: str = column("why the other is wrong", str_length={"min_value": 10})

    class Config:
        metadata = {"name": "adjudication", "key": ["cas", "property"]}


class StructureModelTable(Table):
    """One row per chemical class: how far the structure-based estimate of the boiling point is off, held out."""

    chemical_class: str = column("class of the components, or 'all'", unique=True)
    n: int = column("components held out", ge=1)
    median_abs_error_K: float = column("median absolute error, K", ge=0)
    p90_abs_error_K: float = column("90th percentile of the absolute error, K", ge=0)
    coverage_u95: float = column("fraction of values inside the stated uncertainty", ge=0)
    additive_coverage: float = column("fraction that the published additive method covers", ge=0)
    additive_median_abs_error_K: float = column("median absolute error of the additive method, K", nullable=True)
    median_abs_error_where_additive_K: float = column("ours on those it covers, K", nullable=True)

    class Config:
        metadata = {"name": "structure_model", "key": ["chemical_class"]}


class CrosscheckTable(Table):
    """One row per comparison with a reference that is never a source, or with what a rule of physics asks."""

    cas: str = column("CAS Registry Number", **CAS)
    property: str = column("property of the vocabulary", **_PROPERTY)
    temperature_K: float = column("temperature of the comparison, K; 0 where there is none", ge=0)
    reference: str = column("reference library or formulation with its version, or the rule of physics")
    ours: float = column("value of this store")
    reference_value: float = column("value of the reference")
    deviation: float = column("ours minus reference; relative, but for K and acentric factors; of an order its breach")
    tolerance: float = column("largest deviation that counts as agreement", gt=0)
    verdict: str = column("agrees or differs", isin=VERDICTS)

    class Config:
        metadata = {"name": "crosscheck", "key": ["cas", "property", "temperature_K", "reference"]}


class RejectedTable(Table):
    """One row per refused row or value."""

    source: str = column("open table")
    source_row: int = column("line of the file, the first data row being 1", ge=1)
    field: str = column("column refused; '*' when the whole row was")
    cas: str = column("CAS number as the row gives it", nullable=True)
    raw: str = column("the text of the file")
    reason: str = column("why it was refused")

    class Config:
        metadata = {"name": "rejected", "key": ["source", "source_row", "field"]}


class HazardTable(Table):
    """One row per (component, hazard property, kind of limit)."""

    cas: str = column("CAS Registry Number", **CAS)
    property: str = column("hazard property of the vocabulary", isin=HAZARD_PROPERTIES)
    limit_kind: str = column("kind of exposure limit; else 'value' or 'class'", isin=LIMIT_KINDS)
    value: float = column("evaluated value in the canonical unit; NULL for a class", nullable=True)
    conservative: float = column("the cautious end of the accepted observations", nullable=True)
    unit: str = column("canonical unit", isin=UNITS)
    text: str = column("class or remark in words", nullable=True)
    sources: str = column("open tables behind it, by name")

    class Config:
        metadata = {"name": "hazard", "key": ["cas", "property", "limit_kind"]}


class BuildTable(Table):
    """What this store was built from; one row per item."""

    item: str = column("what is told: schema_version, library:…, source:…, digest:…", unique=True)
    value: str = column("its value")

    class Config:
        metadata = {"name": "build", "key": ["item"]}


TABLES: dict[str, type[Table]] = {
    str(model.Config.metadata["name"]): model
    for model in (
        SourceTable, ComponentTable, NameTable, ObservationTable, EvaluationTable, StructureModelTable,
        VapourCurveTable, SourceModelTable, CalibrationTable, CrosscheckTable, AdjudicationTable,
        RejectedTable, FunctionalGroupTable, GroupSizeTable, GroupParameterTable, AzeotropeTable, ZeotropicPairTable,
        CutTable, CutSurrogateTable, HazardTable, BuildTable,
    )
}  # fmt: skip
"""Every table of the store by name, in the order in which they are written."""

SOURCED_TABLES = ("component", "name", "observation", "rejected")
"""Tables whose digest is the same on any machine; the others hold computed values."""


def key_of(table: str) -> list[str]:
    """Columns of the table's key."""
    return list(TABLES[table].Config.metadata["key"])  # type: ignore[attr-defined]


def empty(table: str) -> pd.DataFrame:
    """The table without rows."""
    return TABLES[table].empty()


def check(table: str, frame: pd.DataFrame, station: str) -> pd.DataFrame:
    """The frame, coerced to the table's types, in the table's column order.

    Raises BuildFailed naming the station, the column, the check and the first
    offending values if the frame breaks the contract.
    """
    model = TABLES[table]
    columns = list(model.to_schema().columns)
    missing = [column for column in columns if column not in frame.columns]
    if missing:
        raise BuildFailed(f"Station {station} left out the columns {missing} of table {table}.")
    try:
        valid = model.validate(frame[columns], lazy=True)
    except pa.errors.SchemaErrors as failure:
        cases = failure.failure_cases.head(5)
        told = "; ".join(f"{case.column} {case.check}: {case.failure_case!r}" for case in cases.itertuples())
        raise BuildFailed(f"Station {station} broke the contract of table {table}: {told}.") from failure
    doubled = valid.duplicated(key_of(table))
    if doubled.any():
        first = valid.loc[doubled, key_of(table)].iloc[0].to_dict()
        raise BuildFailed(f"Station {station} wrote two rows with the key {first} into table {table}.")
    return valid

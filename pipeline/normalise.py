"""The second station: text becomes observations in SI units, identities and names; the rest is refused aloud.

Each row of a file either gives at least one observation or an identity, or
stands in `rejected` under the field `*`: rows read = rows kept + rows rejected.
A single value that is refused in a row that is otherwise kept stands there
under its own field. Text becomes a number by Python's correctly rounded
decimal conversion, then canonical = number * scale + offset, so that every
machine gets the same bits; logarithms and powers serve only to refuse.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import WIDTH, Array
from cutpoint.schema.identifiers import cas_from_digits, looks_like_cas
from cutpoint.schema.names import ENGLISH
from cutpoint.schema.properties import PROPERTIES
from cutpoint.schema.tables import check, empty

from .correlations import broken_physics
from .read import RawTable
from .source import Coefficient, Correlation, Repair, Source, Value

WHOLE_ROW = "*"
"""Field under which `rejected` lists a row that gave nothing."""

MOLE_FRACTION_RANGE = (1e-12, 1.0)
"""Plausible range of a value that is a mole fraction where the property's own unit is another."""

IDENTITY_FIELDS = ("source", "source_row", "cas", "formula", "molar_mass_g_mol", "smiles", "inchi", "inchikey", "names")
NAME_FIELDS = ("source", "source_row", "cas", "name", "language", "choice")

Mask = NDArray[np.bool_]

_BARE_CAS = re.compile(r"[0-9]{4,}")
NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?")
"""What counts as a number in a source."""


@dataclass(frozen=True)
class Normalised:
    """What one open table gave.

    `observations` and `rejected` are the tables of `schema.tables`;
    `identities` has one row per row of an identifier file, `names` one per
    name that a property table gives; both may be empty.
    """

    observations: pd.DataFrame
    identities: pd.DataFrame
    names: pd.DataFrame
    rejected: pd.DataFrame


def normalise(raw: RawTable) -> Normalised:
    """Observations, identities and names of one open table, and whatever was refused."""
    source = raw.source
    repairs = _repairs_that_apply(raw)
    frame = _repaired(raw.frame, repairs) if repairs else raw.frame
    cas = _cas_numbers(source, frame)
    readable = cas.map(looks_like_cas).astype("bool")
    frame, cas_kept = frame[readable], cas[readable]

    observed = [_observe(source, value, frame, cas_kept) for value in source.values]
    observed += [_correlate(source, correlation, frame, cas_kept) for correlation in source.correlations]
    observations = _tell_repairs(source, repairs, _concat([part for part, _ in observed]))
    refused = _concat([part for _, part in observed])

    identities, names = _no_identities(), _no_names()
    if source.layout == "identity":
        identities, bad_masses = _identify(source, frame, cas_kept)
        refused = _concat([refused, bad_masses])
    elif source.name_column is not None and not observations.empty:
        names = _name(source, frame, cas_kept, observations)

    given = [part["source_row"] for part in (observations, identities) if not part.empty]
    kept = pd.Index(np.unique(np.concatenate(given))) if given else pd.Index([], dtype="int64")
    refused = _concat([refused, _refuse_rows(raw, cas, readable, kept, refused)])
    return Normalised(
        normalised_observations(source, observations),
        identities,
        names,
        check("rejected", refused.assign(source=source.name) if len(refused) else empty("rejected"), "normalise"),
    )


def _repairs_that_apply(raw: RawTable) -> list[Repair]:
    """The source's stated repairs whose cell reads as they say it is written."""
    frame = raw.frame
    return [
        repair
        for repair in raw.source.repairs
        if repair.source_row in frame.index and frame.at[repair.source_row, repair.column] == repair.written
    ]


def _repaired(frame: pd.DataFrame, repairs: list[Repair]) -> pd.DataFrame:
    repaired = frame.copy()
    for repair in repairs:
        repaired.at[repair.source_row, repair.column] = repair.read_as
    return repaired


def _tell_repairs(source: Source, repairs: list[Repair], observations: pd.DataFrame) -> pd.DataFrame:
    """Observations with the reason of a repair beside each value it touched, and the text as it was written."""
    if observations.empty:
        return observations
    told = observations.assign(reason=None)
    for repair in repairs:
        of_row = told["source_row"] == repair.source_row
        touched = of_row & ((told["field"] == repair.column) | (repair.column == source.cas_column))
        told.loc[touched, "reason"] = repair.reason
        told.loc[of_row & (told["field"] == repair.column), "raw"] = repair.written
    return told


def _cas_numbers(source: Source, frame: pd.DataFrame) -> pd.Series:
    cas = frame[source.cas_column].str.strip()
    if not source.cas_is_digits:
        return cas
    return cas.map(lambda text: cas_from_digits(text) if _BARE_CAS.fullmatch(text) else text)


def _numbers(text: pd.Series) -> Array:
    """Numbers of the text, correctly rounded; NaN where the text is none."""
    return np.array([float(cell) if NUMBER.fullmatch(cell) else math.nan for cell in text], dtype=np.float64)


def _condition(given: float | str | None, frame: pd.DataFrame) -> tuple[Array, Mask]:
    """A temperature or pressure for each row, and whether its text is unusable."""
    if not isinstance(given, str):
        return np.full(len(frame), math.nan if given is None else given), np.zeros(len(frame), dtype=bool)
    text = frame[given].str.strip()
    number = _numbers(text)
    unusable = (text != "").to_numpy() & ~(np.isfinite(number) & (number > 0.0))
    return np.where(unusable, math.nan, number), unusable


def _split(
    field: str, rows: pd.DataFrame, raw: pd.Series, cas: pd.Series, reasons: list[tuple[Mask, str]]
) -> tuple[Mask, pd.DataFrame]:
    """Which rows pass, and the refusals of the others, each with the first reason that holds."""
    reason = np.select([holds for holds, _ in reasons], [np.array(text) for _, text in reasons], default=np.array(""))
    passed: Mask = np.equal(reason, "")
    refused = pd.DataFrame(
        {
            "source_row": rows.index[~passed],
            "field": field,
            "cas": cas[~passed].to_numpy(),
            "raw": raw[~passed].to_numpy(),
            "reason": reason[~passed],
        }
    )
    return passed, refused


def _observe(source: Source, value: Value, frame: pd.DataFrame, cas: pd.Series) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Observations and refusals of one column."""
    text = frame[value.column].str.strip()
    present = (text != "").to_numpy()
    rows, text, cas = frame[present], text[present], cas[present]
    number = _numbers(text)
    canonical = number * value.scale + value.offset
    temperature_K, bad_temperature = _condition(value.temperature_K, rows)
    pressure_Pa, bad_pressure = _condition(value.pressure_Pa, rows)
    entry = PROPERTIES[value.property]
    unit = value.unit or entry.unit
    low, high = entry.plausible if unit == entry.unit else MOLE_FRACTION_RANGE
    passed, refused = _split(
        value.column,
        rows,
        text,
        cas,
        [
            (np.isnan(number), "not a number"),
            (~np.isfinite(canonical), "not a finite number"),
            ((canonical < low) | (canonical > high), f"outside the plausible range {low:g} to {high:g} {unit}"),
            (bad_temperature, "its temperature is not a positive number"),
            (bad_pressure, "its pressure is not a positive number"),
        ],
    )
    observed = pd.DataFrame(
        {
            "source_row": rows.index[passed],
            "field": value.column,
            "cas": cas[passed].to_numpy(),
            "property": value.property,
            "value": canonical[passed],
            "unit": unit,
            "temperature_K": temperature_K[passed],
            "pressure_Pa": pressure_Pa[passed],
            "basis": value.basis or source.basis,
            "raw": text[passed].to_numpy(),
        }
    )
    return observed, refused


def _coefficient(given: Coefficient, rows: pd.DataFrame) -> Array:
    if isinstance(given.column, str):
        return _numbers(rows[given.column].str.strip()) * given.scale + given.offset
    return np.full(len(rows), given.column * given.scale + given.offset)


def _correlate(
    source: Source, correlation: Correlation, frame: pd.DataFrame, cas: pd.Series
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Observations and refusals of one correlation; a row whose coefficients are all blank has none."""
    own = [given.column for given in correlation.coefficients if isinstance(given.column, str)]
    ends = [end for end in (correlation.T_min_K, correlation.T_max_K) if isinstance(end, str)]
    columns = list(dict.fromkeys(own + ends))
    present = (frame[own] != "").any(axis=1).to_numpy()
    rows, cas = frame[present], cas[present]
    raw = pd.Series("", index=rows.index, dtype="str")
    for place, column in enumerate(columns):
        raw = raw + ("; " if place else "") + column + "=" + rows[column].str.strip()

    coefficients = np.full((len(rows), WIDTH), math.nan)
    for place, given in enumerate(correlation.coefficients):
        coefficients[:, place] = _coefficient(given, rows)
    T_min_K, bad_low = _condition(correlation.T_min_K, rows)
    T_max_K, bad_high = _condition(correlation.T_max_K, rows)
    width = len(correlation.coefficients)
    passed, refused = _split(
        correlation.field,
        rows,
        raw,
        cas,
        [
            ((rows[columns] == "").any(axis=1).to_numpy(), "a coefficient or an end of its range is missing"),
            (~np.isfinite(coefficients[:, :width]).all(axis=1), "a coefficient is not a finite number"),
            (bad_low | bad_high, "an end of its range is not a positive number"),
            (T_min_K == T_max_K, "its range is a single temperature"),
            (T_min_K > T_max_K, "the lower end of its range is above the upper end"),
            *broken_physics(correlation.equation, correlation.property, coefficients, T_min_K, T_max_K),
        ],
    )
    observed = pd.DataFrame(
        {
            "source_row": rows.index[passed],
            "field": correlation.field,
            "cas": cas[passed].to_numpy(),
            "property": correlation.property,
            "value": math.nan,
            "unit": PROPERTIES[correlation.property].unit,
            "equation": correlation.equation,
            "coefficients": pd.Series(coefficients[passed].tolist(), dtype="object"),
            "T_min_K": T_min_K[passed],
            "T_max_K": T_max_K[passed],
            "basis": source.basis if source.basis == "estimated" else "correlated",
            "raw": raw[passed].to_numpy(),
        }
    )
    return observed, refused


def _identify(source: Source, frame: pd.DataFrame, cas: pd.Series) -> tuple[pd.DataFrame, pd.DataFrame]:
    text = frame["molar_mass"].str.strip()
    mass = _numbers(text)
    stated = (text != "").to_numpy()
    passed, refused = _split(
        "molar_mass", frame, text, cas, [(stated & ~(np.isfinite(mass) & (mass > 0.0)), "not a positive number")]
    )
    identities = pd.DataFrame(
        {
            "source": source.name,
            "source_row": frame.index,
            "cas": cas.to_numpy(),
            "formula": _text_or_none(frame["formula"]),
            "molar_mass_g_mol": np.where(passed, mass, math.nan),
            "smiles": _text_or_none(frame["smiles"]),
            "inchi": _text_or_none(frame["inchi"]),
            "inchikey": _text_or_none(frame["inchikey"]),
            "names": pd.Series([_names_in_order(line.split("\t")) for line in frame["names"]], dtype="object"),
        }
    )
    return identities, refused


def _text_or_none(column: pd.Series) -> pd.Series:
    stripped = column.str.strip().reset_index(drop=True)
    return stripped.where(stripped != "")


def _names_in_order(cells: list[str]) -> list[str]:
    """The systematic and the common name as they stand, then every further name once."""
    if not any(cells):
        return []
    first = [name.strip() for name in cells[:2]]
    return first + [name for name in _distinct(cells[2:]) if name not in first]


def _distinct(names: list[str]) -> list[str]:
    return list(dict.fromkeys(name for part in names if (name := part.strip())))


def _name(source: Source, frame: pd.DataFrame, cas: pd.Series, observations: pd.DataFrame) -> pd.DataFrame:
    """Names of the rows that gave an observation; a refused row names nothing."""
    name = frame[source.name_column].str.strip()
    wanted = (name != "") & frame.index.isin(observations["source_row"])
    return pd.DataFrame(
        {
            "source": source.name,
            "source_row": frame.index[wanted],
            "cas": cas[wanted].to_numpy(),
            "name": name[wanted].to_numpy(),
            "language": ENGLISH,
            "choice": 0,
        }
    )


def _refuse_rows(
    raw: RawTable, cas: pd.Series, readable: pd.Series, kept: pd.Index, refused: pd.DataFrame
) -> pd.DataFrame:
    """One refusal under `*` for every row that gave nothing."""
    frame = raw.frame
    lost = ~frame.index.isin(kept)
    reason = pd.Series("holds no property that is kept", index=frame.index, dtype="object")
    if len(refused):
        first = refused.drop_duplicates("source_row").set_index("source_row")
        reason.update(first["reason"])
    reason[~readable] = "its CAS number is missing or has not the layout of one"
    lines = ["\t".join(cells) for cells in frame[lost].itertuples(index=False, name=None)]
    return pd.DataFrame(
        {
            "source_row": frame.index[lost],
            "field": WHOLE_ROW,
            "cas": cas[lost].where(cas[lost] != "").to_numpy(),
            "raw": lines,
            "reason": reason[lost].to_numpy(),
        }
    )


def normalised_observations(source: Source, observations: pd.DataFrame) -> pd.DataFrame:
    """Observations of a source, none of them doubted yet, as their table asks; what they lack is NULL."""
    if observations.empty:
        return empty("observation")
    absent = [column for column in empty("observation").columns if column not in observations.columns]
    told = observations.assign(**dict.fromkeys(absent)).assign(source=source.name, status="accepted")
    return check("observation", told, "normalise")


def _concat(parts: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if not part.empty]
    return pd.concat(filled, ignore_index=True) if filled else pd.DataFrame()


def _no_identities() -> pd.DataFrame:
    return pd.DataFrame({column: [] for column in IDENTITY_FIELDS}).astype({"source_row": "int64"})


def _no_names() -> pd.DataFrame:
    return pd.DataFrame({column: [] for column in NAME_FIELDS}).astype({"source_row": "int64"})

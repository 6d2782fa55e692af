"""Who is right where the store and a judge disagree: a third source, named row by row in `adjudications.csv`.

A disagreement needs a row where our grade is A or B and claims to know better
than the judge: a boiling point off by more than 0.5 K and than its own
uncertainty, or by more than 1 K; a vapour-pressure curve off by more than 2 %
and than its band, or by more than 4 %, in the mean over 5 to 500 kPa. Columns:
CAS number, property, `stands_with` (`ours` or `reference`), value of the third
source in the canonical unit, unit, its citation, and a remark. The judge's own
publication is no third source.

A vapour pressure needs the temperature to which it belongs, `temperature_K`.

Where the third source stands with the reference, our value was wrong at a grade
that claims otherwise, and it gives way: the third source's value joins the
observations, and what it contradicts is set aside (`third_sources`). A curve is
not moved by one pressure, but its band is widened to reach it, evenly in ln p
from the boiling point on, and its grade falls accordingly.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.properties import ATMOSPHERE_PA, PROPERTIES, grade
from cutpoint.schema.tables import STANDS_WITH, check, empty, key_of

from .bands import band_u95, pressures_and_slopes, with_wider_band
from .third_sources import CONTRADICTED

TABLE = Path(__file__).with_name("adjudications.csv")
LIBRARIES = ("CoolProp", "IAPWS")
"""First letters of the references that are libraries, not rules of physics."""

KEY = ["cas", "property"]
CURVE = "vapour_pressure"
CLAIMING = ("A", "B")
BOILING_POINT_K = (0.5, 1.0)
VAPOUR_PRESSURE = (0.02, 0.04)
"""Deviation beyond which a disagreement counts if it is also beyond our uncertainty, and whatever that is."""
BENCH_PRESSURES_PA = (5e3, 5e5)
SHORTEST_TEXT = 10
_WHERE = "pipeline/adjudications.csv"


def read_adjudications(path: Path = TABLE) -> pd.DataFrame:
    """The `adjudication` frame of the table at `path`, each row checked by itself.

    Raises BuildFailed, with the line and what to do, for a missing or strange
    column, CAS number, property, side, value, unit, citation or remark, and for
    a second row on one (component, property).
    """
    text = pd.read_csv(path, dtype="str", na_filter=False, encoding="utf-8")
    columns = list(empty("adjudication").columns)
    if list(text.columns) != columns:
        raise BuildFailed(f"{_WHERE} has the columns {list(text.columns)}; it must have {columns}, in this order.")
    for line, row in enumerate(text.to_dict("records"), start=2):
        if wrong := _what_is_wrong({str(name): str(cell).strip() for name, cell in row.items()}):
            raise BuildFailed(f"Line {line} of {_WHERE} ({row['cas']}, {row['property']}): {wrong}")
    doubled = text[text.duplicated(KEY)]
    if len(doubled):
        raise BuildFailed(
            f"Line {doubled.index[0] + 2} of {_WHERE} decides {' '.join(doubled.iloc[0][KEY])} a second time. "
            "Keep the row whose third source is the better one."
        )
    temperature_K = pd.to_numeric(text["temperature_K"]).astype(float)
    numbers = text.assign(value=text["value"].astype(float), temperature_K=temperature_K)
    return check("adjudication", numbers, "adjudicate")


def _what_is_wrong(row: dict[str, str]) -> str | None:
    """What is wrong with a row and what to do about it; None if nothing is."""
    if not is_cas(row["cas"]):
        return f"{row['cas']!r} is no CAS number with the right check digit. Correct it."
    if row["property"] not in PROPERTIES:
        return f"there is no property {row['property']!r}. The properties are: {', '.join(PROPERTIES)}."
    if row["stands_with"] not in STANDS_WITH:
        return f"stands_with is {row['stands_with']!r}. Write {' or '.join(STANDS_WITH)}."
    unit = PROPERTIES[row["property"]].unit
    if row["unit"] != unit:
        return f"the unit is {row['unit']!r}. Convert the value to {unit} and write that."
    if not _is_plausible(row["value"], row["property"]):
        return f"the value {row['value']!r} is no number that the property can have, in {unit}. Correct it."
    if not _is_plausible_temperature(row["temperature_K"], needed=row["property"] == CURVE):
        return f"the temperature is {row['temperature_K']!r}. A vapour pressure needs the one it belongs to, in K."
    if len(row["source"]) < SHORTEST_TEXT:
        return "it names no third source. Write the citation of the publication that decides."
    if len(row["remark"]) < SHORTEST_TEXT:
        return "its remark is missing. Write why the other side is wrong."
    return None


def _is_plausible(text: str, name: str) -> bool:
    low, high = PROPERTIES[name].plausible
    try:
        return low <= float(text) <= high
    except ValueError:
        return False


def _is_plausible_temperature(text: str, *, needed: bool) -> bool:
    try:
        return float(text) > 0.0 if text else not needed
    except ValueError:
        return False


def with_third_sources(curves: pd.DataFrame, adjudications: pd.DataFrame) -> pd.DataFrame:
    """The curves; of those that a third source contradicts the band reaches its pressure, and the grade falls."""
    third = adjudications[(adjudications["property"] == CURVE) & (adjudications["stands_with"] == "reference")]
    pairs = curves.reset_index().merge(third, on="cas", suffixes=("", "_third")).set_index("index")
    p_Pa, _ = pressures_and_slopes(pairs, pairs["temperature_K"])
    off = np.log(p_Pa / pairs["value"]) / np.log(p_Pa / ATMOSPHERE_PA)
    table = with_wider_band(curves, off.abs().reindex(curves.index))
    judged = table.loc[pairs.index]
    graded = zip(judged["u95_relative"], judged["n_sources"], strict=True)
    table.loc[pairs.index, "grade"] = [grade(CURVE, 1.0, u95, n) for u95, n in graded]
    return check("vapour_curve", table, "adjudicate")


def disagreements(judged: pd.DataFrame, evaluations: pd.DataFrame, curves: pd.DataFrame) -> pd.DataFrame:
    """Disagreements with a library in grade A or B that need a third source.

    Columns: `cas`, `property`, `reference`, `deviation`, `grade`. `judged` is the
    `crosscheck` frame. The deviation of a curve is the mean of its absolute
    relative deviations between 5 and 500 kPa.
    """
    by_library = judged[judged["reference"].str.startswith(LIBRARIES)]
    boiling = by_library[by_library["property"] == "normal_boiling_point"].merge(
        evaluations[[*KEY, "u95", "grade"]], on=KEY
    )
    pressures = by_library[
        (by_library["property"] == CURVE) & by_library["reference_value"].between(*BENCH_PRESSURES_PA)
    ].merge(curves[["cas", "grade", "band_u95_relative"]], on="cas")
    pressures = pressures.assign(u95=band_u95(pressures, pressures["ours"]), deviation=pressures["deviation"].abs())
    means = pressures.groupby([*KEY, "reference", "grade"], as_index=False)[["deviation", "u95"]].mean()
    parts = [_beyond(boiling, *BOILING_POINT_K), _beyond(means, *VAPOUR_PRESSURE)]
    table = pd.concat(parts, ignore_index=True)[[*KEY, "reference", "deviation", "grade"]]
    return table[table["grade"].isin(CLAIMING)].reset_index(drop=True)


def _beyond(table: pd.DataFrame, with_u95: float, whatever: float) -> pd.DataFrame:
    off = table["deviation"].abs()
    return table[((off > with_u95) & (off > table["u95"])) | (off > whatever)]


def unadjudicated(
    judged: pd.DataFrame, evaluations: pd.DataFrame, curves: pd.DataFrame, adjudications: pd.DataFrame
) -> pd.DataFrame:
    """The disagreements in grade A or B on which no third source has been heard."""
    table = disagreements(judged, evaluations, curves).merge(adjudications[KEY], on=KEY, how="left", indicator=True)
    return table[table["_merge"] == "left_only"].drop(columns="_merge").reset_index(drop=True)


def adjudicate(
    adjudications: pd.DataFrame,
    components: pd.DataFrame,
    observations: pd.DataFrame,
    judged: pd.DataFrame,
    *,
    whole: bool,
) -> pd.DataFrame:
    """The `adjudication` frame of this build.

    `whole` tells that no source was left out. Then a row on an unknown
    component, or one that is not needed, raises BuildFailed; without some
    sources such rows say nothing of the table and are left out.
    """
    known = adjudications["cas"].isin(components["cas"])
    needed = _needed(adjudications, observations, judged)
    if whole:
        _all(known, adjudications, "there is no such component. Correct the number, or take the row out.")
        _all(needed, adjudications, "nothing contradicts it any more, so it decides nothing. Take the row out.")
    table = adjudications[known & needed].sort_values(key_of("adjudication"), ignore_index=True)
    return check("adjudication", table, "adjudicate")


def _needed(adjudications: pd.DataFrame, observations: pd.DataFrame, judged: pd.DataFrame) -> pd.Series:
    """A row for us, or on a curve, needs a judge that differs; one on a value that falls, what it sets aside."""
    differing = judged[(judged["verdict"] == "differs") & judged["reference"].str.startswith(LIBRARIES)]
    set_aside = observations[observations["reason"].str.startswith(CONTRADICTED).eq(True)]
    rows = pd.MultiIndex.from_frame(adjudications[KEY])
    by_judge = rows.isin(pd.MultiIndex.from_frame(differing[KEY]))
    by_values = rows.isin(pd.MultiIndex.from_frame(set_aside[KEY]))
    stands = (adjudications["stands_with"] == "ours") | (adjudications["property"] == CURVE)
    return pd.Series(np.where(stands, by_judge, by_values), index=adjudications.index)


def _all(holds: pd.Series, adjudications: pd.DataFrame, wrong: str) -> None:
    for line, row in adjudications[~holds].iterrows():
        raise BuildFailed(f"Line {int(str(line)) + 2} of {_WHERE} ({row['cas']}, {row['property']}): {wrong}")

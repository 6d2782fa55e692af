"""Occupational exposure limits of about 760 substances under the law of Ontario.

Time-weighted averages, short-term limits and ceilings, in mL/m3 (ppm, read as
mole fractions) or mg/m3 (read as kg/m3); one row per entry of the JSON file.

Departures: the regulation states a limit in one of the two units. The
distribution computed the other from the molar mass, and the computed number has
the longer decimal fraction; it is blanked here, so that each limit stands once,
as stated. Where the regulation lists several forms of a substance the
distribution took the lowest limit, and a metal's limit ("as Cr") counts the
metal alone. Two CAS numbers are miswritten in the file and repaired. Skin notations
are not read.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pandas as pd

from ..source import Repair, Source, Value

LIMITS = ("TWA", "STEL", "Ceiling")
_PPM = "{} (ppm)"
_MASS = "{} (mg/m^3)"


def _digits(number: float) -> int:
    """Significant digits of the number as written."""
    return len(repr(number).split("e")[0].replace(".", "").strip("0"))


def _stated(entry: dict[str, Any], limit: str) -> tuple[str, str]:
    """The limit as text in ppm and in mg/m3, one of the two blank."""
    ppm, mass = entry[_PPM.format(limit)], entry[_MASS.format(limit)]
    if ppm is not None and mass is not None:
        ppm, mass = (ppm, None) if _digits(ppm) <= _digits(mass) else (None, mass)
    return ("" if ppm is None else repr(ppm)), ("" if mass is None else repr(mass))


def rows(path: Path) -> pd.DataFrame:
    """The entries of the file, in its order: CAS number, name, and two columns for each kind of limit."""
    table = json.loads(path.read_text(encoding="utf-8"))
    columns: dict[str, list[str]] = {"CAS": list(table), "Name": [entry["Name"] for entry in table.values()]}
    for limit in LIMITS:
        pairs = [_stated(entry, limit) for entry in table.values()]
        columns[_PPM.format(limit)] = [ppm for ppm, _ in pairs]
        columns[_MASS.format(limit)] = [mass for _, mass in pairs]
    return pd.DataFrame(columns)


SOURCE = Source(
    name="ontario_exposure_limits",
    title="Control of Exposure to Biological or Chemical Agents",
    citation="Ontario Regulation 833, R.R.O. 1990, under the Occupational Health and Safety Act, table 1",
    licence="MIT, as part of the package chemicals 1.5.2; the regulation itself is © King's Printer for Ontario",
    distribution="chemicals",
    file="chemicals/Safety/Ontario Exposure Limits.json",
    sha256="c53c809ad6a319f3aac3b13a956290f06ade1f8107746f1e5bd3421324d9ed78",
    layout="own",
    rows=rows,
    values=tuple(
        value
        for limit in LIMITS
        for value in (
            Value(_PPM.format(limit), "exposure_limit", scale=1e-6, unit="1"),
            Value(_MASS.format(limit), "exposure_limit", scale=1e-6),
        )
    ),
    repairs=(
        Repair(742, "CAS", "75-01-04", "75-01-4", "CAS number written with a zero before the check digit"),
        Repair(163, "CAS", " 13397-24-5)", "13397-24-5", "CAS number written with a closing bracket"),
    ),
)

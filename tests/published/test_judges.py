"""Judges are never sources: no publication that judges the store here is one of the tables it was made from."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from pathlib import Path

import numpy as np

from cutpoint import db
from cutpoint.schema.equations import ln_pressure, pad

HERE = Path(__file__).parent

SHORTEST_TELLING_PART = 12
"""Characters of a citation between two commas that name a work; shorter ones are names, editions and places."""

OF_OTHERS_TOO = {
    "Gulf Professional Publishing", "National Fire Protection Association", "International Electrotechnical Commission",
    "Wikimedia Foundation", "compiled for that package", "no earlier publication", "entered for this project",
    "common practice", "no source",
}  # fmt: skip
"""Publishers and remarks, which name no work."""


SAME_EQUATION = 2e-4
"""Largest relative deviation, at every judged temperature, of an equation that was reprinted with converted units.

Fits of different authors to one set of good measurements come as near as 4e-4.
"""


def _judges() -> set[str]:
    judges = set()
    for path in HERE.glob("*.csv"):
        with path.open(encoding="utf-8") as file:
            judges |= {row["source"] for row in csv.DictReader(file) if row.get("source")}
    return judges


def _works(citation: str) -> set[str]:
    parts = {part.strip() for part in re.split(r"[,;]", citation)}
    return {part for part in parts - OF_OTHERS_TOO if len(part) >= SHORTEST_TELLING_PART}


def test_no_publication_is_judge_and_source(store: db.Store) -> None:
    judges = _judges()
    assert len(judges) > 50
    for source, title, citation in store.rows("SELECT source, title, citation FROM source"):
        for work in _works(citation) | {title}:
            both = [judge for judge in judges if work.casefold() in judge.casefold()]
            assert not both, f"{work} of the source {source} also judges: {both}"


def test_no_correlation_of_the_store_reprints_a_judge(store: db.Store) -> None:
    """A table that reprints a publication's equation has made that publication a source, whatever it cites.

    Asked of the judges that are such equations themselves; an equation of state cannot be reprinted in that form.
    """
    judged = defaultdict(list)
    with (HERE / "vapour_pressures.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if "log10(p/mmHg)" not in row["source"] and "table B.4" not in row["source"]:
                continue
            judged[row["cas"]].append((float(row["temperature_K"]), float(row["pressure_Pa"])))
    for cas, points in judged.items():
        T_K, pressure_Pa = np.array(points).T
        for held in store.component(cas).observations():
            if held.equation is None or held.coefficients is None or held.property != "vapour_pressure":
                continue
            deviation = ln_pressure(held.equation, pad(held.coefficients), T_K) - np.log(pressure_Pa)
            assert np.max(np.abs(deviation)) > SAME_EQUATION, f"{held.source} reprints the judge of {cas}"

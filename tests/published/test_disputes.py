"""Where the open tables contradict one another, and a publication outside them decides: who was right, who was wrong.

`disputes.csv` holds one row per dispute: the right value with its publication
(none of them a source of the store), or, where the substance sublimes or
decomposes, that it has no normal boiling point; and the wrong value, as printed
in one of the store's sources, with what went wrong there. A tolerance belongs to
a kind of publication: half of a printed range and at least 1 K, 2 K where a
substance boils with some decomposition; an equation of state as in
`test_solvents.py`, with 3 K for the heavy esters and 1 K for the siloxane, whose
vapour pressures are known to some per cent. The rows were chosen among the widest
contradictions, for being substances a chemist knows and for having a publication
that decides; what the store says was in sight then, and neither a row nor a
tolerance was changed for it.

A value is judged right if it agrees to the tolerance, or if it says itself that
it may be off by so much: then its interval must hold the published value and its
grade must be C or D.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.schema.errors import NoValue
from cutpoint.schema.properties import ICE_POINT_K

with (Path(__file__).parent / "disputes.csv").open(encoding="utf-8") as file:
    DISPUTES = list(csv.DictReader(file))

KINDS = {
    "reduced pressure", "wrong sign", "wrong unit", "wrong isomer", "wrong compound", "another property",
    "aqueous solution", "hydrate", "misprint", "copied", "sublimes", "decomposes", "unexplained",
}  # fmt: skip

CLEARLY_APART_K = 10.0
"""From here on the tables contradict one another, whatever their precision."""

PRINTED_AS_K = 0.1
"""How near a value of a table is to the printed one: it may have been converted."""


def _name(row: dict[str, str]) -> str:
    return f"{row['name']}-{row['property']}".replace(" ", "_")


each_dispute = pytest.mark.parametrize("row", DISPUTES, ids=_name)
each_right_value = pytest.mark.parametrize("row", [row for row in DISPUTES if row["right_degC"]], ids=_name)
each_that_never_boils = pytest.mark.parametrize("row", [row for row in DISPUTES if not row["right_degC"]], ids=_name)


def test_there_are_enough_disputes_of_enough_kinds() -> None:
    assert len({_name(row) for row in DISPUTES}) == len(DISPUTES) >= 25
    assert {row["kind"] for row in DISPUTES} == KINDS
    assert Counter(row["behaviour"] for row in DISPUTES).keys() == {"boils", "sublimes", "decomposes"}
    assert all(row["source"] and row["explanation"] for row in DISPUTES)
    assert sum(row["source"].startswith("from memory: ") for row in DISPUTES) <= len(DISPUTES) / 3


@each_right_value
def test_the_wrong_value_is_far_off(row: dict[str, str]) -> None:
    assert abs(float(row["wrong_degC"]) - float(row["right_degC"])) > CLEARLY_APART_K


@each_right_value
def test_right_value(store: db.Store, row: dict[str, str]) -> None:
    component = store.component(row["cas"])
    boils = row["property"] == "normal_boiling_point"
    ours = component.boiling_point() if boils else component.evaluated(row["property"])
    assert ours.unit == "K"
    off_by_K = abs(ours.value - ICE_POINT_K - float(row["right_degC"]))
    owns_up = off_by_K <= ours.u95 and ours.grade in ("C", "D")
    assert off_by_K <= float(row["tolerance_K"]) or owns_up, f"ours {ours}; {row['source']}"


@each_that_never_boils
def test_has_no_normal_boiling_point(store: db.Store, row: dict[str, str]) -> None:
    component = store.component(row["cas"])
    assert component.phase_behaviour == row["behaviour"], row["source"]
    with pytest.raises(NoValue, match=row["behaviour"]):
        component.boiling_point()


@each_dispute
def test_wrong_value_is_not_believed(store: db.Store, row: dict[str, str]) -> None:
    wrong_K = float(row["wrong_degC"]) + ICE_POINT_K
    printed = [
        seen
        for seen in store.component(row["cas"]).observations()
        if seen.property == row["property"] and seen.source == row["wrong_table"] and seen.value is not None
        if abs(seen.value - wrong_K) <= PRINTED_AS_K
    ]
    assert printed, f"{row['wrong_table']} does not print {row['wrong_degC']} °C"
    for seen in printed:
        assert seen.status == "outlier", f"{seen}; {row['explanation']}"
        assert seen.reason

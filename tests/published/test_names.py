"""What names mean at the bench and in the trade: `names.csv` (common practice, no source).

A row with a CAS number is a name that must mean that component; one without
is the name of a mixture or of a petroleum cut, which must never be taken for a
single compound.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.schema.errors import AmbiguousComponent, NoSuchComponent

with (Path(__file__).parent / "names.csv").open(encoding="utf-8") as file:
    NAMES = list(csv.DictReader(file))

ONE_COMPOUND = [row for row in NAMES if row["cas"]]
MIXTURES = [row["name"] for row in NAMES if not row["cas"]]


def test_there_are_enough_names() -> None:
    assert len(ONE_COMPOUND) >= 25
    assert len(MIXTURES) >= 10


@pytest.mark.parametrize("row", ONE_COMPOUND, ids=lambda row: row["name"].replace(" ", "_"))
def test_name_means_one_component(store: db.Store, row: dict[str, str]) -> None:
    assert store.component(row["name"]).cas == row["cas"]


@pytest.mark.parametrize("name", MIXTURES, ids=lambda name: name.replace(" ", "_"))
def test_name_of_a_mixture_is_no_single_compound(store: db.Store, name: str) -> None:
    try:
        component = store.component(name)
    except (AmbiguousComponent, NoSuchComponent):
        return
    assert component.kind == "stream"

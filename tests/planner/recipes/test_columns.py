"""Kinds of columns."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.recipes.columns import ColumnKind, kind_named, kinds
from cutpoint.schema.errors import WrongUsage


def test_the_table_is_plausible() -> None:
    assert len(kinds()) >= 12
    for kind in kinds():
        assert kind.source
        if kind.hetp_m is None:
            assert kind.holdup_per_plate_m3 == 0.0
        else:
            assert 0.005 <= kind.hetp_m <= 0.2
            assert 0.0 < kind.holdup_per_plate_m3 <= 5e-6


def test_no_spelling_means_two_kinds() -> None:
    spellings = [(spelling, kind.name) for kind in kinds() for spelling in (kind.name, *kind.other_spellings)]
    assert [(spelling, name) for spelling, name in spellings if kind_named(spelling).name != name] == []


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("VIGREUX", "Vigreux"),
        ("Vigreux column", "Vigreux"),
        ("a Hempel column with Raschig rings", "Hempel, Raschig rings"),
        ("Hempel (glass helices)", "Hempel, glass helices"),
        ("dixon rings", "Hempel, wire mesh rings"),
        ("spinning-band", "spinning band"),
        ("none", "bare still head"),
    ],
)
def test_spellings(spelling: str, name: str) -> None:
    assert kind_named(spelling).name == name


@pytest.mark.parametrize("name", ["", "  ", "column", "cork", "\n"])
def test_unknown_kinds_are_refused_with_the_list(name: str) -> None:
    with pytest.raises(WrongUsage, match=r"Known are: bare still head; Claisen head; .*Oldershaw"):
        kind_named(name)


# Common practice, no source: a laboratory Vigreux gives a theoretical plate per about 10 cm.
@pytest.mark.parametrize(("height_m", "plates"), [(0.3, 3), (0.299, 2), (0.1, 1), (0.09, 0), (0.6, 6), (0.7, 7)])
def test_plates_are_whole(height_m: float, plates: int) -> None:
    assert kind_named("Vigreux").plates(height_m) == plates


@given(st.sampled_from(kinds()), st.floats(1e-3, 3.0), st.floats(1e-3, 3.0))
def test_more_height_is_never_fewer_plates(kind: ColumnKind, height_m: float, more_m: float) -> None:
    assert 0 <= kind.plates(height_m) <= kind.plates(height_m + more_m)

"""The compositions that shares allow: sums, rounding, tightening, the central one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.labels.ranges import Bounds, bounds, central
from cutpoint.planner.labels.reading import LabelLine, read_label
from cutpoint.schema.errors import WrongLabel


def of(*shares: str) -> Bounds:
    """Bounds of a label with these shares, one a line."""
    return bounds(read_label("\n".join(f"solvent {share}" for share in shares)).lines)


def test_ranges_are_tightened_to_what_the_sum_allows() -> None:
    allowed = of("30-50 %", "20-30 %", "balance")
    assert allowed.lower == pytest.approx([0.3, 0.2, 0.2])
    assert allowed.upper == pytest.approx([0.5, 0.3, 0.5])
    assert allowed.remark is None
    low = of("10-90 %", "20-25 %", "5-10 %")
    assert low.lower == pytest.approx([0.65, 0.2, 0.05])
    assert low.upper == pytest.approx([0.75, 0.25, 0.1])


def test_nominal_shares_have_no_range() -> None:
    allowed = of("60 %", "30 %", "10 %")
    assert allowed.lower == pytest.approx(allowed.upper)
    assert central(allowed) == pytest.approx([0.6, 0.3, 0.1])


@pytest.mark.parametrize(("shares", "total"), [(("60", "30", "9.9"), "99.9 %"), (("60.2", "30", "10"), "100.2 %")])
def test_rounded_shares_are_scaled_and_it_is_said(shares: tuple[str, ...], total: str) -> None:
    allowed = of(*shares)
    printed = np.array([float(share) for share in shares])
    assert allowed.lower == pytest.approx(printed / printed.sum())
    assert allowed.upper == pytest.approx(printed / printed.sum())
    assert allowed.remark is not None and f"sum to {total}; taken as rounded" in allowed.remark


def test_shares_that_cannot_sum_to_all_are_refused_with_the_sum() -> None:
    with pytest.raises(WrongLabel) as too_much:
        of("60-70 %", "30-40 %", "15 %", "0-5 %")
    assert "more than 100 %: 60 (line 1) + 30 (line 2) + 15 (line 3) = 105 %." in too_much.value.message
    with pytest.raises(WrongLabel) as too_little:
        of("20-40 %", "25 %", "< 10 %")
    assert "less than 100 %: 40 (line 1) + 25 (line 2) + 10 (line 3) = 75 %." in too_little.value.message
    with pytest.raises(WrongLabel, match=r"99\.4 %"):
        of("60", "30", "9.4")


def test_one_ingredient_is_all() -> None:
    for share in ("", "> 99.5 %", "balance", "99.6 %"):
        assert central(of(share)) == pytest.approx([1.0])


def test_the_central_composition_lies_equally_far_along_every_range() -> None:
    allowed = of("30-50 %", "20-30 %", "balance")
    middle = central(allowed)
    along = (middle - allowed.lower) / (allowed.upper - allowed.lower)
    assert middle.sum() == pytest.approx(1.0)
    assert along == pytest.approx(np.full(3, along[0]))


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=8))
def test_bounds_are_the_extremes_of_what_is_allowed(ends: list[tuple[float, float]]) -> None:
    lines = [LabelLine(place, "", "solvent", None, *sorted(pair), False, False) for place, pair in enumerate(ends, 1)]
    try:
        allowed = bounds(lines)
    except WrongLabel:
        assert sum(min(pair) for pair in ends) > 1.0 or sum(max(pair) for pair in ends) < 1.0
        return
    middle = central(allowed)
    assert abs(middle.sum() - 1.0) < 1e-12
    assert (allowed.lower - 1e-12 <= middle).all() and (middle <= allowed.upper + 1e-12).all()
    # Each end is reached: with one ingredient there, the others can still make up the rest.
    for place in range(len(lines)):
        others = np.arange(len(lines)) != place
        for end in (allowed.lower[place], allowed.upper[place]):
            assert allowed.lower[others].sum() - 1e-9 <= 1.0 - end <= allowed.upper[others].sum() + 1e-9

"""Text on pictures: it fits the room it has, whatever the name."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from cutpoint.planner.plot_text import broken, shortened, width_pt

NAME = "3,3,4,4,5,5,6,6,7,7,8,8,8-tridecafluoro-1-(2,2,2-trifluoroethoxy)octane-1-sulfonamidobenzenecarboxylate"


@given(text=st.text(st.sampled_from("abcW -,(é4"), max_size=120), room_pt=st.floats(20.0, 300.0))
def test_broken_text_fits_its_room_and_loses_no_letter(text: str, room_pt: float) -> None:
    lines = broken(text, room_pt, 10.0)
    assert all(width_pt(line, 10.0) <= room_pt or len(line) == 1 for line in lines)
    assert re.sub(r"\s", "", "".join(lines)) == re.sub(r"\s", "", text)


def test_a_number_stays_with_its_unit() -> None:
    for room_pt in range(100, 200, 5):
        for line in broken("it boils at 99.25 ± 0.18 °C or 60.5 %", float(room_pt), 10.0):
            assert not re.match(r"[±°%]", line)


def test_a_name_is_shortened_only_where_it_must_be() -> None:
    assert shortened("mole fraction of {}", "hexane", 200.0, 10.0, 1) == "mole fraction of hexane"
    lines = shortened("mole fraction of {} in the liquid", NAME, 160.0, 10.0, 3).split("\n")
    assert len(lines) == 3 and "…" in "".join(lines) and lines[-1].endswith("in the liquid")

"""The head temperature as a picture of its own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from cutpoint.planner.sheets.plot import picture, write_plot
from cutpoint.planner.stills.results import HeadCurve, Plan
from cutpoint.schema.errors import NoValue

SVG = "{http://www.w3.org/2000/svg}"


def test_it_is_an_svg_with_a_title_and_words(plans: dict[str, Plan], tmp_path: Path) -> None:
    write_plot(plans["ordinary"], tmp_path / "head.svg")
    drawn = ElementTree.parse(tmp_path / "head.svg").getroot()
    title, described = drawn.find(f"{SVG}title"), drawn.find(f"{SVG}desc")
    assert (
        title is not None and title.text == "Head temperature against volume distilled: Used eluent of the teaching lab"
    )
    assert described is not None and described.text is not None
    assert "Fore-run until 560 ± 75 mL, 68.95 ± 0.90 °C. Product until 940 ± 10 mL" in described.text


def test_the_same_sheet_gives_the_same_bytes(plans: dict[str, Plan], tmp_path: Path) -> None:
    for name in ("a.svg", "b.svg"):
        write_plot(plans["liquefied"], tmp_path / name)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


def test_every_fraction_is_named_in_the_page(plans: dict[str, Plan]) -> None:
    drawn = picture(plans["ordinary"])
    for words in (">fore-run<", ">product<", ">distilled, mL<", ">temperature, °C<", ">head reads<", ">in the flask<"):
        assert words in drawn, words
    assert ">residue<" not in drawn


def test_without_a_curve_it_says_so_and_writes_nothing(plans: dict[str, Plan], tmp_path: Path) -> None:
    with pytest.raises(NoValue, match="no head temperature to draw"):
        write_plot(plans["sparse"], tmp_path / "head.svg")
    assert list(tmp_path.iterdir()) == []


def test_a_curve_of_one_point_can_be_drawn(plans: dict[str, Plan]) -> None:
    point = HeadCurve((0.0,), (330.0,), (329.0,), (331.0,), (335.0,))
    assert "<svg" in picture(replace(plans["ordinary"], curve=point))

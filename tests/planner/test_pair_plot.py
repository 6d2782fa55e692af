"""The picture of a pair: in numbers, in words, and on the page.

The boiling-point diagrams are invented figures of the six shapes that pairs of
liquids have: vapour pressures by Trouton's rule, activity coefficients by the
equation of Margules, an ideal vapour. Names lend only their length.
"""

from __future__ import annotations

import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from numpy.typing import NDArray

from cutpoint.db import Azeotrope, MeasuredPoint, PairDiagram
from cutpoint.planner import pair_plot_words as words
from cutpoint.planner.figures import percent
from cutpoint.planner.pair_plot import figure, svg
from cutpoint.planner.pair_plot_panels import azeotrope_styles, measured_styles, temperature_ticks
from cutpoint.planner.pair_sheet import PairSheet
from cutpoint.planner.plot_svg import svg_of
from cutpoint.schema.properties import ATMOSPHERE_PA

Array = NDArray[np.float64]

SVG = "{http://www.w3.org/2000/svg}"

STEEPNESS = 10.5
"""Entropy of vaporisation at the normal boiling point over R, about 88 J/(mol K) (Trouton's rule)."""
GRID = np.linspace(0.0, 1.0, 201)
MOLAR_MASSES_G_MOL = (86.2, 88.1)
SOURCE = "Invented, Tables for Tests (2020), table 1"


def _gammas(x: Array, a12: float, a21: float) -> tuple[Array, Array]:
    """Activity coefficients of a and b (M. Margules, Sitzungsber. Akad. Wiss. Wien 104 (1895) 1243-1278)."""
    one = (1.0 - x) ** 2 * (a12 + 2.0 * (a21 - a12) * x)
    other = x**2 * (a21 + 2.0 * (a12 - a21) * (1.0 - x))
    return np.exp(one), np.exp(other)


def _pressure(T_K: Array, boiling_K: float) -> Array:
    return np.exp(STEEPNESS * (1.0 - boiling_K / T_K))


def _boiled(x: Array, boiling_K: tuple[float, float], a12: float, a21: float) -> tuple[Array, Array]:
    """Bubble temperature and vapour of each liquid, by bisection."""
    gamma_a, gamma_b = _gammas(x, a12, a21)
    low_K, high_K = np.full(x.shape, 200.0), np.full(x.shape, 600.0)
    for _ in range(60):
        T_K = 0.5 * (low_K + high_K)
        partial_a = x * gamma_a * _pressure(T_K, boiling_K[0])
        total = partial_a + (1.0 - x) * gamma_b * _pressure(T_K, boiling_K[1])
        low_K, high_K = np.where(total < 1.0, T_K, low_K), np.where(total < 1.0, high_K, T_K)
    return T_K, partial_a / total


def _two_liquids(a: float) -> tuple[float, float]:
    """The two liquids of a symmetrical mixture, ln((1 - x)/x) = a (1 - 2 x), by fixed-point iteration."""
    x = 1e-3
    for _ in range(500):
        x = 1.0 / (1.0 + np.exp(a * (1.0 - 2.0 * x)))
    return x, 1.0 - x


def diagram(
    names: tuple[str, str],
    boiling_K: tuple[float, float],
    margules: tuple[float, float] = (0.0, 0.0),
    *,
    is_split: bool = False,
    measured: tuple[MeasuredPoint, ...] = (),
    u95_K: float = 0.6,
    model: str = "modified UNIFAC (Dortmund)",
) -> PairDiagram:
    """A diagram with its azeotropes, where the vapour is the liquid, or where two liquids boil together."""
    T_K, y = _boiled(GRID, boiling_K, *margules)
    liquids = None
    if is_split:
        liquids = _two_liquids(margules[0])
        inside = (liquids[0] < GRID) & (liquids[1] > GRID)
        (flat_K, _), (flat_y, _) = _boiled(np.array(liquids), boiling_K, *margules)
        T_K, y = np.where(inside, flat_K, T_K), np.where(inside, flat_y, y)
        azeotropes = [_azeotrope("heterogeneous", float(flat_y), float(flat_K))]
    else:
        richer = np.sign((y - GRID)[1:-1])
        places = np.flatnonzero(richer[:-1] * richer[1:] < 0.0) + 1
        kinds = ["minimum" if richer[place - 1] > 0.0 else "maximum" for place in places]
        azeotropes = [
            _azeotrope(kind, float(GRID[place]), float(T_K[place])) for kind, place in zip(kinds, places, strict=True)
        ]
    spread = u95_K * (0.3 + GRID * (1.0 - GRID) * 4.0)
    return PairDiagram(
        {"cas": "1-11-1", "name": names[0]}, {"cas": "2-22-2", "name": names[1]}, ATMOSPHERE_PA, tuple(GRID.tolist()),
        tuple(T_K.tolist()), tuple(y.tolist()), tuple(spread.tolist()), liquids, tuple(azeotropes), measured, model,
    )  # fmt: skip


def _azeotrope(kind: str, x: float, T_K: float) -> Azeotrope:
    mass_a, mass_b = MOLAR_MASSES_G_MOL
    w = x * mass_a / (x * mass_a + (1.0 - x) * mass_b)
    return Azeotrope("predicted", kind, T_K, w, x, "modified UNIFAC (Dortmund)", ATMOSPHERE_PA)


DIAGRAMS = {
    "ideal": diagram(("2,2,4-trimethylpentane", "tetrahydrofuran"), (372.4, 339.1), model="Raoult's law"),
    "minimum": diagram(
        ("hexane", "ethyl acetate"), (341.9, 350.3), (1.1, 0.9),
        measured=(MeasuredPoint(0.66, 338.3, "minimum", SOURCE), MeasuredPoint(0.63, 338.1, "minimum", SOURCE)),
    ),
    "maximum": diagram(("propan-2-one", "trichloromethane"), (329.2, 334.3), (-0.9, -0.7)),
    "heterogeneous": diagram(
        ("butan-1-ol", "water"), (390.8, 373.15), (3.0, 3.0), is_split=True,
        measured=(MeasuredPoint(0.36, 358.6, "heterogeneous", SOURCE),),
    ),
    "close-boiling": diagram(("3-methylpentane", "2-methylpentane"), (336.40, 336.28), (0.001, 0.001), u95_K=0.2),
    "double": diagram(("benzene", "hexafluorobenzene"), (353.2, 353.4), (0.5, -0.5)),
}  # fmt: skip

LONG = "3,3,4,4,5,5,6,6,7,7,8,8,8-tridecafluoro-1-(2,2,2-trifluoroethoxy)octane-1-sulfonamidobenzenecarboxylate"
DIAGRAMS["long names"] = replace(
    DIAGRAMS["minimum"], a={"cas": "1-11-1", "name": LONG}, b={"cas": "2-22-2", "name": f"bis({LONG}) <&>"}
)
CAUTIONS = ("Flammable: no flames, sparks or hot surfaces near.", "Local codes and licensed practice come first.")

every_diagram = pytest.mark.parametrize("shape", DIAGRAMS)


def sheet(shape: str) -> PairSheet:
    return PairSheet(DIAGRAMS[shape], MOLAR_MASSES_G_MOL, CAUTIONS)


# In numbers


@every_diagram
def test_the_axis_of_temperatures_holds_lines_and_points(shape: str) -> None:
    drawn = sheet(shape)
    low, high = drawn.temperature_limits_celsius()
    told = drawn.bubble_celsius.tolist()
    told += [one.temperature_K - 273.15 for one in drawn.diagram.azeotropes]
    told += [one.temperature_K - 273.15 for one in drawn.diagram.measured]
    assert low < min(told) and max(told) < high


def test_a_band_does_not_squash_the_lines() -> None:
    wide = replace(DIAGRAMS["minimum"], u95_K=tuple([60.0] * GRID.size))
    low, high = PairSheet(wide, (None, None)).temperature_limits_celsius()
    assert high - low < 4.0 * (350.3 - 337.0)


def test_two_liquids_boil_together_at_one_temperature() -> None:
    held = sheet("heterogeneous").two_liquids()
    assert held is not None
    ends, boiling_celsius, vapour = held
    (azeotrope,) = DIAGRAMS["heterogeneous"].azeotropes
    assert ends.tolist() == list(DIAGRAMS["heterogeneous"].two_liquids or ())
    assert boiling_celsius + 273.15 == pytest.approx(azeotrope.temperature_K)
    assert vapour == pytest.approx(azeotrope.mole_fraction_a)
    assert sheet("minimum").two_liquids() is None


def test_a_mass_fraction_needs_both_molar_masses() -> None:
    # Equal amounts of methanol (32.04 g/mol) and water (18.02 g/mol) are 64 % of methanol by mass.
    assert replace(sheet("ideal"), molar_masses_g_mol=(32.04, 18.02)).mass_fraction_a(0.5) == pytest.approx(
        0.64, abs=1e-3
    )
    assert replace(sheet("ideal"), molar_masses_g_mol=(32.04, None)).mass_fraction_a(0.5) is None


@given(low=st.floats(-150.0, 400.0), span=st.floats(0.05, 300.0))
def test_ticks_are_round_inside_and_told_apart(low: float, span: float) -> None:
    ticks, told = temperature_ticks(low, low + span)
    assert 2 <= len(ticks) <= 8
    assert all(low <= tick <= low + span for tick in ticks)
    assert len(set(told)) == len(told)
    assert [float(text) for text in told] == pytest.approx(ticks, abs=1e-6)


# In words


def test_an_azeotrope_is_told_with_basis_temperature_and_mass_percent() -> None:
    (azeotrope,) = DIAGRAMS["minimum"].azeotropes
    assert words.predicted(sheet("minimum"), azeotrope) == (
        "minimum azeotrope, predicted: 64.5 °C, 60.0 % by mass (60.5 % by mole) hexane"
    )
    first, _ = DIAGRAMS["minimum"].measured
    told = words.measured(sheet("minimum"), first)
    assert told == f"minimum azeotrope, measured: 65.2 °C, 65.5 % by mass (66.0 % by mole) hexane ({SOURCE})"
    unknown = replace(sheet("minimum"), molar_masses_g_mol=(None, None))
    assert "measured: 65.2 °C, 66.0 % by mole hexane" in words.measured(unknown, first)


def test_the_ends_are_the_pure_boiling_points() -> None:
    assert words.pure(sheet("ideal")) == (
        "pure tetrahydrofuran 65.95 ± 0.18 °C (left), pure 2,2,4-trimethylpentane 99.25 ± 0.18 °C (right)"
    )
    assert words.ends(sheet("ideal")) == ("{} 66.0 °C", "{} 99.2 °C")


def test_a_line_that_ends_before_has_no_pure_end() -> None:
    cut = {
        name: getattr(DIAGRAMS["ideal"], name)[:-20]
        for name in ("mole_fraction_a", "bubble_temperature_K", "vapour_fraction_a", "u95_K")
    }
    drawn = replace(sheet("ideal"), diagram=replace(DIAGRAMS["ideal"], **cut))
    assert drawn.pure_ends == (0, None)
    assert words.pure(drawn) == "pure tetrahydrofuran 65.95 ± 0.18 °C (left)"
    assert words.ends(drawn)[1] == ""
    assert "The lines end where a vapour-pressure curve does." in words.footnotes(drawn)[0]
    assert b"</svg>" in svg(drawn)


def test_the_footnote_names_the_model_and_that_it_is_a_prediction() -> None:
    told = words.footnotes(sheet("minimum"))
    assert "The lines are a prediction by modified UNIFAC (Dortmund), not a measurement" in told[0]
    assert "the error of the model comes on top" in told[0]
    assert told[1].endswith("Local codes and licensed practice come first.")
    assert "takes the mixture as ideal" in words.footnotes(sheet("ideal"))[0]


def test_percentages_never_round_to_all_or_nothing() -> None:
    assert percent(0.999_987) == "99.9987 %"
    assert percent(0.000_002_3) == "0.000230 %"


# On the page


@cache
def boxes(shape: str) -> tuple[Figure, list[tuple[Text, Bbox]]]:
    """The figure, and every text that is seen with the rectangle that its letters fill."""
    made: list[Figure] = []
    found: list[tuple[Text, Bbox]] = []

    def draw() -> Figure:
        drawn = figure(sheet(shape))
        renderer = FigureCanvasAgg(drawn).get_renderer()
        drawn.draw(renderer)
        texts = [text for text in drawn.findobj(Text) if text.get_text() and text.get_visible()]
        # The hidden axis of the key has numbers that are never drawn.
        seen = [text for text in texts if text.axes is None or text.axes.axison]
        found.extend((text, text.get_window_extent(renderer)) for text in seen)
        made.append(drawn)
        return drawn

    svg_of(draw, "title", "description")
    return made[0], found


@every_diagram
def test_no_text_leaves_the_page_meets_another_or_lies_in_a_panel(shape: str) -> None:
    drawn, found = boxes(shape)
    assert len(found) > 25
    panels = [axes.bbox for axes in drawn.axes if axes.axison]
    assert len(panels) == 2
    for text, box in found:
        assert box.x0 > 0.0 and box.y0 > 0.0 and box.x1 < drawn.bbox.x1 and box.y1 < drawn.bbox.y1, text.get_text()
        for panel in panels:
            assert not box.overlaps(panel), text.get_text()
    for (one, of_one), (other, of_other) in combinations(found, 2):
        inner_one, inner_other = of_one.shrunk(0.98, 0.75), of_other.shrunk(0.98, 0.75)  # lines have room for accents
        assert not inner_one.overlaps(inner_other), (one.get_text(), other.get_text())


@every_diagram
def test_both_panels_mark_every_azeotrope(shape: str) -> None:
    drawn, _ = boxes(shape)
    diagram = DIAGRAMS[shape]
    temperatures, compositions = (_points(axes) for axes in drawn.axes if axes.axison)
    told = [(one.mole_fraction_a, one.temperature_K) for one in diagram.azeotropes]
    told += [(one.mole_fraction_a, one.temperature_K) for one in diagram.measured]
    for x, T_K in told:
        assert (x, T_K - 273.15) in temperatures
        assert (x, x) in compositions


def _points(axes: Axes) -> list[tuple[float, float]]:
    """The single points of a panel."""
    drawn = [np.asarray(line.get_xydata()) for line in axes.lines]
    return [(float(place[0, 0]), float(place[0, 1])) for place in drawn if len(place) == 1]


def test_marks_differ_without_colour_too() -> None:
    many = replace(DIAGRAMS["double"], measured=DIAGRAMS["minimum"].measured)
    drawn = PairSheet(many, MOLAR_MASSES_G_MOL)
    markers = [style["marker"] for style in (*azeotrope_styles(drawn), *measured_styles(drawn))]
    assert len(set(markers)) == len(markers) == 4


@every_diagram
def test_the_same_diagram_gives_the_same_bytes_with_a_title_and_no_date(shape: str) -> None:
    picture = svg(sheet(shape))
    assert picture == svg(sheet(shape))
    assert b"<dc:date>" not in picture
    root = ElementTree.fromstring(picture)
    assert root.findall(f".//{SVG}text") == []
    assert root[0].text == words.title(sheet(shape))
    assert root[1].text is not None
    assert all(words.predicted(sheet(shape), one) in root[1].text for one in DIAGRAMS[shape].azeotropes)


def test_drawing_needs_no_pyplot() -> None:
    script = "import sys, cutpoint.planner.pair_plot; assert 'matplotlib.pyplot' not in sys.modules"
    subprocess.run([sys.executable, "-c", script], check=True)

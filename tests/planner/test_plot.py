"""`card --plot`: what the sheet shows, in numbers, in words and in the SVG, and what it refuses.

Judges and correlations that are added to the small store are invented, to see that they are drawn and told.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pytest
from click.testing import Result

from cutpoint import db
from cutpoint.planner.plot import svg, write_plot
from cutpoint.planner.plot_series import BOILING_POINT, CORRELATION, JUDGE, POINT, Series, Sheet, sheet
from cutpoint.planner.plot_styles import legend, styles
from cutpoint.planner.plot_words import beyond_the_axis, caption, marks, subtitle
from cutpoint.schema.errors import NoValue
from cutpoint.schema.properties import ATMOSPHERE_PA

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]

SVG = "{http://www.w3.org/2000/svg}"
HEXANE, BUTANONE, WATER, TOLUENE = "110-54-3", "78-93-3", "7732-18-5", "108-88-3"

# Of hexane: a judge that agrees in two places and differs in one, a rule of physics, and a correlation half as high
# again, one set aside, one all of whose range is out of sight, and a single value. Of butan-2-one: an estimated curve.
ADDED = f"""
    INSERT INTO crosscheck VALUES
        ('{HEXANE}', 'normal_boiling_point', 0, 'CoolProp 0', 341.88, 341.86, 0.02, 0.5, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 320, 'CoolProp 0', 49000, 50000, -0.02, 0.02, 'agrees'),
        ('{HEXANE}', 'vapour_pressure', 300, 'CoolProp 0', 21900, 11000, 0.99, 0.02, 'differs'),
        ('{HEXANE}', 'normal_boiling_point', 0, 'order: boils below the critical temperature', 341.88, 507.6, 0, 1,
         'agrees');
    INSERT INTO observation VALUES
        ('demo_high', 1, 'A', '{HEXANE}', 'vapour_pressure', NULL, 'Pa', NULL, NULL,
         'antoine', [21.1, 2697.5, -48.8], 290, 340, 'compiled', 'high', 'accepted', NULL),
        ('demo_set_aside', 1, 'A', '{HEXANE}', 'vapour_pressure', NULL, 'Pa', NULL, NULL,
         'antoine', [20.6, 2697.5, -48.8], 290, 340, 'compiled', 'low', 'outlier', 'a pressure over the solid'),
        ('demo_cold', 1, 'A', '{HEXANE}', 'vapour_pressure', NULL, 'Pa', NULL, NULL,
         'antoine', [20.7, 2697.5, -48.8], 180, 190, 'compiled', 'cold', 'accepted', NULL),
        ('demo_point', 1, 'p', '{HEXANE}', 'vapour_pressure', 49500, 'Pa', 320, NULL,
         NULL, NULL, NULL, NULL, 'measured', '49.5 kPa', 'accepted', NULL);
    INSERT INTO vapour_curve BY NAME SELECT
        '{BUTANONE}' AS cas, 'antoine' AS equation,
        [21.29, 2961.9, -49.5, NULL, NULL, NULL, NULL, NULL] AS coefficients,
        260 AS T_min_K, 420 AS T_max_K, 250 AS T_lowest_K, 430 AS T_highest_K, 0.2 AS u95_relative,
        [0.4, 0.4, 0.3, 0.2, 0.1, 0.01, 0.1, 0.2] AS band_u95_relative, 'corresponding states' AS rule,
        'estimated' AS basis, 'D' AS grade, 0 AS n_sources, 'demo_a' AS source;
"""


@pytest.fixture(scope="module")
def judged_store(small_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = Path(shutil.copy(small_store, tmp_path_factory.mktemp("plot") / "judged.duckdb"))
    with duckdb.connect(str(path)) as connection:
        connection.execute(ADDED)
    return path


@pytest.fixture(scope="module")
def store(judged_store: Path) -> Iterator[db.Store]:
    with db.open(judged_store) as opened:
        yield opened


@pytest.fixture(scope="module")
def hexane(store: db.Store) -> Sheet:
    return sheet(store.component(HEXANE))


@pytest.fixture(scope="module")
def drawn(hexane: Sheet) -> ElementTree.Element:
    return ElementTree.fromstring(svg(hexane))


def labelled(drawn: Sheet, label: str) -> Series:
    (found,) = (series for series in (*drawn.series, *drawn.hidden) if series.label == label)
    return found


# What is drawn, in numbers


def test_the_curve_and_its_band_are_those_of_the_query_module(store: db.Store, hexane: Sheet) -> None:
    held = store.component(HEXANE)
    for stretch in hexane.stretches:
        for place in (1, len(stretch.T_K) // 2, -2):
            told = held.evaluated_vapour_pressure(float(stretch.T_K[place]))
            assert stretch.p_Pa[place] == pytest.approx(told.value, rel=1e-12)
            assert stretch.u95_relative[place] == pytest.approx(told.u95 / told.value, rel=1e-9)
            assert told.extrapolated == stretch.extrapolated


def test_the_curve_goes_as_far_as_it_may_be_extrapolated_and_no_farther(hexane: Sheet) -> None:
    bank = hexane.component.curve_bank
    assert bank is not None
    lowest_K, highest_K = (float(limit[0]) for limit in bank.limits_K())
    temperatures_K = np.concatenate([stretch.T_K for stretch in hexane.stretches])
    assert np.all(np.diff(temperatures_K) >= 0.0)
    assert temperatures_K[-1] == highest_K
    assert temperatures_K[0] == max(lowest_K, hexane.frame.T_low_K)
    assert [stretch.extrapolated for stretch in hexane.stretches] == [True, False, True]


def test_the_frame_goes_from_1_kPa_to_the_critical_point(hexane: Sheet) -> None:
    critical = hexane.evaluated["critical_temperature"].value, hexane.evaluated["critical_pressure"].value
    assert 500.0 < hexane.frame.p_low_Pa < 1000.0
    assert hexane.frame.holds(*(np.array([value]) for value in critical)).all()
    assert hexane.frame.T_high_K < 1.1 * critical[0]


def test_a_frame_without_a_critical_point_holds_curve_and_boiling_point(store: db.Store) -> None:
    acetone = sheet(store.component("67-64-1"))
    assert 1e6 > acetone.frame.p_high_Pa > ATMOSPHERE_PA
    assert acetone.frame.T_low_K < acetone.evaluated["normal_boiling_point"].value < acetone.frame.T_high_K


def test_correlations_stay_inside_their_own_range(hexane: Sheet) -> None:
    high = labelled(hexane, "demo_high")
    assert (high.kind, high.believed, high.T_K[0], high.T_K[-1]) == (CORRELATION, True, 290.0, 340.0)
    assert np.log(high.p_Pa[0]) == pytest.approx(21.1 - 2697.5 / (290.0 - 48.8))


def test_outliers_are_told_apart(hexane: Sheet) -> None:
    aside = labelled(hexane, "demo_set_aside, outlier")
    assert (aside.kind, aside.believed) == (CORRELATION, False)
    assert labelled(hexane, "printed boiling points").T_K.tolist() == pytest.approx([341.88, 341.98])
    outliers = labelled(hexane, "printed boiling points, outliers")
    assert (outliers.kind, outliers.believed, outliers.p_Pa.tolist()) == (BOILING_POINT, False, [ATMOSPHERE_PA])
    assert outliers.T_K.tolist() == pytest.approx([301.88])


def test_a_single_value_is_a_point(hexane: Sheet) -> None:
    point = labelled(hexane, "demo_point")
    assert (point.kind, point.T_K.tolist(), point.p_Pa.tolist()) == (POINT, [320.0], [49_500.0])


def test_the_judge_is_a_library_and_no_rule_of_physics(store: db.Store, hexane: Sheet) -> None:
    judges = [series for series in hexane.series if series.kind == JUDGE]
    assert [(judge.label, judge.believed) for judge in judges] == [("CoolProp 0", True), ("CoolProp 0, differs", False)]
    assert judges[0].T_K.tolist() == [320.0, 341.86]
    assert judges[0].p_Pa.tolist() == [50_000.0, ATMOSPHERE_PA]
    ours_Pa = store.component(HEXANE).vapour_pressure(300.0)
    assert judges[1].deviation.tolist() == pytest.approx([11_000.0 / ours_Pa - 1.0])


def test_a_source_far_off_does_not_squash_the_axis_and_is_said_to_leave_it(hexane: Sheet) -> None:
    limit = hexane.deviation_limit()
    assert limit <= 0.2
    clipped = {series.label: series for series in hexane.clipped()}
    assert set(clipped) >= {"demo_high", "CoolProp 0, differs", "printed boiling points, outliers"}
    assert all(np.abs(series.deviation).min() > limit for series in clipped.values())
    told = beyond_the_axis(hexane)
    assert told.startswith("Beyond the axis: ")
    for label in clipped:
        assert re.search(rf"{re.escape(label)} \([+-][\d.]+ % at -?[\d.]+ °C\)", told), label


def test_what_is_not_clipped_lies_on_the_axis(hexane: Sheet) -> None:
    clipped = {series.label for series in hexane.clipped()}
    for series in hexane.series:
        if series.label not in clipped:
            assert hexane.visible(series).max() <= hexane.deviation_limit()


def test_every_observation_is_shown_or_said_to_be_out_of_sight(store: db.Store, hexane: Sheet) -> None:
    sources = {seen.source for seen in store.component(HEXANE).observations() if seen.property == "vapour_pressure"}
    told = {series.label.removesuffix(", outlier") for series in (*hexane.series, *hexane.hidden)}
    assert sources <= told
    assert [series.label for series in hexane.hidden] == ["demo_cold"]
    assert "Outside the picture: demo_cold (-93.1 °C to -83.1 °C)." in caption(hexane)


# In words


def test_the_words_tell_grades_rule_sources_outliers_and_cautions(hexane: Sheet) -> None:
    assert (
        subtitle(hexane) == "Vapour pressure of the liquid; normal boiling point grade A, vapour-pressure curve grade B"
    )
    text = " ".join(caption(hexane))
    for told in (
        "Curve: Antoine equation, from demo_curves; valid from -25.0 °C to 92.0 °C, extrapolation allowed from",
        "Normal boiling point: consensus, from 5 independent sources.",
        "expanded uncertainty, coverage 95 %",
        "Judges are references that are never a source.",
        "demo_set_aside (a pressure over the solid)",
        "demo_c 28.73 °C (reduced pressure)",
        "Cautions. ",
        "Local codes and licensed practice",
    ):
        assert told in text, told
    assert marks(hexane)["normal_boiling_point"] == "normal boiling point\n68.73 ± 0.20 °C, grade A"


def test_an_estimate_says_so(store: db.Store) -> None:
    estimated = sheet(store.component(BUTANONE))
    assert "estimated vapour-pressure curve grade D" in subtitle(estimated)
    assert "estimated by corresponding states" in caption(estimated)[0]
    assert b"ESTIMATED CURVE" in svg(estimated)
    assert b"ESTIMATED CURVE" not in svg(sheet(store.component(HEXANE)))


# The SVG


def test_the_sheet_is_a_landscape_a4(drawn: ElementTree.Element) -> None:
    size_pt = [float(drawn.attrib[side].removesuffix("pt")) for side in ("width", "height")]
    assert size_pt == pytest.approx([297.0 * 72.0 / 25.4, 210.0 * 72.0 / 25.4])


def test_title_and_description_are_in_words(drawn: ElementTree.Element, hexane: Sheet) -> None:
    assert drawn.attrib["role"] == "img"
    name, description = drawn[0], drawn[1]
    assert (name.tag, name.text) == (f"{SVG}title", "Vapour pressure of hexane [110-54-3]")
    assert (name.attrib["id"], description.attrib["id"]) == (
        drawn.attrib["aria-labelledby"],
        drawn.attrib["aria-describedby"],
    )
    assert description.tag == f"{SVG}desc" and description.text is not None
    assert "normal boiling point 68.73 ± 0.20 °C, grade A." in description.text
    assert caption(hexane)[-1] in description.text


def test_letters_are_outlines(drawn: ElementTree.Element) -> None:
    assert drawn.findall(f".//{SVG}text") == []


def test_everything_lies_on_the_sheet(hexane: Sheet) -> None:
    picture = svg(hexane).decode()
    # Each text is moved to its place, and then made small or turned; the letters in it are only moved.
    places = re.findall(r"translate\((-?[\d.]+) (-?[\d.]+)\) (?:scale|rotate)", picture)
    assert len(places) > 50
    assert all(0.0 <= float(x) <= 842.0 and 0.0 <= float(y) <= 596.0 for x, y in places)


def test_a_name_is_never_markup_nor_a_formula(judged_store: Path, tmp_path: Path) -> None:
    name = '2-(<b>&"x") $\\frac{1}{2}$ ' + "methyl" * 40
    path = shutil.copy(judged_store, tmp_path / "strange.duckdb")
    with duckdb.connect(str(path)) as connection:
        connection.execute("UPDATE component SET name = ? WHERE cas = ?", [f"{name}\x07", HEXANE])
    with db.open(path) as store:
        root = ElementTree.fromstring(svg(sheet(store.component(HEXANE))))
    assert root[0].text == f"Vapour pressure of {name}\N{REPLACEMENT CHARACTER} [{HEXANE}]"


def test_the_same_store_gives_the_same_bytes_whatever_the_settings(
    judged_store: Path, hexane: Sheet, tmp_path: Path
) -> None:
    (tmp_path / "matplotlibrc").write_text("font.size: 20\nsvg.fonttype: none\naxes.grid: True\n")
    target = tmp_path / "hexane.svg"
    command = [sys.executable, "-m", "cutpoint.planner", "card", HEXANE, "--plot", str(target)]
    surroundings = os.environ | {"CUTPOINT_DB": str(judged_store), "MATPLOTLIBRC": str(tmp_path / "matplotlibrc")}
    done = subprocess.run(command, env=surroundings, capture_output=True, check=True)
    assert done.stderr == b""
    assert target.read_bytes() == svg(hexane)
    assert b"<dc:date>" not in target.read_bytes()


def test_drawing_leaves_the_settings_alone_and_needs_no_display(judged_store: Path, tmp_path: Path) -> None:
    script = f"""
import sys, matplotlib
from pathlib import Path
from cutpoint import db
from cutpoint.planner.plot import write_plot
def settings():  # asking for the backend would choose one
    return {{name: matplotlib.rcParams[name] for name in matplotlib.rcParams if name != "backend"}}
before = settings()
with db.open({str(judged_store)!r}) as store:
    write_plot(store.component({HEXANE!r}), Path({str(tmp_path)!r}, "hexane.svg"))
assert settings() == before
assert "matplotlib.pyplot" not in sys.modules
"""
    without_display = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    subprocess.run([sys.executable, "-c", script], env=without_display, check=True)


def test_the_command_line_starts_without_matplotlib() -> None:
    heavy = "assert not {'matplotlib', 'numpy', 'duckdb'} & set(sys.modules)"
    subprocess.run([sys.executable, "-c", f"import sys, cutpoint.planner.cli; {heavy}"], check=True)


def test_sources_differ_without_colour_too(hexane: Sheet) -> None:
    told = styles(hexane.series)
    assert set(told) == {series.label for series in hexane.series}
    assert len({(style["marker"], str(style["linestyle"])) for style in told.values()}) == len(told)
    labels = [str(entry.get_label()) for entry in legend(hexane)]
    assert len(labels) == len(set(labels))
    assert {label.removesuffix(" (judge, never a source)") for label in labels} > set(told)


# The command


def test_the_command_writes_the_picture_and_says_where(run: Run, tmp_path: Path) -> None:
    target = tmp_path / "a folder" / "Toluene.SVG"
    target.parent.mkdir()
    target.write_text("old")
    result = run("card", "toluene", "--plot", str(target))
    assert result.exit_code == 0, result.output
    assert f"The vapour-pressure curve is drawn in {target}.\n" in result.stdout
    assert ElementTree.parse(target).getroot().tag == f"{SVG}svg"
    assert list(target.parent.iterdir()) == [target]


def test_the_object_tells_the_path_only_where_one_was_asked_for(answer: Answer, tmp_path: Path) -> None:
    target = tmp_path / "toluene.svg"
    assert answer("card", "toluene", "--plot", str(target))["plot"] == str(target)
    assert target.exists()
    assert "plot" not in answer("card", "toluene")


@pytest.mark.parametrize("name", ["toluene.png", "toluene.pdf", "toluene", ".svg", "svg"])
def test_only_svg_is_drawn(error: Callable[..., Any], tmp_path: Path, name: str) -> None:
    told, status = error("card", "toluene", "--plot", str(tmp_path / name), "--store", str(tmp_path / "none.duckdb"))
    assert (told["kind"], status) == ("usage", 2)
    assert "ends in .svg" in told["message"] and name in told["message"]
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("place", ["missing/toluene.svg", "file/toluene.svg", "folder.svg"])
def test_a_place_that_cannot_be_written(error: Callable[..., Any], tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("a file")
    (tmp_path / "folder.svg").mkdir()
    told, status = error("card", "toluene", "--plot", str(tmp_path / place))
    assert (told["kind"], status) == ("usage", 2)
    assert str(tmp_path / place) in told["message"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder.svg"]
    assert list((tmp_path / "folder.svg").iterdir()) == []


def test_a_link_is_followed(store: db.Store, tmp_path: Path) -> None:
    (tmp_path / "link.svg").symlink_to(tmp_path / "target.svg")
    write_plot(store.component(TOLUENE), tmp_path / "link.svg")
    assert (tmp_path / "link.svg").is_symlink()
    assert (tmp_path / "target.svg").read_bytes().startswith(b"<?xml")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("petroleum ether", "is a stream"),
        ("carbon dioxide", "sublimes"),
        ("butan-2-one", "no vapour-pressure curve"),
        ("ammonium bromide", "was refused"),
    ],
)
def test_where_there_is_no_curve_nothing_is_written(
    error: Callable[..., Any], tmp_path: Path, query: str, said: str
) -> None:
    target = tmp_path / "picture.svg"
    target.write_text("old")
    told, status = error("card", query, "--plot", str(target))
    assert (told["kind"], status) == ("no_value", 1)
    assert said in told["message"]
    assert target.read_text() == "old"


def test_no_curve_is_an_error_of_the_module_too(store: db.Store, tmp_path: Path) -> None:
    with pytest.raises(NoValue, match="sublimes"):
        write_plot(store.component("124-38-9"), tmp_path / "picture.svg")
    assert list(tmp_path.iterdir()) == []

"""Boiling points that need words: estimates, what sublimes, what decomposes, what is not held."""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint import db
from cutpoint.db.matches import told_pressure
from cutpoint.schema.errors import NoValue, OutOfRange
from cutpoint.schema.properties import ATMOSPHERE_PA

# What the pipeline may or may not publish: a liquid's curve whose range begins above the melting point, one without a
# melting point, a component that decomposes and has a curve, an estimated curve through an estimated boiling point.
CHANGES = """
    UPDATE vapour_curve SET T_lowest_K = 220.0, T_min_K = 225.0 WHERE cas = '124-38-9';
    DELETE FROM evaluation WHERE cas = '67-72-1' AND property = 'melting_point';
    INSERT INTO vapour_curve SELECT '67-72-1', * EXCLUDE (cas) FROM vapour_curve WHERE cas = '56-81-5';
    INSERT INTO vapour_curve SELECT '57-50-1', * EXCLUDE (cas) FROM vapour_curve WHERE cas = '108-88-3';
    UPDATE evaluation SET n_sources = 0, grade = 'D' WHERE cas = '56-81-5';
    UPDATE vapour_curve SET T_lowest_K = T_min_K, T_highest_K = T_max_K WHERE cas = '67-64-1';
"""


@pytest.fixture(scope="module")
def changed(small_store_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[db.Store]:
    path = tmp_path_factory.mktemp("changed") / "components.duckdb"
    shutil.copy(small_store_path, path)
    with duckdb.connect(str(path)) as connection:
        connection.execute(CHANGES)
    with db.open(path) as opened:
        yield opened


def test_an_estimate_says_so(store: db.Store) -> None:
    glycerol = store.component("glycerol")
    normal, reduced = glycerol.boiling_point(), glycerol.boiling_point(10e3)
    assert (normal.grade, normal.rule, normal.remark, normal.n_sources) == ("B", "consensus", None, 3)
    assert (reduced.grade, reduced.rule, reduced.n_sources) == ("D", "corresponding-states estimate", 0)
    assert reduced.sources == ("demo_a", "demo_b")
    words = "estimated from the normal boiling point and the structure, since no correlation of its pressure is held"
    assert reduced.remark == words and words in str(reduced)
    told = glycerol.evaluated_vapour_pressure(450.0)
    assert (told.grade, told.rule, told.remark) == ("D", "corresponding-states estimate", words)


def test_what_is_no_estimate_does_not(store: db.Store) -> None:
    told = store.component("ethanol").boiling_point(50e3)
    assert (told.rule, told.remark, told.n_sources) == ("vapour-pressure curve", None, 5)
    assert store.component("ethanol").evaluated_vapour_pressure(300.0).remark is None


@given(pressure_Pa=st.floats(300.0, 7e6))
def test_the_uncertainty_is_the_band_over_the_slope(store: db.Store, pressure_Pa: float) -> None:
    """A difference quotient takes the place of the slope."""
    glycerol = store.component("glycerol")
    told = glycerol.boiling_point(pressure_Pa)
    width = 1e-4
    steeper = glycerol.boiling_point(pressure_Pa * (1 + width)).value - glycerol.boiling_point(pressure_Pa).value
    pressure = glycerol.evaluated_vapour_pressure(told.value)
    if not math.isclose(pressure_Pa, ATMOSPHERE_PA, rel_tol=1e-3):
        assert told.u95 == pytest.approx(pressure.u95 / pressure.value * steeper / math.log1p(width), rel=1e-3)


def test_what_sublimes_boils_under_pressure(store: db.Store) -> None:
    """Triple point of carbon dioxide: 216.59 K, 518 kPa; R. Span, W. Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509.

    From memory; at 1 MPa it boils at 233.0 K by the same equation.
    """
    carbon_dioxide = store.component("carbon dioxide")
    told = carbon_dioxide.boiling_point(1e6)
    assert told.value == pytest.approx(233.0, abs=0.5)
    assert (told.rule, told.sources) == ("vapour-pressure curve", ("demo_curves",))
    assert told.remark == "to be had under pressure alone: at atmospheric pressure it sublimes"
    for pressure_Pa in (None, 1e3, ATMOSPHERE_PA, 5.1e5):
        with pytest.raises(NoValue, match=r"sublimes.*sources give -78\.4 °C.*from about 51\d kPa and -56\.5 °C up"):
            carbon_dioxide.boiling_point(pressure_Pa)
    assert carbon_dioxide.boiling_point(5.3e5).value > 216.6
    with pytest.raises(OutOfRange, match="critical pressure"):
        carbon_dioxide.boiling_point(8e6)


def test_over_a_solid_the_pressure_is_lower(store: db.Store) -> None:
    carbon_dioxide = store.component("carbon dioxide")
    below, above = (carbon_dioxide.evaluated_vapour_pressure(T_K) for T_K in (210.0, 230.0))
    assert above.remark is None
    assert below.remark == "of the liquid below its melting point (-56.5 °C): over the solid it is lower"


def test_a_liquid_whose_curve_begins_above_the_melting_point(changed: db.Store) -> None:
    carbon_dioxide = changed.component("carbon dioxide")
    with pytest.raises(NoValue, match=r"from about 5\d\d kPa and -53\.1 °C up"):
        carbon_dioxide.boiling_point(5.3e5)
    assert carbon_dioxide.boiling_point(1e6).extrapolated is False
    assert "124-38-9" not in {other.cas for other in changed.near("glycerol", 500.0, 5.3e5).neighbours}


def test_what_sublimes_without_a_curve(store: db.Store) -> None:
    hexachloroethane = store.component("hexachloroethane")
    solid = r"over its solid is held from 26\.9 °C to 181\.9 °C, as demo_solids gives it"
    for pressure_Pa in (None, 1e6):
        with pytest.raises(
            NoValue, match=rf"sublimes.*184\.5 °C.*liquid.*not known; it melts at 186\.9 °C\. .*{solid}"
        ):
            hexachloroethane.boiling_point(pressure_Pa)
    with pytest.raises(NoValue, match=rf"vapour pressure is not known.* it sublimes on heating.*{solid}"):
        hexachloroethane.vapour_pressure(400.0)


def test_what_sublimes_without_a_melting_point(changed: db.Store) -> None:
    for pressure_Pa in (None, 1e6):
        with pytest.raises(NoValue, match="from which pressure on it melts is not known; no melting point is held"):
            changed.component("hexachloroethane").boiling_point(pressure_Pa)
    assert "67-72-1" not in {other.cas for other in changed.near("glycerol", 1.0, 50e3).neighbours}


def test_what_decomposes_may_boil_under_reduced_pressure(store: db.Store, changed: db.Store) -> None:
    with pytest.raises(NoValue, match=r"decomposes before it boils at 101\.325 kPa.*no vapour-pressure curve is held"):
        store.component("sucrose").boiling_point()
    with pytest.raises(NoValue, match=r"no property at all\. At atmospheric pressure it decomposes on heating"):
        store.component("sucrose").boiling_point(1e3)
    sucrose = changed.component("sucrose")
    with pytest.raises(NoValue, match="under reduced pressure, so ask for a lower one"):
        sucrose.boiling_point(2e5)
    told = sucrose.boiling_point(10e3)
    assert told.remark == "to be had only if it lasts: at atmospheric pressure it decomposes before it boils"
    assert "57-50-1" in {other.cas for other in changed.near("toluene", 1.0, 50e3).neighbours}
    assert "57-50-1" not in {other.cas for other in changed.near("toluene", 1.0, 150e3).neighbours}


def test_a_curve_that_may_not_be_extrapolated(changed: db.Store) -> None:
    with pytest.raises(OutOfRange, match=r"valid from -13\.0 °C .* to 55\.0 °C \(97\.6 kPa\), and not extrapolated\."):
        changed.component("acetone").boiling_point(2e5)


def test_an_estimate_through_an_estimate(changed: db.Store) -> None:
    glycerol = changed.component("glycerol")
    assert glycerol.boiling_point().n_sources == glycerol.boiling_point(50e3).n_sources == 0
    told = changed.near("o-xylene", 200.0)
    assert {other.cas for other in told.neighbours if other.is_estimate} == {"56-81-5"}


@pytest.mark.parametrize(
    ("pressure_Pa", "digits", "words"),
    [
        (101_325.0, 6, "101.325 kPa"),
        (1.079e6, 3, "1080 kPa"),
        (99.96, 3, "100 Pa"),
        (0.316, 3, "0.316 Pa"),
        (2.5e-6, 2, "2.5e-06 Pa"),
    ],
)
def test_pressures_in_words(pressure_Pa: float, digits: int, words: str) -> None:
    assert told_pressure(pressure_Pa, digits) == words

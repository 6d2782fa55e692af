"""Relative volatility and plates at total reflux against published and textbook numbers for ideal pairs."""

from __future__ import annotations

import pytest

from cutpoint import db


def test_benzene_and_toluene_at_both_ends(store: db.Store) -> None:
    """From the Antoine equations of the National Bureau of Standards, to 2 %: 1 % for each of two pressures.

    C. B. Willingham, W. J. Taylor, J. M. Pignocco, F. D. Rossini, J. Res. Natl. Bur. Stand. 35 (1945) 219-244:
    log10(p/mmHg) = A - B/(t/°C + C) with 6.90565, 1211.033, 220.790 for benzene and 6.95464, 1344.800, 219.482
    for toluene (constants looked up, their attribution from memory).
    """

    def benzene_mmHg(t_degC: float) -> float:
        return float(10.0 ** (6.90565 - 1211.033 / (t_degC + 220.790)))

    def toluene_mmHg(t_degC: float) -> float:
        return float(10.0 ** (6.95464 - 1344.800 / (t_degC + 219.482)))

    volatility = store.pair("benzene", "toluene").relative_volatility
    assert volatility.a_rich == pytest.approx(760.0 / toluene_mmHg(80.10), rel=0.02)
    assert volatility.a_lean == pytest.approx(benzene_mmHg(110.62) / 760.0, rel=0.02)


def test_benzene_and_toluene_textbook_mean(store: db.Store) -> None:
    """2.4 to 2.5 over the column at 1 atm, as textbooks round it.

    W. L. McCabe, J. C. Smith, P. Harriott, Unit Operations of Chemical Engineering, 7th edition, McGraw-Hill 2005,
    chapter 21 (from memory). Half a unit of the last decimal on either side.
    """
    middle = store.pair("benzene", "toluene").relative_volatility.middle
    assert middle is not None
    assert 2.35 <= middle <= 2.55


def test_benzene_and_toluene_minimum_plates(store: db.Store) -> None:
    """6.7 equilibrium stages, still counted, for 95 mol % benzene over 4 mol % at 1 atm.

    Read from a McCabe-Thiele diagram, hence to 0.2. E. J. Henley, J. D. Seader, Equilibrium-Stage Separation
    Operations in Chemical Engineering, Wiley 1981, chapter 8 (problem looked up, its attribution from memory).
    """
    pair = store.pair("benzene", "toluene", purity_a=0.95, purity_b=0.96)
    assert pair.minimum_plates == pytest.approx(6.7, abs=0.2)
    assert pair.verdict == "simple distillation"


def test_heptane_and_methylcyclohexane_the_column_testers_pair(store: db.Store) -> None:
    """Relative volatility 1.07 at 1 atm, to one unit of the last decimal: 0.01 is 0.3 K of boiling temperature.

    H. A. Beatty, G. Calingaert, Ind. Eng. Chem. 26 (1934) 504-508 (from memory).
    """
    pair = store.pair("heptane", "methylcyclohexane")
    assert pair.relative_volatility.middle == pytest.approx(1.07, abs=0.01)
    assert pair.verdict == "close-boiling"

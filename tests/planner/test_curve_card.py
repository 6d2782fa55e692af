"""What a card says of the vapour-pressure curve."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb
from click.testing import Result

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]


def said(run: Run, *arguments: str) -> str:
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def test_a_chosen_curve(run: Run) -> None:
    page = said(run, "card", "ethanol")
    for words in (
        "The best single correlation, that of demo_curves (antoine), compared with 1 other source. Grade B.",
        "It is valid from -57.0 °C to 80.0 °C; beyond that extrapolated, and marked so, down to -78.6 °C and",
        "at boils at pressure known to",
        "0.1 kPa (0.7501 mmHg) -33.07 ± 0.41 °C ± 4 %",
        "10 kPa (75.01 mmHg) 29.25 ± 0.36 °C ± 2 %",
        "101.3 kPa (760 mmHg) 78.29 ± 0.20 °C",
        "1000 kPa (7501 mmHg) – –",
        "Why a line has no answer, `cutpoint boil` says.",
    ):
        assert words in page, words


def test_an_estimated_curve(run: Run) -> None:
    page = said(run, "card", "glycerol")
    for words in (
        "Estimated from the normal boiling point and the structure by corresponding states (wagner_2.5_5): "
        "no correlation of its vapour pressure is held. Grade D.",
        "down to 106.9 °C; farther out no answer is given.",
        "°C ± 4 % extrapolated",
    ):
        assert words in page, words
    assert "cutpoint boil` says" not in page


def test_a_curve_that_is_not_used_and_none(run: Run) -> None:
    assert "It is not used: every boiling point was refused (boils below" in said(run, "card", "ammonium bromide")
    assert "None: no correlation of its vapour pressure is held." in said(run, "card", "butan-2-one")


def test_a_boiling_point_below_the_melting_point(run: Run, small_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "components.duckdb"
    shutil.copy(small_store, store)
    with duckdb.connect(str(store)) as connection:
        connection.execute(
            "INSERT INTO evaluation VALUES ('108-88-3', 'melting_point', 320, 0.1, 'K', NULL, 'D', 1, 320, 320, 'lone')"
        )
    page = said(run, "card", "toluene", "--store", str(store))
    assert "± 2 % a solid there" in page
    assert "± 3 % extrapolated, a solid there" in page


def test_card_fields_of_the_curve(answer: Answer) -> None:
    curve = answer("card", "ethanol")["curve"]
    assert curve["T_lowest_K"] < curve["T_min_K"] < curve["T_max_K"] < curve["T_highest_K"]
    assert curve["rule"] == "chosen"
    assert len(curve["band_u95_relative"]) == len(curve["band_pressures_Pa"]) == 8
    assert curve["band_pressures_Pa"][5] == 101325.0


def test_boil_from_an_estimate(run: Run, answer: Answer) -> None:
    told = answer("boil", "glycerol", "--at", "10 kPa")
    assert (told["grade"], told["rule"]) == ("D", "corresponding-states estimate")
    assert told["remark"].startswith("estimated from the normal boiling point and the structure")
    page = said(run, "boil", "glycerol", "--at", "10 kPa")
    assert "That is estimated from the normal boiling point and the structure, since no correlation" in page
    assert "From demo_a, demo_b for the normal boiling point, and the structure for the rest." in page
    assert "the structure" not in said(run, "boil", "glycerol")


def test_near_marks_estimates(run: Run, answer: Answer) -> None:
    told = answer("near", "o-xylene", "--at", "50 kPa", "--within", "160 K")
    assert [other["cas"] for other in told["neighbours"] if other["is_estimate"]] == ["56-81-5"]
    assert "Of those shown 1 is an estimate, of grade D" in said(
        run, "near", "o-xylene", "--at", "50 kPa", "--within", "160 K"
    )
    own = said(run, "near", "glycerol", "--at", "50 kPa", "--within", "160 K")
    assert "Its own boiling point is estimated from the normal boiling point and the structure" in own

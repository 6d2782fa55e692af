"""The answers of every command that asks the store: objects for machines, pages for people."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from click.testing import Result

from cutpoint.planner.units import standard_atmosphere_pressure_Pa

Answer = Callable[..., dict[str, Any]]
Run = Callable[..., Result]

IDENTITY = {"cas", "name", "formula", "inchikey", "molar_mass_g_mol", "kind"}


def unwrapped(page: str) -> str:
    """The page as one line."""
    return " ".join(page.split())


def test_find(answer: Answer) -> None:
    found = answer("find", "Ethyl acetate")
    assert found["query"] == "Ethyl acetate"
    match = found["matches"][0]
    assert match.keys() >= IDENTITY | {"boiling_point_K", "boiling_point_u95_K", "grade", "matched_by", "score"}
    assert (match["cas"], match["matched_by"], match["score"]) == ("141-78-6", "name", 1.0)


def test_find_limits_and_ranks(answer: Answer) -> None:
    assert len(answer("find", "C4H8O2")["matches"]) == 3
    assert len(answer("find", "C4H8O2", "--limit", "1")["matches"]) == 1


def test_find_says_when_it_matched_by_spelling(answer: Answer, run: Run) -> None:
    match = answer("find", "etyl acetat")["matches"][0]
    assert (match["cas"], match["matched_by"]) == ("141-78-6", "spelling")
    assert 0.0 < match["score"] < 1.0
    page = run("find", "etyl acetat").output
    assert "Nothing is called “etyl acetat”. The nearest spellings are" in page
    assert "141-78-6" in page and "77.10 ± 0.30 °C" in page and f"{match['score']:.2f}" in page


def test_card(answer: Answer) -> None:
    card = answer("card", "diethyl ether")
    assert card.keys() >= IDENTITY | {"evaluations", "curve", "hazards", "cautions"}
    assert "observations" not in card
    held = {evaluation["property"]: evaluation for evaluation in card["evaluations"]}
    assert held["normal_boiling_point"].keys() >= {"property", "value", "u95", "unit", "grade", "n_sources", "rule"}
    assert held["normal_boiling_point"]["value"] == 307.6
    assert card["curve"]["T_min_K"] < card["curve"]["T_max_K"]
    assert {"flash_point", "exposure_limit", "peroxide_former"} < {hazard["property"] for hazard in card["hazards"]}
    assert all(isinstance(caution, str) for caution in card["cautions"]) and card["cautions"]


def test_card_without_a_curve(answer: Answer, run: Run) -> None:
    assert answer("card", "butan-2-one")["curve"] is None
    page = run("card", "butan-2-one").output
    assert "None: no correlation of its vapour pressure is held." in page


def test_evidence_holds_every_observation_outliers_too(answer: Answer, run: Run) -> None:
    observations = answer("card", "hexane", "--evidence")["observations"]
    fields = {"property", "value", "unit", "source", "source_row", "status", "reason"}
    assert all(seen.keys() >= fields for seen in observations)
    assert {(seen["source"], seen["status"]) for seen in observations} == {
        ("demo_a", "accepted"),
        ("demo_b", "accepted"),
        ("demo_c", "outlier"),
        ("demo_curves", "accepted"),
    }
    page = run("card", "hexane", "--evidence").output
    for told in ("28.73 °C", "68.73 °C", "outlier: reduced pressure", "antoine, 270 to 400 K"):
        assert told in page


def test_a_card_for_people(run: Run) -> None:
    page = unwrapped(run("card", "ethyl acetate").output)
    for told in ("ethyl acetate [141-78-6]", "C4H8O2, 88.106 g/mol", "77.10 ± 0.30 °C", "350.25 K", "3830 ± 38 kPa"):
        assert told in page
    for told in ("valid from 16.0 °C to 76.0 °C", "Grades: A ± 0.5 K"):
        assert told in page


def test_a_card_shows_hazards_and_one_block_of_cautions(run: Run) -> None:
    page = unwrapped(run("card", "diethyl ether").output)
    for told in ("-45.0 °C", "-47.0 °C", "1.9 vol %", "1.7 vol %", "1200 mg/m³", "peroxide former"):
        assert told in page
    assert page.count(" Cautions ") == 1


def test_boil_at_one_atmosphere_by_default(answer: Answer) -> None:
    boiling = answer("boil", "ethyl acetate")
    assert boiling.keys() >= {"cas", "pressure_Pa", "temperature_K", "u95_K", "grade", "extrapolated"}
    assert (boiling["pressure_Pa"], boiling["temperature_K"], boiling["u95_K"]) == (101_325.0, 350.25, 0.3)
    assert boiling["extrapolated"] is False


def test_boil_at_a_pressure_or_an_altitude(answer: Answer) -> None:
    at_84_kPa = answer("boil", "ethyl acetate", "--at", "84 kPa")
    assert at_84_kPa["pressure_Pa"] == 84_000.0
    assert 340.0 < at_84_kPa["temperature_K"] < 350.0
    at_1600_m = answer("boil", "ethyl acetate", "--altitude", "1600m")
    assert at_1600_m["pressure_Pa"] == standard_atmosphere_pressure_Pa(1600.0)
    assert at_1600_m["temperature_K"] < at_84_kPa["temperature_K"]


def test_boil_for_people(run: Run) -> None:
    page = unwrapped(run("boil", "ethyl acetate", "--at", "760 mmHg").output)
    assert "ethyl acetate [141-78-6] boils at 77.10 ± 0.30 °C (350.25 K) at 101.3 kPa" in page
    assert "(760 mmHg), grade A." in page
    assert "Cautions" in page


def test_near(answer: Answer, run: Run) -> None:
    found = answer("near", "hexane", "--within", "10 K")
    assert found.keys() >= {"cas", "pressure_Pa", "within_K", "neighbours"}
    assert (found["cas"], found["pressure_Pa"], found["within_K"]) == ("110-54-3", 101_325.0, 10.0)
    neighbour = next(other for other in found["neighbours"] if other["cas"] == "141-78-6")
    assert neighbour.keys() >= {"cas", "name", "boiling_point_K", "delta_K", "grade"}
    assert neighbour["delta_K"] == pytest.approx(350.25 - 341.88)
    assert answer("near", "hexane", "--within", "10K", "--at", "84 kPa")["pressure_Pa"] == 84_000.0
    page = run("near", "hexane", "--within", "10K").output
    assert "+8.37 K" in page and "ethyl acetate" in page


def test_pair(answer: Answer) -> None:
    judged = answer("pair", "hexane", "ethyl acetate")
    fields = {"a", "b", "pressure_Pa", "delta_boiling_point_K", "delta_u95_K", "relative_volatility", "azeotrope"}
    assert judged.keys() >= fields | {"minimum_plates", "verdict", "reasons"}
    assert (judged["a"]["cas"], judged["b"]["cas"]) == ("110-54-3", "141-78-6")
    assert judged["relative_volatility"].keys() == {"a_lean", "middle", "a_rich"}
    assert judged["verdict"] == "azeotrope"
    contract = {"basis", "kind", "temperature_K", "mass_fraction_a", "mole_fraction_a", "source"}
    assert judged["azeotrope"].keys() >= contract
    assert judged["reasons"] and judged["cautions"]


def test_a_pair_takes_purities_and_a_basis(answer: Answer) -> None:
    plain = answer("pair", "benzene", "toluene")["minimum_plates"]
    assert answer("pair", "benzene", "toluene", "--purity", "95%", "--basis", "predicted")["minimum_plates"] == plain
    both = answer("pair", "benzene", "toluene", "--purity", "99%")
    assert (both["purity_a"], both["purity_b"]) == (0.99, 0.99)
    each = answer("pair", "benzene", "toluene", "--purity", "99%", "--purity", "90%")
    assert (each["purity_a"], each["purity_b"]) == (0.99, 0.90)
    assert both["minimum_plates"] > each["minimum_plates"] > 0.0


def test_a_pair_for_people_says_the_verdict_first_and_each_caution_once(run: Run, answer: Answer) -> None:
    page = run("pair", "hexane", "ethyl acetate", "--at", "84 kPa").output
    assert page.startswith("hexane and ethyl acetate at 84 kPa (630.1 mmHg): azeotrope.")
    cautions = answer("pair", "hexane", "ethyl acetate")["cautions"]
    assert len(cautions) == len(set(cautions))
    assert any("hexane" in caution for caution in cautions)
    assert sum("local codes" in caution.lower() for caution in cautions) == 1


def test_near_and_pair_take_an_altitude(answer: Answer) -> None:
    pressure_Pa = standard_atmosphere_pressure_Pa(1600.0)
    assert answer("near", "hexane", "--altitude", "1600m")["pressure_Pa"] == pressure_Pa
    assert answer("pair", "hexane", "ethyl acetate", "--altitude", "1600m")["pressure_Pa"] == pressure_Pa


def test_lists_say_in_one_line_what_is_hazardous(run: Run, answer: Answer) -> None:
    page = unwrapped(run("find", "C4H10O").output)
    assert "Known hazards of the 1 shown: flammable 1, harmful to breathe 1, forming peroxides 1; cautions of" in page
    assert "Known hazards" not in run("find", "water").output
    page = unwrapped(run("near", "hexane", "--within", "1K").output)
    assert (
        "Known hazards of the 1 shown: flammable 1, forming peroxides 1; cautions of each: `cutpoint card CAS`" in page
    )
    assert "No hazard data of hexane are held" in page
    assert answer("near", "toluene")["cautions"] == answer("card", "toluene")["cautions"]


def test_boil_says_what_would_be_a_solid(run: Run, answer: Answer) -> None:
    page = unwrapped(run("boil", "1,4-dioxane", "--at", "2 kPa").output)
    assert "below the melting point (11.8 °C): a solid there; it would sublime and block a condenser" in page
    assert "11.8 °C" in answer("boil", "1,4-dioxane", "--at", "2 kPa")["remark"]
    assert answer("boil", "1,4-dioxane")["remark"] is None


def test_a_pair_of_one_name_is_told_apart(run: Run, answer: Answer) -> None:
    page = unwrapped(run("pair", "78918-91-9", "589-34-4").output)
    assert "boiling point of 3-methylhexane [589-34-4] minus that of 3-methylhexane [78918-91-9]" in page
    assert answer("pair", "78918-91-9", "589-34-4")["a"] == {"cas": "78918-91-9", "name": "3-methylhexane"}


def test_the_card_of_a_stream_shows_hazards_and_cautions(run: Run) -> None:
    page = unwrapped(run("card", "petroleum ether").output)
    assert "exposure limit (TWA)" in page and "300 ppm" in page and "Flash point -40.0 °C" in page

"""Lines as labels and safety data sheets print them, in four languages; the products are invented."""

from __future__ import annotations

import pytest

from cutpoint.planner.labels.reading import LabelLine, read_label
from cutpoint.schema.errors import WrongLabel

# printed line; name, CAS number, smallest and largest percentage
PRINTED = [
    ("Acetone 30–50 %", "Acetone", None, 30, 50),
    ("acetone (67-64-1) 30 - 50%", "acetone", "67-64-1", 30, 50),
    ("n-Hexane, CAS 110-54-3, EC 203-777-6, < 5 %, Flam. Liq. 2 H225, Asp. Tox. 1 H304", "n-Hexane", "110-54-3", 0, 5),
    ("2-propanol ≤5%", "2-propanol", None, 0, 5),
    ("butan-2-one <=5", "butan-2-one", None, 0, 5),
    ("1,1,1-trichloroethane ≥ 25 - < 40", "1,1,1-trichloroethane", None, 25, 40),
    ("ethyl acetate >= 25 %", "ethyl acetate", None, 25, 100),
    ("Xylene (mixture of isomers)  1330-20-7  2.5-10", "Xylene (mixture of isomers)", "1330-20-7", 2.5, 10),
    ("C9-C11 isoalkanes, <2% aromatics 30-50 %", "C9-C11 isoalkanes, <2% aromatics", None, 30, 50),
    (
        "Hydrocarbons, C9-C12, isoalkanes, cyclics, aromatics (2-25%) | 64742-48-9 | 919-446-0 | 10 - <25",
        "Hydrocarbons, C9-C12, isoalkanes, cyclics, aromatics (2-25%)", "64742-48-9", 10, 25,
    ),
    ("Naphtha (petroleum), hydrotreated light (< 0.1 % benzene) 25-50 %",
     "Naphtha (petroleum), hydrotreated light (< 0.1 % benzene)", None, 25, 50),
    ("ethanol approx. 40 %", "ethanol", None, 36, 44),
    ("methanol 40% w/w", "methanol", None, 40, 40),
    ("propane up to 5 %", "propane", None, 0, 5),
    ("propane less than 5%", "propane", None, 0, 5),
    ("butane min. 90 %", "butane", None, 90, 100),
    ("butane more than 50", "butane", None, 50, 100),
    ("toluene between 10 and 20 %", "toluene", None, 10, 20),
    ("toluene 10 to 20 %", "toluene", None, 10, 20),
    ("toluene 10...20", "toluene", None, 10, 20),
    ("toluene 10 % - 20 %", "toluene", None, 10, 20),
    ("toluene ≥ 10 %, < 20 %", "toluene", None, 10, 20),
    ("toluene min. 10 max. 20 %", "toluene", None, 10, 20),
    ("toluene 15 ± 5 %", "toluene", None, 10, 20),
    ("benzene 0.1 ppm", "benzene", None, 1e-5, 1e-5),
    ("benzene 20 mg/kg", "benzene", None, 2e-3, 2e-3),
    ("benzene traces", "benzene", None, 0, 0.1),
    ("Polysorbate 80 5 %", "Polysorbate 80", None, 5, 5),
    ("Petroleum ether 40-60 °C 10-20%", "Petroleum ether 40-60 °C", None, 10, 20),
    ("propan-1-ol\t71-23-8\t200-746-9\t10-20\tFlam. Liq. 2; H225 | Eye Dam. 1; H318", "propan-1-ol", "71-23-8", 10, 20),
    ("30-50 % | acetone | 67-64-1", "acetone", "67-64-1", 30, 50),
    ("67-64-1   30-50   acetone", "acetone", "67-64-1", 30, 50),
    ("67-64-1 < 5 %", "67-64-1", "67-64-1", 0, 5),
    ("• Ethyl acetate ..... 25 %", "Ethyl acetate", None, 25, 25),
    ("3) acetone: 20 %", "acetone", None, 20, 20),
    ("acetone – 20 %", "acetone", None, 20, 20),
    ("Toluol CAS-Nr.: 108-88-3 < 5 %", "Toluol", "108-88-3", 0, 5),
    ("Xylol (Isomerengemisch), CAS 1330-20-7, EG-Nr. 215-535-7, Index-Nr. 601-022-00-9, 2,5 - 10 %, Acute Tox. 4 H312",
     "Xylol (Isomerengemisch)", "1330-20-7", 2.5, 10),
    ("Ethanol ca. 40%", "Ethanol", None, 36, 44),
    ("Ethylacetat 10 bis 20 Gew.-%", "Ethylacetat", None, 10, 20),
    ("Wasser mindestens 90 %", "Wasser", None, 90, 100),
    ("Butanon höchstens 2,5 Prozent", "Butanon", None, 0, 2.5),
    ("Cyclohexan zwischen 10 und 20 % (GHS02, GHS07)", "Cyclohexan", None, 10, 20),
    ("Aceton Spuren", "Aceton", None, 0, 0.1),
    ("acétate d’éthyle 10 à 20 % en poids", "acétate d'éthyle", None, 10, 20),
    ("Éthanol (n° CAS 64-17-5) moins de 5 %", "Éthanol", "64-17-5", 0, 5),
    ("éthanol N° CE 200-578-6 environ 40 %", "éthanol", None, 36, 44),
    ("toluène entre 10 et 20 pour cent", "toluène", None, 10, 20),
    ("hexane jusqu’à 5 %", "hexane", None, 0, 5),
    ("acetona de 10 a 20 % p/p", "acetona", None, 10, 20),
    ("tolueno menos de 5 %", "tolueno", None, 0, 5),
    ("etanol (CAS número 64-17-5) más de 50 por ciento", "etanol", "64-17-5", 50, 100),
    ("metanol aprox. 40 %", "metanol", None, 36, 44),
    ("xileno entre 10 y 20 % en peso", "xileno", None, 10, 20),
]  # fmt: skip


def the_line(text: str, basis: str = "mass") -> LabelLine:
    """The only line of a label."""
    (line,) = read_label(text, basis=basis).lines
    return line


@pytest.mark.parametrize(("text", "name", "cas", "lower", "upper"), PRINTED, ids=[row[0] for row in PRINTED])
def test_a_line_is_read_as_it_is_printed(text: str, name: str, cas: str | None, lower: float, upper: float) -> None:
    line = the_line(text)
    assert (line.name, line.cas) == (name, cas)
    assert (100 * line.lower, 100 * line.upper) == pytest.approx((lower, upper))
    assert not (line.is_balance or line.is_secret)


@pytest.mark.parametrize(
    "share",
    [
        "40 vol%",
        "40 Vol.-%",
        "40 % (v/v)",
        "40 % v/v",
        "40 % by volume",
        "40 Volumenprozent",
        "40 % vol",
        "40 % en volume",
    ],
)
def test_percent_by_volume_is_told_from_percent_by_mass(share: str) -> None:
    assert the_line(f"ethanol {share}", "volume").upper == 0.4
    with pytest.raises(WrongLabel, match="Line 1: the label prints percent by volume, and the recipe reads it by mass"):
        read_label(f"ethanol {share}")


@pytest.mark.parametrize(
    "share", ["40 wt%", "40 Gew.-%", "40 % (w/w)", "40 % m/m", "40 % by weight", "400 g/kg", "40 % en poids"]
)
def test_percent_by_mass_contradicts_a_recipe_by_volume(share: str) -> None:
    assert the_line(f"ethanol {share}").upper == pytest.approx(0.4)
    with pytest.raises(WrongLabel, match="percent by mass, and the recipe reads it by volume"):
        read_label(f"ethanol {share}", basis="volume")


@pytest.mark.parametrize(
    "text",
    ["water balance", "Balance: water", "water remainder", "Wasser Rest", "Wasser ad 100 %", "water q.s. to 100 %",
     "water q.s.", "eau q.s.p. 100 %", "eau qsp 100%", "agua c.s.p. 100 %", "agua resto", "eau solde"],
)  # fmt: skip
def test_the_rest_may_be_anything(text: str) -> None:
    line = the_line(text)
    assert line.is_balance and not line.is_secret
    assert (line.lower, line.upper) == (0.0, 1.0)
    assert line.name in {"water", "Wasser", "eau", "agua"}


@pytest.mark.parametrize(
    ("text", "name"),
    [("acrylic resin, trade secret", "acrylic resin"), ("Harz (Betriebsgeheimnis)", "Harz"), ("glycerol", "glycerol"),
     ("parfum, confidentiel", "parfum"), ("trade secret", "trade secret"), ("1,4-dioxane", "1,4-dioxane"),
     ("acetone CAS 67-64-1", "acetone"), ("alkanes, C 10-13", "alkanes, C 10-13")],
)  # fmt: skip
def test_a_share_that_is_not_told_may_be_anything(text: str, name: str) -> None:
    line = the_line(text)
    assert line.is_secret and not line.is_balance
    assert (line.name, line.lower, line.upper) == (name, 0.0, 1.0)


def test_a_secret_with_a_share_keeps_the_share() -> None:
    line = the_line("proprietary polymer 10-20 %")
    assert (line.lower, line.upper, line.is_secret) == (0.1, 0.2, False)


def test_what_vague_words_were_taken_for_is_told() -> None:
    assert the_line("ethanol approx. 40 %").remark == "'approx. 40 %' is taken as 36 % to 44 %"
    assert the_line("benzene traces").remark == "'traces' is taken as 0 to 0.1 %"
    assert the_line("ethanol 40 %").remark is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("acetone 50-30 %", "the range '50-30 %' runs backwards"),
        ("acetone 150 %", "'150 %' is above 100 %"),
        ("acetone 150", "'150' is above 100 %. If the number belongs to the name"),
        ("acetone -5 %", "'-5' is negative"),
        ("acetone 30 % 40 %", "'30 %' and '40 %' are two shares"),
        ("acetone | 30 | 40", "'30' and '40' are two shares"),
        ("acetone 67-64-1 30 60", "'30' is left over"),
        ("acetone 30 60", "'30' may be a share or belong to the name"),
        ("acetone: toluene 1:1", "'1' may be a share"),
        ("hexane 95 %+", "write '> 95 %' for more than that"),
        ("hydrogen peroxide (35 %) 10-20 %", "'35 %' and '10-20 %' are two shares"),
        ("hexane 110-54-4 20 %", "its check digit would have to be 3"),
        ("hexane CAS 110-54-33 20 %", "'110-54-33' is no CAS number"),
        ("hexane 110-54-3 acetone 67-64-1 20 %", "110-54-3 and 67-64-1 stand on one line"),
        ("ethanol 790 g/L", "mass per volume"),
        ("ethanol 10 % w/v", "mass per volume"),
        ("ethanol 10 mol%", "by amount of substance"),
        ("benzene 1,000 ppm", "write it without a sign between thousands"),
        ("30 acetone", "'30' may be a share or belong to the name"),
        ("Petroleum ether 40-60", "may be a share or a boiling range"),
        ("10-20-30 % acetone", "percentage cannot be read"),
        ("acetone 10-20 %-30 %", "is no share"),
        ("acetone < 10 - 20 %", "in several ways"),
        ("acetone 10 % w/w - 20 % v/v", "mixes percent by mass and by volume"),
        ("30 - 50 %", "it names no ingredient"),
        ("balance", "it names no ingredient"),
    ],
)
def test_what_cannot_be_read_is_refused(text: str, told: str) -> None:
    with pytest.raises(WrongLabel) as refusal:
        read_label(text, first_line=7)
    assert refusal.value.message.startswith(f"Line 7, {text!r}: ")
    assert told in refusal.value.message

"""Separation sheets made by hand; scenarios and figures are invented, though of the size that a bench would see."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

from cutpoint.planner.stills.results import (
    Cost,
    Duty,
    EndSign,
    Fraction,
    HeadCurve,
    Holding,
    IngredientRow,
    Interval,
    Opening,
    PairRow,
    Plan,
    Product,
    RefluxRow,
    Share,
)

FRACTIONS = ("fore-run", "product", "after-run", "residue")


def about(value: float, u95: float) -> Interval:
    """An interval that lies evenly about its value."""
    return Interval(value, value - u95, value + u95)


def _curve(start_K: float, end_K: float, step_at: float, total_m3: float, points: int = 81) -> HeadCurve:
    """A head reading that climbs from one plateau to another where a share of the volume is over."""
    shares = [place / (points - 1) for place in range(points)]
    rise = [1.0 / (1.0 + math.exp(-(share - step_at) / 0.03)) for share in shares]
    reading_K = [start_K + 1.5 * share + (end_K - start_K) * up for share, up in zip(shares, rise, strict=True)]
    spread_K = [0.4 + 6.0 * up * (1.0 - up) for up in rise]
    return HeadCurve(
        volume_m3=tuple(total_m3 * share for share in shares),
        reading_K=tuple(reading_K),
        low_K=tuple(map(lambda T_K, u_K: T_K - u_K, reading_K, spread_K)),
        high_K=tuple(map(lambda T_K, u_K: T_K + u_K, reading_K, spread_K)),
        pot_K=tuple(start_K + 4.0 + (end_K - start_K + 3.0) * share**0.7 for share in shares),
    )


def _ingredient(
    printed: str, name: str, cas: str | None, share: Interval, boils_K: float | None, u95_K: float | None, grade: str
) -> IngredientRow:
    return IngredientRow(printed, name, cas, "component", share, boils_K, None, u95_K, grade, None)


def ordinary() -> Plan:
    """A teaching lab's used eluent at 84 kPa; the product is reached."""
    ethyl_acetate, hexane, acetone = ("ethyl acetate", "141-78-6"), ("hexane", "110-54-3"), ("acetone", "67-64-1")
    return Plan(
        title="Used eluent of the teaching lab",
        pressure_Pa=84_000.0,
        altitude_m=1600.0,
        n_compositions=400,
        plates=4,
        column="Vigreux column, 40 cm",
        reflux_ratio=5.0,
        thermometer_correction_K=0.5,
        feed_mass_kg=about(0.776, 0.012),
        feed_volume_m3=about(1.0e-3, 0.004e-3),
        charge_volume_m3=about(1.0e-3, 0.004e-3),
        ingredients=(
            _ingredient("hexane", *hexane, Interval(0.35, 0.30, 0.40), 335.98, 0.10, "A"),
            _ingredient("etyl acetate", *ethyl_acetate, Interval(0.58, 0.50, 0.66), 344.64, 0.12, "A"),
            replace(
                _ingredient("acetone 5-10 %", *acetone, Interval(0.07, 0.05, 0.10), 324.05, 0.11, "A"),
                remark="the rest of the label to 100 %",
            ),
        ),
        opening=None,
        curve=_curve(327.5, 344.6, 0.55, 0.94e-3),
        fractions=(
            Fraction(
                "fore-run",
                Interval(327.2, 326.6, 327.9),
                Interval(342.1, 341.2, 343.0),
                about(0.0, 0.0),
                Interval(0.56e-3, 0.49e-3, 0.64e-3),
                Interval(0.56e-3, 0.49e-3, 0.64e-3),
                about(0.398, 0.05),
                (
                    Share(*hexane, about(0.60, 0.05)),
                    Share(*ethyl_acetate, about(0.28, 0.05)),
                    Share(*acetone, about(0.12, 0.03)),
                ),
            ),
            Fraction(
                "product",
                Interval(342.1, 341.2, 343.0),
                Interval(345.1, 344.9, 345.4),
                Interval(0.56e-3, 0.49e-3, 0.64e-3),
                Interval(0.94e-3, 0.93e-3, 0.95e-3),
                Interval(0.38e-3, 0.30e-3, 0.45e-3),
                about(0.342, 0.07),
                (Share(*ethyl_acetate, Interval(0.987, 0.972, 0.995)), Share(*hexane, Interval(0.013, 0.005, 0.028))),
            ),
            Fraction(
                "residue",
                None,
                None,
                Interval(0.94e-3, 0.93e-3, 0.95e-3),
                Interval(1.0e-3, 0.996e-3, 1.004e-3),
                about(0.06e-3, 0.01e-3),
                about(0.054, 0.009),
                (Share(*ethyl_acetate, Interval(0.9992, 0.998, 0.9999)),),
            ),
        ),
        product=Product(
            "ethyl acetate",
            0.98,
            True,
            Interval(0.987, 0.972, 0.995),
            Interval(0.76, 0.63, 0.85),
            Interval(0.38e-3, 0.30e-3, 0.45e-3),
            about(0.342, 0.07),
            0.996,
            0.91,
        ),
        reflux_scan=tuple(
            RefluxRow(ratio, recovery, hours * 3600.0)
            for ratio, recovery, hours in (
                (1.0, 0.0, 0.7),
                (2.0, 0.52, 1.1),
                (3.0, 0.66, 1.5),
                (5.0, 0.76, 2.2),
                (10.0, 0.83, 4.1),
            )
        ),
        end_sign=EndSign(
            342.1,
            345.1,
            0.38e-3,
            "The reading stands within 0.3 K of 71.9 °C to the end: stop by volume, before the flask is dry.",
        ),
        pairs=(
            PairRow(
                "hexane",
                "ethyl acetate",
                8.66,
                0.17,
                "azeotrope",
                "Predicted azeotrope at 59.3 °C, 66 % hexane by mass.",
            ),
            PairRow(
                "acetone",
                "hexane",
                11.93,
                0.15,
                "azeotrope",
                "Measured azeotrope at 49.8 °C at 101.3 kPa, 59 % acetone.",
            ),
            PairRow(
                "acetone",
                "ethyl acetate",
                20.59,
                0.16,
                "fractional distillation",
                "Some 6 theoretical plates at total reflux.",
            ),
        ),
        not_parted=("hexane and ethyl acetate beyond 66 % hexane: the fore-run carries ethyl acetate with it.",),
        holding=Holding(
            Interval(331.9, 331.0, 332.8),
            288.15,
            True,
            283.15,
            Interval(9_000.0, 8_100.0, 9_900.0),
            Interval(0.006, 0.004, 0.009),
            (
                "The coolant stands 43.7 K below the dew point: 20 K is enough.",
                "The receiver at 10 °C holds the product.",
            ),
        ),
        duty=Duty(
            about(1.75e6, 0.2e6),
            about(1.61e6, 0.18e6),
            Interval(4.8, 4.3, 5.4),
            210.0,
            Interval(7920.0, 7000.0, 9100.0),
        ),
        cost=Cost("EUR", Interval(1.1, 0.9, 1.4), Interval(2.9, 2.4, 3.7)),
        mass_closure=3e-7,
        verdict=(
            "It will work in 91 of 100 compositions that the label allows: ethyl acetate of 98 % by mass, "
            "about three quarters of what is there."
        ),
        weak_points=(
            "The azeotrope of hexane and ethyl acetate is predicted, not measured.",
            "Water is not on the label; wet acetone brings it along and it would stay in the product.",
            "Four plates are those of the maker at total reflux; a column run too fast has fewer.",
        ),
        cautions=(
            "Local codes and licensed practice come first, then the product's own safety data sheet; these figures are "
            "no substitute for either. In some places distilling solvents needs a permit.",
            "The vapour can be lit at room temperature: hexane -23 °C, acetone -20 °C, ethyl acetate -5 °C (flash "
            "point). No flame, spark or brushed motor near it, when pouring too.",
            "Lights by itself on a hot surface: hexane 225 °C. A mantle or hot plate reaches 300 °C and more at its "
            "surface: heat with a bath, and keep it below 180 °C.",
            "To stay below a quarter of the lower flammability limit, 100 g of vapour needs up to 11 m³ of air (hexane "
            "the most), and the 15 g that may be lost 1.7 m³: fume hood or strong ventilation.",
            "Vapours 2.0 to 3.0 times as heavy as air creep along bench and floor and gather in drains.",
            "Harmful to breathe, lowest exposure limit held: hexane 176 mg/m3 (50 ppm); acetone 1187 mg/m3 (500 ppm); "
            "ethyl acetate 1440 mg/m3 (400 ppm). Work in the hood and vent the receiver into it.",
            "Never heat a closed system: the apparatus is open to the air or to a vented line at one place.",
            "Never distil to dryness: what is left can overheat, decompose and catch fire. Take the heat away first "
            "and let the flask cool before it is opened or anything is added. Residue goes into closed, labelled "
            "solvent waste, not down the drain, and never together with oxidisers (peroxides, nitric acid, bleach, "
            "permanganate).",
            "Have a carbon dioxide or dry-powder extinguisher within reach and someone within call; water spreads a "
            "solvent fire. Do not leave the still alone.",
        ),
    )


def liquefied() -> Plan:
    """A workshop's cleaning spray: liquefied gas over acetone and a petroleum cut."""
    plan = ordinary()
    acetone, propane, isobutane = ("acetone", "67-64-1"), ("propane", "74-98-6"), ("isobutane", "75-28-5")
    cut = IngredientRow(
        "hydrotreated light naphtha",
        "naphtha (petroleum), hydrotreated light",
        "64742-49-0",
        "cut",
        Interval(0.15, 0.10, 0.20),
        333.0,
        361.0,
        4.0,
        None,
        "boiling range as printed on the label",
    )
    dye = IngredientRow(
        "dye", "dye", None, "not volatile", Interval(0.005, 0.0, 0.01), None, None, None, None, "stays in the flask"
    )
    return replace(
        plan,
        title="Cleaning spray of the print workshop",
        charge_volume_m3=about(0.77e-3, 0.03e-3),
        ingredients=(
            _ingredient("propane", *propane, Interval(0.12, 0.10, 0.15), 227.3, 0.2, "A"),
            _ingredient("isobutane", *isobutane, Interval(0.08, 0.05, 0.10), 257.1, 0.2, "A"),
            _ingredient("acetone", *acetone, Interval(0.645, 0.55, 0.75), 324.05, 0.11, "A"),
            cut,
            dye,
        ),
        opening=Opening(
            294.3,
            about(520e3, 60e3),
            480e3,
            Interval(0.062, 0.05, 0.08),
            about(0.24, 0.03),
            Interval(0.07, 0.05, 0.1),
            about(0.19, 0.02),
            Interval(0.006, 0.003, 0.012),
            (Share(*propane, about(0.6, 0.05)), Share(*isobutane, about(0.4, 0.05))),
        ),
        product=replace(plan.product, target="acetone"),
        holding=replace(
            plan.holding,
            coolant_K=268.15,
            receiver_bath_K=253.15,
            receiver_pressure_Pa=about(90e3, 12e3),
            loss=Interval(0.05, 0.02, 0.11),
            condenser_holds=False,
            words=("The coolant stands 12 K below the dew point: 20 K is usual. A colder coolant holds more.",),
        ),
    )


def not_to_be_had() -> Plan:
    """Ethanol of 99 % from ethanol and water: no column gives it."""
    plan = ordinary()
    ethanol, water = ("ethanol", "64-17-5"), ("water", "7732-18-5")
    over = Interval(0.93e-3, 0.90e-3, 0.95e-3)
    return replace(
        plan,
        title="Spent ethanol of the specimen room",
        ingredients=(
            _ingredient("alcohol", *ethanol, Interval(0.75, 0.70, 0.80), 346.8, 0.1, "A"),
            _ingredient("water", *water, Interval(0.25, 0.20, 0.30), 368.0, 0.02, "A"),
        ),
        fractions=(
            Fraction(
                "fore-run",
                about(346.7, 0.2),
                about(352.0, 3.0),
                about(0.0, 0.0),
                over,
                over,
                about(0.75, 0.02),
                (Share(*ethanol, about(0.93, 0.01)), Share(*water, about(0.07, 0.01))),
            ),
            Fraction(
                "residue",
                None,
                None,
                over,
                about(1e-3, 4e-6),
                about(0.07e-3, 0.02e-3),
                about(0.07, 0.02),
                (Share(*water, about(0.97, 0.02)),),
            ),
        ),
        product=Product(
            "ethanol", 0.99, False, about(0.93, 0.01), about(0.0, 0.0), about(0.0, 0.0), about(0.0, 0.0), 0.951, 0.0
        ),
        reflux_scan=tuple(RefluxRow(ratio, 0.0, None) for ratio in (1.0, 5.0, 20.0)),
        end_sign=EndSign(346.8, 368.0, 0.03e-3, "The reading climbs to 95 °C within 30 mL: water is coming over."),
        pairs=(
            PairRow("ethanol", "water", 21.2, 0.1, "azeotrope", "Measured azeotrope: 78.2 °C at 101.3 kPa, 95.6 %."),
        ),
        not_parted=("Ethanol and water beyond 95.6 % by mass: no column parts them at this pressure.",),
        cost=Cost("EUR", None, None),
        verdict="It will not work: ethanol of 99 % cannot be had by distillation here; 95.1 % is the best.",
    )


def crowded() -> Plan:
    """Forty ingredients with names as long as safety data sheets print them."""
    plan = ordinary()
    ingredients = tuple(
        replace(
            _ingredient(
                f"(2R,3S)-{place}-bis(methoxypolyethoxyethyl)-2,3-dihydrocyclopenta[b]naphthalene-4,9-dione <5 %",
                f"{place}-(tert-butyldimethylsilyloxy)-1,1,1,2,3,3-hexafluoropropanedicarboxylic acid dimethyl ester",
                f"{1000 + place}-00-0",
                Interval(0.025, 0.0, 0.05),
                330.0 + 2.0 * place,
                3.0 + place,
                "ABCD"[place % 4],
            ),
            remark="read as the nearest spelling; please look",
        )
        for place in range(40)
    )
    shares = tuple(Share(one.name, one.cas, Interval(0.025, 0.0, 0.05)) for one in ingredients)
    pairs = tuple(
        PairRow(a.name, b.name, 2.0, 3.0, "undecided", "The boiling points are not known well enough to tell.")
        for a, b in pairwise(ingredients)
    )
    return replace(
        plan,
        title="Collected wash-up of a term, " + "from every bench and cupboard " * 4,
        ingredients=ingredients,
        fractions=tuple(replace(fraction, contents=shares) for fraction in plan.fractions),
        product=replace(plan.product, target=ingredients[7].name),
        pairs=pairs,
        not_parted=tuple(f"{one.a} and {one.b}." for one in pairs[:8]),
    )


def sparse() -> Plan:
    """None wherever None may stand, and nothing in every list that may be empty."""
    plan = ordinary()
    blank = IngredientRow("thinner", "thinner", None, "cut", Interval(1.0, 1.0, 1.0), None, None, None, None, None)
    return replace(
        plan,
        title="Thinner",
        altitude_m=None,
        plates=0,
        column="bare still head",
        reflux_ratio=0.0,
        thermometer_correction_K=0.0,
        ingredients=(blank,),
        opening=None,
        curve=HeadCurve((), (), (), (), ()),
        fractions=tuple(
            replace(one, from_reading_K=None, to_reading_K=None, contents=(Share("thinner", None, about(1.0, 0.0)),))
            for one in plan.fractions
        ),
        reflux_scan=(RefluxRow(0.0, 0.0, None),),
        pairs=(),
        not_parted=(),
        holding=Holding(about(330.0, 1.0), None, None, None, None, None, ()),
        duty=Duty(about(1e6, 1e5), about(1e6, 1e5), about(3.0, 0.3), None, None),
        cost=Cost("", None, None),
        weak_points=(),
        cautions=(),
    )


PLANS = {
    "ordinary": ordinary(),
    "liquefied": liquefied(),
    "not to be had": not_to_be_had(),
    "crowded": crowded(),
    "sparse": sparse(),
}

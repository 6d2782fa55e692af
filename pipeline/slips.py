"""What went wrong with a value that lies outside the consensus, where that can be told.

A slip turns the right figure into a wrong one in a way of its own: degrees
Celsius read as kelvins, a minus sign lost, the boiling point printed in the
column of melting points, the figure of an isomer. An outside value is compared
with what each slip would make of the figures inside; where it fits to the last
digit or nearly, the slip may be the reason. It may also fit by chance. How often
is measured in every build: the outside values are displaced by whole numbers of
their own last digits, many ways, and the fits that are left are chance. A kind
of slip of which chance explains more than `MOST_BY_CHANCE` is not claimed at
all (slips of a temperature's unit or sign are counted over all temperatures); so
kinds may come and go with the tables. Figures measured when the kinds were
chosen stand in DEVELOPERS.md.

A boiling point at reduced pressure fits every low value at some pressure.
There the measure of chance is the mirror: as many blunders should lie above the
consensus as below.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.properties import ATMOSPHERE_PA, ICE_POINT_K, PROPERTIES

from .relatives import FORM, ISOMER, STEREOISOMER
from .voices import GROUP

Array = NDArray[np.float64]

MOST_BY_CHANCE = 0.2
"""Largest share of a kind's fits that chance may explain."""

DISPLACEMENTS = tuple(sign * places for places in range(2, 12) for sign in (-1, 1))
STEP_K = 1.0
STEP_RELATIVE = 0.02
"""Displacements are multiples of about this much, on the grid of the value's last digit."""

LEAST_DISTANCE_K = 10.0
LEAST_DISTANCE_RELATIVE = 0.08
"""A slip that moves a value by less is not told from scatter."""

MM_HG_PA = ATMOSPHERE_PA / 760.0
LEAST_FALL_K = 40.0
REDUCED_PRESSURES_MM_HG = (1.0, 50.0)
"""Pressures at which substances are distilled under reduced pressure; common practice, no source."""


@dataclass(frozen=True)
class Slip:
    """A way to print a wrong figure: the words, and what it makes of the right one, in the canonical unit.

    `of` takes the right value and the molar mass in g/mol; `slack` is the
    largest misfit, in kelvins or relative, beside what the last digits leave open.
    """

    words: str
    of: Callable[[Array, Array], Array]
    slack: float


def _times(factor: float) -> Callable[[Array, Array], Array]:
    return lambda right, molar_mass: right * factor


_DECIMAL = tuple(
    Slip(f"a factor of {factor:,}".replace(",", " "), _times(power), 0.02)
    for factor in (10, 100, 1000)
    for power in (float(factor), 1.0 / factor)
)
_TEMPERATURE = (
    Slip("the figure of degrees Celsius taken for kelvins", lambda right, _: right - ICE_POINT_K, 1.0),
    Slip("the figure of kelvins taken for degrees Celsius", lambda right, _: right + ICE_POINT_K, 1.0),
    Slip("a minus sign of degrees Celsius lost or added", lambda right, _: 2.0 * ICE_POINT_K - right, 0.05),
    Slip("degrees Fahrenheit taken for Celsius", lambda right, _: 1.8 * right - 0.8 * ICE_POINT_K + 32.0, 0.3),
    Slip("degrees Celsius taken for Fahrenheit", lambda right, _: (right + 0.8 * ICE_POINT_K - 32.0) / 1.8, 0.3),
    Slip("a hundred degrees lost", lambda right, _: right - 100.0, 0.05),
    Slip("a hundred degrees added", lambda right, _: right + 100.0, 0.05),
    Slip("a factor of 10 in degrees Celsius", lambda right, _: 10.0 * right - 9.0 * ICE_POINT_K, 0.3),
    Slip("a factor of 10 in degrees Celsius", lambda right, _: 0.1 * right + 0.9 * ICE_POINT_K, 0.3),
)
_PER_UNIT = {
    "critical_pressure": (
        Slip("pounds per square inch taken for atmospheres", _times(14.696), 0.02),
        Slip("atmospheres taken for pounds per square inch", _times(1.0 / 14.696), 0.02),
        Slip("millimetres of mercury taken for kilopascals", _times(7.5006), 0.02),
        Slip("kilopascals taken for millimetres of mercury", _times(1.0 / 7.5006), 0.02),
    ),
    "critical_volume": (Slip("per gram taken for per mole", lambda right, molar_mass: right / molar_mass, 0.02),),
    "enthalpy_of_vaporization": (
        Slip("kilojoules taken for kilocalories", _times(4.184), 0.01),
        Slip("kilocalories taken for kilojoules", _times(1.0 / 4.184), 0.01),
        Slip("joules per gram taken for kilojoules per mole", lambda right, molar_mass: 1e3 * right / molar_mass, 0.01),
        Slip("calories per gram taken for kilojoules per mole", lambda right, mass: 239.01 * right / mass, 0.01),
    ),
    "liquid_density": (
        Slip("pounds per gallon taken for grams per millilitre", _times(8.3454), 0.01),
        Slip("pounds per cubic foot taken for kilograms per cubic metre", _times(1.0 / 16.0185), 0.01),
    ),
}  # fmt: skip

OWN_OTHER = {
    "normal_boiling_point": {"melting_point": "the melting point", "flash_point": "the flash point"},
    "melting_point": {"normal_boiling_point": "the boiling point", "flash_point": "the flash point"},
    "flash_point": {"normal_boiling_point": "the boiling point"},
    "autoignition_temperature": {"flash_point": "the flash point"},
    "lower_flammability_limit": {"upper_flammability_limit": "the upper limit"},
    "upper_flammability_limit": {"lower_flammability_limit": "the lower limit"},
}  # fmt: skip
OWN_SLACK_K, OWN_SLACK_RELATIVE = 1.0, 0.01

_OF_RELATIVE = {
    STEREOISOMER: "the figure of the stereoisomer {}",
    FORM: "the figure of {}, another form of it",
    ISOMER: "the figure of its isomer {}",
}
SAME_FIGURE_K, SAME_FIGURE_RELATIVE = 0.06, 2e-4

IN_ITS_PLACE = "{} printed in its place"


def slips_of(property: str) -> tuple[Slip, ...]:
    """The slips of unit, sign and decimal point that are looked for in a property."""
    entry = PROPERTIES[property]
    if entry.unit == "K":
        return _TEMPERATURE
    return (*_PER_UNIT.get(property, ()), *_DECIMAL) if entry.relative else ()


def is_no_figure_of_its_own(words: pd.Series) -> pd.Series:
    """Whether a reason says that unit, sign, decimal point or column went wrong: then nobody claims that value."""
    made = [slip.words for name in PROPERTIES for slip in slips_of(name)]
    moved = [IN_ITS_PLACE.format(other) for others in OWN_OTHER.values() for other in others.values()]
    any_of_them = "|".join(re.escape(part) for part in sorted({*made, *moved}))
    return words.str.contains(any_of_them, na=False).astype(bool)


def diagnose(voices: pd.DataFrame, values: pd.DataFrame, components: pd.DataFrame, kin: pd.DataFrame) -> pd.Series:
    """The words for each outside voice that a slip explains, on its index.

    `voices` are those of `consensus` with `inside`, `values` the evaluated
    ones; `kin` has the pairs of `relatives`.
    """
    outside = voices[~voices["inside"] & ~voices["fitted"]].drop(columns="figure")
    held = values[[*GROUP, "value"]].rename(columns={"value": "held"})
    outside = outside.reset_index(names="voice").merge(held, on=GROUP, how="inner")
    if outside.empty:
        return pd.Series(dtype=object)
    relative = outside["property"].map({name: entry.relative for name, entry in PROPERTIES.items()}).astype(bool)
    outside["relative"] = relative
    outside["unit"] = _displacement(outside)
    inside = voices[voices["inside"]]
    found = [
        _of_figures(outside, inside, components),
        _of_own_other(outside, values),
        _of_relatives(outside, inside, components, kin),
    ]
    fits = pd.concat([_claimed(part) for part in found], ignore_index=True)
    fits = pd.concat([fits, _at_reduced_pressure(outside)], ignore_index=True)
    return fits.drop_duplicates("voice").set_index("voice")["words"]


def _displacement(outside: pd.DataFrame) -> Array:
    """Unit of the displacements: about a kelvin, or two per cent, on the grid of the value's last digit."""
    about = np.where(outside["relative"], STEP_RELATIVE * outside["value"].abs(), STEP_K)
    step = outside["step"].to_numpy()
    places = np.ceil(np.divide(about, step, out=np.ones_like(about), where=step > 0.0) - 1e-9)
    return np.asarray(np.where(step > 0.0, places * step, about), dtype=np.float64)


def _far(outside: pd.DataFrame, figure: pd.Series) -> pd.Series:
    least = np.where(outside["relative"], LEAST_DISTANCE_RELATIVE * outside["held"].abs(), LEAST_DISTANCE_K)
    return ((figure - outside["held"]).abs() >= least) & ((outside["value"] - outside["held"]).abs() >= least)


def _claimed(candidates: pd.DataFrame) -> pd.DataFrame:
    """The candidates that fit, of those kinds which chance explains seldom enough; columns voice, words."""
    table = candidates[_far(candidates, candidates["figure"])]
    miss = table["value"] - table["figure"]
    rates = chance(table, miss)
    good = rates.index[(rates["fits"] > 0) & (rates["by_chance"] <= MOST_BY_CHANCE * rates["fits"] + 1e-9)]
    key = pd.MultiIndex.from_frame(table[["family", "kind"]])
    fits = table[(miss.abs() <= table["tolerance"]) & key.isin(good)]
    return fits[["voice", "words"]]


def chance(table: pd.DataFrame, miss: pd.Series) -> pd.DataFrame:
    """How many voices fit per (family of properties, kind), and how many do on average once displaced."""

    def fitting(displaced: pd.Series) -> pd.Series:
        fits = table[displaced.abs() <= table["tolerance"]]
        return fits.groupby(["family", "kind"])["voice"].nunique()

    counts = [fitting(miss + places * table["unit"]) for places in DISPLACEMENTS]
    rates = pd.DataFrame({"fits": fitting(miss)})
    mean = pd.concat(counts, axis=1).fillna(0.0).mean(axis=1) if counts else 0.0
    return rates.join(pd.Series(mean, name="by_chance"), how="outer").fillna(0.0)


def _of_figures(outside: pd.DataFrame, inside: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """What the slips of unit, sign and decimal point make of each figure inside."""
    right = inside[[*GROUP, "value", "step"]].rename(columns={"value": "right", "step": "right_step"})
    pairs = outside.merge(right, on=GROUP)
    mass = pairs["cas"].map(components.set_index("cas")["molar_mass_g_mol"]).to_numpy(dtype=np.float64)
    parts = [pairs.iloc[:0].assign(family="", kind="", words="", figure=0.0, tolerance=0.0)]
    for name, rows in pairs.groupby("property", sort=True):
        values, of = rows["right"].to_numpy(), mass[pairs.index.get_indexer(rows.index)]
        for slip in slips_of(str(name)):
            figure = slip.of(values, of)
            # Figures printed to the same place must fit as printed; else the coarser one may have been rounded.
            coarser = rows[["step", "right_step"]].max(axis=1)
            digits = 0.5 * coarser.where(rows["step"] != rows["right_step"], 0.0)
            slack = np.where(rows["relative"], slip.slack * np.abs(figure), slip.slack)
            family = "temperature" if PROPERTIES[str(name)].unit == "K" else name
            made = rows.assign(family=family, kind=slip.words, words=slip.words, figure=figure)
            parts.append(made.assign(tolerance=np.maximum(digits.where(~rows["relative"], 0.0), slack)))
    return pd.concat(parts, ignore_index=True)


def _of_own_other(outside: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """Another property of the same component printed in its place."""
    wide = values.pivot(index="cas", columns="property", values="value")
    parts = [outside.iloc[:0].assign(family="", kind="", words="", figure=0.0, tolerance=0.0)]
    for name, others in OWN_OTHER.items():
        rows = outside[outside["property"] == name]
        for other, words in others.items():
            if other in wide and len(rows):
                figure = rows["cas"].map(wide[other])
                made = rows.assign(family=name, kind=other, words=IN_ITS_PLACE.format(words), figure=figure)
                slack = np.where(rows["relative"], OWN_SLACK_RELATIVE * rows["value"].abs(), OWN_SLACK_K)
                parts.append(made.assign(tolerance=slack).dropna(subset="figure"))
    return pd.concat(parts, ignore_index=True)


def _of_relatives(
    outside: pd.DataFrame, inside: pd.DataFrame, components: pd.DataFrame, kin: pd.DataFrame
) -> pd.DataFrame:
    """The figure of a relative printed in its place, to the last digit."""
    figures = inside.loc[~inside["fitted"], [*GROUP, "value"]].drop_duplicates()
    figures = figures.rename(columns={"cas": "relative_cas", "value": "figure"})
    pairs = outside.merge(kin.rename(columns={"relative": "relative_cas"}), on="cas")
    pairs = pairs.merge(figures, on=["relative_cas", "property"]).rename(columns={"relation": "kind"})
    names = components.set_index("cas")["name"]
    told = [
        _OF_RELATIVE[kind].format(f"{names[cas]} ({cas})")
        for kind, cas in zip(pairs["kind"], pairs["relative_cas"], strict=True)
    ]
    tolerance = np.where(pairs["relative"], SAME_FIGURE_RELATIVE * pairs["value"].abs(), SAME_FIGURE_K)
    return pairs.assign(family=pairs["property"], words=told, tolerance=tolerance)


def pressure_at_Pa(T_K: Array, T_b_K: Array) -> Array:
    """Rough vapour pressure, Pa, from the normal boiling point alone.

    Grain's method in W. J. Lyman, W. F. Reehl, D. H. Rosenblatt, Handbook of
    Chemical Property Estimation Methods, American Chemical Society 1990,
    chapter 14, with Kistiakowsky's entropy of vaporisation; a factor of two to
    four off where it matters here.
    """
    reduced = T_K / T_b_K
    falling = np.clip(3.0 - 2.0 * reduced, 1e-9, None)
    entropy = 4.4 + np.log(T_b_K)
    exponent = 1.0 - falling**0.19 / reduced - 0.38 * falling ** (0.19 - 1.0) * np.log(reduced)
    return np.asarray(ATMOSPHERE_PA * np.exp(entropy * exponent), dtype=np.float64)


def _at_reduced_pressure(outside: pd.DataFrame) -> pd.DataFrame:
    """Boiling points far below, at what pressure; none if nearly as many blunders lie as far above."""
    rows = outside[outside["property"] == "normal_boiling_point"]
    fall = (rows["held"] - rows["value"]).to_numpy()
    low, high = REDUCED_PRESSURES_MM_HG
    lower_K = np.maximum(rows["held"].to_numpy() - np.abs(fall), 1.0)  # the mirrored value of a blunder far above
    p_mm_Hg = pressure_at_Pa(lower_K, rows["held"].to_numpy()) / MM_HG_PA
    reduced = (np.abs(fall) >= LEAST_FALL_K) & (p_mm_Hg >= low) & (p_mm_Hg <= high)
    below, above = reduced & (fall > 0.0), reduced & (fall < 0.0)
    if above.sum() > MOST_BY_CHANCE * below.sum():
        below &= False
    rounded = [float(f"{pressure:.0g}") for pressure in p_mm_Hg[below]]
    words = [f"reads like its boiling point at about {pressure:.0f} mmHg" for pressure in rounded]
    return pd.DataFrame({"voice": rows["voice"].to_numpy()[below], "words": words})

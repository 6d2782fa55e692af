"""Who speaks of a value: the voices, and what is known of each before it is weighed.

A *voice* is one source speaking of one property of one component, through
plain values or through correlations. Beside its value it has

- `step`, the width of its last printed digit (`resolution`), and `precision`,
  the class of it: a table is better where it states hundredths than where it
  states whole degrees. For a correlation `precision` tells whether its range
  covers the place asked or only comes near it;
- `company`, whether few, some or many voices speak of the component: tables
  are better where everybody has looked;
- `warmth`, the fifty kelvins in which a temperature lies: tables are poorer
  the hotter it gets;
- `figure`, the value as it would stand in degrees Celsius, so that 351.6 K and
  78.4 °C, one rounded from the other, are seen to be the same number; so are
  the results of one correlation that two tables reprint in different units.
  Sources that state the same figure are not independent: it counts once.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from cutpoint.schema.properties import EVALUATED_PROPERTIES, ICE_POINT_K, PROPERTIES

from .resolution import FINEST_STEP_K

GROUP = ["cas", "property"]
VOICE = [*GROUP, "source", "fitted", "value", "temperature_K", "step", "precision", "house", "company", "warmth",
         "figure"]  # fmt: skip
"""Columns of a voice before it is weighed."""

COMPANIES = ("few", "some", "many")
COMPANY_BOUNDS = (4, 7)
"""More than so many voices are `some`, and `many`."""
SAME_FIGURE_K = 0.006
TIMES_AS_OFTEN = 1.5
LEAST_TOGETHER = 10
"""Two sources, one speaking through correlations, have an origin in common if their boiling points agree within
`SAME_FIGURE_K` on so many components, and so many times as often as in the next such step: of the 228 components on
which two tables of correlations agree within 0.01 K, 221 agree within 0.005 K. What agrees so in them is one figure."""
WARMTH_BOUNDS_K = (300.0, 350.0, 400.0, 450.0, 500.0, 550.0, 600.0)
STEP_BOUNDS = (0.05, 0.5)
"""Steps in kelvins between fine, middle and coarse."""

ROBUST_SIGMA = 1.4826
"""Standard deviation over median absolute deviation, for a normal distribution."""

_UNIT = {name: PROPERTIES[name].unit for name in EVALUATED_PROPERTIES}
_RELATIVE = {name: PROPERTIES[name].relative for name in EVALUATED_PROPERTIES}
_LIMITS = {
    letter: {name: PROPERTIES[name].grade_limits[place] for name in EVALUATED_PROPERTIES}
    for place, letter in enumerate("AB")
}


def house_of(sources: pd.Series) -> pd.Series:
    """House of publication of each source: the first word of its name. Tables of one house are not independent."""
    return sources.str.split("_").str[0]


def grade_limit(spoken: pd.DataFrame, letter: str = "A") -> pd.Series:
    """Largest expanded uncertainty of a grade, in the unit of each row's value."""
    limit = spoken["property"].map(_LIMITS[letter]).astype(float)
    return limit.where(~spoken["property"].map(_RELATIVE).astype(bool), limit * spoken["value"].abs())


def voices(witnesses: pd.DataFrame) -> pd.DataFrame:
    """One row per voice: the median of its witnesses, with the columns `VOICE`."""
    named = witnesses[witnesses["property"].isin(EVALUATED_PROPERTIES)]
    grouped = named.groupby([*GROUP, "source", "fitted"], sort=True)
    table = grouped.agg(
        value=("value", "median"),
        temperature_K=("temperature_K", "first"),
        step=("step", "max"),
        beyond=("beyond", "max"),
    ).reset_index()
    table["house"] = house_of(table["source"])
    told = table.groupby(GROUP)
    n_voices = told["source"].transform("size")
    table["company"] = np.array(COMPANIES)[np.searchsorted(COMPANY_BOUNDS, n_voices, side="left")]
    is_temperature = table["property"].map(_UNIT) == "K"
    warmth = np.searchsorted(WARMTH_BOUNDS_K, told["value"].transform("median"))
    table["warmth"] = np.where(is_temperature, warmth, 0)
    table["precision"] = _precision(table, is_temperature)
    table["figure"] = _figure(table, is_temperature)
    return table[VOICE]


def _precision(table: pd.DataFrame, is_temperature: pd.Series) -> pd.Series:
    """Class of how finely a value is stated, or of whether a correlation's range comes as far as it is asked."""
    stated = np.array(("fine", "middle", "coarse"))[np.searchsorted(STEP_BOUNDS, table["step"])]
    reach = np.where(table["beyond"], "nearly covers", "covers")
    plain = np.where(is_temperature, stated, "fine")
    return pd.Series(np.where(table["fitted"], reach, plain), index=table.index)


def _figure(table: pd.DataFrame, is_temperature: pd.Series) -> pd.Series:
    """What marks a value as the same number as another: itself, or of a temperature the lowest that it is linked to."""
    celsius = (table["value"] - ICE_POINT_K).where(table["fitted"], _celsius_figure(table))
    figures = celsius.where(is_temperature, table["value"])
    voice = [*GROUP, "source", "fitted", "figure"]
    temperatures = table.assign(figure=figures)[is_temperature].reset_index(names="voice")[["voice", *voice]]
    pairs = temperatures.merge(temperatures[temperatures["fitted"]], on=GROUP, suffixes=("", "_other"))
    apart = (pairs["figure"] - pairs["figure_other"]).abs()
    pairs = pairs[(apart <= 2.0 * SAME_FIGURE_K) & (pairs["voice"] != pairs["voice_other"])]
    pairs = pairs.assign(same=apart[pairs.index] <= SAME_FIGURE_K)
    counted = pairs.groupby(["source", "fitted", "source_other", "fitted_other"])["same"]
    together, beside = counted.transform("sum"), counted.transform("size") - counted.transform("sum")
    kin = pairs["same"] & (together >= LEAST_TOGETHER) & (together >= TIMES_AS_OFTEN * beside)
    lowest = pd.concat(
        [
            pairs[kin].set_index("voice")["figure_other"],
            pairs[kin].set_index("voice_other")["figure"],
            figures,
        ]
    )
    return lowest.groupby(level=0).min()


def _celsius_figure(table: pd.DataFrame) -> pd.Series:
    """The temperature on the grid of its step in degrees Celsius, what lies between two places going down."""
    step = table["step"].clip(lower=FINEST_STEP_K)
    places = np.ceil((table["value"] - ICE_POINT_K) / step - 0.5 - 1e-4)
    return (places * step).round(4)


def without_copies(weighed: pd.DataFrame) -> pd.DataFrame:
    """The voices with `copy`: whether a better voice (smaller `u`) states the same figure."""
    best_first = weighed.sort_values([*GROUP, "u", "source", "fitted"], kind="stable")
    return weighed.assign(copy=best_first.duplicated([*GROUP, "figure"]).reindex(weighed.index))

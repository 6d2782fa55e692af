"""The rule `Bayesian consensus`: what the voices of a property agree on, and how well.

1. A *voice* is one source speaking of a component through values or through
   correlations; sources that state the same figure count once (`voices`).
2. Each voice has a scatter and a chance of a blunder, both estimated from the
   data where sources overlap (`error_model`). Its scatter and the rounding of
   the number as printed (a rectangular distribution of the width of its last
   digit) make its standard uncertainty u.
3. The evaluated value and its expanded uncertainty U95 come from the
   distribution of the true value given all of them (`posterior`): voices that
   agree sharpen it, voices that contradict one another leave it wide, a lone
   voice is as wide as its chance of a blunder makes it.
4. A voice is inside the consensus if it is more likely sound than a blunder, and
   lies within U95 or within grade B's limit of the value. The others are
   outliers. Where no voice is likely to be sound the likeliest stands, and the
   uncertainty is counted about it. The value lies among the voices inside.
5. What the structure leads one to expect of a boiling point (`estimate`) is a
   weak witness: it sharpens, widens, or decides between voices, but never
   stands against all of them here; that is for `credibility`.
6. To U95 comes, as root sum of squares, what all sources share: a fifth of
   grade A's limit. For temperatures that is 0.1 K: sources of different times
   state the same measurement on temperature scales up to 0.04 K apart between
   0 and 200 °C (H. Preston-Thomas, Metrologia 27 (1990) 3-10), and purities
   differ alike for all.

Held-out values test these intervals, and widen them where they hold too few (`calibrate`).
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.properties import EVALUATED_PROPERTIES, PROPERTIES, grade

from .posterior import Posterior, Voices, posterior
from .voices import GROUP, grade_limit, without_copies

RULE = "Bayesian consensus"
BOILING = "normal_boiling_point"
STRUCTURE = "structure"
"""Stands in the column `source` for what the structure leads one to expect."""

FREEDOM = 1.0
"""Degrees of freedom of a sound voice's distribution; of 1, 1.5, 2 and 4 the likeliest for held-out boiling points."""
STRUCTURE_FREEDOM = 3.0
STRUCTURE_SCATTER = 0.3
"""Scatter of the structure's estimate in its expanded uncertainty: with these two the quantiles at 50, 95 and 99 % of
its held-out residuals come out (0.22, 1.0 and 1.9 of the expanded uncertainty)."""
STRUCTURE_BLUNDER = 0.03
STRUCTURE_BLUNDER_WIDTH_K = 60.0
LARGEST_EXPECTED_U95_K = 60.0
"""A structure's estimate that is less sure says nothing."""
LEAST_SOUND = 0.5
AS_LIKELY = 1e-9
"""Difference of two voices' probabilities that is none: machines round the last bits differently."""
COMMON_U95 = 0.2
"""Expanded uncertainty that all sources share, in units of grade A's limit."""

AGREED = ["copy", "sound", "inside", "centre", "centre_u", "centre_u95"]
"""Columns that the consensus adds."""

SAID = ("value", "u", "freedom", "blunder", "blunder_width")
"""Columns of a voice that the posterior asks for, in its order."""

_UNIT = {name: PROPERTIES[name].unit for name in EVALUATED_PROPERTIES}


def consensus(weighed: pd.DataFrame, expected: pd.DataFrame | None = None) -> pd.DataFrame:
    """The voices with what they agree on.

    `weighed` holds voices with `u`, `blunder` and `blunder_width`; `expected`
    the boiling points that structures lead one to expect (cas, value, u95).
    Added are `copy`, `sound` (probability that the voice is), `inside` (whether
    it carries the consensus), and per component and property `centre` (the
    value agreed on), `centre_u` and `centre_u95` (its uncertainties).
    """
    table = without_copies(weighed.sort_values([*GROUP, "source", "fitted"], ignore_index=True))
    told = table[~table["copy"]].assign(freedom=FREEDOM)
    real = len(told)
    if expected is not None:
        told = pd.concat([told, _structures(told, expected)], ignore_index=True)
    # A component's real voices come before its structure: the sort is stable.
    order = told.assign(place=np.arange(len(told))).sort_values(GROUP, kind="stable", ignore_index=True)
    group = np.asarray(order.groupby(GROUP, sort=False).ngroup(), dtype=np.int64)
    is_real = order["place"].to_numpy() < real
    found = _with_a_voice(order, group, is_real)
    order = order.assign(sound=found.sound, centre=found.value[group], centre_u=found.u[group])
    order["centre_u95"] = np.hypot(found.u95[group], COMMON_U95 * grade_limit(order))
    order["inside"] = is_real & _inside(order, group, is_real)
    among = order["value"].where(order["inside"]).groupby(group)
    order["centre"] = order["centre"].clip(among.transform("min"), among.transform("max"))
    columns = [*GROUP, "figure", "sound", "inside", "centre", "centre_u", "centre_u95"]
    return table.merge(order.loc[is_real, columns], on=[*GROUP, "figure"], how="left")


def _inside(order: pd.DataFrame, group: NDArray[np.int64], is_real: NDArray[np.bool_]) -> pd.Series:
    """Whether each voice carries the consensus; the likeliest always does."""
    reach = np.maximum(order["centre_u95"], grade_limit(order, "B"))
    near = (order["value"] - order["centre"]).abs() <= reach
    best = order["sound"].where(is_real).groupby(group).transform("max")
    return ((order["sound"] >= LEAST_SOUND) & near) | (order["sound"] >= best - AS_LIKELY)


def _structures(told: pd.DataFrame, expected: pd.DataFrame) -> pd.DataFrame:
    """The structures' voices of the components in question; `subject`, where there is one, names the component."""
    boiling = told[told["property"] == BOILING].drop_duplicates("cas")
    known = expected[expected["u95"] <= LARGEST_EXPECTED_U95_K].set_index("cas")
    subject = boiling["subject"] if "subject" in boiling.columns else boiling["cas"]
    rows = boiling[subject.isin(known.index).to_numpy()]
    of_rows = known.loc[subject[rows.index]]
    return rows.assign(
        source=STRUCTURE,
        house=STRUCTURE,
        value=of_rows["value"].to_numpy(),
        figure=np.nan,
        u=STRUCTURE_SCATTER * of_rows["u95"].to_numpy(),
        blunder=STRUCTURE_BLUNDER,
        blunder_width=STRUCTURE_BLUNDER_WIDTH_K,
        freedom=STRUCTURE_FREEDOM,
    )


def _with_a_voice(order: pd.DataFrame, group: NDArray[np.int64], is_real: NDArray[np.bool_]) -> Posterior:
    """The posterior, about its likeliest real voice where no real voice is likely to be sound."""
    said = Voices(
        group,
        *(order[name].to_numpy() for name in SAID),
    )
    found = posterior(said)
    sound = pd.Series(np.where(is_real, found.sound, -1.0)).groupby(group)
    alone = sound.max().to_numpy() < LEAST_SOUND
    if not alone.any():
        return found
    likeliest = order["value"].to_numpy()[sound.agg(_first_of_the_likeliest).to_numpy(dtype=np.int64)]
    rows = alone[group]
    again = Voices(
        pd.factorize(group[rows])[0],
        *(
            part[rows]
            for part in (said.value, said.scatter, said.freedom, said.blunder_probability, said.blunder_width)
        ),
    )
    about = posterior(again, likeliest[alone])
    value, u95, u = found.value.copy(), found.u95.copy(), found.u.copy()
    value[alone], u95[alone], u[alone] = likeliest[alone], about.u95, about.u
    return Posterior(value, u95, u, found.sound)


def _first_of_the_likeliest(sound: pd.Series) -> int:
    """Index of the first voice that is as likely to be sound as any, but for the last bits."""
    return int((sound >= sound.max() - AS_LIKELY).idxmax())


def combine(agreed: pd.DataFrame) -> pd.DataFrame:
    """One row per (component, property): value, uncertainties, grade and number of independent houses."""
    inside = agreed[agreed["inside"]]
    table = inside.groupby(GROUP, sort=True).agg(
        value=("centre", "first"),
        u95=("centre_u95", "first"),
        lowest=("value", "min"),
        highest=("value", "max"),
        temperature_K=("temperature_K", "first"),
    )
    table["n_sources"] = inside[~inside["copy"]].groupby(GROUP, sort=True)["house"].nunique()
    table = table.reset_index()
    return regrade(table.assign(unit=table["property"].map(_UNIT), rule=RULE))


def regrade(values: pd.DataFrame) -> pd.DataFrame:
    """The values with the grade that their uncertainties deserve."""
    judged = zip(values["property"], values["value"], values["u95"], values["n_sources"], strict=True)
    return values.assign(grade=[grade(*case) for case in judged])

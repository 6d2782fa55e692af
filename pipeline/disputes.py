"""Disputes that the sources alone leave open, and what settles them.

Where the voices of a value form camps of nearly equal weight, the consensus
takes one of them and leaves the whole distance to the others open. Two outside
witnesses can settle that:

- the structure, for boiling points. A voice within the expanded uncertainty U
  of the estimate is believed; one beyond `REJECTED` U is not, if it lies at
  least `LEAST_GAP_K` from every believed one and twice as far from the estimate
  as the nearest of them. Where a voice is believed, those that are not are set
  aside, and the others form the consensus anew: the boiling point at reduced
  pressure in one table against the normal one in the other. Three houses that
  agree are left alone.
- the boiling point, for melting points. A voice at or above the boiling point
  is no melting point, be it the boiling point printed in the wrong column, the
  melting point of a salt, or a misprint.

Voices set aside stay in sight as outliers, with the reason.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from .calibrate import Widened
from .consensus import AGREED, BOILING, RULE, combine, consensus
from .voices import GROUP

MELTING = "melting_point"
SETTLED_RULE = f"{RULE}, dispute settled"

REJECTED = 1.5
TIMES_FARTHER = 2.0
LEAST_GAP_K = 10.0
ENOUGH_HOUSES = 3


@dataclass(frozen=True)
class Settled:
    """Voices with those set aside outside, and the values; `words` says why, by index of the voice.

    Of a component whose voices were all set aside nothing is left: its voices
    have no `centre`, and it has no value.
    """

    agreed: pd.DataFrame
    values: pd.DataFrame
    words: pd.Series


def settle_boiling_points(
    agreed: pd.DataFrame, values: pd.DataFrame, expected: pd.DataFrame, widened: Widened
) -> Settled:
    """Settle the disputes about boiling points in which the structure believes some voices and not the others.

    `expected` is indexed by CAS number: `expected_value` and `expected_u95`, K.
    """
    voices = agreed[agreed["property"] == BOILING].join(expected, on="cas")
    off = (voices["value"] - voices["expected_value"]).abs() / voices["expected_u95"]
    believed = voices[off <= 1.0].assign(off=off)
    nearest = believed.groupby("cas")["off"].min().reindex(voices["cas"]).set_axis(voices.index)
    low = believed.groupby("cas")["value"].min().reindex(voices["cas"]).set_axis(voices.index)
    high = believed.groupby("cas")["value"].max().reindex(voices["cas"]).set_axis(voices.index)
    apart = (voices["value"] <= low - LEAST_GAP_K) | (voices["value"] >= high + LEAST_GAP_K)
    rejected = (off > REJECTED) & (off >= TIMES_FARTHER * nearest) & apart
    at_stake = rejected & (_carries(voices) | _leaves_open(voices, values))
    return _without(agreed, values, voices.index[at_stake], _expectations(voices[at_stake]), widened)


def settle_melting_points(
    agreed: pd.DataFrame, values: pd.DataFrame, impossible: pd.Series, widened: Widened
) -> Settled:
    """Set the melting points aside that are `impossible` (by index of the voice: why)."""
    return _without(agreed, values, impossible.index, impossible, widened)


def _carries(voices: pd.DataFrame) -> pd.Series:
    """Whether a voice carries a consensus of fewer than three houses."""
    inside = voices[voices["inside"]]
    houses = inside.groupby("cas")["house"].nunique().reindex(voices["cas"], fill_value=0)
    return voices["inside"] & (houses.to_numpy() < ENOUGH_HOUSES)


def _leaves_open(voices: pd.DataFrame, values: pd.DataFrame) -> pd.Series:
    """Whether the value's uncertainty was stretched so far as to reach the outside voice."""
    held = values[values["property"] == BOILING].set_index("cas")[["value", "u95"]].add_prefix("held_")
    told = voices[["cas", "value"]].join(held, on="cas")
    return ~voices["inside"] & ((told["value"] - told["held_value"]).abs() <= 1.001 * told["held_u95"])


def _expectations(voices: pd.DataFrame) -> pd.Series:
    told = [
        f"the structure leads one to expect {value:.0f} K, give or take {u95:.0f} K"
        for value, u95 in zip(voices["expected_value"], voices["expected_u95"], strict=True)
    ]
    return pd.Series(told, index=voices.index, dtype=object)


def _without(
    agreed: pd.DataFrame, values: pd.DataFrame, aside: pd.Index, words: pd.Series, widened: Widened
) -> Settled:
    """The consensus and the values anew of all groups that lose voices."""
    if aside.empty:
        return Settled(agreed, values, words)
    concerned = pd.MultiIndex.from_frame(agreed.loc[aside, GROUP].drop_duplicates())
    at_stake = pd.MultiIndex.from_frame(agreed[GROUP]).isin(concerned)
    left = agreed[at_stake & ~agreed.index.isin(aside)]
    left = left.sort_values([*GROUP, "source", "fitted"])
    anew = consensus(left.drop(columns=AGREED)).set_axis(left.index)
    out = agreed.loc[aside].drop(columns="centre").join(anew.groupby(GROUP)["centre"].first(), on=GROUP)
    out["inside"] = False
    kept = values[~pd.MultiIndex.from_frame(values[GROUP]).isin(concerned)]
    told = widened(combine(anew)).assign(rule=SETTLED_RULE)
    voices = pd.concat([agreed[~at_stake], anew, out[agreed.columns]]).sort_index()
    return Settled(voices, pd.concat([kept, told], ignore_index=True), words)

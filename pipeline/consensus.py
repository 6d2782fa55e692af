"""The rule `two-pass consensus`: what the witnesses of a property agree on, and how well.

1. A *voice* is one source speaking through values or through correlations. A
   value repeated to the last digit by another source is a copy and counts once.
2. Each voice has a scatter for each property, estimated from the data: its
   robust standard deviation (1.4826 times the median absolute deviation) about
   what the other voices agree on, copies left out; apart for components that
   few and that many voices speak of, since a table is better where everybody
   has looked. To it comes the rounding of the number as printed: a rectangular
   distribution of the width of its last digit (`resolution`).
3. A voice accepts a value that lies within three of its own standard
   uncertainties (at least grade A's limit, at most the property's agreement
   window). The value that is accepted by most, each weighted by its scatter,
   marks the consensus; the voices that accept it are inside.
4. The evaluated value is the weighted median of those inside; its standard
   uncertainty is that of their weighted mean, enlarged by the Birge ratio where
   they scatter more than they should. Expanded uncertainty U95 = 2 u. A value
   that one house alone tells gets three times its own uncertainty, since
   nothing guards it against a blunder; a dissenting camp at least half as loud as the consensus leaves the whole
   distance to it open.

The first pass, with equal scatter for all, serves only to estimate scatters.

R. T. Birge, Phys. Rev. 40 (1932) 207-227, doi:10.1103/PhysRev.40.207.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from cutpoint.schema.properties import EVALUATED_PROPERTIES, PROPERTIES, grade

RULE = "two-pass consensus"
GROUP = ["cas", "property"]
VOICE = [*GROUP, "source", "fitted", "value", "temperature_K", "step", "house", "company"]
"""Columns of a voice before it is weighed."""

ROBUST_SIGMA = 1.4826
"""Standard deviation over median absolute deviation, for a normal distribution."""
LONE_VOICE_FACTOR = 3.0
COVERAGE_FACTOR = 2.0
AGREEMENT_SIGMAS = 3.0
LEAST_SAY = 0.1
"""A poor voice still has a tenth of the best one's say in where the consensus lies."""
LOUD_DISSENT = 0.5
COMPANY = (0, 4, 7)
"""Bounds of the numbers of voices that speak of a component: few, some, many."""
LEAST_MEASURED = 25
"""Components on which a voice must have been compared before its scatter counts as measured."""

AGREEMENT_WINDOW: dict[str, float] = {
    "normal_boiling_point": 2.0,
    "melting_point": 3.0,
    "critical_temperature": 3.0,
    "critical_pressure": 0.03,
    "critical_volume": 0.04,
    "acentric_factor": 0.03,
    "enthalpy_of_vaporization": 0.03,
    "enthalpy_of_vaporization_at_boiling_point": 0.03,
    "liquid_density": 0.01,
    "flash_point": 5.0,
    "autoignition_temperature": 20.0,
    "lower_flammability_limit": 0.10,
    "upper_flammability_limit": 0.10,
}
"""Largest distance at which two voices may still say the same: the property's unit, or relative to the value."""

_RELATIVE = {name: PROPERTIES[name].relative for name in EVALUATED_PROPERTIES}
_UNIT = {name: PROPERTIES[name].unit for name in EVALUATED_PROPERTIES}
_GRADE_A = {name: PROPERTIES[name].grade_limits[0] for name in EVALUATED_PROPERTIES}
_SCATTER_FLOOR = {name: limit / 8.0 for name, limit in _GRADE_A.items()}
"""Smallest scatter any voice is credited with: an eighth of grade A's limit."""
_UNKNOWN_SCATTER = _GRADE_A
"""Scatter of a voice that shares too few components with others to be measured."""


def house_of(sources: pd.Series) -> pd.Series:
    """House of publication of each source: the first word of its name. Tables of one house are not independent."""
    return sources.str.split("_").str[0]


def voices(witnesses: pd.DataFrame) -> pd.DataFrame:
    """One row per (component, property, source, values or correlations): the median of its witnesses."""
    named = witnesses[witnesses["property"].isin(EVALUATED_PROPERTIES)]
    grouped = named.groupby([*GROUP, "source", "fitted"], sort=True)
    table = grouped.agg(
        value=("value", "median"), temperature_K=("temperature_K", "first"), step=("step", "max")
    ).reset_index()
    table["house"] = house_of(table["source"])
    table["company"] = np.searchsorted(COMPANY, table.groupby(GROUP)["source"].transform("size"), side="left")
    return table


def agree(spoken: pd.DataFrame) -> pd.DataFrame:
    """The voices with `u`, `copy`, `say`, `support`, `centre`, and `inside`: whether they carry the consensus."""
    first = consensus(spoken, _in_unit(spoken, _UNKNOWN_SCATTER))
    return consensus(spoken, _scatter_of(spoken, _scatters(first)))


def combine(agreed: pd.DataFrame) -> pd.DataFrame:
    """One row per (component, property): value, expanded uncertainty, grade and number of independent houses."""
    inside = agreed[agreed["inside"] & ~agreed["copy"]]
    table = _weighted_means(inside)
    birge = _birge_ratio(inside, table)
    told_by = agreed[agreed["inside"]].groupby(GROUP, sort=True)["house"].nunique().to_numpy()
    u = np.where(told_by == 1, LONE_VOICE_FACTOR, birge) / np.sqrt(table["total"])
    table["u95"] = np.maximum(COVERAGE_FACTOR * u, _dissent(agreed, table))
    table["unit"] = table["property"].map(_UNIT)
    table["rule"] = RULE
    return regrade(table)


def regrade(values: pd.DataFrame) -> pd.DataFrame:
    """The values with the grade that their uncertainties deserve."""
    judged = zip(values["property"], values["value"], values["u95"], values["n_sources"], strict=True)
    return values.assign(grade=[grade(*case) for case in judged])


def _in_unit(spoken: pd.DataFrame, widths: dict[str, float]) -> pd.Series:
    """A per-property width in the unit of each row's value."""
    width = spoken["property"].map(widths).astype(float)
    return width.where(~spoken["property"].map(_RELATIVE).astype(bool), width * spoken["value"].abs())


def _scatter_of(spoken: pd.DataFrame, scatters: pd.DataFrame) -> pd.Series:
    """Scatter of each row's voice, in the unit of its value."""
    key = ["property", "source", "fitted", "company"]
    known = spoken[key].merge(scatters, on=key, how="left")["scatter"].set_axis(spoken.index)
    relative = spoken["property"].map(_RELATIVE).astype(bool)
    return known.where(~relative, known * spoken["value"].abs()).fillna(_in_unit(spoken, _UNKNOWN_SCATTER))


def consensus(spoken: pd.DataFrame, scatter: pd.Series) -> pd.DataFrame:
    """One pass of the rule with the scatter of each voice given, in the unit of its value."""
    table = spoken[VOICE].reset_index(drop=True).assign(scatter=scatter.to_numpy())
    table["u"] = np.hypot(table["scatter"], table["step"] / np.sqrt(12.0))
    best_first = table.sort_values([*GROUP, "u", "source", "fitted"], kind="stable")
    table["copy"] = best_first.duplicated([*GROUP, "value"]).reindex(table.index)
    best = table.groupby(GROUP)["u"].transform("min")
    table["say"] = (best / table["u"]).clip(lower=LEAST_SAY).where(~table["copy"], 0.0)
    table["support"] = _support(table)
    median = table.groupby(GROUP)["value"].transform("median")
    order = table.assign(from_median=(table["value"] - median).abs()).sort_values(
        [*GROUP, "support", "from_median", "value"], ascending=[True, True, False, True, True], kind="stable"
    )
    central = order.drop_duplicates(GROUP)[[*GROUP, "value"]].rename(columns={"value": "centre"})
    table = table.merge(central, on=GROUP, how="left")
    table["inside"] = (table["value"] - table["centre"]).abs() <= _acceptance(table)
    return table


def _acceptance(table: pd.DataFrame) -> pd.Series:
    """How far from its own a value may lie for a voice to accept it."""
    own = AGREEMENT_SIGMAS * table["u"]
    return own.clip(lower=_in_unit(table, _GRADE_A), upper=_in_unit(table, AGREEMENT_WINDOW))


def _support(table: pd.DataFrame) -> pd.Series:
    """Sum of the say of all voices that accept each row's value."""
    row = table.assign(row=table.index)
    others = table[[*GROUP, "value", "say"]].assign(acceptance=_acceptance(table))
    pairs = row.merge(others, on=GROUP, suffixes=("", "_other"))
    near = (pairs["value"] - pairs["value_other"]).abs() <= pairs["acceptance"]
    return pairs["say_other"].where(near, 0.0).groupby(pairs["row"]).sum()


def _scatters(first: pd.DataFrame) -> pd.DataFrame:
    """Robust scatter of each voice about what the others agree on, per property, copies left out."""
    distinct = first[~first["copy"]]
    crowded = distinct[distinct.groupby(GROUP)["source"].transform("size") >= 3]
    part = crowded["value"].where(crowded["inside"], 0.0)
    sums = crowded.assign(part=part, count=crowded["inside"].astype(float))
    totals = sums.groupby(GROUP)[["part", "count"]].transform("sum")
    others = (totals["part"] - sums["part"]) / (totals["count"] - sums["count"]).where(lambda count: count > 0)
    deviation = (crowded["value"] - others).abs()
    deviation = deviation.where(~crowded["property"].map(_RELATIVE).astype(bool), deviation / others.abs())
    measured = crowded.assign(deviation=deviation).dropna(subset="deviation")
    table = _typical(measured, ["property", "source", "fitted", "company"])
    # Compared on too few components of one company, a voice is credited with its scatter in all companies.
    overall = _typical(measured, ["property", "source", "fitted"]).drop(columns="compared")
    table = table.merge(overall, on=["property", "source", "fitted"], suffixes=("", "_overall"))
    scatter = table["scatter"].where(table["compared"] >= LEAST_MEASURED, table["scatter_overall"])
    return table.assign(scatter=scatter)[["property", "source", "fitted", "company", "scatter"]]


def _typical(measured: pd.DataFrame, key: list[str]) -> pd.DataFrame:
    """Robust scatter by key, never below the floor, and the number of components behind it."""
    table = measured.groupby(key)["deviation"].agg(scatter="median", compared="size").reset_index()
    return table.assign(scatter=(ROBUST_SIGMA * table["scatter"]).clip(lower=table["property"].map(_SCATTER_FLOOR)))


def _weighted_means(inside: pd.DataFrame) -> pd.DataFrame:
    weighed = inside.assign(weight=inside["u"] ** -2.0)
    weighed["weighted"] = weighed["weight"] * weighed["value"]
    grouped = weighed.groupby(GROUP, sort=True)
    table = grouped.agg(
        n_sources=("house", "nunique"),
        n_voices=("source", "size"),
        total=("weight", "sum"),
        weighted=("weighted", "sum"),
        lowest=("value", "min"),
        highest=("value", "max"),
        camp=("say", "sum"),
        temperature_K=("temperature_K", "first"),
    ).reset_index()
    table["mean"] = table["weighted"] / table["total"]
    return table.merge(_weighted_medians(weighed), on=GROUP)


def _weighted_medians(weighed: pd.DataFrame) -> pd.DataFrame:
    """Weighted median per group: cumulated weight at the middle of each value, interpolated to one half."""
    table = weighed.sort_values([*GROUP, "value"], kind="stable", ignore_index=True)
    grouped = table.groupby(GROUP, sort=True)
    share = (grouped["weight"].cumsum() - 0.5 * table["weight"]) / grouped["weight"].transform("sum")
    table["share"] = share
    below = table[share <= 0.5].drop_duplicates(GROUP, keep="last")[[*GROUP, "value", "share"]]
    above = table[share >= 0.5].drop_duplicates(GROUP, keep="first")[[*GROUP, "value", "share"]]
    ends = grouped["value"].agg(["min", "max"]).reset_index()
    both = ends.merge(below, on=GROUP, how="left").merge(above, on=GROUP, how="left", suffixes=("_below", "_above"))
    low, high = both["value_below"].fillna(both["min"]), both["value_above"].fillna(both["max"])
    span = (both["share_above"] - both["share_below"]).where(lambda width: width > 0.0)
    fraction = ((0.5 - both["share_below"]) / span).fillna(0.0)
    # Where one value holds more than half of the weight, it is the median itself.
    alone_low, alone_high = both["value_below"].isna(), both["value_above"].isna()
    value = (low + fraction * (high - low)).where(~alone_low, both["min"]).where(~alone_high, both["max"])
    return both[GROUP].assign(value=value)


def _birge_ratio(inside: pd.DataFrame, table: pd.DataFrame) -> pd.Series:
    joined = inside.merge(table[[*GROUP, "mean"]], on=GROUP)
    chi2 = (((joined["value"] - joined["mean"]) / joined["u"]) ** 2).groupby([joined["cas"], joined["property"]]).sum()
    freedom = (table["n_voices"] - 1).clip(lower=1)
    return np.sqrt((chi2.to_numpy() / freedom).clip(lower=1.0))


def _dissent(agreed: pd.DataFrame, table: pd.DataFrame) -> pd.Series:
    """Distance to the farthest dissenting camp that is loud enough; else 0."""
    outside = agreed[~agreed["inside"]].merge(table[[*GROUP, "value", "camp"]], on=GROUP, suffixes=("", "_mean"))
    loud = outside[outside["support"] >= LOUD_DISSENT * outside["camp"]]
    distance = (loud["value"] - loud["value_mean"]).abs().groupby([loud["cas"], loud["property"]]).max()
    return distance.reindex(pd.MultiIndex.from_frame(table[GROUP])).fillna(0.0).reset_index(drop=True)

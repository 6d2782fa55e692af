"""Many observations become one evaluated value, with an expanded uncertainty and a grade.

The rule, `two-pass consensus`:

1. Witnesses of one house of publication (the first word of a source's name)
   are not independent: the house speaks with the median of its witnesses.
2. First pass. In each (component, property) every house's value is supported
   by the houses within the property's agreement window; the value with most
   support marks the consensus, ties going to the one nearer the median. From
   all components with at least three houses follows each house's scatter: its
   robust standard deviation (1.4826 times the median absolute deviation) about
   the consensus of the others.
3. Second pass. The same with every house weighted by 1/scatter². The
   evaluated value is the weighted mean of the supporters; its standard
   uncertainty is that of the weighted mean, enlarged by the Birge ratio where
   the supporters scatter more than their houses do elsewhere, and never below
   half the range of two dissenting camps of equal strength. Expanded
   uncertainty U95 = 2 u (GUM, JCGM 100:2008, 6.2). A lone witness gets its
   house's scatter times three, since nothing guards against a blunder.
4. Houses outside the window are outliers: they stay in `observation`, with the
   reason, and take no part.
5. A value that breaks physics is refused: boiling below melting or above the
   critical temperature, a liquid density below the melting point.

R. T. Birge, Phys. Rev. 40 (1932) 207-227, doi:10.1103/PhysRev.40.207.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from cutpoint.schema.properties import DENSITY_TEMPERATURE_K, EVALUATED_PROPERTIES, PROPERTIES, grade
from cutpoint.schema.tables import check, empty

from .witnesses import gather

RULE = "two-pass consensus"
GROUP = ["cas", "property"]
ROBUST_SIGMA = 1.4826
"""Standard deviation over median absolute deviation, for a normal distribution."""
LONE_WITNESS_FACTOR = 3.0
COVERAGE_FACTOR = 2.0
MELTING_MARGIN_K = 2.0

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
"""Distance within which two witnesses say the same: the property's unit, or relative to the value."""

SCATTER_FLOOR: dict[str, float] = {name: PROPERTIES[name].grade_limits[0] / 4.0 for name in EVALUATED_PROPERTIES}
"""Smallest scatter any house is credited with: a quarter of grade A's limit."""


@dataclass(frozen=True)
class Evaluated:
    """What the station hands on; each frame passes its table's model."""

    evaluations: pd.DataFrame
    observations: pd.DataFrame
    components: pd.DataFrame


def evaluate(components: pd.DataFrame, observations: pd.DataFrame) -> Evaluated:
    """Evaluate every property of every component.

    Takes the `component` and `observation` frames of the resolved data and
    gives them back with phase behaviour and outliers marked, beside the
    `evaluation` frame. Raises BuildFailed if a frame breaks its contract.
    """
    molar_mass = components.set_index("cas")["molar_mass_g_mol"]
    streams = components.loc[components["kind"] == "stream", "cas"]
    witnesses = gather(observations[~observations["cas"].isin(streams)], molar_mass)
    houses = _by_house(witnesses)
    if houses.empty:
        return Evaluated(empty("evaluation"), check("observation", observations, "evaluate"), components)
    scatter = _house_scatter(houses, _consensus(houses, _equal_scatter(houses)))
    houses = _consensus(houses, _scatter_of(houses, scatter))
    values = _combine(houses)
    values, refusals = _refuse_impossible(values)
    marked = _mark_outliers(observations, witnesses, houses, refusals)
    labelled = _label_phase_behaviour(components, values, refusals)
    return Evaluated(
        check("evaluation", values.sort_values(GROUP, ignore_index=True), "evaluate"),
        check("observation", marked, "evaluate"),
        check("component", labelled, "evaluate"),
    )


def _unit_window(houses: pd.DataFrame, table: dict[str, float]) -> pd.Series:
    """A per-property width in the unit of each row's value."""
    relative = houses["property"].map({name: PROPERTIES[name].relative for name in table}).astype(bool)
    width = houses["property"].map(table).astype(float)
    return width.where(~relative, width * houses["value"].abs())


def _by_house(witnesses: pd.DataFrame) -> pd.DataFrame:
    """One value per (component, property, house): the median of the house's witnesses."""
    named = witnesses.assign(house=witnesses["source"].str.split("_").str[0])
    named = named[named["property"].isin(EVALUATED_PROPERTIES)]
    grouped = named.groupby([*GROUP, "house"], sort=True)
    return grouped.agg(value=("value", "median"), temperature_K=("temperature_K", "first")).reset_index()


def _equal_scatter(houses: pd.DataFrame) -> pd.Series:
    return _unit_window(houses, SCATTER_FLOOR)


def _scatter_of(houses: pd.DataFrame, scatter: pd.DataFrame) -> pd.Series:
    """Scatter of each row's house, in the unit of its value."""
    merged = houses[["property", "house"]].merge(scatter, on=["property", "house"], how="left")
    relative = houses["property"].map({name: PROPERTIES[name].relative for name in EVALUATED_PROPERTIES}).astype(bool)
    own = merged["scatter"].set_axis(houses.index)
    own = own.where(~relative, own * houses["value"].abs())
    return own.fillna(_unit_window(houses, SCATTER_FLOOR) * 4.0)


def _consensus(houses: pd.DataFrame, scatter: pd.Series) -> pd.DataFrame:
    """Add `scatter`, `weight`, and `inside`: whether the house supports the consensus."""
    table = houses.reset_index(drop=True).assign(scatter=scatter.to_numpy())
    table["weight"] = table["scatter"] ** -2.0
    # A poor house may not outvote by weight alone: its say is between a tenth and all of the best one's.
    best = table.groupby(GROUP)["weight"].transform("max")
    table["say"] = np.sqrt((table["weight"] / best).clip(lower=0.01))
    table["window"] = _unit_window(table, AGREEMENT_WINDOW)
    table["row"] = table.index
    pairs = table.merge(table[[*GROUP, "value", "say"]], on=GROUP, suffixes=("", "_other"))
    near = (pairs["value"] - pairs["value_other"]).abs() <= pairs["window"]
    table["support"] = pairs["say_other"].where(near, 0.0).groupby(pairs["row"]).sum()
    median = table.groupby(GROUP)["value"].transform("median")
    table["from_median"] = (table["value"] - median).abs()
    order = table.sort_values(
        [*GROUP, "support", "from_median", "value"], ascending=[True, True, False, True, True], kind="stable"
    )
    centre = order.groupby(GROUP, sort=True)["value"].first().rename("centre").reset_index()
    table = table.merge(centre, on=GROUP, how="left")
    table["inside"] = (table["value"] - table["centre"]).abs() <= table["window"]
    return table.drop(columns=["row", "from_median"])


def _house_scatter(houses: pd.DataFrame, first: pd.DataFrame) -> pd.DataFrame:
    """Robust scatter of each house about the consensus, per property, from components with three houses or more."""
    crowded = first[first.groupby(GROUP)["house"].transform("size") >= 3]
    # The house's own value is taken out of the mean it is compared with.
    inside = crowded["inside"]
    totals = crowded.assign(part=crowded["value"].where(inside, 0.0), count=inside.astype(float))
    sums = totals.groupby(GROUP)[["part", "count"]].transform("sum")
    others = (sums["part"] - totals["part"]) / (sums["count"] - totals["count"]).where(lambda n: n > 0)
    relative = crowded["property"].map({name: PROPERTIES[name].relative for name in EVALUATED_PROPERTIES}).astype(bool)
    deviation = (crowded["value"] - others).abs()
    deviation = deviation.where(~relative, deviation / others.abs())
    table = crowded.assign(deviation=deviation).dropna(subset="deviation")
    typical = table.groupby(["property", "house"])["deviation"].median()
    scatter = (ROBUST_SIGMA * typical).rename("scatter").reset_index()
    floor = scatter["property"].map(SCATTER_FLOOR)
    return scatter.assign(scatter=scatter["scatter"].clip(lower=floor))


def _combine(houses: pd.DataFrame) -> pd.DataFrame:
    """Weighted mean of the supporters with its expanded uncertainty, one row per (component, property)."""
    supporters = houses[houses["inside"]].copy()
    supporters["weighted"] = supporters["weight"] * supporters["value"]
    grouped = supporters.groupby(GROUP, sort=True)
    table = grouped.agg(
        n_sources=("house", "size"),
        total=("weight", "sum"),
        weighted=("weighted", "sum"),
        lowest=("value", "min"),
        highest=("value", "max"),
        camp=("say", "sum"),
        temperature_K=("temperature_K", "first"),
    ).reset_index()
    table["value"] = table["weighted"] / table["total"]
    supporters = supporters.merge(table[[*GROUP, "value"]].rename(columns={"value": "mean"}), on=GROUP)
    supporters["chi2"] = supporters["weight"] * (supporters["value"] - supporters["mean"]) ** 2
    chi2 = supporters.groupby(GROUP, sort=True)["chi2"].sum().to_numpy()
    freedom = np.maximum(table["n_sources"] - 1, 1)
    birge = np.sqrt(np.maximum(chi2 / freedom, 1.0))
    u = birge / np.sqrt(table["total"])
    u = np.where(table["n_sources"] == 1, LONE_WITNESS_FACTOR * u, u)
    table["u95"] = np.maximum(COVERAGE_FACTOR * u, _dissent(houses, table))
    table["unit"] = table["property"].map({name: entry.unit for name, entry in PROPERTIES.items()})
    table["rule"] = RULE
    table["grade"] = [
        grade(name, value, u95, n)
        for name, value, u95, n in zip(table["property"], table["value"], table["u95"], table["n_sources"], strict=True)
    ]
    return table


def _dissent(houses: pd.DataFrame, table: pd.DataFrame) -> pd.Series:
    """Distance to the farthest dissenting camp that speaks at least as loud as half of the consensus; else 0."""
    outside = houses[~houses["inside"]].merge(table[[*GROUP, "value", "camp"]], on=GROUP, suffixes=("", "_mean"))
    loud = outside[outside["support"] >= 0.5 * outside["camp"]]
    distance = (loud["value"] - loud["value_mean"]).abs().groupby([loud["cas"], loud["property"]]).max()
    keys = pd.MultiIndex.from_frame(table[GROUP])
    return pd.Series(distance.reindex(keys).fillna(0.0).to_numpy(), index=table.index)


def _refuse_impossible(values: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Take out values that break physics; gives the rest, and (cas, property, reason) of the refused."""
    wide = values.pivot(index="cas", columns="property", values="value").reindex(columns=list(EVALUATED_PROPERTIES))
    T_b, T_m, T_c = (wide[name] for name in ("normal_boiling_point", "melting_point", "critical_temperature"))
    u_m = values[values["property"] == "melting_point"].set_index("cas")["u95"].reindex(wide.index)
    below_melting = T_b < T_m - np.maximum(u_m, MELTING_MARGIN_K)
    refused = {
        "normal_boiling_point": {
            "boils below its melting point: sublimes, or a boiling point at reduced pressure": below_melting,
            "boils above the critical temperature": T_b >= T_c,
        },
        "liquid_density": {"density of a solid: melts above 20 °C": T_m > DENSITY_TEMPERATURE_K + MELTING_MARGIN_K},
    }
    rows = [
        pd.DataFrame({"cas": wide.index[broken], "property": name, "reason": reason})
        for name, reasons in refused.items()
        for reason, broken in reasons.items()
    ]
    refusals = pd.concat(rows, ignore_index=True).drop_duplicates(GROUP)
    kept = values.merge(refusals[GROUP], on=GROUP, how="left", indicator=True)
    return kept[kept["_merge"] == "left_only"].drop(columns="_merge"), refusals


def _mark_outliers(
    observations: pd.DataFrame, witnesses: pd.DataFrame, houses: pd.DataFrame, refusals: pd.DataFrame
) -> pd.DataFrame:
    """Observations with status and reason: outside the consensus, or refused by physics."""
    named = witnesses.assign(house=witnesses["source"].str.split("_").str[0])
    judged = named.merge(houses[[*GROUP, "house", "centre", "window"]], on=[*GROUP, "house"], how="inner")
    outside = judged[(judged["value"] - judged["centre"]).abs() > judged["window"]]
    # A correlation is judged through the value it gives; itself it stays accepted.
    values_only = outside[observations["value"].reindex(outside["observation"]).notna().to_numpy()]
    table = observations.copy()
    rows = values_only["observation"].to_numpy()
    table.loc[rows, "status"] = "outlier"
    table.loc[rows, "reason"] = [f"outside the consensus near {centre:.6g}" for centre in values_only["centre"]]
    broken = table[GROUP].merge(refusals, on=GROUP, how="left")["reason"].to_numpy()
    hit = pd.notna(broken) & table["value"].notna().to_numpy()
    table.loc[hit, "status"] = "outlier"
    table.loc[hit, "reason"] = broken[hit]
    return table


def _label_phase_behaviour(components: pd.DataFrame, values: pd.DataFrame, refusals: pd.DataFrame) -> pd.DataFrame:
    """`boils` where a normal boiling point stands; `sublimes` where melting lies well above it.

    Only a melting point known to 10 K or better, in at least two houses, can
    show that a substance sublimes; else nothing is said.
    """
    sound = values[(values["property"] == "melting_point") & (values["grade"] != "D")]["cas"]
    below = refusals[refusals["reason"].str.startswith("boils below")]["cas"]
    boils = values[values["property"] == "normal_boiling_point"]["cas"]
    table = components.copy()
    table.loc[table["cas"].isin(boils), "phase_behaviour"] = "boils"
    table.loc[table["cas"].isin(below) & table["cas"].isin(sound), "phase_behaviour"] = "sublimes"
    return table

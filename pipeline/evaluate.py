"""The fourth station: many observations become one evaluated value, with an expanded uncertainty and a grade.

`witnesses` and `voices` say who speaks for a value, `error_model` how far each
is to be trusted, `consensus` what they agree on, `calibrate` whether the
intervals hold what was held out, and `credibility` whether the structure
believes it; this station refuses what breaks physics, marks what was left out with the reason, and says what happens
to each component on heating. Refused are a boiling point below the melting
point or above the critical temperature, a flash point at or above the boiling
point, a liquid density below the melting point, and vapour-pressure
correlations whose whole range lies below the melting point: those are the
solid's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from cutpoint.schema.properties import DENSITY_TEMPERATURE_K, EVALUATED_PROPERTIES, PROPERTIES
from cutpoint.schema.tables import check, empty

from . import calibrate, error_model
from .consensus import BOILING, combine, consensus
from .credibility import Judged, doubt
from .error_model import ErrorModel, weigh
from .estimate import estimate
from .hold_out import hold_out
from .voices import GROUP, voices
from .witnesses import gather

MELTING_MARGIN_K = 2.0

UNIT_IN_WORDS = {
    "K": " K",
    "Pa": " Pa",
    "m3_mol": " m3/mol",
    "J_mol": " J/mol",
    "kg_m3": " kg/m3",
    "1": "",
    "class": "",
}

SUBLIMES = "boils below its melting point: sublimes, or a boiling point at reduced pressure"
ABOVE_CRITICAL = "boils above the critical temperature"
MELTS_ABOVE_BOILING = "melting point far above a boiling point that the structure confirms"
FLASHES_AS_IT_BOILS = "flash point at or above the boiling point"
SOLID_DENSITY = "density of a solid: melts above 20 °C"
SOLID_CURVE = "its whole range lies below the melting point: a pressure over the solid"


@dataclass(frozen=True)
class Evaluated:
    """What the station hands on; each frame passes its table's model."""

    evaluations: pd.DataFrame
    observations: pd.DataFrame
    components: pd.DataFrame
    structure_model: pd.DataFrame
    source_model: pd.DataFrame
    calibration: pd.DataFrame


def evaluate(components: pd.DataFrame, observations: pd.DataFrame) -> Evaluated:
    """Evaluate every property of every component.

    Takes the `component` and `observation` frames of the resolved data and
    gives them back with phase behaviour and outliers marked, beside the
    `evaluation` frame. Raises BuildFailed if a frame breaks its contract.
    """
    molar_mass = components.set_index("cas")["molar_mass_g_mol"]
    streams = components.loc[components["kind"] == "stream", "cas"]
    witnesses = gather(observations[~observations["cas"].isin(streams)], molar_mass)
    if witnesses.empty:
        seen = check("observation", observations, "evaluate")
        nothing = [empty(table) for table in ("structure_model", "source_model", "calibration")]
        return Evaluated(empty("evaluation"), seen, components, *nothing)
    spoken = voices(witnesses)
    model = error_model.fit(spoken)
    marked, witnesses = _set_solids_aside(observations, witnesses, model)
    weighed = weigh(voices(witnesses), model)
    judged, calibration = _judge(weighed, components)
    agreed = judged.agreed
    values, refusals = _refuse_impossible(judged.values, judged.confirmed)
    marked = _mark_outliers(marked, witnesses, agreed)
    marked = _mark_doubted(marked, witnesses, judged.doubted)
    marked = _mark_refused(marked, witnesses, refusals)
    labelled = _label_phase_behaviour(components, values, refusals, _told_twice(agreed))
    return Evaluated(
        check("evaluation", values.sort_values(GROUP, ignore_index=True), "evaluate"),
        check("observation", marked, "evaluate"),
        check("component", labelled, "evaluate"),
        check("structure_model", judged.model_errors, "evaluate"),
        check("source_model", error_model.source_model(model), "evaluate"),
        check("calibration", calibration, "evaluate"),
    )


def _judge(weighed: pd.DataFrame, components: pd.DataFrame) -> tuple[Judged, pd.DataFrame]:
    """What is agreed on once the structures have been heard, and how well the intervals hold held-out values."""
    first = consensus(weighed)
    values = combine(first)
    estimates = estimate(components, values[values["property"] == BOILING])
    expected = estimates.boiling_points
    heard = consensus(weighed[weighed["property"] == BOILING], expected)
    agreed = pd.concat([first[first["property"] != BOILING], heard], ignore_index=True)
    held = hold_out(weighed, expected)
    rounds = calibrate.widening(held)
    judged = doubt(agreed, estimates, lambda settled: calibrate.widened(settled, rounds))
    return judged, calibrate.coverage(calibrate.widened(held, rounds))


def _set_solids_aside(
    observations: pd.DataFrame, witnesses: pd.DataFrame, model: ErrorModel | None
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Mark vapour-pressure correlations of the solid as outliers, and take their witnesses out."""
    agreed = consensus(weigh(voices(witnesses[witnesses["property"] == "melting_point"]), model))
    melting = combine(agreed[agreed["cas"].isin(_told_twice(agreed))]).set_index("cas")["value"]
    curves = (observations["property"] == "vapour_pressure") & observations["equation"].notna()
    T_m_K = observations["cas"].map(melting).astype(float)
    solid = curves & (observations["T_max_K"] <= T_m_K + MELTING_MARGIN_K)
    marked = observations.copy()
    marked.loc[solid, "status"] = "outlier"
    marked.loc[solid, "reason"] = SOLID_CURVE
    return marked, witnesses[~witnesses["observation"].isin(marked.index[solid])]


def _told_twice(agreed: pd.DataFrame) -> pd.Series:
    """Components whose agreed melting point two houses tell, be it in the same words."""
    melting = agreed[(agreed["property"] == "melting_point") & agreed["inside"]]
    houses = melting.groupby("cas")["house"].nunique()
    return houses.index[houses >= 2].to_series()


def _refuse_impossible(values: pd.DataFrame, confirmed_u95_K: pd.Series) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Take out values that break physics; gives the rest, and (cas, property, reason) of the refused."""
    wide = values.pivot(index="cas", columns="property", values="value").reindex(columns=list(EVALUATED_PROPERTIES))
    T_b, T_m, T_c = (wide[name] for name in ("normal_boiling_point", "melting_point", "critical_temperature"))
    melting = values[values["property"] == "melting_point"].set_index("cas").reindex(wide.index)
    u_m = melting["u95"]
    # One figure, however often copied, against a boiling point that the structure confirms.
    slip = (melting["n_sources"] == 1) & (T_m - T_b > 2.0 * confirmed_u95_K.reindex(wide.index))
    T_m = T_m.where(~slip)
    refused = {
        "normal_boiling_point": {
            SUBLIMES: T_b < T_m - np.maximum(u_m, MELTING_MARGIN_K),
            ABOVE_CRITICAL: T_b >= T_c,
        },
        "melting_point": {MELTS_ABOVE_BOILING: slip},
        "flash_point": {FLASHES_AS_IT_BOILS: wide["flash_point"] >= T_b},
        "liquid_density": {SOLID_DENSITY: T_m > DENSITY_TEMPERATURE_K + MELTING_MARGIN_K},
    }
    rows = [
        pd.DataFrame({"cas": wide.index[broken], "property": name, "reason": reason})
        for name, reasons in refused.items()
        for reason, broken in reasons.items()
    ]
    refusals = pd.concat(rows, ignore_index=True).drop_duplicates(GROUP)
    kept = values.merge(refusals[GROUP], on=GROUP, how="left", indicator=True)
    return kept[kept["_merge"] == "left_only"].drop(columns="_merge"), refusals


def _mark_outliers(observations: pd.DataFrame, witnesses: pd.DataFrame, agreed: pd.DataFrame) -> pd.DataFrame:
    """Observations outside the consensus get the status and the reason.

    A correlation is judged through the value it gives; itself it stays accepted.
    """
    key = [*GROUP, "source", "fitted"]
    outside = agreed.loc[~agreed["inside"], [*key, "centre"]]
    left_out = witnesses[~witnesses["fitted"]].merge(outside, on=key, how="inner")
    marked = observations.copy()
    rows = left_out["observation"].to_numpy()
    marked.loc[rows, "status"] = "outlier"
    units = left_out["property"].map({name: UNIT_IN_WORDS[entry.unit] for name, entry in PROPERTIES.items()})
    told = [
        f"outside the consensus near {centre:.6g}{unit}" for centre, unit in zip(left_out["centre"], units, strict=True)
    ]
    marked.loc[rows, "reason"] = told
    return marked


def _mark_doubted(observations: pd.DataFrame, witnesses: pd.DataFrame, doubted: pd.DataFrame) -> pd.DataFrame:
    """Values that the structure does not believe get the status and the reason."""
    told = doubted.loc[~doubted["fitted"], [*GROUP, "source", "least_K", "reason"]]
    rows = witnesses[~witnesses["fitted"]].merge(told, on=[*GROUP, "source"])
    rows = rows[rows["value"] < rows["least_K"]]
    marked = observations.copy()
    marked.loc[rows["observation"], "status"] = "outlier"
    marked.loc[rows["observation"], "reason"] = rows["reason"].to_numpy()
    return marked


def _mark_refused(observations: pd.DataFrame, witnesses: pd.DataFrame, refusals: pd.DataFrame) -> pd.DataFrame:
    """Values that physics refuses, and correlations that give a refused boiling point, get the status and reason."""
    reason = observations[GROUP].merge(refusals, on=GROUP, how="left")["reason"].set_axis(observations.index)
    reason = reason.where(observations["value"].notna())
    boiling = witnesses[witnesses["fitted"] & (witnesses["property"] == "normal_boiling_point")]
    of_curves = boiling.merge(refusals, on=GROUP).set_index("observation")["reason"]
    reason = reason.combine_first(of_curves)
    marked = observations.copy()
    marked.loc[reason.notna(), "status"] = "outlier"
    marked.loc[reason.notna(), "reason"] = reason
    return marked


def _label_phase_behaviour(
    components: pd.DataFrame, values: pd.DataFrame, refusals: pd.DataFrame, told_twice: pd.Series
) -> pd.DataFrame:
    """`boils` where a normal boiling point stands; `sublimes` where melting lies well above it.

    Only a melting point that two houses tell can show that a substance
    sublimes; else nothing is said.
    """
    below = refusals[refusals["reason"] == SUBLIMES]["cas"]
    boils = values[values["property"] == "normal_boiling_point"]["cas"]
    table = components.copy()
    table.loc[table["cas"].isin(boils), "phase_behaviour"] = "boils"
    table.loc[table["cas"].isin(below) & table["cas"].isin(told_twice), "phase_behaviour"] = "sublimes"
    return table

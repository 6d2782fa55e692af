"""The fourth station: many observations become one evaluated value, with an expanded uncertainty and a grade.

`witnesses` and `voices` say who speaks for a value, `error_model` how far each
is to be trusted, `consensus` what they agree on, `calibrate` whether the
intervals hold what was held out, `credibility` whether the structure believes
it, `disputes` who is right where the sources contradict each other, `behaviour`
what does not boil, and `slips` what went wrong with a value that was left out.
This station calls them in turn, refuses what breaks physics, and marks what was
left out with the reason. Refused are a boiling point below the melting point or
above the critical temperature, a flash point at or above the boiling point, a
liquid density below the melting point, and vapour-pressure correlations whose
whole range lies below the melting point: those are the solid's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from cutpoint.schema.properties import DENSITY_TEMPERATURE_K, EVALUATED_PROPERTIES, PROPERTIES
from cutpoint.schema.tables import check, empty

from . import calibrate, error_model
from .behaviour import DECOMPOSES, MELTING_MARGIN_K, behaviours, impossible_melting_points, refused_boiling_points
from .calibrate import Widened
from .consensus import BOILING, combine, consensus
from .credibility import Judged, doubt
from .disputes import settle_boiling_points, settle_melting_points
from .error_model import ErrorModel, weigh
from .estimate import estimate
from .hand_tables import OnHeating
from .hold_out import hold_out
from .relatives import relatives
from .slips import diagnose
from .source import LIVE_VALUES
from .voices import GROUP, grade_limit, voices
from .witnesses import gather

UNIT_IN_WORDS = {
    "K": " K",
    "Pa": " Pa",
    "m3_mol": " m3/mol",
    "J_mol": " J/mol",
    "kg_m3": " kg/m3",
    "1": "",
    "class": "",
}

ABOVE_CRITICAL = "boils above the critical temperature"
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


def evaluate(
    components: pd.DataFrame, observations: pd.DataFrame, on_heating: Mapping[str, OnHeating] | None = None
) -> Evaluated:
    """Evaluate every property of every component.

    Takes the `component` and `observation` frames of the resolved data and
    gives them back with phase behaviour and outliers marked, beside the
    `evaluation` frame. `on_heating` tells by CAS number what is known to
    sublime or decompose. Raises BuildFailed if a frame breaks its contract.
    """
    molar_mass = components.set_index("cas")["molar_mass_g_mol"]
    streams = components.loc[components["kind"] == "stream", "cas"]
    witnesses = gather(observations[~observations["cas"].isin(streams)], molar_mass)
    if witnesses.empty:
        seen = check("observation", observations, "evaluate")
        nothing = [empty(table) for table in ("structure_model", "source_model", "calibration")]
        return Evaluated(empty("evaluation"), seen, components, *nothing)
    model = error_model.fit(voices(witnesses))
    marked, witnesses = _set_solids_aside(observations, witnesses, model)
    judged, calibration, widened = _judge(weigh(voices(witnesses), model), components)
    expected = judged.expected
    boiling = settle_boiling_points(judged.agreed, judged.values, expected, widened)
    behaviour = behaviours(components, observations, boiling.agreed, boiling.values, on_heating or {})
    impossible = impossible_melting_points(boiling.agreed, boiling.values, expected, components, behaviour.index)
    settled = settle_melting_points(boiling.agreed, boiling.values, impossible, widened)
    refused_boiling = refused_boiling_points(settled.agreed, settled.values, expected, behaviour)
    values, refusals = _refuse_impossible(settled.values, refused_boiling)
    slips = diagnose(settled.agreed, settled.values, components, relatives(components, settled.agreed["cas"]))
    words = _joined(slips, boiling.words, settled.words)
    marked = _mark_outliers(marked, witnesses, settled.agreed.join(words))
    marked = _mark_strays(marked, witnesses, settled.agreed)
    marked = _mark_doubted(marked, witnesses, judged.doubted)
    marked = _mark_refused(marked, witnesses, refusals)
    return Evaluated(
        check("evaluation", values.sort_values(GROUP, ignore_index=True), "evaluate"),
        check("observation", marked, "evaluate"),
        check("component", _label_phase_behaviour(components, values, behaviour), "evaluate"),
        check("structure_model", judged.model_errors, "evaluate"),
        check("source_model", error_model.source_model(model), "evaluate"),
        check("calibration", calibration, "evaluate"),
    )


def _judge(weighed: pd.DataFrame, components: pd.DataFrame) -> tuple[Judged, pd.DataFrame, Widened]:
    """What is agreed on once the structures were heard, how well intervals hold held-out values, and how to widen."""
    first = consensus(weighed)
    values = combine(first)
    estimates = estimate(components, values[values["property"] == BOILING])
    expected = estimates.boiling_points
    heard = consensus(weighed[weighed["property"] == BOILING], expected)
    agreed = pd.concat([first[first["property"] != BOILING], heard], ignore_index=True)
    held = hold_out(weighed, expected)
    widened = partial(calibrate.widened, rounds=calibrate.widening(held))
    return doubt(agreed, estimates, widened), calibrate.coverage(calibrate.crosswise(held)), widened


def _joined(*words: pd.Series) -> pd.Series:
    """The words on each voice, one after the other."""
    told = pd.concat(words).groupby(level=0, sort=True).agg(lambda several: "; ".join(dict.fromkeys(several)))
    return told.rename("words")


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


def _refuse_impossible(values: pd.DataFrame, refused_boiling: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Take out values that break physics; gives the rest, and (cas, property, reason) of the refused."""
    wide = values.pivot(index="cas", columns="property", values="value").reindex(columns=list(EVALUATED_PROPERTIES))
    T_b, T_m, T_c = (wide[name] for name in (BOILING, "melting_point", "critical_temperature"))
    T_b = T_b.where(~T_b.index.isin(refused_boiling["cas"]))
    refused = {
        BOILING: {ABOVE_CRITICAL: T_b >= T_c},
        "flash_point": {FLASHES_AS_IT_BOILS: wide["flash_point"] >= T_b},
        "liquid_density": {SOLID_DENSITY: T_m > DENSITY_TEMPERATURE_K + MELTING_MARGIN_K},
    }
    rows = [refused_boiling] + [
        pd.DataFrame({"cas": wide.index[broken], "property": name, "reason": reason})
        for name, reasons in refused.items()
        for reason, broken in reasons.items()
    ]
    refusals = pd.concat(rows, ignore_index=True).drop_duplicates(GROUP)
    kept = values.merge(refusals[GROUP], on=GROUP, how="left", indicator=True)
    return kept[kept["_merge"] == "left_only"].drop(columns="_merge"), refusals


def _mark_outliers(observations: pd.DataFrame, witnesses: pd.DataFrame, agreed: pd.DataFrame) -> pd.DataFrame:
    """Observations outside the consensus get the status and the reason, with the `words` on what went wrong.

    A correlation is judged through the value it gives; itself it stays accepted.
    """
    key = [*GROUP, "source", "fitted"]
    outside = agreed.loc[~agreed["inside"], [*key, "centre", "words"]]
    left_out = witnesses[~witnesses["fitted"]].merge(outside, on=key, how="inner")
    units = left_out["property"].map({name: UNIT_IN_WORDS[entry.unit] for name, entry in PROPERTIES.items()})
    told = [
        _outside(centre, unit, words)
        for centre, unit, words in zip(left_out["centre"], units, left_out["words"], strict=True)
    ]
    marked = observations.copy()
    rows = left_out["observation"].to_numpy()
    marked.loc[rows, "status"] = "outlier"
    marked.loc[rows, "reason"] = told
    return marked


def _mark_strays(observations: pd.DataFrame, witnesses: pd.DataFrame, agreed: pd.DataFrame) -> pd.DataFrame:
    """Of several values that speak as one voice inside the consensus, those far from it become outliers themselves."""
    several = witnesses[witnesses["source"] == LIVE_VALUES]
    voice = agreed.loc[agreed["inside"], [*GROUP, "source", "fitted", "centre", "centre_u95"]]
    spoken = several.merge(voice, on=[*GROUP, "source", "fitted"])
    reach = np.maximum(spoken["centre_u95"], grade_limit(spoken, "B"))
    strays = spoken[(spoken["value"] - spoken["centre"]).abs() > reach]
    units = strays["property"].map({name: UNIT_IN_WORDS[entry.unit] for name, entry in PROPERTIES.items()})
    words = "other values of the same source carry it"
    marked = observations.copy()
    marked.loc[strays["observation"], "status"] = "outlier"
    marked.loc[strays["observation"], "reason"] = [
        _outside(centre, unit, words) for centre, unit in zip(strays["centre"], units, strict=True)
    ]
    return marked


def _outside(centre: float, unit: str, words: object) -> str:
    """The reason; where no value is left (no centre) the words alone."""
    parts = [] if np.isnan(centre) else [f"outside the consensus near {centre:.6g}{unit}"]
    return ": ".join(parts + ([words] if isinstance(words, str) else []))


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
    """Values that physics refuses, and correlations that give a refused boiling point, get the status and reason.

    Of what decomposes the correlations stand: it may be distilled at lower pressures, of which they tell.
    """
    reason = observations[GROUP].merge(refusals, on=GROUP, how="left")["reason"].set_axis(observations.index)
    reason = reason.where(observations["value"].notna())
    boiling = witnesses[witnesses["fitted"] & (witnesses["property"] == BOILING)]
    for_curves = refusals[~refusals["reason"].str.startswith(DECOMPOSES)]
    of_curves = boiling.merge(for_curves, on=GROUP).set_index("observation")["reason"]
    reason = reason.combine_first(of_curves)
    marked = observations.copy()
    marked.loc[reason.notna(), "status"] = "outlier"
    marked.loc[reason.notna(), "reason"] = reason
    return marked


def _label_phase_behaviour(components: pd.DataFrame, values: pd.DataFrame, behaviour: pd.DataFrame) -> pd.DataFrame:
    """`boils` where a normal boiling point stands; `sublimes` and `decomposes` as `behaviour` says; else nothing."""
    boils = components["cas"].isin(values.loc[values["property"] == BOILING, "cas"])
    label = components["cas"].map(behaviour["label"]).astype(object)
    return components.assign(phase_behaviour=label.where(label.notna() | ~boils, "boils"))

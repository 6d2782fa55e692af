"""What gives way where an evaluated enthalpy of vaporisation contradicts the slope of the vapour-pressure curve.

They contradict each other where they lie further apart than 10 %, grade C's
limit, and than twice what both uncertainties leave open (`physics`). A third
estimate that knows neither decides: Riedel's with Watson's (`enthalpy`), from
the boiling point and the critical point. Where both sides agree it meets them
within 2 % (median of 1,250 pairs); the enthalpies of liquids with hydrogen bonds
lie up to a third above it at 298.15 K.

- The slope is near the estimate and the enthalpy far: an enthalpy that one house
  alone tells is refused, and what spoke for it becomes an outlier; what was outside
  the consensus and agrees with the slope stands in its place. Another is widened.
- The enthalpy is near and the slope far: the curve gives way.
- Nothing is decided: the side that fewer houses tell, or that is of grade D, gives
  way to one that more houses tell at a better grade; else both do. An enthalpy
  gives way by an uncertainty that reaches to the other side.
- An estimated curve always gives way.

A curve that gives way keeps its values, since nothing better is known, and gets
grade D and a wider band: its slope is taken to go wrong evenly from the boiling
point, to which it is tied, to where it was found wrong.

Inorganic substances are left alone, their vapours being dimers and more too often.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rdkit import Chem

from cutpoint.schema.tables import check

from .bands import with_wider_band
from .consensus import RULE, regrade
from .descriptors import is_organic
from .enthalpy import by_riedel_and_watson
from .evaluate import Evaluated
from .physics import enthalpies, with_constants
from .structure import silence
from .voices import GROUP, house_of
from .witnesses import gather

Array = NDArray[np.float64]

CONTRADICTION, LEAST_CONTRADICTION = 2.0, 0.10
"""Distance beyond which slope and enthalpy contradict each other: in tolerances, and at least so much, relative."""
NEAR, FAR, FAR_WITH_HYDROGEN_BONDS = 0.10, 0.15, 0.40
"""Distances from the estimate, as differences of logarithms; the last holds only for values above it."""
WIDENED_RULE = f"{RULE}, doubted by the slope of the curve"
LEFT_RULE = "what agrees with the slope of the curve"

_HYDROGEN_BOND_DONOR = Chem.MolFromSmarts("[O,N;!H0]")


def contradictions(evaluations: pd.DataFrame, curves: pd.DataFrame, components: pd.DataFrame) -> pd.DataFrame:
    """One row per contradicted enthalpy.

    Columns: `cas`, `property`, the enthalpy by the slope `slope_J_mol`, the
    relative `deviation` from it and its `tolerance`, what gives way (`refused`,
    `widened`, `curve_doubted`), and the `reason` in words.
    """
    silence()
    compared = enthalpies(evaluations, with_constants(curves, evaluations), components)
    far_apart = compared["deviation"].abs() > np.maximum(CONTRADICTION * compared["tolerance"], LEAST_CONTRADICTION)
    table = compared[far_apart].reset_index(drop=True)
    molecules = table["cas"].map(components.set_index("cas")["smiles"]).map(Chem.MolFromSmiles, na_action="ignore")
    organic = molecules.map(is_organic, na_action="ignore").eq(True)
    table, molecules = table[organic].reset_index(drop=True), molecules[organic].reset_index(drop=True)
    bonded = molecules.map(lambda molecule: molecule.HasSubstructMatch(_HYDROGEN_BOND_DONOR)).to_numpy(dtype=bool)

    estimate = by_riedel_and_watson(*(table[name] for name in ("temperature_K", "T_b_K", "T_c_K", "p_c_Pa")))
    heat_off, slope_off = np.log(table["ours"] / estimate), np.log(table["reference_value"] / estimate)
    is_estimate = table["n_sources_curve"] == 0  # of the same kind as the third one, so it confirms nothing
    for_slope = (slope_off.abs() <= NEAR) & _is_far(heat_off, bonded) & ~is_estimate
    for_heat = (heat_off.abs() <= NEAR) & _is_far(slope_off, bonded)
    more_for_slope = (table["n_sources_curve"] > table["n_sources"]) & (table["grade_curve"] != "D")
    more_for_heat = is_estimate | ((table["n_sources"] > table["n_sources_curve"]) & (table["grade"] != "D"))
    refused = for_slope & (table["n_sources"] <= 1)
    return table[[*GROUP, "deviation", "tolerance"]].assign(
        slope_J_mol=table["reference_value"],
        refused=refused,
        widened=~refused & ~for_heat & (for_slope | ~more_for_heat),
        curve_doubted=for_heat | (~for_slope & ~more_for_slope),
        reason=[
            f"contradicts the vapour-pressure curve, whose slope gives {slope / 1000.0:.1f} kJ/mol"
            for slope in table["reference_value"]
        ],
    )


def _is_far(off: pd.Series, bonded: NDArray[np.bool_]) -> pd.Series:
    return (off < -FAR) | (off > np.where(bonded, FAR_WITH_HYDROGEN_BONDS, FAR))


def without_contradicted(evaluated: Evaluated, contradicted: pd.DataFrame) -> Evaluated:
    """The evaluation without the refused enthalpies, their observations outliers, and the doubted ones widened."""
    refused = contradicted[contradicted["refused"]]
    observations, agreeing = _heard_anew(evaluated.observations, refused)
    values = _widened(evaluated.evaluations, contradicted)
    is_refused = values[GROUP].merge(refused, on=GROUP, how="left")["refused"].eq(True).to_numpy()
    left = _left(values[is_refused], agreeing)
    kept = pd.concat([part for part in (values[~is_refused], left) if not part.empty] or [left])
    return replace(
        evaluated,
        evaluations=check("evaluation", kept.sort_values(GROUP, ignore_index=True), "reconcile"),
        observations=check("observation", observations, "reconcile"),
    )


def _widened(values: pd.DataFrame, contradicted: pd.DataFrame) -> pd.DataFrame:
    """The values, the uncertainty of the doubted ones reaching to what the slope gives."""
    found = values[GROUP].merge(contradicted, on=GROUP, how="left").set_axis(values.index)
    doubted = values[found["widened"].eq(True)]
    distance = (doubted["value"] - found.loc[doubted.index, "slope_J_mol"]).abs()
    wider = regrade(doubted.assign(u95=np.fmax(doubted["u95"], distance), rule=WIDENED_RULE))
    table = values.copy()
    table.loc[wider.index, ["u95", "rule", "grade"]] = wider[["u95", "rule", "grade"]]
    return table


def _heard_anew(observations: pd.DataFrame, refused: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The observations marked by whether they agree with the slope, and the witnesses that do."""
    concerned = observations["cas"].isin(refused["cas"]) & observations["property"].isin(refused["property"])
    witnesses = gather(observations[concerned].assign(status="accepted"), pd.Series(dtype=float))
    heard = witnesses.merge(refused, on=GROUP)
    agrees = (heard["value"] / heard["slope_J_mol"] - 1.0).abs() <= heard["tolerance"]
    marked = observations.copy()
    marked.loc[heard.loc[~agrees, "observation"], "status"] = "outlier"
    marked.loc[heard.loc[~agrees, "observation"], "reason"] = heard.loc[~agrees, "reason"].to_numpy()
    marked.loc[heard.loc[agrees, "observation"], ["status", "reason"]] = "accepted", None
    return marked, heard[agrees]


def _left(refused: pd.DataFrame, agreeing: pd.DataFrame) -> pd.DataFrame:
    """Values in place of the refused ones, where something is left that agrees with the slope."""
    told = agreeing.assign(house=house_of(agreeing["source"])).groupby(GROUP)
    left = told.agg(
        value=("value", "median"),
        lowest=("value", "min"),
        highest=("value", "max"),
        n_sources=("house", "nunique"),
        tolerance=("tolerance", "max"),
    )
    rows = refused[[*GROUP, "unit", "temperature_K"]].merge(left, on=GROUP)
    return regrade(rows.assign(u95=rows["tolerance"] * rows["value"], rule=LEFT_RULE))[list(refused.columns)]


def doubted(curves: pd.DataFrame, contradicted: pd.DataFrame) -> pd.DataFrame:
    """The curves, those that give way with a wider band and grade D."""
    worst = contradicted[contradicted["curve_doubted"]].groupby("cas")["deviation"].agg(lambda part: part.abs().max())
    slope_off = curves["cas"].map(worst).astype(float)
    # The error of the slope grows on the way to where it was found, so the pressure is off by half of it.
    table = with_wider_band(curves, 0.5 * slope_off)
    table.loc[slope_off.notna(), "grade"] = "D"
    return check("vapour_curve", table, "reconcile")

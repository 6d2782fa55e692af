"""What the structure makes of the boiling points: values at reduced pressure are found out.

A boiling point taken under reduced pressure and printed as a normal one lies
far below what the structure leads one to expect, and often two tables share
it, one having copied the other. A consensus that no vapour-pressure
correlation supports, and fewer than three independent houses, is measured by
its distance below the estimate, in the estimate's expanded uncertainty U:

- beyond 1.5 U and 20 K it is doubted: the value stays, and its own U95 is
  widened to the whole distance, which makes it grade D or C;
- beyond 2.5 U and 50 K (3 U and 80 K where two houses agree in different
  figures) the voices so far below are set aside: what is left forms the
  consensus anew, and where nothing is left the estimate itself stands, as an
  estimate.

When the distances were chosen, 0.9 % of 4,685 held-out, well-agreed values lay
beyond the first, 0.3 % beyond the second and 0.1 % beyond the third: so few
sound values are doubted or set aside with the others, and each stays in sight
with the reason. Values above the estimate are left alone: there it is
more often the model that does not know the chemistry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .calibrate import Widened
from .consensus import AGREED, BOILING, RULE, combine, consensus, regrade
from .estimate import Estimates

ESTIMATE_RULE = "structure estimate"
DOUBTED_RULE = f"{RULE}, doubted by the structure"
DOUBTED = (1.5, 20.0)
REFUSED = (2.5, 50.0)
REFUSED_THOUGH_AGREED = (3.0, 80.0)
"""Distances below the estimate: in its expanded uncertainty, and at least so many kelvins."""
ENOUGH_HOUSES = 3


@dataclass(frozen=True)
class Judged:
    """Voices after the structure was heard, the values they stand for, and what was set aside.

    `doubted` has one row per voice set aside, with `least_K` and the reason;
    `expected` gives the estimates by CAS number (`expected_value`,
    `expected_u95`, K); `model_errors` is their held-out error by chemical class.
    """

    agreed: pd.DataFrame
    values: pd.DataFrame
    doubted: pd.DataFrame
    expected: pd.DataFrame
    model_errors: pd.DataFrame


def doubt(agreed: pd.DataFrame, estimates: Estimates, widened: Widened) -> Judged:
    """Let the structures speak against agreed boiling points; `widened` gives values their calibrated uncertainties."""
    values = widened(combine(agreed))
    boiling = values[values["property"] == BOILING]
    expected = estimates.boiling_points.set_index("cas")[["value", "u95"]].astype(float).add_prefix("expected_")
    known = boiling.join(expected, on="cas").dropna(subset="expected_value").set_index("cas")
    below_K = known["expected_value"] - known["value"]
    unsupported = _unsupported(agreed, known)
    reach_K = _reach(known, REFUSED).where(known["n_sources"] < 2, _reach(known, REFUSED_THOUGH_AGREED))
    refused = known[unsupported & (below_K > reach_K)]
    refused = refused.assign(least_K=refused["expected_value"] - reach_K[refused.index])
    doubtful = below_K[unsupported & (below_K > _reach(known, DOUBTED)) & ~(below_K > reach_K)]
    agreed, values, doubted = _set_aside(agreed, _widened(values, doubtful), refused, widened)
    return Judged(agreed, values, doubted, expected, estimates.errors)


def _reach(known: pd.DataFrame, distance: tuple[float, float]) -> pd.Series:
    times, at_least_K = distance
    return (times * known["expected_u95"]).clip(lower=at_least_K)


def _unsupported(agreed: pd.DataFrame, known: pd.DataFrame) -> pd.Series:
    """Whether neither a correlation nor enough houses stand behind each component's consensus."""
    inside = agreed[(agreed["property"] == BOILING) & agreed["inside"]]
    fitted = inside.groupby("cas")["fitted"].any().reindex(known.index, fill_value=False)
    return ~fitted & (known["n_sources"] < ENOUGH_HOUSES)


def _widened(values: pd.DataFrame, distance_K: pd.Series) -> pd.DataFrame:
    """Values with the U95 of doubted boiling points widened to the distance."""
    own_K = values["cas"].map(distance_K).where(values["property"] == BOILING)
    wider = values.assign(u95=np.fmax(values["u95"], own_K), rule=values["rule"].where(own_K.isna(), DOUBTED_RULE))
    return regrade(wider)


def _set_aside(
    agreed: pd.DataFrame,
    values: pd.DataFrame,
    refused: pd.DataFrame,
    widened: Widened,
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Voices and values without the refused ones, and the voices set aside."""
    at_stake = (agreed["property"] == BOILING) & agreed["cas"].isin(refused.index)
    voices = agreed[at_stake]
    least_K = voices["cas"].map(refused["least_K"]).astype(float)
    low = voices["value"] < least_K
    told = {cas: _reason(row.expected_value, row.expected_u95) for cas, row in refused.iterrows()}
    doubted = voices[low].assign(least_K=least_K[low], reason=voices.loc[low, "cas"].map(told).astype(str))
    left = voices[~low].reset_index(drop=True)
    kept = values[~((values["property"] == BOILING) & values["cas"].isin(refused.index))]
    parts = [kept, _estimates_alone(values, refused[~refused.index.isin(left["cas"])])]
    voices_left = [agreed[~at_stake]]
    if len(left):
        anew = consensus(left.drop(columns=AGREED))
        voices_left.append(anew)
        parts.append(widened(combine(anew)))
    parts = [part for part in parts if len(part)]
    return pd.concat(voices_left, ignore_index=True), pd.concat(parts, ignore_index=True), doubted


def _reason(expected_K: float, u95_K: float) -> str:
    return (
        f"reads like a boiling point at reduced pressure: the structure leads one to expect "
        f"{expected_K:.0f} K, give or take {u95_K:.0f} K"
    )


def _estimates_alone(values: pd.DataFrame, refused: pd.DataFrame) -> pd.DataFrame:
    """Estimates in place of values that were all set aside: no source stands behind them."""
    rows = values.merge(refused[["expected_value", "expected_u95"]], left_on="cas", right_index=True)
    rows = rows[rows["property"] == BOILING].copy()
    rows["value"], rows["u95"] = rows.pop("expected_value"), rows.pop("expected_u95")
    rows["lowest"], rows["highest"] = rows["value"] - rows["u95"], rows["value"] + rows["u95"]
    return regrade(rows.assign(n_sources=0, rule=ESTIMATE_RULE))

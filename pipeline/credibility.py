"""What the structure makes of the boiling points: values at reduced pressure are found out.

A boiling point taken under reduced pressure and printed as a normal one lies
far below what the structure leads one to expect, and often two tables share
it, one having copied the other. A consensus is doubted if it lies below the
estimate by more than `DOUBT` of the estimate's expanded uncertainty and by more
than `LEAST_DOUBT_K`, no vapour-pressure correlation supports it, and fewer than
three independent houses do. Then the voices so far below are set aside; what
is left forms the consensus anew, and where nothing is left the estimate itself
stands, as an estimate.

Values above the estimate are left alone: there it is more often the model that
does not know the chemistry.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from .consensus import combine, consensus, regrade
from .estimate import estimate

BOILING = "normal_boiling_point"
ESTIMATE_RULE = "structure estimate"
DOUBT = 1.5
LEAST_DOUBT_K = 20.0
ENOUGH_HOUSES = 3


@dataclass(frozen=True)
class Judged:
    """Voices after the structure was heard, the values they stand for, and what was set aside.

    `doubted` has one row per voice set aside, with the reason; `model_errors` is
    the estimate's held-out error by chemical class.
    """

    agreed: pd.DataFrame
    values: pd.DataFrame
    doubted: pd.DataFrame
    model_errors: pd.DataFrame


def hear_structures(agreed: pd.DataFrame, components: pd.DataFrame) -> Judged:
    """Let the structures speak on the agreed boiling points."""
    values = combine(agreed)
    boiling = values[values["property"] == BOILING]
    estimates = estimate(components, boiling)
    expected = estimates.boiling_points.set_index("cas")[["value", "u95"]].add_prefix("expected_")
    doubtful = _doubtful(agreed, boiling.join(expected, on="cas"))
    if doubtful.empty:
        return Judged(agreed, values, agreed.iloc[:0].assign(reason=""), estimates.errors)
    known = agreed[(agreed["property"] == BOILING) & agreed["cas"].isin(doubtful.index)]
    low = known["value"] < known["cas"].map(doubtful["least_K"])
    told = doubtful.apply(lambda row: _reason(row["expected_value"], row["expected_u95"]), axis=1)
    doubted = known[low].assign(reason=known.loc[low, "cas"].map(told))
    left = known[~low].reset_index(drop=True)
    anew = consensus(left, left["scatter"]) if len(left) else left
    others = agreed[~((agreed["property"] == BOILING) & agreed["cas"].isin(doubtful.index))]
    kept = values[~((values["property"] == BOILING) & values["cas"].isin(doubtful.index))]
    parts = [kept, _estimates_alone(values, doubtful.loc[~doubtful.index.isin(left["cas"])])]
    parts += [combine(anew)] if len(left) else []
    return Judged(
        pd.concat([others, anew], ignore_index=True),
        pd.concat(parts, ignore_index=True),
        doubted,
        estimates.errors,
    )


def _doubtful(agreed: pd.DataFrame, boiling: pd.DataFrame) -> pd.DataFrame:
    """Components whose consensus the structure contradicts, by CAS number, with `least_K` that is still believed."""
    inside = agreed[(agreed["property"] == BOILING) & agreed["inside"]]
    fitted = inside.groupby("cas")["fitted"].any()
    table = boiling.dropna(subset="expected_value").set_index("cas")
    reach_K = (DOUBT * table["expected_u95"]).clip(lower=LEAST_DOUBT_K)
    table = table.assign(least_K=table["expected_value"] - reach_K)
    unsupported = ~fitted.reindex(table.index).fillna(False) & (table["n_sources"] < ENOUGH_HOUSES)
    return table[unsupported & (table["value"] < table["least_K"])]


def _reason(expected_K: float, u95_K: float) -> str:
    return (
        f"reads like a boiling point at reduced pressure: the structure leads one to expect "
        f"{expected_K:.0f} K, give or take {u95_K:.0f} K"
    )


def _estimates_alone(values: pd.DataFrame, doubtful: pd.DataFrame) -> pd.DataFrame:
    """Estimates in place of values that were all set aside: no source stands behind them."""
    rows = values.merge(doubtful[["expected_value", "expected_u95"]], left_on="cas", right_index=True)
    rows = rows[rows["property"] == BOILING].copy()
    rows["value"], rows["u95"] = rows.pop("expected_value"), rows.pop("expected_u95")
    rows["lowest"], rows["highest"] = rows["value"] - rows["u95"], rows["value"] + rows["u95"]
    return regrade(rows.assign(n_sources=0, n_voices=0, rule=ESTIMATE_RULE))

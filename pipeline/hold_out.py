"""Every voice held out in turn: what do the others make of the value that it gives?

Held out is the voice together with the rest of its house and every other
statement of the same figure.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from cutpoint.schema.properties import PROPERTIES

from .consensus import FREEDOM, combine, consensus
from .posterior import sound_and_blunder
from .voices import GROUP, without_copies

NOBODY = pd.DataFrame(
    {name: pd.Series(dtype=str) for name in ("cas", "property", "grade")}
    | {"n_sources": pd.Series(dtype=np.int64)}
    | {name: pd.Series(dtype=np.float64) for name in ("value", "u95", "sound", "held_value", "held_u")}
)
"""What is held out where no two houses speak of one component; the columns that `calibrate` needs."""

RELATIVE = {name: entry.relative for name, entry in PROPERTIES.items()}


def hold_out(weighed: pd.DataFrame, expected: pd.DataFrame | None = None) -> pd.DataFrame:
    """One row per voice that others can judge.

    The columns of the held-out voice (its value, u, blunder and blunder_width
    beginning with `held_`); of the others' consensus `value`, `u`, `u95`,
    `n_sources` and `grade`; `unit`, by which a relative property is divided;
    and `sound`, the probability that the held-out value is no blunder.
    """
    distinct = without_copies(weighed.reset_index(drop=True))
    held = distinct[~distinct["copy"] & (distinct.groupby(GROUP)["house"].transform("nunique") >= 2)]
    held = held.reset_index(names="case").drop(columns="copy")
    pairs = held[[*GROUP, "case", "house", "figure"]].merge(
        distinct.drop(columns="copy"), on=GROUP, suffixes=("_held", "")
    )
    others = pairs[(pairs["house"] != pairs["house_held"]) & (pairs["figure"] != pairs["figure_held"])]
    if others.empty:
        return NOBODY
    # Each case becomes a component of its own, so that one pass forms the consensus of all.
    cases = others.assign(subject=others["cas"], cas=others["case"].astype(str).str.zfill(9))
    agreed = consensus(cases.drop(columns=["house_held", "figure_held", "case"]), expected)
    told = combine(agreed).assign(case=lambda table: table["cas"].astype(int))
    spread = agreed.drop_duplicates("cas").set_index("cas")["centre_u"]
    told["u"] = told["cas"].map(spread)
    known = held.rename(columns={name: f"held_{name}" for name in ("value", "u", "blunder", "blunder_width")})
    table = told[["case", "value", "u", "u95", "n_sources", "grade"]].merge(
        known.drop(columns="temperature_K"), on="case"
    )
    relative = table["property"].map(RELATIVE).astype(bool)
    table["unit"] = table["value"].abs().where(relative, 1.0)
    return table.assign(sound=_sound(table))


def _sound(table: pd.DataFrame) -> NDArray[np.float64]:
    """Probability that each held-out value is sound, in the light of the others."""
    sound, blunder = sound_and_blunder(
        (table["held_value"] - table["value"]).to_numpy(),
        (table["held_u"] + table["u"]).to_numpy(),
        FREEDOM,
        table["held_blunder"].to_numpy(),
        table["held_blunder_width"].to_numpy(),
    )
    return np.asarray(expit(sound - blunder))

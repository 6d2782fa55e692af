"""Third sources are heard before the values are evaluated: what they contradict is set aside.

A value of the source `adjudicated_values` decided for a judge and against the
other tables (`adjudicate`). Whatever speaks for the same property and lies
further from it than grade A's limit, a value or a correlation, becomes an
outlier with the reason.
"""

from __future__ import annotations

import pandas as pd

from cutpoint.schema.properties import PROPERTIES

from .voices import GROUP
from .witnesses import gather

SOURCE = "adjudicated_values"
CONTRADICTED = "contradicted by a third source: "
"""First words of the reason."""


def hear_third_sources(observations: pd.DataFrame) -> pd.DataFrame:
    """The observations, those that a third source contradicts marked as outliers."""
    third = observations.loc[observations["source"] == SOURCE, [*GROUP, "value", "unit", "raw"]]
    if third.empty:
        return observations
    concerned = observations[observations["cas"].isin(third["cas"]) & (observations["source"] != SOURCE)]
    witnesses = gather(concerned, pd.Series(dtype=float))
    heard = witnesses.merge(third, on=GROUP, suffixes=("", "_third"))
    limit = heard["property"].map({name: entry.grade_limits[0] for name, entry in PROPERTIES.items()})
    relative = heard["property"].map({name: entry.relative for name, entry in PROPERTIES.items()}).astype(bool)
    limit = limit.where(~relative, limit * heard["value_third"].abs())
    contradicted = heard[(heard["value"] - heard["value_third"]).abs() > limit].drop_duplicates("observation")
    marked = observations.copy()
    rows = contradicted["observation"].to_numpy()
    marked.loc[rows, "status"] = "outlier"
    marked.loc[rows, "reason"] = (CONTRADICTED + contradicted["raw"] + " " + contradicted["unit"]).to_numpy()
    return marked

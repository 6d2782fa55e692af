"""An older state of a source gives way to a newer one: it speaks of nothing that the newer one speaks of.

The packaged table `wikidata` and the snapshot's `wikidata_values` are two
states of one knowledge base. A value that was corrected there since must not
be weighed against itself.
"""

from __future__ import annotations

import pandas as pd

from .source import LIVE_VALUES
from .wikidata_terms import PROPERTIES

OLDER = "wikidata"
SUPERSEDED = "superseded by the snapshot, a newer state of the same knowledge base"


def without_superseded(observations: pd.DataFrame) -> pd.DataFrame:
    """The observations, packaged statements of what the snapshot states anew being outliers.

    What a statement is of is told by its own property: a boiling point that turned
    out to be one at reduced pressure supersedes the packaged boiling point too.
    """
    newer = observations[observations["source"] == LIVE_VALUES]
    if newer.empty:
        return observations
    stated = pd.MultiIndex.from_arrays([newer["cas"], newer["field"].map(PROPERTIES)])
    older = observations["source"] == OLDER
    older &= pd.MultiIndex.from_frame(observations[["cas", "property"]]).isin(stated)
    marked = observations.copy()
    marked.loc[older, "status"] = "outlier"
    marked.loc[older, "reason"] = SUPERSEDED
    return marked

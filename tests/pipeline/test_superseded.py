"""Packaged statements give way to the snapshot's, value by value."""

from __future__ import annotations

import pandas as pd

from cutpoint.pipeline.superseded import SUPERSEDED, without_superseded


def observations(*rows: tuple[str, str, str, str]) -> pd.DataFrame:
    frame = pd.DataFrame(list(rows), columns=["source", "field", "cas", "property"])
    return frame.assign(status="accepted", reason=None)


def test_only_what_is_stated_anew_is_superseded() -> None:
    marked = without_superseded(
        observations(
            ("wikidata", "Tb", "67-64-1", "normal_boiling_point"),
            ("wikidata", "Tm", "67-64-1", "melting_point"),
            ("wikidata", "Tb", "64-17-5", "normal_boiling_point"),
            ("crc_organic_constants", "Tb", "67-64-1", "normal_boiling_point"),
            ("wikidata_values", "P2102", "67-64-1", "normal_boiling_point"),
        )
    )
    assert marked["status"].tolist() == ["outlier", "accepted", "accepted", "accepted", "accepted"]
    assert marked["reason"].tolist()[0] == SUPERSEDED


def test_a_boiling_point_that_turned_out_to_be_a_reduced_one_supersedes_too() -> None:
    marked = without_superseded(
        observations(
            ("wikidata", "Tb", "67-64-1", "normal_boiling_point"),
            ("wikidata_values", "P2102", "67-64-1", "vapour_pressure"),
        )
    )
    assert marked["status"].tolist() == ["outlier", "accepted"]


def test_without_a_snapshot_nothing_changes() -> None:
    packaged = observations(("wikidata", "Tb", "67-64-1", "normal_boiling_point"))
    assert without_superseded(packaged) is packaged

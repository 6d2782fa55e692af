"""What a refresh wrote is read by a build: every row of every file is kept or refused."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from cutpoint.pipeline.live import opened, read_live
from cutpoint.pipeline.normalise import Normalised
from cutpoint.pipeline.refresh.refreshing import RefreshReport


@pytest.fixture(scope="module")
def parts(sound: RefreshReport) -> dict[str, tuple[int, Normalised]]:
    live = opened(Path(sound.folder))
    return {source.name: read_live(live, source) for source in live.sources}


def test_every_row_is_kept_or_refused(parts: dict[str, tuple[int, Normalised]], sound: RefreshReport) -> None:
    assert len(parts) == len(sound.rows)
    for name, (rows, part) in parts.items():
        given = pd.concat([part.observations, part.identities, part.names])
        kept, refused = set(given["source_row"]), set(part.rejected["source_row"])
        assert kept | refused == set(range(1, rows + 1)), name
        assert not kept & refused, name


def test_what_was_odd_has_its_reason(parts: dict[str, tuple[int, Normalised]]) -> None:
    values = parts["wikidata_values"][1]
    assert values.rejected["reason"].str.contains("a unit that is not known: Q99999999").any()
    precise = values.observations[values.observations["raw"] == "+78.370000000123"]
    assert set(precise["value"]) == {351.52}
    assert parts["live_rejected"][1].rejected["raw"].str.contains("about 80").any()


def test_a_boiling_point_at_2_kPa_is_a_point_of_the_curve(parts: dict[str, tuple[int, Normalised]]) -> None:
    observations = parts["wikidata_values"][1].observations
    at_2_kPa = observations[observations["pressure_Pa"].between(1999.0, 2001.0)]
    assert not at_2_kPa.empty
    assert set(at_2_kPa["property"]) == {"vapour_pressure"}


def test_names_come_in_their_languages(parts: dict[str, tuple[int, Normalised]]) -> None:
    assert {"en", "de", "ja"} <= set(parts["wikidata_names"][1].names["language"])

"""What an atlas of a thousand solvents costs, beside what it may cost; times are printed, never asserted."""

from __future__ import annotations

from pathlib import Path

import pytest

from cutpoint import db
from cutpoint.planner.atlas_making import make_atlas

HERE = Path(__file__).parent


@pytest.fixture
def solvents(store: db.Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The list, one CAS number per line."""
    monkeypatch.syspath_prepend(str(HERE))  # test folders are no packages
    from solvents_1000 import solvents_1000

    path = tmp_path / "solvents.txt"
    path.write_text("\n".join(solvents_1000(store)), encoding="utf-8")
    return path


def test_atlas(real_store: Path, solvents: Path, tmp_path: Path) -> None:
    done = make_atlas(solvents, tmp_path / "atlas.duckdb", store=real_store, processes=2)
    print(f"\natlas of {done.components:,} solvents, {done.pairs:,} pairs: {done.verdicts}", end="")
    for what, reached, allowed, unit in (
        ("time on 2 processes", done.seconds, 360.0, "s"),
        ("peak memory of all processes", done.peak_rss_MiB / 1024, 2.0, "GiB"),
        ("size of the file", (tmp_path / "atlas.duckdb").stat().st_size / 1e6, 100.0, "MB"),
    ):
        print(
            f"\n{f'atlas: {what}':80s} {reached:10.4g} of {allowed:g} {unit:4s} ratio {reached / allowed:.2f}", end=""
        )
    assert done.problems == ()

"""How fast a refresh from a server on the loopback is, and how much memory it needs."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parents[1]
LIVE = TESTS / "pipeline" / "live"

REFRESH_S, UNCHANGED_S, MEMORY_MIB = 60.0, 10.0, 500.0
"""Limits: 10,000 items read and written, the same again unchanged, and the memory for 200,000 items."""

PROGRAM = """
import json, resource, sys
from dataclasses import asdict
from pathlib import Path
sys.path.insert(0, {tests!r})
from guard import refuse_outside
refuse_outside()
from cutpoint.pipeline.refresh.refreshing import refresh
report = refresh(Path({folder!r}), wikidata={wikidata!r}, pubchem={pubchem!r}, contact="bench@example.org",
                 cache=Path({cache!r}))
peak_MiB = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps(asdict(report) | {{"peak_MiB": peak_MiB}}))
"""


@contextmanager
def served(count: int, **options: Any) -> Iterator[Any]:
    """A server that knows so many invented substances."""
    sys.path.insert(0, str(LIVE))
    from stand_in import serving
    from substances import Substances

    with serving(Substances(count, **options)) as server:
        yield server


def refreshed(server: Any, folder: Path) -> dict[str, Any]:
    """The report of a refresh in a process of its own."""
    settings = {"tests": str(TESTS), "folder": str(folder / "snapshot"), "cache": str(folder / "cache")}
    program = PROGRAM.format(wikidata=server.wikidata, pubchem=server.pubchem, **settings)
    printed = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    report: dict[str, Any] = json.loads(printed)
    return report


def test_ten_thousand_items_and_the_same_again(tmp_path: Path) -> None:
    with served(10_000) as server:
        first = refreshed(server, tmp_path)
        server.seen.clear()
        second = refreshed(server, tmp_path)
        bodies = server.bodies()
    print(f"\n10,000 items: {first['seconds']:.1f} s, {first['seconds'] / REFRESH_S:.2f} of the limit")
    print(f"unchanged: {second['seconds']:.1f} s, {second['seconds'] / UNCHANGED_S:.2f} of the limit, {bodies} bodies")
    assert first["rows"]["wikidata_items"] == 10_000
    assert bodies == 0 and not second["changed"]
    assert first["seconds"] < REFRESH_S and second["seconds"] < UNCHANGED_S


def test_memory_for_two_hundred_thousand_items(tmp_path: Path) -> None:
    with served(200_000) as server:
        report = refreshed(server, tmp_path)
    peak_MiB = report["peak_MiB"]
    print(f"\n200,000 items: {peak_MiB:.0f} MiB, {peak_MiB / MEMORY_MIB:.2f} of the limit, {report['seconds']:.0f} s")
    assert report["rows"]["wikidata_items"] == 200_000
    assert peak_MiB < MEMORY_MIB

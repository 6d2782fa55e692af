"""The command `refresh` as a user runs it, against the server on the loopback."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

from stand_in import StandIn

from cutpoint.pipeline import snapshot

PROGRAM = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "  # a run in the background ignores it
    "from guard import refuse_outside; refuse_outside(); from cutpoint.planner.cli import main; main()"
)


def test_stopped_by_the_user_and_given_again(few: StandIn, tmp_path: Path) -> None:
    settings = {
        "CUTPOINT_WIKIDATA": few.wikidata,
        "CUTPOINT_PUBCHEM": few.pubchem,
        "CUTPOINT_CONTACT": "bench@example.org",
        "CUTPOINT_SNAPSHOT": str(tmp_path / "snapshot"),
        "CUTPOINT_DB": str(tmp_path / "none.duckdb"),
        "XDG_CACHE_HOME": str(tmp_path),
        "PYTHONPATH": str(Path(__file__).parents[2]),
    }

    def start() -> subprocess.Popen[str]:
        command = [sys.executable, "-c", PROGRAM, "refresh", "--json"]
        pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
        return subprocess.Popen(command, env=os.environ | settings, text=True, **pipes)  # type: ignore[call-overload]

    process = start()
    few.at_request = lambda count: process.send_signal(signal.SIGINT) if count == 5 else None
    printed, told = process.communicate(timeout=60)
    assert process.returncode == 130 and printed == ""
    assert "goes on from here" in told and "Traceback" not in told
    assert not (tmp_path / "snapshot").exists()

    printed, _ = start().communicate(timeout=60)
    report = json.loads(printed)
    assert report["resumed"] and report["digest"] == snapshot.verify_files(tmp_path / "snapshot")
    assert report["rows"]["wikidata_items"] == 6

"""Notes that were damaged at random are read or refused in words, and never anything else."""

from __future__ import annotations

import random

import numpy as np

from cutpoint.planner.runs.reading import FEWEST_COMPARED, parse_run
from cutpoint.schema.errors import CutpointError

CASES = 6_000
WHOLE = (
    b"# used eluent\nt/min;T_head/\xc2\xb0C;V/mL;receiver;note\n0;22,0;0;A;\n5;55,2;3;A;first drop\n12,5;56,1;20;A;\n"
    b"20;56,3;60;;cloudy\n31;66;95;B;\n40;78,9;140;B;mantle off\n52;79,1;200;B;\n",
    b"clock,head temp F,ml collected\n23:40,172.1,5\n23:58,172.4,60\n0:20,173,110\n0:45,180.2,8\n1:10,190,70\n",
    "time\ttemperature\tvolume\n1\t300 K\t1\n2\t301 K\t2\n3\t302 K\t3\n".encode("utf-16"),
)
PIECES = (
    b",", b";", b"\t", b"\n", b"\r", b'"', b"#", b"-", b"-1", b"9" * 400, b"1e400", b"nan", b"inf", b"\0", b"\xff\xfe",
    b"\xef\xbb\xbf", "٣".encode(), "−".encode(), b"1,000", b"1.2.3", b"25:99", b"14:05", b"mL", b"K", b"\xb0F", b"T",
    b"time", b"volume", b"am", b"~", b"\x1b[31m", b"0", b"600", b".", b"'",
)  # fmt: skip


def mutated(rng: random.Random) -> bytes:
    """One of the whole files with a few bytes or pieces changed, moved or lost."""
    content = bytearray(rng.choice(WHOLE))
    for _ in range(rng.randint(1, 6)):
        place, length = rng.randrange(len(content) + 1), rng.randint(0, 12)
        kind = rng.randrange(5)
        if kind == 0:
            content[place : place + length] = b""
        elif kind == 1:
            content[place:place] = rng.choice(PIECES)
        elif kind == 2:
            content[place : place + length] = rng.choice(PIECES)
        elif kind == 3:
            content[place:place] = content[rng.randrange(len(content) + 1) :][:length]
        elif place < len(content):
            content[place] = rng.randrange(256)
    return bytes(content)


def test_mutated_notes_are_read_or_refused() -> None:
    rng = random.Random(2533)
    read = 0
    for _ in range(CASES):
        content = mutated(rng)
        try:
            run = parse_run(content, "notes.csv")
        except CutpointError as refusal:
            assert refusal.kind == "run" and len(refusal.message) < 700, content
            continue
        read += 1
        assert len(run.compared) >= FEWEST_COMPARED, content
        volumes = [row.volume_m3 for row in run.rows if row.volume_m3 is not None]
        times = [row.time_s for row in run.rows if row.time_s is not None]
        assert (np.diff(volumes) >= 0.0).all() and np.isfinite(volumes).all(), content
        assert (np.diff(times) >= 0.0).all(), content
        assert all(173.0 <= row.reading_K <= 774.0 for row in run.rows if row.reading_K is not None), content
    assert CASES // 20 < read < CASES

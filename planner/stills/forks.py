"""Work shared among copies of this process: what is ready in memory need not be sent, and nothing is imported anew."""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from typing import TypeVar

Part = TypeVar("Part")
Answer = TypeVar("Answer")


def in_parallel(work: Callable[[Part], Answer], parts: Sequence[Part]) -> list[Answer]:
    """The answers of all parts, in order; the first part is worked here, each other one in a copy of the process.

    Where processes cannot be copied, and for a part whose copy is lost, the
    work is done here. The work must not touch a store: its connection belongs
    to this process.
    """
    if len(parts) < 2 or not sys.platform.startswith("linux"):
        return [work(part) for part in parts]
    copies = [_begun(work, part) for part in parts[1:]]
    answers = [work(parts[0])]
    for part, (process, end) in zip(parts[1:], copies, strict=True):
        try:
            done, answer = end.recv()
        except (EOFError, OSError):
            done, answer = False, None
        # Done again here, what failed there fails where it can be told.
        answers.append(answer if done else work(part))
        process.join()
    return answers


def _begun(work: Callable[[Part], Answer], part: Part) -> tuple[multiprocessing.process.BaseProcess, Connection]:
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)

    def run() -> None:
        try:
            answer = work(part)
        except Exception:
            theirs.send((False, None))
        else:
            theirs.send((True, answer))

    process = context.Process(target=run, daemon=True)
    process.start()
    theirs.close()
    return process, ours

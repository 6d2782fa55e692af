"""Blocks of an atlas judged by processes of this machine; a worker that dies loses nothing."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool

from cutpoint.schema.errors import WorkerLost

from .atlas_work import THREAD_VARIABLES, Judged, Question, judge

MOST_TRIES = 3
"""How often a block is tried alone before it is believed to end its workers itself."""

Pairs = Callable[[int], list[tuple[str, str]]]
"""Gives the pairs of a block."""


def in_processes(question: Question, blocks: Iterable[int], pairs: Pairs, processes: int) -> Generator[Judged]:
    """Judge the blocks, each given as it is finished.

    Where a worker dies, the blocks that were given out are tried again one by
    one, so that one which ends its workers is known by name. Raises WorkerLost
    for such a block, and what `judge` raises.
    """
    waiting = deque(blocks)
    while waiting:
        lost: list[int] = []
        yield from _until_broken(question, waiting, pairs, processes, lost)
        for block in lost:
            yield _alone(question, block, pairs)


def _until_broken(
    question: Question, waiting: deque[int], pairs: Pairs, processes: int, lost: list[int]
) -> Iterator[Judged]:
    """Judge blocks until none waits or a worker dies; those that were given out then are added to `lost`."""
    given_out: dict[Future[Judged], int] = {}
    pool = _pool(processes)
    try:
        while waiting or given_out:
            while waiting and len(given_out) < 2 * processes:  # a worker finds its next block waiting
                given_out[pool.submit(judge, question, waiting[0], pairs(waiting[0]))] = waiting[0]
                waiting.popleft()
            for future in wait(given_out, return_when=FIRST_COMPLETED).done:
                judged = future.result()
                del given_out[future]
                yield judged
    except BrokenProcessPool:
        for future, block in given_out.items():  # a broken pool has ended all that it was given
            if future.exception() is None:
                yield future.result()
            else:
                lost.append(block)
    finally:
        pool.shutdown(cancel_futures=True)


def _alone(question: Question, block: int, pairs: Pairs) -> Judged:
    for _ in range(MOST_TRIES):
        try:
            with _pool(1) as pool:
                return pool.submit(judge, question, block, pairs(block)).result()
        except BrokenProcessPool:
            continue
    first, last = pairs(block)[0], pairs(block)[-1]
    raise WorkerLost(
        f"Block {block}, the pairs from {' and '.join(first)} to {' and '.join(last)}, ended its worker process "
        f"{MOST_TRIES + 1} times. What was finished before is kept: see whether memory runs short, then give the same "
        "command again, or take one of these components off the list."
    )


def _pool(processes: int) -> ProcessPoolExecutor:
    """Processes that start from nothing: a copy of this one would share its open files and locks."""
    return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), initializer=_start_worker)


def _start_worker() -> None:
    """Settings of a worker, made before NumPy is loaded; it ends when the process that started it does."""
    os.environ.update(dict.fromkeys(THREAD_VARIABLES, "1"))
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the main process, which ends the workers
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: multiprocessing.process.BaseProcess) -> None:
    parent.join()
    os._exit(1)

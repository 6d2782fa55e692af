"""Blocks of an atlas judged by the workers of a Dask cluster; only this module knows of it."""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import CancelledError
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import SchedulerLost, WorkerLost, WrongUsage

from .atlas_pool import Pairs
from .atlas_work import Judged, Question, judge

if TYPE_CHECKING:
    from distributed import Client, Future

CONNECT_s = 3.0
"""How long an address is tried."""
WORKERS_s = 30.0
"""How long a cluster may be without a single worker."""


def on_cluster(question: Question, blocks: Iterable[int], pairs: Pairs, address: str) -> Generator[Judged]:
    """Judge the blocks on the cluster of a scheduler, each given as it is finished.

    A block whose worker is lost is given out again by the scheduler. Raises
    SchedulerLost if there is no scheduler or it has no workers, WorkerLost for
    a block that ended its worker several times, WrongUsage for an address that
    is none or where `distributed` is not installed, and what `judge` raises.
    """
    client = _client(address)
    try:
        _wait_for_workers(client, address)
        yield from _judged(client, question, deque(blocks), pairs, address)
    finally:
        with suppress(Exception):  # a lost connection cannot be closed politely
            client.close(timeout=CONNECT_s)


def _client(address: str) -> Client:
    try:
        # Heavy, and installed with the extra `cluster` alone.
        from distributed import Client
    except ModuleNotFoundError as missing:
        raise WrongUsage(
            f"A cluster needs {missing.name}, which is not installed. Install the project with its extra `cluster`, "
            "or leave --scheduler out to use this machine's processes."
        ) from missing
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what matters is told by the errors below
    try:
        return Client(address, timeout=CONNECT_s)
    except ValueError as error:
        raise WrongUsage(f"{address!r} is no address of a scheduler; one looks like tcp://127.0.0.1:8786.") from error
    except (OSError, TimeoutError) as error:
        raise SchedulerLost(
            f"No scheduler answers at {address}. See whether it runs and whether the address is the one that it told, "
            "or leave --scheduler out to use this machine's processes."
        ) from error


def _wait_for_workers(client: Client, address: str) -> None:
    try:
        client.wait_for_workers(1, timeout=WORKERS_s)
    except TimeoutError as error:
        raise _no_workers(address) from error


def _judged(client: Client, question: Question, waiting: deque[int], pairs: Pairs, address: str) -> Iterator[Judged]:
    from distributed import KilledWorker, wait

    given_out: dict[Future[Any], int] = {}
    block = -1
    try:
        while waiting or given_out:
            room = 2 * max(sum(client.nthreads().values()), 1)
            while waiting and len(given_out) < room:
                block = waiting.popleft()
                given_out[client.submit(judge, question, block, pairs(block), pure=False)] = block
            try:
                finished = wait(list(given_out), timeout=WORKERS_s, return_when="FIRST_COMPLETED").done
            except TimeoutError:
                if not client.nthreads():
                    raise _no_workers(address) from None
                continue
            for future in finished:
                block = given_out.pop(future)
                yield future.result()
    except KilledWorker as error:
        first, last = pairs(block)[0], pairs(block)[-1]
        raise WorkerLost(
            f"Block {block}, the pairs from {' and '.join(first)} to {' and '.join(last)}, ended its worker each time "
            "that the cluster tried it. What was finished before is kept: see whether memory runs short on the "
            "workers, then give the same command again, or take one of these components off the list."
        ) from error
    except (OSError, CancelledError) as error:
        raise SchedulerLost(
            f"The scheduler at {address} was lost. What was finished before is kept: give the same command again once "
            "it runs, or leave --scheduler out to use this machine's processes."
        ) from error


def _no_workers(address: str) -> SchedulerLost:
    return SchedulerLost(
        f"The scheduler at {address} has no workers. Start some and give the same command again: "
        "what was finished before is kept."
    )

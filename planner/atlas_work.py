"""The work of an atlas: which pairs make a block, and how one block is judged in a worker process.

A block is the same pairs whoever judges it, with one thread for linear
algebra, so that its numbers are the same to the last bit.
"""

from __future__ import annotations

import os
import resource
import socket
import sys
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import StoreDamaged

if TYPE_CHECKING:
    from cutpoint.db import Store, Thresholds

PAIRS_PER_BLOCK = 2000
"""About two seconds of work: little is lost with a worker, and little time goes into handing out."""

THREAD_VARIABLES = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What the linear algebra libraries that NumPy may be built with ask for their number of threads."""

AZEOTROPE_FIELDS = ("basis", "kind", "temperature_K", "mass_fraction_a", "mole_fraction_a", "source")
"""What is kept of an azeotrope, in the order of the table."""

JUDGE = "cutpoint.db.blocks:judge_block"

_held = threading.local()
"""The open store of this thread: stores are not shared between threads."""


@dataclass(frozen=True)
class Question:
    """What is asked of every pair, and of which store. `judge` names the function that answers, as module:function."""

    store_path: str
    store_digest: str
    pressure_Pa: float
    purity_a: float
    purity_b: float
    thresholds: Thresholds
    judge: str = JUDGE


@dataclass(frozen=True)
class Judged:
    """The answer to one block: columns with one entry per pair, or the problem that befell all of it."""

    block: int
    columns: Mapping[str, Sequence[Any]]
    problem: str | None
    worker: str
    peak_rss_MiB: float


def n_blocks(n_components: int) -> int:
    """How many blocks the pairs of so many components make."""
    return -(-n_pairs(n_components) // PAIRS_PER_BLOCK)


def n_pairs(n_components: int) -> int:
    """How many pairs so many components make."""
    return n_components * (n_components - 1) // 2


def pairs_of(block: int, cas: Sequence[str]) -> list[tuple[str, str]]:
    """The pairs of a block, from the upper triangle of the table read row by row; blocks are counted from 0."""
    start, stop = block * PAIRS_PER_BLOCK, (block + 1) * PAIRS_PER_BLOCK
    pairs: list[tuple[str, str]] = []
    passed = 0
    for row, first in enumerate(cas):
        length = len(cas) - row - 1
        if passed >= stop:
            break
        if passed + length > start:
            others = cas[row + 1 + max(start - passed, 0) : row + 1 + stop - passed]
            pairs += [(first, other) for other in others]
        passed += length
    return pairs


def judge(question: Question, block: int, pairs: Sequence[tuple[str, str]]) -> Judged:
    """Judge the pairs of a block; runs in a worker.

    An exception of the judging function becomes the block's problem. Raises
    StoreMissing, StoreDamaged or StoreOutdated for a store that this worker
    cannot open, or that is not the one asked.
    """
    store = _store(question)
    columns: Mapping[str, Sequence[Any]] = {}
    problem = None
    try:
        module, _, name = question.judge.partition(":")
        answer: Callable[..., dict[str, list[Any]]] = getattr(import_module(module), name)
        columns = _checked(pairs, answer(
            store, pairs, question.pressure_Pa,
            purity_a=question.purity_a, purity_b=question.purity_b, thresholds=question.thresholds,
        ))  # fmt: skip
    except Exception as error:
        # Whatever is wrong with one block must not cost the others: it is told with its pairs.
        columns, problem = {}, f"{type(error).__name__}: {error}"
    return Judged(block, columns, problem, f"{socket.gethostname()}:{os.getpid()}", peak_rss_MiB())


def _checked(pairs: Sequence[tuple[str, str]], answer: dict[str, list[Any]]) -> dict[str, list[Any]]:
    """The answer, its azeotropes as rows: number from 1, then `AZEOTROPE_FIELDS`; ValueError if it answers others."""
    if list(zip(answer["cas_a"], answer["cas_b"], strict=True)) != list(pairs):
        raise ValueError("the answer is not about the pairs that were asked")
    if {len(column) for column in answer.values()} != {len(pairs)}:
        raise ValueError("the columns of the answer are not of one length")
    return answer | {"azeotropes": [[_row(*one) for one in enumerate(some, 1)] for some in answer["azeotropes"]]}


def _row(ordinal: int, azeotrope: Any) -> tuple[Any, ...]:
    held = azeotrope if isinstance(azeotrope, dict) else vars(azeotrope)
    return (ordinal, *(held[field] for field in AZEOTROPE_FIELDS))


def _store(question: Question) -> Store:
    """The store, opened once in each thread of a worker."""
    from cutpoint import db

    held: tuple[str, str, Store] | None = getattr(_held, "store", None)
    asked = (question.store_path, question.store_digest)
    if held is not None and held[:2] == asked:
        return held[2]
    store = db.open(question.store_path)
    if store_digest(store) != question.store_digest:
        store.close()
        raise StoreDamaged(
            f"The store {question.store_path} on {socket.gethostname()} is not the one that was asked: its digest "
            "differs. Put the same store there on every machine, and do not rebuild it while an atlas is made."
        )
    _held.store = (*asked, store)
    return store


def store_digest(store: Store) -> str:
    """The digest over the content of a store; raises StoreDamaged if it does not tell it."""
    told = store.rows("SELECT value FROM build WHERE item = 'digest'")
    if not told:
        raise StoreDamaged(f"The store {store.path} does not tell its digest. Build it anew with `cutpoint rebuild`.")
    return str(told[0][0])


def peak_rss_MiB() -> float:
    """Largest resident memory of this process so far, MiB."""
    try:
        # getrusage would count the memory of the process that started this one.
        lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
        return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM:")) / 1024
    except (OSError, StopIteration):
        per_MiB = 2**20 if sys.platform == "darwin" else 2**10  # macOS counts bytes, others kibibytes
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / per_MiB

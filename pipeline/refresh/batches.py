"""Batches of keys that stay the same from one refresh to the next, so that their cached answers do as well."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator


def stable_batches(keys: Iterable[str], most: int) -> Iterator[list[str]]:
    """Keys in batches of at most `most`, in order within each; a key that comes or goes changes its own batch alone.

    A batch is split by the bits of its keys' hashes, not by their places: what stands
    together hangs on the keys themselves. A batch next to its limit is split, or put
    together again, when one key comes or goes.
    """
    return _split([(_hash(key), key) for key in set(keys)], most, 0)


def _split(hashed: list[tuple[int, str]], most: int, bit: int) -> Iterator[list[str]]:
    if len(hashed) > most:
        for side in (0, 1):
            yield from _split([pair for pair in hashed if pair[0] >> bit & 1 == side], most, bit + 1)
    elif hashed:
        yield sorted(key for _, key in hashed)


def _hash(key: str) -> int:
    return int.from_bytes(hashlib.sha256(key.encode()).digest())

"""Batches hang on their keys, not on the places of these."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.refresh.batches import stable_batches

keys = st.sets(st.integers(1, 500).map("Q{}".format), max_size=60)


@settings(max_examples=30)
@given(keys=keys, most=st.integers(1, 9))
def test_every_key_is_in_one_batch_and_none_is_too_large(keys: set[str], most: int) -> None:
    batches = list(stable_batches([*keys, *keys], most))
    assert sorted(key for batch in batches for key in batch) == sorted(keys)
    assert all(0 < len(batch) <= most for batch in batches)


def batches_of(numbers: range) -> set[tuple[str, ...]]:
    return {tuple(batch) for batch in stable_batches((f"Q{number}" for number in numbers), 200)}


def test_the_lowest_key_changes_its_own_batch_alone() -> None:
    with_it, without_it = batches_of(range(10_000)), batches_of(range(1, 10_000))
    assert len(with_it - without_it) <= 1 and len(with_it) < 100

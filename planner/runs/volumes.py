"""Volumes as noted, receiver by receiver, made to count on over all of them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from cutpoint.schema.errors import WrongRun

NEW_RECEIVER = 0.2
"""A volume that falls to less than this share of the last one is that of a new receiver."""

Noted = Sequence[tuple[int, float | None, str | None]]
"""Line, volume in m3 and name of the receiver, the last two as noted."""


def distilled(noted: Noted) -> tuple[list[float | None], list[str | None], list[str]]:
    """Volumes distilled over all receivers in m3, the receiver of each row, and what is to be said of them.

    A receiver that is not told is that of the row before. Where the volume
    falls at one change of the receiver, every receiver began at zero. Raises
    WrongRun where it falls and no new receiver explains it.
    """
    receivers = _filled([own for _, _, own in noted])
    is_named = any(receiver is not None for receiver in receivers)
    each_anew = _falls_at_a_change(noted, receivers)
    count, base, changes = 1, 0.0, []
    last: tuple[int, float, str | None] | None = None
    volumes: list[float | None] = []
    told_receivers: list[str | None] = []
    following = _following([volume for _, volume, _ in noted])
    for (line, volume, _), receiver, after in zip(noted, receivers, following, strict=True):
        if volume is not None:
            if last is not None:
                is_change = receiver != last[2]
                if volume < last[1] and not is_change and not _starts_anew(last[1], volume, after):
                    raise WrongRun(_falling(last, line, volume))
                if volume < last[1] or (is_change and each_anew):
                    base += last[1]
                    count += 1
                    changes.append(line)
            last = line, volume, receiver
        volumes.append(None if volume is None else base + volume)
        told_receivers.append(receiver if is_named else str(count))
    if not changes:
        return volumes, receivers, []
    lines = ", ".join(map(str, changes[:8])) + (", …" if len(changes) > 8 else "")
    told = [
        f"The volume was taken to start again from zero in a new receiver at line {lines}, and was added up: "
        "what came over unnoted before a change is not in it."
    ]
    return volumes, told_receivers, told


def _starts_anew(before: float, volume: float, after: float | None) -> bool:
    """Whether a fall reads like a new receiver: to nothing, or to little without climbing back, as a slip would."""
    return volume == 0.0 or (volume < NEW_RECEIVER * before and (after is None or after < before))


def _following(volumes: Sequence[float | None]) -> list[float | None]:
    """The next volume noted after each row."""
    following: list[float | None] = []
    after: float | None = None
    for volume in reversed(volumes):
        following.append(after)
        after = after if volume is None else volume
    return following[::-1]


def _filled(receivers: Sequence[str | None]) -> list[str | None]:
    filled: list[str | None] = []
    for receiver in receivers:
        filled.append(receiver if receiver is not None else filled[-1] if filled else None)
    # What was collected before the first name stands belongs to the first receiver named.
    first = next((receiver for receiver in filled if receiver is not None), None)
    return [first if receiver is None else receiver for receiver in filled]


def _falls_at_a_change(noted: Noted, receivers: Sequence[str | None]) -> bool:
    known = [(volume, own) for (_, volume, _), own in zip(noted, receivers, strict=True) if volume is not None]
    pairs = itertools.pairwise(known)
    return any(own != before_own and volume < before for (before, before_own), (volume, own) in pairs)


def _falling(last: tuple[int, float, str | None], line: int, volume: float) -> str:
    return (
        f"The volume falls from {1e6 * last[1]:.6g} mL in line {last[0]} to {1e6 * volume:.6g} mL in line {line}. "
        "Correct one of them, or name the new receiver in a column 'receiver'."
    )

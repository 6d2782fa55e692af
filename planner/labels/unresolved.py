"""Lines of a label that nothing decides, and the one error that tells them all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from cutpoint.planner.recipes.recipe import NOT_VOLATILE
from cutpoint.schema.errors import UnresolvedLabel

if TYPE_CHECKING:
    from .reading import LabelLine

MOST_TOLD = 4
"""Candidates of a line that the message names."""


@dataclass(frozen=True)
class Open:
    """A line that nothing decides: why, and what is near."""

    line: LabelLine
    reason: str
    candidates: list[dict[str, Any]] = field(default_factory=list)


class Undecided(Exception):
    """Nothing decides what a line means: why, and what is near."""

    def __init__(self, reason: str, candidates: Sequence[dict[str, Any]] = ()) -> None:
        super().__init__(reason)
        self.reason = reason
        self.candidates = list(candidates)


def all_unresolved(lines: Sequence[Open]) -> UnresolvedLabel:
    """One error for all lines that nothing decides."""
    told = []
    candidates: list[dict[str, Any]] = []
    for one in lines:
        # The store's own messages name the candidates already.
        unnamed = [near for near in one.candidates[:MOST_TOLD] if near["cas"] not in one.reason]
        listed = "; ".join(f"{near['name']} [{near['cas']}]" for near in unnamed)
        reason = one.reason if one.reason.endswith(".") else f"{one.reason}."
        told.append(f"Line {one.line.number}, {one.line.text!r}: {reason}" + (f" Nearest: {listed}." if listed else ""))
        candidates += [{**near, "line": one.line.number} for near in one.candidates]
    example = lines[0].line.name
    count = "One line of the label is" if len(lines) == 1 else f"{len(lines)} lines of the label are"
    return UnresolvedLabel(
        f"{count} not clear.\n" + "\n".join(told) + "\nDecide under [meanings] in the recipe: "
        f'"{example}" = "CAS number or name", or "{example}" = "{NOT_VOLATILE}" for what stays in the flask.',
        candidates,
    )


def candidate(thing: Any) -> dict[str, Any]:
    """A component or cut as a candidate of an error."""
    return {"cas": thing.cas, "name": thing.name}

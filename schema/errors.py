"""The errors a user may see. Each says what was wrong, where, and what to do.

`exit_status` is what the command line returns: 1 when the data hold no answer,
2 when the question itself is not well put.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class CutpointError(Exception):
    """Base of all errors; prints as one paragraph.

    `kind` is the stable machine-readable name, `candidates` the nearest help:
    a list of plain dictionaries, each with at least `cas` and `name`.
    """

    kind = "error"
    exit_status = 1

    def __init__(self, message: str, candidates: Sequence[dict[str, Any]] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.candidates = list(candidates)

    def as_dict(self) -> dict[str, Any]:
        """The body of the command line's `{"error": ...}` object."""
        return {"kind": self.kind, "message": self.message, "candidates": self.candidates}


class WrongUsage(CutpointError):
    """The question is not well put (unknown option, missing argument)."""

    kind = "usage"
    exit_status = 2


class WrongUnit(WrongUsage):
    """A quantity without a unit, or with a unit of another dimension."""

    kind = "unit"


class ImpossibleQuantity(WrongUsage):
    """A quantity that nothing can have: a pressure of zero, a temperature below 0 K."""

    kind = "impossible_quantity"


class WrongCheckDigit(CutpointError):
    """A CAS number whose check digit is wrong; the message gives the right one."""

    kind = "cas_check_digit"


class NoSuchComponent(CutpointError):
    """Nothing in the store answers to this name, number, formula or structure."""

    kind = "not_found"


class AmbiguousComponent(CutpointError):
    """Several components answer to the query; the candidates are listed."""

    kind = "ambiguous"


class NoValue(CutpointError):
    """The component is known, the value asked for is not."""

    kind = "no_value"


class OutOfRange(CutpointError):
    """A condition outside what the data can carry; the message names the range."""

    kind = "out_of_range"


class StoreMissing(CutpointError):
    """There is no component store at the path."""

    kind = "store_missing"


class StoreOutdated(CutpointError):
    """The store was written under another schema version."""

    kind = "store_outdated"


class StoreDamaged(CutpointError):
    """The file is truncated, overwritten, or no component store."""

    kind = "store_damaged"


class SourceMissing(CutpointError):
    """An open table that the build needs is not installed."""

    kind = "source_missing"


class SourceChanged(CutpointError):
    """An open table's content is not the locked one."""

    kind = "source_changed"


class LiveSourceFailed(CutpointError):
    """A live service could not be read; what was fetched is kept, and a new run goes on where this one stopped."""

    kind = "live_source"


class BuildFailed(CutpointError):
    """A station was handed, or produced, a frame that breaks its contract."""

    kind = "build_failed"


class AtlasMissing(CutpointError):
    """There is no atlas at the path, or what stands there is none."""

    kind = "atlas_missing"


class AtlasDiffers(WrongUsage):
    """An atlas that was begun cannot be gone on with: another store, pressure or list."""

    kind = "atlas_differs"


class SchedulerLost(CutpointError):
    """The scheduler of a cluster cannot be reached, or has no workers left."""

    kind = "scheduler_lost"


class WorkerLost(CutpointError):
    """A part of the work ended its worker each time that it was tried."""

    kind = "worker_lost"


class WrongLabel(WrongUsage):
    """A label that cannot be read, or whose percentages cannot sum to 100."""

    kind = "label"


class UnresolvedLabel(CutpointError):
    """Lines of a label that stand for no component or several; the candidates are listed, and the user decides."""

    kind = "unresolved_label"


class WrongRecipe(WrongUsage):
    """A recipe file that cannot be read, lacks something, or asks the impossible; the message names line and key."""

    kind = "recipe"


class WrongRun(WrongUsage):
    """A run file that cannot be read; the message names the line."""

    kind = "run"


class NotSeparable(CutpointError):
    """What is asked of a mixture cannot be had; the message says the best that can."""

    kind = "not_separable"

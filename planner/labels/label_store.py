"""What the reading of a label asks of a component store."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from cutpoint.db import Component


class Cut(Protocol):
    """A cut as the store gives it: what is sold under one CAS number and boils over a range."""

    @property
    def cas(self) -> str:
        """CAS number, which several cuts may share."""

    @property
    def name(self) -> str:
        """Its name, which is its own."""

    @property
    def initial_boiling_point_K(self) -> float:
        """Where it begins to boil at 101 325 Pa, K."""

    @property
    def final_boiling_point_K(self) -> float:
        """Where the last of it boils at 101 325 Pa, K."""

    @property
    def surrogates(self) -> tuple[Any, ...]:
        """Pure components that stand for it, each with `cas`, `name` and `mass_fraction`."""


class LabelStore(Protocol):
    """What is asked of the store."""

    def component(self, query: str) -> Component:
        """The one component that a text means."""

    def cut(self, query: str) -> Cut | None:
        """The cut that a text means, None if it means a component that is none."""

    def cuts(self) -> Sequence[Cut]:
        """Every cut."""

    def rows(self, sql: str, **values: str | float) -> list[tuple[Any, ...]]:
        """Rows of a query."""

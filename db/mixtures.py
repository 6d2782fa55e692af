"""A liquid mixture of named components: when it boils and condenses, and whether it stays one liquid."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from functools import reduce
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from cutpoint.schema.errors import ImpossibleQuantity, NoValue, WrongUsage

from . import boiling_liquid, equilibrium, liquid_split
from .activity import SCHEME, Counts, GroupBook
from .binodal import ActivityModel
from .boiling_liquid import BoilingLiquid
from .curves import Array, CurveBank
from .equilibrium import PhaseEquilibrium
from .liquid_split import LiquidSplit, LnGamma, Stability
from .mixture_curves import MixtureCurves
from .vapour import bank_of

if TYPE_CHECKING:
    from .component import Component
    from .store import Store

Answer = TypeVar("Answer", PhaseEquilibrium, BoilingLiquid, LiquidSplit, Stability)

SUM_TOLERANCE = 1e-6
"""How far mole fractions may be from a sum of 1; within it they are divided by their sum."""


@dataclass(frozen=True)
class Mixture:
    """N components with their vapour-pressure curves and a model of their activity coefficients.

    `model.ln_gamma(x, T_K)` is asked with one mixture, P = 1. Every method
    takes mole fractions of shape (..., N), in the order of `names`, and
    temperatures or pressures of shape (...); the two broadcast, and the answer
    has their common shape. A state without an answer is NaN and says why; a
    question that makes no sense raises WrongUsage or ImpossibleQuantity.

    Mole fractions of exactly 0 mean that the component is absent.
    """

    names: tuple[str, ...]
    bank: CurveBank
    model: ActivityModel

    @property
    def _curves(self) -> MixtureCurves:
        return MixtureCurves(self.names, self.bank)

    def ln_gamma(self, x: ArrayLike, T_K: ArrayLike) -> Array:
        """Logarithms of the activity coefficients, (..., N)."""
        rows, T, shape = self._rows(x, T_K, "temperature")
        return self._ln_gamma(rows, T).reshape((*shape, -1))

    def _ln_gamma(self, x: Array, T_K: Array) -> Array:
        return self.model.ln_gamma(x[None], T_K[None])[0]

    def bubble_pressure_Pa(self, x: ArrayLike, T_K: ArrayLike) -> PhaseEquilibrium:
        """Pressure at which liquids begin to boil, each taken as one liquid, and the first vapour.

        Where it may part into two ask `boiling_pressure_Pa`, which looks.
        """
        return self._at_temperature(equilibrium.bubble_pressure, x, T_K)

    def bubble_temperature_K(self, x: ArrayLike, pressure_Pa: ArrayLike) -> PhaseEquilibrium:
        """Temperature at which liquids begin to boil, each taken as one liquid, and the first vapour.

        Where it may part into two ask `boiling_temperature_K`, which looks.
        """
        return self._at_pressure(equilibrium.bubble_temperature, x, pressure_Pa)

    def dew_pressure_Pa(self, y: ArrayLike, T_K: ArrayLike) -> PhaseEquilibrium:
        """Pressure at which vapours begin to condense, and the first drop."""
        return self._at_temperature(equilibrium.dew_pressure, y, T_K)

    def dew_temperature_K(self, y: ArrayLike, pressure_Pa: ArrayLike) -> PhaseEquilibrium:
        """Temperature at which vapours begin to condense, and the first drop."""
        return self._at_pressure(equilibrium.dew_temperature, y, pressure_Pa)

    def boiling_pressure_Pa(self, z: ArrayLike, T_K: ArrayLike) -> BoilingLiquid:
        """Bubble pressure of liquids that may lie in two, and those."""
        return self._at_temperature(boiling_liquid.boiling_pressure, z, T_K)

    def boiling_temperature_K(self, z: ArrayLike, pressure_Pa: ArrayLike) -> BoilingLiquid:
        """Bubble temperature of liquids that may lie in two, and those: a heterogeneous boiling point where they do."""
        return self._at_pressure(boiling_liquid.boiling_temperature, z, pressure_Pa)

    def stability(self, z: ArrayLike, T_K: ArrayLike) -> Stability:
        """Whether liquids stay one; `trial` is the liquid that would part first."""
        rows, T, shape = self._rows(z, T_K, "temperature")
        return _shaped(liquid_split.stability(self._ln_gamma, rows, T), shape)

    def split(self, z: ArrayLike, T_K: ArrayLike) -> LiquidSplit:
        """The one or two liquids that liquids form."""
        rows, T, shape = self._rows(z, T_K, "temperature")
        return _shaped(liquid_split.split(self._ln_gamma, rows, T), shape)

    def _at_temperature(
        self, ask: Callable[[MixtureCurves, LnGamma, Array, Array], Answer], x: ArrayLike, T_K: ArrayLike
    ) -> Answer:
        rows, T, shape = self._rows(x, T_K, "temperature")
        return _shaped(ask(self._curves, self._ln_gamma, rows, T), shape)

    def _at_pressure(
        self, ask: Callable[[MixtureCurves, LnGamma, Array, Array], Answer], x: ArrayLike, pressure_Pa: ArrayLike
    ) -> Answer:
        rows, p, shape = self._rows(x, pressure_Pa, "pressure")
        return _shaped(ask(self._curves, self._ln_gamma, rows, np.log(p)), shape)

    def _rows(self, x: ArrayLike, condition: ArrayLike, quantity: str) -> tuple[Array, Array, tuple[int, ...]]:
        """The states in rows, (S, N) and (S,), and the shape that the answer is to have."""
        fractions, values = np.asarray(x, dtype=np.float64), np.asarray(condition, dtype=np.float64)
        if fractions.ndim == 0 or fractions.shape[-1] != len(self.names):
            raise WrongUsage(
                f"Mole fractions need {len(self.names)} components on their last axis ({', '.join(self.names)}); "
                f"the shape of these is {fractions.shape}."
            )
        total = fractions.sum(-1)
        if not (np.isfinite(fractions).all() and (fractions >= 0.0).all()):
            raise ImpossibleQuantity("A mole fraction is a number from 0 to 1.")
        if not (np.abs(total - 1.0) <= SUM_TOLERANCE).all():
            worst = total.flat[np.argmax(np.abs(total - 1.0))]
            raise ImpossibleQuantity(f"Mole fractions must sum to 1; these sum to {worst:g}.")
        if not ((values > 0.0) & np.isfinite(values)).all():
            raise ImpossibleQuantity(f"A {quantity} must be a number above 0.")
        shape = np.broadcast_shapes(total.shape, values.shape)
        fractions = np.broadcast_to(fractions / total[..., None], (*shape, len(self.names)))
        return fractions.reshape(-1, len(self.names)), np.broadcast_to(values, shape).reshape(-1), shape


def _shaped(answer: Answer, shape: tuple[int, ...]) -> Answer:
    """The answer with its rows in the shape of the states."""
    shaped = {field.name: _field_shaped(getattr(answer, field.name), shape) for field in fields(answer)}
    return type(answer)(**shaped)


def _field_shaped(value: Any, shape: tuple[int, ...]) -> Any:
    return value.reshape((*shape, *value.shape[1:])) if isinstance(value, np.ndarray) else _shaped(value, shape)


def mixture(store: Store, queries: Sequence[str]) -> Mixture:
    """The answer of `Store.mixture`; see there."""
    if not queries:
        raise WrongUsage("A mixture needs at least one component.")
    components = [store.component(query) for query in queries]
    names = _told_apart(components)
    bank = reduce(CurveBank.with_those_of, [bank_of(component) for component in components])
    tables = store.pair_tables
    tables.load_counts([component.cas for component in components])
    counts = [tables.counts(component.cas) or {} for component in components]
    uncovered = [name for name, groups in zip(names, counts, strict=True) if not groups]
    if uncovered:
        raise NoValue(
            f"The groups of {SCHEME} do not cover the molecule of {' nor of '.join(uncovered)}, so how the mixture "
            "departs from an ideal one is not known."
        )
    lacking = tables.book.unknown_interactions(counts)
    if lacking:
        told = "; ".join(
            f"{one} and {other} (of {_bearer(tables.book, one, counts, names)} and "
            f"{_bearer(tables.book, other, counts, names)})"
            for one, other in lacking
        )
        raise NoValue(f"{SCHEME} has no published parameters between the groups {told}.")
    return Mixture(names, bank, tables.book.model([counts]))


def _told_apart(components: Sequence[Component]) -> tuple[str, ...]:
    """The names, with the CAS number where one is shared; raises WrongUsage for a component named twice."""
    cas, names = [component.cas for component in components], [component.name for component in components]
    for component in components:
        if cas.count(component.cas) > 1:
            raise WrongUsage(f"{component.name} ({component.cas}) was named twice; name each component once.")
    return tuple(
        name if names.count(name) == 1 else f"{name} [{number}]" for name, number in zip(names, cas, strict=True)
    )


def _bearer(book: GroupBook, main_group: str, counts: Sequence[Counts], names: Sequence[str]) -> str:
    """The first component in whose molecule a main group occurs."""
    place = book.main_names.index(main_group)
    return next(
        name
        for name, groups in zip(names, counts, strict=True)
        if any(book.main[book.place[group]] == place for group in groups)
    )

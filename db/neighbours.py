"""What boils where: every boiling point of the store in arrays, loaded once."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA, grade

from .component import REFUSED_BOILING_POINT, Component
from .curves import CurveBank, CurveValues
from .results import Neighbour, Neighbours

if TYPE_CHECKING:
    from .store import Store

_NORMAL = """
    SELECT c.cas, c.name, b.value, b.grade, b.n_sources, m.value - m.u95
    FROM component c JOIN evaluation b ON b.cas = c.cas AND b.property = 'normal_boiling_point'
    LEFT JOIN evaluation m ON m.cas = c.cas AND m.property = 'melting_point'
    WHERE c.kind = 'pure' AND (c.phase_behaviour IS NULL OR c.phase_behaviour = 'boils')
    ORDER BY c.cas
"""
_CURVES = f"""
    WITH refused AS (
        SELECT cas FROM observation WHERE property = 'normal_boiling_point' GROUP BY cas
        HAVING bool_and(status = 'outlier' AND coalesce(starts_with(reason, '{REFUSED_BOILING_POINT}'), false))
    )
    SELECT v.cas, v.equation, list_filter(v.coefficients, x -> x IS NOT NULL), v.T_min_K, v.T_max_K, v.u95_relative,
           v.n_sources, b.value, b.u95, t.value, c.name, m.value - m.u95
    FROM vapour_curve v
    JOIN component c ON c.cas = v.cas
    LEFT JOIN evaluation b ON b.cas = v.cas AND b.property = 'normal_boiling_point'
    LEFT JOIN evaluation t ON t.cas = v.cas AND t.property = 'critical_temperature'
    LEFT JOIN evaluation m ON m.cas = v.cas AND m.property = 'melting_point'
    WHERE c.kind = 'pure' AND c.phase_behaviour IS DISTINCT FROM 'sublimes'
      AND (b.value IS NOT NULL OR v.cas NOT IN (FROM refused))
    ORDER BY v.cas
"""
_BANK_COLUMNS = 10
"""Columns of `_CURVES` that make a bank; the name and the least temperature of the liquid follow."""


class BoilingTable:
    """Evaluated normal boiling points and curves of all components that boil."""

    def __init__(self, normal: list[tuple[Any, ...]], curves: list[tuple[Any, ...]]) -> None:
        self._normal = normal
        self._last: tuple[float, CurveValues] | None = None
        self._normal_K = np.array([row[2] for row in normal], dtype=np.float64)
        self._normal_solid = self._normal_K < np.array([row[5] for row in normal], dtype=np.float64)
        self._n_sources = {row[0]: row[4] for row in normal}
        self.bank = CurveBank([row[:_BANK_COLUMNS] for row in curves])
        self._names = [row[_BANK_COLUMNS] for row in curves]
        self._liquid_from_K = np.array([row[_BANK_COLUMNS + 1] for row in curves], dtype=np.float64)
        self._has_normal = np.isin(self.bank.cas, [row[0] for row in normal])

    @classmethod
    def load(cls, store: Store) -> BoilingTable:
        """Everything needed from the store, in two queries."""
        return cls(store.rows(_NORMAL), store.rows(_CURVES))

    def near(self, component: Component, within_K: float, pressure_Pa: float) -> Neighbours:
        """Neighbours of the component; see `Store.near`."""
        if not (math.isfinite(within_K) and within_K > 0.0):
            raise WrongUsage(f"The window must be above 0 K; {within_K:g} K was asked for.")
        own_K = component.boiling_temperature_K(pressure_Pa)
        if math.isclose(pressure_Pa, ATMOSPHERE_PA, rel_tol=1e-12):
            found, without_curve = self._at_one_atmosphere(own_K, within_K), 0
        else:
            found, without_curve = self._on_curves(own_K, within_K, pressure_Pa)
        others = sorted(
            (neighbour for neighbour in found if neighbour.cas != component.cas),
            key=lambda neighbour: (abs(neighbour.delta_K), neighbour.cas),
        )
        return Neighbours(component.cas, float(pressure_Pa), float(within_K), own_K, tuple(others), without_curve)

    def _at_one_atmosphere(self, own_K: float, within_K: float) -> list[Neighbour]:
        places = np.flatnonzero((np.abs(self._normal_K - own_K) <= within_K) & ~self._normal_solid)
        return [
            Neighbour(cas, name, T_K, T_K - own_K, letter)
            for cas, name, T_K, letter, *_ in (self._normal[place] for place in places)
        ]

    def _boiling_at(self, pressure_Pa: float) -> CurveValues:
        """Boiling points of all curves; those of the last pressure are remembered, since a day has one."""
        if self._last is None or self._last[0] != pressure_Pa:
            self._last = (pressure_Pa, self.bank.boiling_points(pressure_Pa))
        return self._last[1]

    def _on_curves(self, own_K: float, within_K: float, pressure_Pa: float) -> tuple[list[Neighbour], int]:
        boiling = self._boiling_at(pressure_Pa)
        found = []
        is_solid = boiling.value < self._liquid_from_K  # False where no melting point is held (NaN)
        for place in np.flatnonzero((np.abs(boiling.value - own_K) <= within_K) & ~is_solid):
            cas, T_K = self.bank.cas[place], float(boiling.value[place])
            n_sources = self._n_sources.get(cas, int(self.bank.n_sources[place]))
            letter = grade("normal_boiling_point", T_K, float(boiling.u95[place]), n_sources)
            found.append(Neighbour(cas, self._names[place], T_K, T_K - own_K, letter))
        reached = np.count_nonzero(np.isfinite(boiling.value) & self._has_normal)
        return found, len(self._normal) - int(reached)

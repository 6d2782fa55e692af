"""What boils where: every boiling point of the store in arrays, loaded once."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from cutpoint.schema.errors import WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA, grade

from .boiling import boiling, sources_behind
from .curves import CurveBank
from .refusals import REFUSED_BOILING_POINT
from .results import Neighbour, Neighbours

if TYPE_CHECKING:
    from .component import Component
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
    SELECT v.cas, v.equation, v.coefficients, v.T_min_K, v.T_max_K, v.T_lowest_K, v.T_highest_K, v.band_u95_relative,
           v.n_sources, c.name, b.n_sources,
           CASE WHEN c.phase_behaviour = 'sublimes' THEN coalesce(m.value, 'Infinity') ELSE m.value - m.u95 END,
           c.phase_behaviour IS NOT DISTINCT FROM 'decomposes'
    FROM vapour_curve v
    JOIN component c ON c.cas = v.cas
    LEFT JOIN evaluation b ON b.cas = v.cas AND b.property = 'normal_boiling_point'
    LEFT JOIN evaluation m ON m.cas = v.cas AND m.property = 'melting_point'
    WHERE c.kind = 'pure' AND (b.value IS NOT NULL OR c.phase_behaviour = 'sublimes' OR v.cas NOT IN (FROM refused))
    ORDER BY v.cas
"""
_BANK_COLUMNS = 9
"""Columns of `_CURVES` that make a bank; after them the name, the sources of the normal boiling point, the
temperature from which there is a liquid, and whether it decomposes before it boils at one atmosphere."""


class BoilingTable:
    """Evaluated normal boiling points and curves of all components that boil."""

    def __init__(self, normal: list[tuple[Any, ...]], curves: list[tuple[Any, ...]]) -> None:
        self._normal = normal
        self._normal_K = np.array([row[2] for row in normal], dtype=np.float64)
        self._normal_solid = self._normal_K < np.array([row[5] for row in normal], dtype=np.float64)
        self.bank = CurveBank([row[:_BANK_COLUMNS] for row in curves])
        self.place = {cas: place for place, cas in enumerate(self.bank.cas)}
        self._names, boiling_sources, liquid_from_K, decomposes = (
            [row[_BANK_COLUMNS + place] for row in curves] for place in range(4)
        )
        pairs = zip(self.bank.n_sources.tolist(), boiling_sources, strict=True)
        self._n_sources = [sources_behind(of_curve, of_boiling_point) for of_curve, of_boiling_point in pairs]
        self._liquid_from_K = np.array(liquid_from_K, dtype=np.float64)
        self._decomposes = np.array(decomposes, dtype=np.bool_)
        has_normal = {row[0] for row in normal}
        self._has_normal = np.array([cas in has_normal for cas in self.bank.cas], dtype=np.bool_)

    @classmethod
    def load(cls, store: Store) -> BoilingTable:
        """Everything needed from the store, in two queries."""
        return cls(store.rows(_NORMAL), store.rows(_CURVES))

    def near(self, component: Component, within_K: float, pressure_Pa: float) -> Neighbours:
        """Neighbours of the component; see `Store.near`."""
        if not (math.isfinite(within_K) and within_K > 0.0):
            raise WrongUsage(f"The window must be above 0 K; {within_K:g} K was asked for.")
        own = boiling(component, pressure_Pa)
        if math.isclose(pressure_Pa, ATMOSPHERE_PA, rel_tol=1e-12):
            found, without_curve = self._at_one_atmosphere(own.value, within_K), 0
        else:
            found, without_curve = self._on_curves(own.value, within_K, pressure_Pa)
        others = sorted(
            (neighbour for neighbour in found if neighbour.cas != component.cas),
            key=lambda neighbour: (abs(neighbour.delta_K), neighbour.cas),
        )
        return Neighbours(
            component.cas, float(pressure_Pa), float(within_K), own.value, own.grade, own.remark, tuple(others),
            without_curve,
        )  # fmt: skip

    def _at_one_atmosphere(self, own_K: float, within_K: float) -> list[Neighbour]:
        places = np.flatnonzero((np.abs(self._normal_K - own_K) <= within_K) & ~self._normal_solid)
        return [
            Neighbour(cas, name, T_K, T_K - own_K, letter, n_sources == 0)
            for cas, name, T_K, letter, n_sources, _ in (self._normal[place] for place in places)
        ]

    def _on_curves(self, own_K: float, within_K: float, pressure_Pa: float) -> tuple[list[Neighbour], int]:
        places, there = self.bank.boiling_between(pressure_Pa, own_K - within_K, own_K + within_K)
        no_liquid = there.value < self._liquid_from_K[places]  # False where no melting point is held (NaN)
        if pressure_Pa >= ATMOSPHERE_PA:
            no_liquid |= self._decomposes[places]
        kept = (np.abs(there.value - own_K) <= within_K) & ~no_liquid
        found = []
        for place, T_K, u95_K in zip(*(of[kept].tolist() for of in (places, there.value, there.u95)), strict=True):
            n_sources = self._n_sources[place]
            letter = grade("normal_boiling_point", T_K, u95_K, n_sources)
            cas, name = self.bank.cas[place], self._names[place]
            found.append(Neighbour(cas, name, T_K, T_K - own_K, letter, n_sources == 0))
        reached = np.count_nonzero(self.bank.reaches(pressure_Pa) & self._has_normal)
        return found, len(self._normal) - int(reached)

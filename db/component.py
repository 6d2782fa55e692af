"""One component: who it is, and every value held for it."""

from __future__ import annotations

from dataclasses import InitVar, dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, overload

from cutpoint.schema.errors import NoSuchComponent, NoValue
from cutpoint.schema.properties import ATMOSPHERE_PA

from .boiling import boiling
from .cautions import cautions
from .matches import celsius
from .refusals import REFUSED_BOILING_POINT
from .results import Curve, Evaluated, Evaluation, Hazard, Observation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from .crosschecks import Crosscheck
    from .curves import CurveBank
    from .cuts import Cut
    from .store import Store

_EVALUATIONS = """
    SELECT property, value, u95, unit, temperature_K, grade, n_sources, lowest, highest, rule
    FROM evaluation WHERE cas = $cas ORDER BY property
"""
_OBSERVATIONS = """
    SELECT property, value, unit, temperature_K, pressure_Pa, equation, coefficients, T_min_K, T_max_K,
           basis, raw, source, source_row, field, status, reason
    FROM observation WHERE cas = $cas ORDER BY property, source, source_row, field
"""
_HAZARDS = """
    SELECT property, limit_kind, value, conservative, unit, text, sources
    FROM hazard WHERE cas = $cas ORDER BY property, limit_kind
"""
_CURVE = """
    SELECT equation, coefficients, band_u95_relative, T_min_K, T_max_K, T_lowest_K, T_highest_K, relative_residual,
           u95_relative, rule, basis, grade, n_sources, source
    FROM vapour_curve WHERE cas = $cas
"""
_COMPONENT = """
    SELECT cas, name, formula, molar_mass_g_mol, smiles, inchikey, kind, phase_behaviour, source, repair
    FROM component WHERE cas = $cas
"""


@dataclass(frozen=True)
class Component:
    """A substance, or a stream sold under one CAS number.

    The fields are its identity; values are looked up in the store on first use
    and remembered. `note` says what a reader should know about how the query
    was understood, `repair` what was mended in the identity.
    """

    cas: str
    name: str
    formula: str | None
    molar_mass_g_mol: float | None
    smiles: str | None
    inchikey: str | None
    kind: str
    phase_behaviour: str | None
    source: str
    repair: str | None
    note: str | None
    store: InitVar[Store]

    def __post_init__(self, store: Store) -> None:
        # Not a field, so that comparison, `repr` and `asdict` see the identity alone.
        object.__setattr__(self, "_store", store)

    @classmethod
    def load(cls, store: Store, cas: str, note: str | None = None) -> Component:
        """The component with this CAS number; raises NoSuchComponent."""
        rows = store.rows(_COMPONENT, cas=cas)
        if not rows:
            raise NoSuchComponent(f"No component of the store has the CAS number {cas}.")
        return cls(*(*rows[0], note, store))

    def __str__(self) -> str:
        mass = f", {self.molar_mass_g_mol:.3f} g/mol" if self.molar_mass_g_mol is not None else ""
        line = f"{self.name} [{self.cas}] {self.formula or self.kind}{mass}"
        held = self.held("normal_boiling_point")
        if held is not None:
            line += f", boils at {celsius(held.value)} ± {held.u95:.2g} K (grade {held.grade})"
        return line + (f"\n  {self.note}" if self.note else "")

    def _rows(self, sql: str) -> list[tuple[Any, ...]]:
        store: Store = self._store  # type: ignore[attr-defined]
        return store.rows(sql, cas=self.cas)

    @cached_property
    def _evaluated(self) -> dict[str, Evaluation]:
        return {row[0]: Evaluation(*row) for row in self._rows(_EVALUATIONS)}

    @cached_property
    def _observed(self) -> tuple[Observation, ...]:
        return tuple(
            Observation(*(*row[:6], row[6] and tuple(number for number in row[6] if number is not None), *row[7:]))
            for row in self._rows(_OBSERVATIONS)
        )

    @cached_property
    def curve(self) -> Curve | None:
        """The vapour-pressure curve as the store holds it, or None."""
        for row in self._rows(_CURVE):
            from cutpoint.schema.equations import BAND_PRESSURES_PA  # with NumPy, so when a curve is there

            coefficients = tuple(number for number in row[1] if number is not None)
            return Curve(row[0], coefficients, BAND_PRESSURES_PA, tuple(row[2]), *row[3:])
        return None

    @cached_property
    def curve_bank(self) -> CurveBank | None:
        """The curve ready for evaluation: a bank of one; None without one, or if every boiling point was refused."""
        curve = self.curve
        if curve is None or self.refused_boiling is not None:
            return None
        from cutpoint.schema.equations import pad

        from .curves import CurveBank

        row = (
            self.cas, curve.equation, pad(curve.coefficients), curve.T_min_K, curve.T_max_K, curve.T_lowest_K,
            curve.T_highest_K, curve.band_u95_relative, curve.n_sources,
        )  # fmt: skip
        return CurveBank([row])

    def held(self, property: str) -> Evaluation | None:
        """The evaluation of a property as the store holds it, or None."""
        return self._evaluated.get(property)

    def evaluations(self) -> tuple[Evaluation, ...]:
        """Every evaluated property, with its uncertainty, grade and rule."""
        return tuple(self._evaluated.values())

    def observations(self) -> tuple[Observation, ...]:
        """Every value behind them as each source gives it, outliers included."""
        return self._observed

    def crosschecks(self) -> tuple[Crosscheck, ...]:
        """Every comparison of the values with a judge, which is never a source; empty where there is none."""
        from .crosschecks import crosschecks

        store: Store = self._store  # type: ignore[attr-defined]
        return crosschecks(store, self.cas)

    @cached_property
    def _hazards(self) -> tuple[Hazard, ...]:
        return tuple(Hazard(*row) for row in self._rows(_HAZARDS))

    def hazards(self) -> tuple[Hazard, ...]:
        """What can burn, explode or poison, one entry per figure."""
        return self._hazards

    def cuts(self) -> tuple[Cut, ...]:
        """The grades sold under this CAS number, each with its boiling range; empty for all but streams."""
        store: Store = self._store  # type: ignore[attr-defined]
        return tuple(cut for cut in store.cuts() if cut.cas == self.cas) if self.kind == "stream" else ()

    def cautions(self) -> list[str]:
        """The usual cautions, specific to this component, one sentence each."""
        held = self.held("normal_boiling_point")
        return cautions(self, held.value if held else None)

    def evaluated(self, property: str) -> Evaluated:
        """The evaluated value of a property; raises NoValue saying that none is held."""
        held = self.held(property)
        if held is None:
            raise NoValue(f"The store holds no evaluated {property.replace('_', ' ')} of {self.name} ({self.cas}).")
        pressure_Pa = ATMOSPHERE_PA if property == "normal_boiling_point" else None
        return Evaluated(
            property, held.value, held.u95, held.unit, held.grade, self._sources(property), held.n_sources,
            temperature_K=held.temperature_K, pressure_Pa=pressure_Pa, rule=held.rule,
        )  # fmt: skip

    def boiling_point(self, pressure_Pa: float | None = None) -> Evaluated:
        """Boiling temperature, K: the evaluated normal boiling point, or that at another pressure.

        Off 101 325 Pa it is read from the vapour-pressure curve, with the
        uncertainty that the curve states there. `rule` and `remark` say so
        where the curve is an estimate, and `remark` where the temperature lies
        below the melting point. What sublimes at one atmosphere boils from the
        pressure at which its liquid begins.

        Raises ImpossibleQuantity for a pressure that is not a positive number,
        NoValue where there is nothing to answer from (a stream, a substance
        that sublimes there, boiling points that were all refused, no curve),
        OutOfRange beyond the allowed extrapolation, above the critical
        pressure, or far below a melting point that is well known.
        """
        bare = boiling(self, pressure_Pa)
        is_normal = bare.property == "normal_boiling_point"
        return replace(bare, sources=self._normal_sources if is_normal else self._curve_sources)

    @cached_property
    def _normal_sources(self) -> tuple[str, ...]:
        return self._sources("normal_boiling_point")

    @cached_property
    def _curve_sources(self) -> tuple[str, ...]:
        """Those of the curve and of the boiling point through which it goes."""
        of_curve = self.curve.source.split(", ") if self.curve is not None else []
        return tuple(sorted({*self._normal_sources, *of_curve}))

    @overload
    def vapour_pressure(self, T_K: float) -> float: ...
    @overload
    def vapour_pressure(self, T_K: ArrayLike) -> float | NDArray[Any]: ...
    def vapour_pressure(self, T_K: ArrayLike) -> float | NDArray[Any]:
        """Vapour pressure of the liquid, Pa: a float for a number, an array of the same shape for an array.

        Raises ImpossibleQuantity for a temperature that is not above 0 K,
        NoValue without a curve, OutOfRange if any temperature is beyond the
        allowed extrapolation. `evaluated_vapour_pressure` adds the uncertainty.
        """
        from .vapour import vapour_pressures

        p_Pa = vapour_pressures(self, T_K)
        return float(p_Pa) if p_Pa.ndim == 0 else p_Pa

    def evaluated_vapour_pressure(self, T_K: float) -> Evaluated:
        """Vapour pressure at one temperature, Pa, with its uncertainty and grade; raises as `vapour_pressure` does.

        `rule` and `remark` say so where the curve is an estimate, and `remark`
        where the liquid would be below its melting point.
        """
        from .vapour import vapour_pressure

        return vapour_pressure(self, T_K)

    def _sources(self, property: str) -> tuple[str, ...]:
        accepted = [seen for seen in self._observed if seen.status == "accepted"]
        sources = {seen.source for seen in accepted if seen.property == property}
        held = self.held(property)
        if property == "normal_boiling_point" and held is not None:
            # A correlation speaks for the boiling point where its range covers one atmosphere.
            sources |= {seen.source for seen in accepted if _covers(seen, held.value)}
        return tuple(sorted(sources))

    @cached_property
    def refused_boiling(self) -> str | None:
        """Why the evaluation refused every boiling point that the sources give; None if it did not.

        The curve would bring them back. What sublimes is left to its own rule.
        """
        if "normal_boiling_point" in self._evaluated or self.phase_behaviour == "sublimes":
            return None
        seen = [observed for observed in self._observed if observed.property == "normal_boiling_point"]
        reasons = [observed.reason or "" for observed in seen if observed.status == "outlier"]
        if not reasons or len(reasons) < len(seen):
            return None
        return reasons[0] if all(reason.startswith(REFUSED_BOILING_POINT) for reason in reasons) else None


def _covers(seen: Observation, T_K: float) -> bool:
    """Whether an observation is a vapour-pressure correlation whose range covers the temperature."""
    if seen.property != "vapour_pressure" or seen.T_min_K is None or seen.T_max_K is None:
        return False
    return seen.T_min_K <= T_K <= seen.T_max_K

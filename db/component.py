"""One component: who it is, and every value held for it."""

from __future__ import annotations

import math
from dataclasses import InitVar, dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, NoReturn, overload

from cutpoint.schema.errors import ImpossibleQuantity, NoSuchComponent, NoValue, OutOfRange
from cutpoint.schema.properties import ATMOSPHERE_PA, grade

from .cautions import cautions
from .matches import celsius, kilopascal
from .results import Curve, Evaluated, Evaluation, Hazard, Observation

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from .crosschecks import Crosscheck
    from .curves import CurveBank, CurveValues
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
    SELECT equation, coefficients, T_min_K, T_max_K, relative_residual, u95_relative, basis, grade, n_sources, source
    FROM vapour_curve WHERE cas = $cas
"""
_COMPONENT = """
    SELECT cas, name, formula, molar_mass_g_mol, smiles, inchikey, kind, phase_behaviour, source, repair
    FROM component WHERE cas = $cas
"""

REFUSED_BOILING_POINT = "boils "
"""How the reasons begin for which the evaluation refuses a boiling point that nothing can have."""

MOST_BELOW_MELTING_K = 5.0
"""A liquid is seldom undercooled by more in a pot with boiling stones; common practice, no source."""


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
        held = self._evaluated.get("normal_boiling_point")
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
            return Curve(row[0], tuple(number for number in row[1] if number is not None), *row[2:])
        return None

    @cached_property
    def curve_bank(self) -> CurveBank | None:
        """The curve ready for evaluation: a bank of one; None without one, or if every boiling point was refused."""
        if self.curve is None or self._refused_boiling is not None:
            return None
        from .curves import CurveBank

        held = self._evaluated.get("normal_boiling_point")
        row = (
            self.cas, self.curve.equation, self.curve.coefficients, self.curve.T_min_K, self.curve.T_max_K,
            self.curve.u95_relative, self.curve.n_sources, self._value("normal_boiling_point"),
            held.u95 if held else math.nan, self._value("critical_temperature"),
        )  # fmt: skip
        return CurveBank([row])

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

    def cautions(self) -> list[str]:
        """The usual cautions, specific to this component, one sentence each."""
        held = self._evaluated.get("normal_boiling_point")
        return cautions(self, held.value if held else None)

    def evaluated(self, property: str) -> Evaluated:
        """The evaluated value of a property; raises NoValue saying that none is held."""
        held = self._evaluated.get(property)
        if held is None:
            raise NoValue(f"The store holds no evaluated {property.replace('_', ' ')} of {self.name} ({self.cas}).")
        pressure_Pa = ATMOSPHERE_PA if property == "normal_boiling_point" else None
        return Evaluated(
            property, held.value, held.u95, held.unit, held.grade, self._sources(property), held.n_sources,
            temperature_K=held.temperature_K, pressure_Pa=pressure_Pa, rule=held.rule,
        )  # fmt: skip

    def boiling_point(self, pressure_Pa: float | None = None) -> Evaluated:
        """Boiling temperature, K: the evaluated normal boiling point, or that at another pressure.

        Off 101 325 Pa it is read from the vapour-pressure curve, whose
        temperatures are scaled so that it passes through the evaluated normal
        boiling point (module `curves` states the rule and the uncertainty). A
        `remark` says so where it lies below the melting point.

        Raises ImpossibleQuantity for a pressure that is not a positive number,
        NoValue where there is nothing to answer from (a stream, a substance
        that sublimes, boiling points that were all refused, no curve),
        OutOfRange beyond the allowed extrapolation, above the critical
        pressure, or far below a melting point that is well known.
        """
        bare = self._boiling(pressure_Pa)
        sources = set(self._sources("normal_boiling_point"))
        if bare.property == "boiling_point" and self.curve is not None:
            sources.update(self.curve.source.split(", "))
        return replace(bare, sources=tuple(sorted(sources)))

    def boiling_temperature_K(self, pressure_Pa: float | None = None) -> float:
        """The value of `boiling_point` alone, without looking up its sources; raises the same."""
        return self._boiling(pressure_Pa).value

    def _boiling(self, pressure_Pa: float | None) -> Evaluated:
        pressure_Pa = ATMOSPHERE_PA if pressure_Pa is None else _checked_pressure(pressure_Pa)
        self._refuse_what_does_not_boil(pressure_Pa)
        held = self._evaluated.get("normal_boiling_point")
        if held is not None and math.isclose(pressure_Pa, ATMOSPHERE_PA, rel_tol=1e-12):
            return Evaluated(
                "normal_boiling_point", held.value, held.u95, "K", held.grade, (), held.n_sources,
                pressure_Pa=pressure_Pa, rule=held.rule, remark=self._solid_remark(held.value, pressure_Pa),
            )  # fmt: skip
        p_c = self._value("critical_pressure")
        if pressure_Pa > p_c:
            raise OutOfRange(
                f"{self.name} does not boil at {kilopascal(pressure_Pa)}: its critical pressure is {kilopascal(p_c)}."
            )
        bank = self._bank(f"the boiling point at {kilopascal(pressure_Pa)}")
        found = bank.boiling_points(pressure_Pa)
        T_K, u95_K = float(found.value[0]), float(found.u95[0])
        if math.isnan(T_K):
            self._refuse_pressure(bank, pressure_Pa)
        # The curve is pinned at the evaluated boiling point, whose sources
        # therefore count for it; its own uncertainty is in u95 already.
        n_sources = held.n_sources if held else int(bank.n_sources[0])
        return Evaluated(
            "boiling_point", T_K, u95_K, "K", grade("normal_boiling_point", T_K, u95_K, n_sources), (), n_sources,
            pressure_Pa=pressure_Pa, extrapolated=bool(found.extrapolated[0]), rule="vapour-pressure curve",
            remark=self._solid_remark(T_K, pressure_Pa),
        )  # fmt: skip

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
        values = self._pressures(T_K)
        return float(values.value) if values.value.ndim == 0 else values.value

    def evaluated_vapour_pressure(self, T_K: float) -> Evaluated:
        """Vapour pressure at one temperature with its uncertainty and grade; raises as `vapour_pressure` does."""
        values = self._pressures(T_K)
        curve = self.curve
        assert curve is not None
        p, u95 = float(values.value), float(values.u95)
        told, sources = grade("vapour_pressure", p, u95, curve.n_sources), tuple(curve.source.split(", "))
        return Evaluated(
            "vapour_pressure", p, u95, "Pa", told, sources, curve.n_sources,
            temperature_K=float(T_K), extrapolated=bool(values.extrapolated), rule="vapour-pressure curve",
        )  # fmt: skip

    def _value(self, property: str) -> float:
        held = self._evaluated.get(property)
        return held.value if held else math.nan

    def _sources(self, property: str) -> tuple[str, ...]:
        accepted = [seen for seen in self._observed if seen.status == "accepted"]
        sources = {seen.source for seen in accepted if seen.property == property}
        held = self._evaluated.get(property)
        if property == "normal_boiling_point" and held is not None:
            # A correlation speaks for the boiling point where its range covers one atmosphere.
            sources |= {seen.source for seen in accepted if _covers(seen, held.value)}
        return tuple(sorted(sources))

    def _pressures(self, T_K: ArrayLike) -> CurveValues:
        import numpy as np

        from .curves import CurveValues

        temperatures = np.asarray(T_K, dtype=np.float64)
        if not np.all((temperatures > 0.0) & np.isfinite(temperatures)):
            raise ImpossibleQuantity("A temperature must be a number of kelvins above 0 K.")
        if self.kind == "stream":
            raise NoValue(f"{self.name} is a stream, a mixture; it has no vapour pressure of its own.")
        bank = self._bank("its vapour pressure")
        many = bank.vapour_pressures(temperatures[..., np.newaxis])
        values = CurveValues(many.value[..., 0], many.u95[..., 0], many.extrapolated[..., 0])
        beyond = temperatures[np.isnan(values.value)]
        if beyond.size:
            self._refuse_temperature(bank, float(beyond.flat[0]))
        return values

    @cached_property
    def _refused_boiling(self) -> str | None:
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

    def _solid_remark(self, T_K: float, pressure_Pa: float) -> str | None:
        """What to say of a boiling temperature at which the component is a solid; raises OutOfRange far below."""
        melting = self._evaluated.get("melting_point")
        if melting is None or melting.value - melting.u95 <= T_K:
            return None
        if melting.value - T_K <= MOST_BELOW_MELTING_K or melting.grade == "D":
            return (
                f"below the melting point ({celsius(melting.value)}): a solid there; "
                "it would sublime and block a condenser"
            )
        bank = self.curve_bank
        p_Pa = float(bank.pressures_Pa(melting.value)[0]) if bank is not None else math.nan
        boils = "" if math.isnan(p_Pa) else f" The liquid boils from about {p_Pa / 1000:.2g} kPa up."
        raise OutOfRange(
            f"{self.name} ({self.cas}) is a solid where it would boil at {kilopascal(pressure_Pa)}: {celsius(T_K)} "
            f"lies below its melting point, {celsius(melting.value)}; it would sublime and block a condenser.{boils}"
        )

    def _refuse_what_was_refused(self) -> None:
        if self._refused_boiling is not None:
            raise NoValue(
                f"Every boiling point that the sources give of {self.name} ({self.cas}) was refused: "
                f"{self._refused_boiling}. So neither that nor a vapour pressure is told."
            )

    def _bank(self, wanted: str) -> CurveBank:
        self._refuse_what_was_refused()
        bank = self.curve_bank
        if bank is None:
            held = self._evaluated.get("normal_boiling_point")
            known = (
                f"known is the normal boiling point, {celsius(held.value)}"
                if held
                else "no normal boiling point is known either"
            )
            raise NoValue(
                f"The store holds no vapour-pressure curve of {self.name} ({self.cas}), so {wanted} is not known;"
                f" {known}."
            )
        if bank.contradicted[0]:
            raise NoValue(
                f"The vapour-pressure curve of {self.name} ({self.cas}) contradicts its evaluated normal boiling "
                f"point, {celsius(self._value('normal_boiling_point'))}, so {wanted} is not known."
            )
        return bank

    def _refuse_what_does_not_boil(self, pressure_Pa: float) -> None:
        if self.kind == "stream":
            raise NoValue(
                f"{self.name} ({self.cas}) is a stream, a mixture sold under one CAS number: "
                "it has a boiling range, not a boiling point."
            )
        if self.phase_behaviour == "sublimes":
            raise NoValue(f"{self.name} ({self.cas}) sublimes: it goes from solid to vapour and has no boiling point.")
        if self.phase_behaviour == "decomposes" and pressure_Pa >= ATMOSPHERE_PA:
            raise NoValue(
                f"{self.name} ({self.cas}) decomposes before it boils at {kilopascal(pressure_Pa)}; "
                "it may boil undecomposed under reduced pressure."
            )
        self._refuse_what_was_refused()
        held = "normal_boiling_point" in self._evaluated
        if not held and self.curve is None:
            known = ", ".join(name.replace("_", " ") for name in self._evaluated) or "no property at all"
            raise NoValue(f"The store holds no boiling point of {self.name} ({self.cas}); it holds {known}.")

    def _refuse_pressure(self, bank: CurveBank, pressure_Pa: float) -> NoReturn:
        low_Pa, high_Pa = bank.pressure_limits_Pa()
        raise OutOfRange(
            f"The vapour-pressure curve of {self.name} ({self.cas}) carries from {kilopascal(float(low_Pa[0]))} to "
            f"{kilopascal(float(high_Pa[0]))}, extrapolation included; {kilopascal(pressure_Pa)} is beyond it."
        )

    def _refuse_temperature(self, bank: CurveBank, T_K: float) -> NoReturn:
        T_c = self._value("critical_temperature")
        if T_c < T_K:
            raise OutOfRange(
                f"{self.name} has no vapour pressure at {T_K:.6g} K: its critical temperature is {T_c:.6g} K."
            )
        low_K, high_K = bank.limits_K()
        raise OutOfRange(
            f"The vapour-pressure curve of {self.name} ({self.cas}) carries from {low_K[0]:.2f} K to "
            f"{high_K[0]:.2f} K, extrapolation included; {T_K:.6g} K is beyond it."
        )


def _checked_pressure(pressure_Pa: float) -> float:
    if not (math.isfinite(pressure_Pa) and pressure_Pa > 0.0):
        raise ImpossibleQuantity(f"A pressure must be above 0 Pa; {pressure_Pa:g} Pa was asked for.")
    return float(pressure_Pa)


def _covers(seen: Observation, T_K: float) -> bool:
    """Whether an observation is a vapour-pressure correlation whose range covers the temperature."""
    if seen.property != "vapour_pressure" or seen.T_min_K is None or seen.T_max_K is None:
        return False
    return seen.T_min_K <= T_K <= seen.T_max_K

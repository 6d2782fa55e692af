"""Whether distillation can part two components: everything known of the pair at a pressure, and the verdict."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cutpoint.schema.errors import ImpossibleQuantity, WrongUsage

from .activity import SCHEME
from .boiling import FROM_ESTIMATE
from .component import Component
from .matches import celsius, told_pressure
from .pair_equilibrium import Pairs
from .pair_tables import PairTables, Zeotropic, lowest_boiling, nearby_pressure, same_pressure
from .predictions import IMPLAUSIBLE, Molecule, Prediction, model_of, predict, why_not_predictable
from .reacting import told_reaction
from .remedies import OTHER_PRESSURES_PA, remedies, told_washing
from .results import Azeotrope, Evaluated, Pair, RelativeVolatility, Thresholds, told_apart
from .verdicts import AZEOTROPE, BENCH_K, CLOSE, UNDECIDED, Known, stays_solid, verdict

NO_VOLATILITY = RelativeVolatility(None, None, None)

NO_MORE_THAN_A_MODEL = (
    f"How the two mix is predicted by {SCHEME} with an ideal vapour: a prediction, to be tried on a small scale first."
)
ACID_VAPOUR = (
    "Carboxylic acids pair up in the vapour, which the prediction leaves out: with {} it is off by more than stated."
)
ACID_GROUPS = {"COOH", "HCOOH"}
GAS = "{} is above its critical temperature where {} boils: it leaves as a gas that no bench condenser holds back."


def judge(
    tables: PairTables,
    a: Component,
    b: Component,
    pressure_Pa: float,
    purity_a: float,
    purity_b: float,
    basis: str | None,
    thresholds: Thresholds,
) -> Pair:
    """The answer of `Store.pair`; see there."""
    if a.cas == b.cas:
        raise WrongUsage(f"{a.name} ({a.cas}) was named twice; a pair needs two different components.")
    if basis not in (None, "predicted"):
        raise WrongUsage(f"The basis can only be 'predicted', not {basis!r}.")
    check_purities(purity_a, purity_b)
    boiling_a, boiling_b = a.boiling_point(pressure_Pa), b.boiling_point(pressure_Pa)
    labels = told_apart(a.name, a.cas, b.name, b.cas)
    predictor = Predictor(tables, a, b, labels)
    # All at once: three pressures take little longer than one.
    predictions = predictor.at([pressure_Pa, *OTHER_PRESSURES_PA], purity_a, purity_b)
    here = predictions[0] if predictions else None
    problem = predictor.problem or (IMPLAUSIBLE if here is None else None)
    measured = () if basis else tables.measured(a.cas, b.cas)
    zeotropic = () if basis else tables.zeotropic(a.cas, b.cas)
    known = all_known(
        (a.cas, b.cas), (boiling_a, boiling_b), (melting_K(a), melting_K(b)), here, measured, zeotropic, pressure_Pa
    )
    delta_K, u95_K, azeotropes = known.delta_K, known.u95_K, known.azeotropes
    told, why = verdict(known, thresholds)
    plates = counted_plates(here, azeotropes, purity_a, purity_b)
    reasons = told_reaction((a.cas, b.cas), (tables.counts(a.cas) or (), tables.counts(b.cas) or ()), labels)
    reasons += [_told_difference(labels, delta_K, u95_K), *(told_azeotrope(labels, one) for one in azeotropes), why]
    reasons += [_told_elsewhere(labels, one) for one in measured if one not in known.measured]
    reasons += [f"Measured to form no azeotrope at {told_pressure(one.pressure_Pa)}: {one.source}" for one in zeotropic]
    if plates is not None:
        needed = (
            "The pot alone is enough"
            if plates <= 1.0
            else (f"At least {plates:.1f} theoretical plates at total reflux, the pot counted as one,")
        )
        reasons.append(
            f"{needed} for {purity_a:.6g} of {labels[0]} and {purity_b:.6g} of {labels[1]} (mole fractions; Fenske)."
        )
    if here is not None and azeotropes:
        reasons += remedies(labels, (a, b), azeotropes, here, predictions[1:])
    if here is not None:
        reasons += _told_ends(a, b, labels, here.volatility, (boiling_a.value, boiling_b.value))
    if told in (AZEOTROPE, CLOSE, UNDECIDED):
        reasons += told_washing(labels, (a, b), tables)
    reasons.append(f"{problem}: no prediction is made." if problem else NO_MORE_THAN_A_MODEL)
    reasons += _cautious(tables, a, b, labels, boiling_a, boiling_b, here is not None, known.stays_solid)
    return Pair(
        {"cas": a.cas, "name": a.name}, {"cas": b.cas, "name": b.name}, float(pressure_Pa), delta_K, u95_K,
        here.volatility if here else NO_VOLATILITY, lowest_boiling(azeotropes), azeotropes, plates,
        _finite(here.mixing.equivalent_K) if here else None, purity_a, purity_b, told, tuple(reasons),
    )  # fmt: skip


def all_known(
    cas: tuple[str, str],
    boiling: tuple[Evaluated, Evaluated],
    melting_K: tuple[float | None, float | None],
    here: Prediction | None,
    measured: Sequence[Azeotrope],
    zeotropic: Sequence[Zeotropic],
    pressure_Pa: float,
) -> Known:
    """What bears on the verdict at a pressure, of what was measured at any pressure and predicted at this one."""
    (T_a, T_b), (u95_a, u95_b) = ([one.value for one in boiling], [one.u95 for one in boiling])
    return Known(
        cas, T_b - T_a, math.hypot(u95_a, u95_b),
        tuple(one for one in measured if same_pressure(one.pressure_Pa, pressure_Pa)),
        nearby_pressure(measured, pressure_Pa),
        any(same_pressure(one.pressure_Pa, pressure_Pa) for one in zeotropic),
        stays_solid(melting_K, (T_a, T_b)), here.mixing if here else None,
    )  # fmt: skip


class Predictor:
    """The model of one pair, asked at any pressures; `problem` says why there is none."""

    def __init__(self, tables: PairTables, a: Component, b: Component, labels: tuple[str, str]) -> None:
        self._tables, self._banks = tables, (a.curve_bank, b.curve_bank)
        self.molecules = _molecule(a, labels[0]), _molecule(b, labels[1])
        without = [label for label, bank in zip(labels, self._banks, strict=True) if bank is None]
        self.problem = (
            f"No vapour-pressure curve is held of {' nor of '.join(without)}"
            if without
            else why_not_predictable(tables, *self.molecules)
        )

    def pairs(self, pressures_Pa: Sequence[float]) -> Pairs | None:
        """The pair at each of the pressures, ready for computing; None where there is a problem."""
        a, b = self._banks
        if self.problem is not None or a is None or b is None:
            return None
        if len(pressures_Pa) > 1:
            places = np.zeros(len(pressures_Pa), dtype=np.int64)
            a, b = a.take(places), b.take(places)
        pressures = np.array(pressures_Pa, dtype=np.float64)
        return model_of(self._tables, [self.molecules] * len(pressures), a, b, pressures)

    def at(self, pressures_Pa: Sequence[float], purity_a: float, purity_b: float) -> list[Prediction | None]:
        """One prediction per pressure, None where it is implausible; none at all where there is a problem."""
        pairs = self.pairs(pressures_Pa)
        return [] if pairs is None else predict(pairs, [self.molecules] * len(pairs), purity_a, purity_b)


def _molecule(component: Component, label: str) -> Molecule:
    return Molecule(component.cas, label, component.molar_mass_g_mol or math.nan)


def counted_plates(
    here: Prediction | None, azeotropes: Sequence[Azeotrope], purity_a: float, purity_b: float
) -> float | None:
    """The predicted plates; None without a prediction and where an azeotrope lies between the two purities."""
    between = any(1.0 - purity_b < one.mole_fraction_a < purity_a for one in azeotropes)
    return None if here is None or between else here.plates


def melting_K(component: Component) -> float | None:
    """The evaluated melting point less its uncertainty, K; None where none is held."""
    held = component.held("melting_point")
    return None if held is None else held.value - held.u95


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def check_purities(purity_a: float, purity_b: float) -> None:
    """Raise ImpossibleQuantity or WrongUsage for mole fractions that no separation can have."""
    for purity in (purity_a, purity_b):
        if not 0.0 < purity < 1.0:
            raise ImpossibleQuantity(
                f"A purity is a mole fraction between 0 and 1, both excluded; {purity:g} was given."
            )
    if purity_a + purity_b <= 1.0:
        raise WrongUsage(
            f"Purities of {purity_a:g} and {purity_b:g} are no separation; together they must be more than 1."
        )


def _told_difference(labels: tuple[str, str], delta_K: float, u95_K: float) -> str:
    if delta_K == 0.0:
        return f"Both boil at the same temperature, ± {u95_K:.2g} K."
    first, second = labels if delta_K > 0.0 else reversed(labels)
    # Two significant digits of the uncertainty, and the value to the same place (GUM, 7.2.6).
    places = max(0, 1 - math.floor(math.log10(u95_K))) if u95_K > 0.0 else 1
    return f"{first} boils {abs(delta_K):.{places}f} ± {u95_K:.{places}f} K below {second}."


def told_azeotrope(labels: tuple[str, str], one: Azeotrope) -> str:
    """An azeotrope of two components in a sentence."""
    layers = ", as two liquid layers" if one.kind == "heterogeneous" else ""
    basis = f"{one.basis.capitalize()}: " + {"maximum": "maximum-boiling azeotrope"}.get(one.kind, "azeotrope")
    shares = f"{100.0 * one.mass_fraction_a:.3g} % {labels[0]} and {100.0 * (1.0 - one.mass_fraction_a):.3g} %"
    model = f" ({one.source})" if one.basis == "predicted" else ""
    return f"{basis} at {celsius(one.temperature_K)}{layers}, {shares} {labels[1]} by mass{model}."


def _told_elsewhere(labels: tuple[str, str], one: Azeotrope) -> str:
    told = told_azeotrope(labels, one)
    return f"At {told_pressure(one.pressure_Pa)}, {told[0].lower()}{told[1:-1]} ({one.source})."


def _told_ends(
    a: Component, b: Component, labels: tuple[str, str], volatility: RelativeVolatility, boiling_K: tuple[float, float]
) -> list[str]:
    """Which curve ends before the temperature at which a relative volatility would be."""
    told = []
    for alpha, T_K in ((volatility.a_lean, boiling_K[1]), (volatility.a_rich, boiling_K[0])):
        if alpha is None:
            short = [
                label
                for label, one in zip(labels, (a, b), strict=True)
                if one.curve_bank is not None and not one.curve_bank.carries(T_K).all()
            ]
            why = f": the curve of {' and of '.join(short)} does not carry there" if short else ""
            told.append(f"No relative volatility is known at {celsius(T_K)}{why}.")
    return told


def _cautious(
    tables: PairTables,
    a: Component,
    b: Component,
    labels: tuple[str, str],
    boiling_a: Evaluated,
    boiling_b: Evaluated,
    is_predicted: bool,
    left_behind: bool,
) -> list[str]:
    """What weakens the answer: extrapolation, grade D, estimates, gases, acids."""
    told = []
    for label, boiling in zip(labels, (boiling_a, boiling_b), strict=True):
        if boiling.extrapolated:
            told.append(f"The curve of {label} is extrapolated to this pressure.")
        if boiling.grade == "D" and boiling.rule != FROM_ESTIMATE:
            told.append(f"The boiling point of {label} is of grade D: {boiling.u95:.2g} K, or one source alone.")
        if boiling.remark:
            told.append(f"The boiling point of {label} is {boiling.remark}.")
    both = zip(labels, (a, b), strict=True)
    estimated = [label for label, one in both if is_predicted and one.curve is not None and one.curve.is_estimate]
    if estimated:
        curves = "an estimated curve" if len(estimated) == 1 else "estimated curves"
        told.append(
            f"The relative volatility rests on {curves} of {' and of '.join(estimated)}: "
            "no correlation of that vapour pressure is held."
        )
    for label, one in zip(labels, (a, b), strict=True):
        melts_K = melting_K(one)
        if melts_K is not None and melts_K > BENCH_K and not left_behind:
            told.append(
                f"{label} is a solid at room temperature (melts at {celsius(melts_K)}): it can block a cold condenser."
            )
    for label, one, other_label, other in (
        (labels[0], a, labels[1], boiling_b), (labels[1], b, labels[0], boiling_a),
    ):  # fmt: skip
        critical = one.held("critical_temperature")
        if critical is not None and critical.value < min(other.value, BENCH_K):
            told.append(GAS.format(label, other_label))
        if ACID_GROUPS & set(tables.counts(one.cas) or ()):
            told.append(ACID_VAPOUR.format(label))
    return told

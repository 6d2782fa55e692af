"""What the judges say of a component: comparisons with what is never a source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cutpoint.schema.properties import PROPERTIES

if TYPE_CHECKING:
    from .store import Store

LIBRARIES = ("CoolProp", "IAPWS")
"""First letters of the references that are libraries; every other reference is a rule of physics."""

_CROSSCHECKS = f"""
    SELECT property, nullif(temperature_K, 0), reference,
           if(regexp_matches(reference, '^({"|".join(LIBRARIES)})'), 'library', 'rule') AS kind,
           ours, reference_value, deviation, tolerance, verdict,
           CASE WHEN verdict = 'differs' AND kind = 'library' THEN stands_with END
    FROM crosscheck LEFT JOIN (SELECT cas, property, stands_with FROM adjudication) USING (cas, property)
    WHERE cas = $cas ORDER BY property, reference, temperature_K
"""


@dataclass(frozen=True)
class Crosscheck:
    """One comparison with a judge: a row of the table `crosscheck`.

    `kind` is `library` (a reference library) or `rule` (a rule of physics).
    `temperature_K` is None where the comparison has none. `deviation` is ours
    minus the reference's: relative to it for the properties whose grades are
    relative, else in `unit`; of an order of two temperatures, the part that
    breaks it. Where a library differs and a third source has decided,
    `stands_with` says for whom: `ours` or `reference`.
    """

    unit: str
    property: str
    temperature_K: float | None
    reference: str
    kind: str
    ours: float
    reference_value: float
    deviation: float
    tolerance: float
    verdict: str
    stands_with: str | None

    def __str__(self) -> str:
        at = f" at {self.temperature_K:.2f} K" if self.temperature_K is not None else ""
        values = f"{self.ours:.6g} against {self.reference_value:.6g} {self.unit}"
        return f"{self.property}{at}: {values} ({self.reference}, {self.verdict})"


def crosschecks(store: Store, cas: str) -> tuple[Crosscheck, ...]:
    """Every comparison of the component with a judge, by property, judge and temperature; empty where there is none."""
    return tuple(Crosscheck(PROPERTIES[row[0]].unit, *row) for row in store.rows(_CROSSCHECKS, cas=cas))

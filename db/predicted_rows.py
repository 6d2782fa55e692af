"""Predicted azeotropes as rows of the table `azeotrope`, for the pairs of which something was measured."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from .mixing_evidence import measured_pairs
from .store import Store


def predicted_azeotropes(path: Path) -> list[dict[str, Any]]:
    """Every azeotrope that is predicted of a measured pair at a pressure at which it was measured.

    `path` is a store that holds at least the components of these pairs. A pair
    that was measured to form none and is predicted to form one has its row too:
    it shows where the prediction is wrong.
    """
    with Store(path) as store:
        return [
            {
                "cas_a": pair.cas_a,
                "cas_b": pair.cas_b,
                "pressure_Pa": pair.pressure_Pa,
                "basis": "predicted",
                "ordinal": ordinal,
                "temperature_K": azeotrope.temperature_K,
                "mole_fraction_a": azeotrope.mole_fraction_a,
                "mass_fraction_a": azeotrope.mass_fraction_a,
                "kind": azeotrope.kind,
                "source": azeotrope.source,
            }
            for pair in measured_pairs(store)
            for ordinal, azeotrope in enumerate(pair.predicted, 1)
        ]

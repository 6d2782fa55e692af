"""stand-in until the labels land"""

from __future__ import annotations
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Ingredient:
    line: Any
    kind: str
    name: str
    cas: str | None
    cut: Any
    note: str | None

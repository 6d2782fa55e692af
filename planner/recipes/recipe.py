"""What a recipe file says, in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

NOT_VOLATILE = "not volatile"
"""What a recipe says a line of the label means that stays in the flask: a salt, a resin, a dye."""


@dataclass(frozen=True)
class Amount:
    """How much there is: a mass or a volume, the other being None; `price` is what all of it costs."""

    mass_kg: float | None
    volume_m3: float | None
    price: float | None
    currency: str


@dataclass(frozen=True)
class Column:
    """What stands on the flask: `plates` theoretical ones beside the pot, which is another; 0 for a bare still head.

    `kind` and `height_m` are None where the recipe gives plates; `holdup_m3` is the liquid in the whole column.
    """

    plates: int
    kind: str | None
    height_m: float | None
    holdup_m3: float


@dataclass(frozen=True)
class Package:
    """A pressurised package of liquefied gas: its temperature, and the absolute pressure read in it, if any."""

    temperature_K: float
    pressure_Pa: float | None


@dataclass(frozen=True)
class Recipe:
    """A recipe as it was read and found sound.

    `label_line` is the line of the file `label_file`, the recipe itself or
    one beside it, on which the text of the label begins;
    `meanings` tells what lines of the label mean that speak for nothing else:
    printed name to CAS number, name or `NOT_VOLATILE`. Of `reflux_ratio` and
    `take_off_m3_s` at most one is not None. `purity` is a mass fraction.
    Prices are in the currency of the amount.
    """

    title: str
    label: str
    label_file: str
    label_line: int
    basis: str
    amount: Amount
    meanings: Mapping[str, str]
    target: str
    purity: float
    pressure_Pa: float
    altitude_m: float | None
    column: Column
    reflux_ratio: float | None
    take_off_m3_s: float | None
    heat_W: float | None
    heat_share: float
    coolant_K: float | None
    receiver_bath_K: float | None
    package: Package | None
    thermometer_correction_K: float
    price_per_kWh: float | None
    price_per_kg_ice: float | None

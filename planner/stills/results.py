"""What a separation sheet holds: frozen dataclasses in SI units, whose field names are those of `plan --json`.

Volumes are those of liquids at 20 °C. Fractions of composition are mass fractions.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Interval:
    """A figure for the central composition, and the interval that holds it in 95 % of all compositions and draws."""

    value: float
    low: float
    high: float

    @property
    def u95(self) -> float:
        """Half the width of the interval."""
        return 0.5 * (self.high - self.low)


@dataclass(frozen=True)
class IngredientRow:
    """One line of the label as it was understood.

    `kind` is `component`, `cut` or `not volatile`; the boiling point is at the
    pressure of the sheet, for a cut the two ends of its range; None where none is held.
    """

    printed: str
    name: str
    cas: str | None
    kind: str
    mass_fraction: Interval
    boiling_point_K: float | None
    boiling_end_K: float | None
    boiling_u95_K: float | None
    grade: str | None
    remark: str | None


@dataclass(frozen=True)
class Share:
    """The mass fraction of one ingredient in something."""

    name: str
    cas: str | None
    mass_fraction: Interval


@dataclass(frozen=True)
class Opening:
    """What flashes off when a package of liquefied gas is opened and left to boil down at its temperature.

    Without and with the column above the flask: the share of the whole that leaves, and of the target.
    `pressure_Pa` is absolute, in the closed package, None with a gas that has no vapour pressure there; `gas_m3` is
    the volume of what leaves without the column, at 20 °C and the pressure of the room; `gases` are what it is made of.
    """

    temperature_K: float
    pressure_Pa: Interval | None
    read_pressure_Pa: float | None
    gas_m3: Interval
    leaves_bare: Interval
    target_lost_bare: Interval
    leaves_with_column: Interval
    target_lost_with_column: Interval
    gases: tuple[Share, ...]
    words: tuple[str, ...] = ()
    through_column: bool = False
    """Whether the column holds anything back: only with a coolant below the boiling point of the gas."""


@dataclass(frozen=True)
class HeadCurve:
    """Reading of the thermometer in the still head against the volume distilled: same length each, with the band."""

    volume_m3: tuple[float, ...]
    reading_K: tuple[float, ...]
    low_K: tuple[float, ...]
    high_K: tuple[float, ...]
    pot_K: tuple[float, ...]


@dataclass(frozen=True)
class Fraction:
    """What comes over between two changes of the receiver, or, as `residue`, what stays in the flask.

    `name` is `fore-run`, `product`, `after-run` or `residue`; readings are those of the thermometer.
    """

    name: str
    from_reading_K: Interval | None
    to_reading_K: Interval | None
    from_volume_m3: Interval
    to_volume_m3: Interval
    volume_m3: Interval
    mass_kg: Interval
    contents: tuple[Share, ...]


@dataclass(frozen=True)
class Product:
    """What is had of the target: `reached` where the central composition gives the wanted purity.

    `best_purity` is the best that the central composition gives at this column
    and reflux ratio in a tenth of the target or more.
    """

    target: str
    wanted_purity: float
    reached: bool
    purity: Interval
    recovery: Interval
    volume_m3: Interval
    mass_kg: Interval
    best_purity: float
    chance: float
    """Share of all compositions and draws that reach the purity when receivers are changed as the sheet says."""


@dataclass(frozen=True)
class RefluxRow:
    """What another reflux ratio would give at the wanted purity, for the central composition; 0 where it is not had."""

    reflux_ratio: float
    recovery: float
    time_s: float | None


@dataclass(frozen=True)
class EndSign:
    """How the end of the product shows in the still head: a rise between two readings over a volume."""

    from_reading_K: float
    to_reading_K: float
    over_volume_m3: float
    words: str


@dataclass(frozen=True)
class PairRow:
    """What `pair` says of two ingredients at the pressure; a cut stands for the surrogates nearest to the other."""

    a: str
    b: str
    delta_boiling_point_K: float | None
    delta_u95_K: float | None
    verdict: str
    reason: str


@dataclass(frozen=True)
class Holding:
    """Whether condenser and receiver hold the product.

    `dew_point_K` is the lowest of the vapour on its way while product comes over. `condenser_holds` is None without a
    coolant; the words say where it holds barely. Without a bath the receiver stands at 20 °C;
    `receiver_pressure_Pa` is the vapour pressure of the product in it, `loss` the share of the product's mass that
    leaves as vapour.
    """

    dew_point_K: Interval
    coolant_K: float | None
    condenser_holds: bool | None
    receiver_bath_K: float | None
    receiver_pressure_Pa: Interval | None
    loss: Interval | None
    words: tuple[str, ...]
    receiver_holds: bool | None = None
    freezes: bool = False
    """Whether the product may freeze in the condenser or the receiver."""


@dataclass(frozen=True)
class Duty:
    """Heat to be put in, heat to be taken out by the condenser, ice that melts for it, and the time; None if not known.

    `boil_up_W` is what reaches the vapour.
    """

    heat_J: Interval
    cooling_J: Interval
    ice_kg: Interval | None
    boil_up_W: float | None
    time_s: Interval | None


@dataclass(frozen=True)
class Cost:
    """Cost of a litre of product in the recipe's currency, without and with energy and ice; None where not known."""

    currency: str
    per_litre: Interval | None
    per_litre_with_energy: Interval | None


@dataclass(frozen=True)
class Plan:
    """A whole separation sheet."""

    title: str
    pressure_Pa: float
    altitude_m: float | None
    n_compositions: int
    plates: int
    column: str
    reflux_ratio: float
    thermometer_correction_K: float
    feed_mass_kg: Interval
    feed_volume_m3: Interval
    charge_volume_m3: Interval
    """What goes into the flask: the feed, or what the opening of the package leaves of it."""
    ingredients: tuple[IngredientRow, ...]
    opening: Opening | None
    curve: HeadCurve
    fractions: tuple[Fraction, ...]
    product: Product
    reflux_scan: tuple[RefluxRow, ...]
    end_sign: EndSign
    pairs: tuple[PairRow, ...]
    not_parted: tuple[str, ...]
    holding: Holding
    duty: Duty
    cost: Cost
    mass_closure: float
    """Largest relative difference between what was put in and what was accounted for, over all compositions."""
    verdict: str
    """One sentence: whether it will work."""
    weak_points: tuple[str, ...]
    """What the numbers leave out or only assume, here."""
    cautions: tuple[str, ...]

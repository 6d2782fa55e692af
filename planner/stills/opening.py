"""What flashes off when a package of liquefied gas is opened.

The package boils down slowly in a bath that holds its temperature, open to the
air, until the pressure over what is left has fallen to that of the room. What
leaves at each moment is in equilibrium with what is left: the equation of Lord
Rayleigh, Phil. Mag. 4 (1902) 521-537, in amounts n_i,

    d ln n_i = -E_i dτ,    E_i = y_i Σ n / n_i,

by Heun's method in ln n, so that no amount becomes negative.

With a column above it, what leaves is the vapour of its top. At total reflux
each plate's liquid is the vapour from below (M. R. Fenske, Ind. Eng. Chem. 24
(1932) 482-485), the plates being as warm as the package: a real column gives
something back less, but its plates are colder, where gases differ more.

A gas above its critical temperature (nitrogen; carbon dioxide in a warm bath)
has no vapour pressure: it is taken to leave wholly, and its part of the
pressure is not counted. The liquid is taken as one: water under liquefied gas,
which parts, gives too high a pressure.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.properties import DENSITY_TEMPERATURE_K, MOLAR_GAS_CONSTANT_J_MOL_K

from ..figures import percent, pressure
from .intervals import interval
from .partial_pressures import TINY, LiquidModel, mole_fractions, partial_pressures_Pa
from .properties import Properties
from .results import Interval, Opening, Share

Array = NDArray[np.float64]
Chosen = NDArray[np.bool_]
TopVapour = Callable[[Array, Array], Array]
"""Mole fractions of the vapour that leaves, (S, N), over liquids (S, N) at temperatures (S,)."""

GAS_TEMPERATURE_K = DENSITY_TEMPERATURE_K
"""Of the gas whose volume is told: that of a room."""
_STEP, _LEAST_STEP = 0.2, 0.01
"""How far ln n of what leaves falls in one step, and the share of the whole that leaves in it at least.

The second lets the last of a species go over the top of many plates in a few steps. With these the shares that leave
are right to 1e-4.
"""
_MOST_PLATES = 10
"""With so many hardly anything of what boils 50 K higher goes along; more would take time and show nothing."""
_EMPTY = 1e-6
"""Share of the moles left at which a package counts as empty."""
_MOST_STEPS = 5_000
_HALVINGS = 50
_LEAST_SHARE = 0.01
"""A gas that is less than this of what leaves is not listed."""


@dataclass(frozen=True)
class BoiledDown:
    """S packages after boiling down; amounts (S, N).

    Those of gases without a vapour pressure at the package's temperature are in `gone_mol`.
    """

    left_mol: Array
    gone_mol: Array


@dataclass(frozen=True)
class Opened:
    """What a sheet says of the opening, and what is left to distil, (S, N), by the way that it says."""

    opening: Opening
    left_mol: Array


def open_package(
    amounts_mol: Array,
    liquid: LiquidModel,
    properties: Properties,
    target: Chosen,
    temperature_K: float,
    ambient_Pa: float,
    plates: int,
    coolant_K: float | None = None,
    read_pressure_Pa: float | None = None,
) -> Opened:
    """Open packages of amounts (S, N) at one temperature in a room of one pressure, without a column and with one.

    `target`, (N,), marks the species that are wanted; `plates` are those of the
    column at total reflux, of which at most ten are counted. It holds back only
    where its coolant condenses the gas: below the boiling point of what most leaves.
    """
    # NaN, where no critical temperature is held, is no gas.
    gases = properties.critical_temperature_K <= temperature_K
    T_K = np.full(len(amounts_mol), temperature_K)
    dissolved = np.where(gases, 0.0, amounts_mol)
    before_Pa = interval(partial_pressures_Pa(liquid, mole_fractions(dissolved), T_K).sum(axis=1))
    bare = boil_down(amounts_mol, liquid, T_K, ambient_Pa, gases)
    column = bare
    if plates:
        column = boil_down(
            amounts_mol, liquid, T_K, ambient_Pa, gases, at_total_reflux(liquid, min(plates, _MOST_PLATES))
        )
    masses = properties.molar_mass_kg_mol
    wanted = target * masses
    through_column = bool(plates) and coolant_K is not None and _condenses(liquid, bare, coolant_K, ambient_Pa)
    known_Pa = None if (gases & (amounts_mol[0] > 0.0)).any() else before_Pa
    opening = Opening(
        temperature_K,
        known_Pa,
        read_pressure_Pa,
        interval(bare.gone_mol.sum(axis=1) * MOLAR_GAS_CONSTANT_J_MOL_K * GAS_TEMPERATURE_K / ambient_Pa),
        _share_lost(bare, amounts_mol, masses),
        _share_lost(bare, amounts_mol, wanted),
        _share_lost(column, amounts_mol, masses),
        _share_lost(column, amounts_mol, wanted),
        _gases(bare.gone_mol * masses, properties),
        tuple(_words(known_Pa, read_pressure_Pa, ambient_Pa, _present(amounts_mol, gases, properties.names))),
        through_column,
    )
    return Opened(opening, column.left_mol if through_column else bare.left_mol)


def at_total_reflux(liquid: LiquidModel, plates: int) -> TopVapour:
    """The vapour over the top of so many theoretical plates above a pot, without take-off."""

    def top_vapour(x: Array, T_K: Array) -> Array:
        for _ in range(plates + 1):
            x = mole_fractions(partial_pressures_Pa(liquid, x, T_K))
        return x

    return top_vapour


def boil_down(
    amounts_mol: Array,
    liquid: LiquidModel,
    T_K: Array,
    ambient_Pa: float,
    gases: Chosen,
    top_vapour: TopVapour | None = None,
) -> BoiledDown:
    """Let amounts (S, N) boil at temperatures (S,) until their bubble pressures have fallen to the ambient one.

    `gases`, (N,), marks those that leave wholly. What never falls so far boils
    away; a package below the ambient pressure loses nothing but its gases.
    """
    leaving = top_vapour or at_total_reflux(liquid, 0)
    start = np.where(gases, 0.0, amounts_mol)

    def bubble_Pa(n: Array) -> Array:
        return np.asarray(partial_pressures_Pa(liquid, mole_fractions(n), T_K).sum(axis=1))

    def exponents(n: Array) -> tuple[Array, Array]:
        """The vapour that leaves, and the E_i of the equation."""
        y = leaving(mole_fractions(n), T_K)
        return y, y * n.sum(axis=1, keepdims=True) / np.maximum(n, TINY)

    n, fall = start.copy(), np.zeros_like(start)
    boils, emptied = bubble_Pa(n) > ambient_Pa, np.zeros(len(n), dtype=bool)
    for _ in range(_MOST_STEPS):
        if not boils.any():
            break
        y, first = exponents(n)
        d_tau = np.maximum(_STEP / np.maximum((y * first).sum(axis=1, keepdims=True), TINY), _LEAST_STEP)
        _, second = exponents(n * np.exp(-first * d_tau))
        step = 0.5 * (first + second) * d_tau
        ahead = n * np.exp(-step)
        stops = boils & (bubble_Pa(ahead) <= ambient_Pa)
        fall[stops] = step[stops]
        boils &= ~stops
        n[boils] = ahead[boils]
        emptied |= boils & (n.sum(axis=1) <= _EMPTY * start.sum(axis=1))
        boils &= ~emptied
    left = np.where(emptied[:, None], 0.0, n * np.exp(-fall * _last_part(n, fall, bubble_Pa, ambient_Pa)))
    return BoiledDown(left, amounts_mol - left)


def _last_part(n: Array, fall: Array, bubble_Pa: Callable[[Array], Array], ambient_Pa: float) -> Array:
    """How much of its last step, (S, 1), each package takes to the ambient pressure, by halving."""
    low, high = np.zeros((len(n), 1)), np.ones((len(n), 1))
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = bubble_Pa(n * np.exp(-fall * middle))[:, None] > ambient_Pa
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return high


def _condenses(liquid: LiquidModel, bare: BoiledDown, coolant_K: float, ambient_Pa: float) -> bool:
    """Whether a coolant is below the boiling point of the gas that most leaves, in the central package."""
    most = int(np.argmax(bare.gone_mol[0]))
    ln_p = liquid.ln_p(np.full(len(bare.gone_mol), coolant_K))[0, most]
    return bool(ln_p < np.log(ambient_Pa))


def _share_lost(after: BoiledDown, amounts_mol: Array, weights: Array) -> Interval:
    """Share of a weighted sum of the species that left."""
    return interval(after.gone_mol @ weights / np.maximum(amounts_mol @ weights, TINY))


def _gases(gone_kg: Array, properties: Properties) -> tuple[Share, ...]:
    """What leaves, the most first."""
    shares = mole_fractions(gone_kg)
    order = [int(place) for place in np.argsort(-shares[0], kind="stable") if shares[0, place] >= _LEAST_SHARE]
    return tuple(Share(properties.names[k], properties.cas[k], interval(shares[:, k])) for k in order)


def _present(amounts_mol: Array, gases: Chosen, names: Sequence[str]) -> list[str]:
    return [name for name, is_gas, amount in zip(names, gases, amounts_mol[0], strict=True) if is_gas and amount > 0.0]


def _words(before: Interval | None, read_Pa: float | None, ambient_Pa: float, gases: Sequence[str]) -> list[str]:
    """What must be said of the pressure and of the gases that have none of their own."""
    said = []
    if gases:
        said.append(
            f"{', '.join(gases)}: above the critical temperature in the package, so without a vapour pressure; taken "
            "to leave wholly. The pressure in the package is not known from the label, and far above the room's."
        )
    elif before is not None and before.high <= ambient_Pa:
        said.append("Nothing flashes off: the pressure in the package is below that of the room.")
    if read_Pa is None or before is None:
        return said
    place = "above" if read_Pa > before.high else "below" if read_Pa < before.low else None
    if place is None:
        said.append(f"The pressure read, {pressure(read_Pa)}, agrees with the label.")
    else:
        away = percent(abs(read_Pa / before.value - 1.0))
        said.append(
            f"The pressure read, {pressure(read_Pa)}, is {place} what the label gives, {away} off the central figure: "
            "another temperature, air or another gas in the package, or other contents than the label says."
        )
    return said

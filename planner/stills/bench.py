"""What the bench must give and hold: condenser and receiver, heat, ice and time, and what a litre costs.

S batches in rows, of N species. `results` has the forms in which a sheet says it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.matches import celsius
from cutpoint.schema.errors import ImpossibleQuantity
from cutpoint.schema.properties import DENSITY_TEMPERATURE_K, ICE_POINT_K, MOLAR_GAS_CONSTANT_J_MOL_K

from ..figures import percent, significant
from .intervals import interval
from .partial_pressures import TINY, LiquidModel, mole_fractions, partial_pressures_Pa
from .properties import Properties
from .results import Cost, Duty, Holding, Interval

Array = NDArray[np.float64]

USUAL_MARGIN_K, LEAST_MARGIN_K = 20.0, 5.0
"""How far a coolant should be below the dew point, and where it holds no longer; common practice, no source."""
MOST_IN_RECEIVER = 0.5
"""Share of the air's pressure that the product's vapour may reach in the receiver; common practice, no source."""
ROOM_K = DENSITY_TEMPERATURE_K
"""Of a receiver without a bath."""
HEAT_OF_MELTING_ICE_J_KG = 333_430.0
"""At 0 °C and one atmosphere; R. Feistel and W. Wagner, J. Phys. Chem. Ref. Data 35 (2006) 1021-1047 (IAPWS)."""
JOULES_PER_KWH = 3.6e6
LITRES_PER_M3 = 1e3
_LEAST_PRODUCT_M3, _LEAST_SHARE = 1e-9, 0.01
"""Less, in m3 and as a share of the central one, is no product that a litre of could be priced."""


def holding(
    liquid: LiquidModel,
    product_mol: Array,
    product_m3: Array,
    molar_mass_kg_mol: Array,
    dew_K: Array,
    ambient_Pa: float,
    coolant_K: float | None,
    receiver_bath_K: float | None,
) -> Holding:
    """Whether condenser and receiver hold products of amounts (S, N) and volumes (S,).

    `dew_K`, (S,), is the lowest dew point while product comes over: the lowest
    head temperature; rows of NaN, which give no
    product, count as the central one. The receiver loses what air
    carries off that is saturated with the product at the bath's temperature: it
    breathes out once the volume that is filled; diffusion out of its vent is
    neglected (common practice, no source).
    """
    x, S = mole_fractions(product_mol), len(product_mol)
    dew = interval(np.where(np.isnan(dew_K), dew_K[0], dew_K))
    receiver_K = ROOM_K if receiver_bath_K is None else receiver_bath_K
    partial = partial_pressures_Pa(liquid, x, np.full(S, receiver_K))
    pressure = interval(partial.sum(axis=1))
    lost_kg = _breathed_out_kg(partial @ molar_mass_kg_mol, partial.sum(axis=1), product_m3, ambient_Pa, receiver_K)
    loss = interval(np.minimum(lost_kg / np.maximum(product_mol @ molar_mass_kg_mol, TINY), 1.0))
    receiver_holds = pressure.high < MOST_IN_RECEIVER * ambient_Pa
    condenser_holds, said = None, _without_coolant(dew)
    if coolant_K is not None:
        boils = bool(partial_pressures_Pa(liquid, x, np.full(S, coolant_K))[0].sum() >= ambient_Pa)
        condenser_holds, said = _condenser(dew, coolant_K, boils)
    words = (said, _receiver(receiver_K, receiver_bath_K is None, pressure, loss, ambient_Pa))
    return Holding(dew, coolant_K, condenser_holds, receiver_bath_K, pressure, loss, words, receiver_holds)


def _breathed_out_kg(partial_mass: Array, pressure_Pa: Array, volume_m3: Array, ambient_Pa: float, T_K: float) -> Array:
    """Vapour in air that fills a volume before, (S,); all there is, as infinity, where the product boils.

    `partial_mass` is Σ p_i M_i.
    """
    boils = pressure_Pa >= ambient_Pa
    per_air = ambient_Pa / np.where(boils, ambient_Pa, ambient_Pa - pressure_Pa)
    carried = partial_mass * per_air * volume_m3 / (MOLAR_GAS_CONSTANT_J_MOL_K * T_K)
    return np.where(boils, np.inf, carried)


def _without_coolant(dew: Interval) -> str:
    return (
        f"No coolant is given: it should be at {celsius(dew.low - USUAL_MARGIN_K)} or colder, {USUAL_MARGIN_K:g} K "
        "below the vapour."
    )


def _condenser(dew: Interval, coolant_K: float, boils: bool) -> tuple[bool | None, str]:
    """The verdict by the low end of the dew point; `boils` where the whole condensate does at the coolant's warmth."""
    margin_K = dew.low - coolant_K
    if np.isnan(margin_K):
        return None, "Whether the condenser holds cannot be said: no dew point of the product was found."
    below = f"its coolant at {celsius(coolant_K)} is {margin_K:.0f} K below the dew point of the product"
    if boils or margin_K <= 0.0:
        return False, (
            f"The condenser does not hold the product: at {celsius(coolant_K)}, its coolant's temperature, the product "
            f"boils or its vapour, with a dew point of {celsius(dew.value)}, does not condense."
        )
    if margin_K < LEAST_MARGIN_K:
        return False, f"The condenser does not hold the product surely: {below}; a colder one is needed."
    if margin_K < USUAL_MARGIN_K:
        return True, (
            f"The condenser holds barely: {below}, less than the usual {USUAL_MARGIN_K:g} K; distil slowly, or take a "
            "colder one."
        )
    return True, f"The condenser holds: {below}."


def _receiver(T_K: float, in_room: bool, pressure: Interval, loss: Interval, ambient_Pa: float) -> str:
    where = f"without a bath, at {celsius(T_K)}," if in_room else f"in its bath at {celsius(T_K)}"
    if pressure.value >= ambient_Pa:
        return (
            f"The receiver {where} does not hold the product: it boils there. Never close it; it needs a colder bath."
        )
    if pressure.high >= MOST_IN_RECEIVER * ambient_Pa:
        return (
            f"The receiver {where} may not hold the product: it evaporates fast, or boils, there. Never close it; cool "
            "it more."
        )
    return (
        f"The receiver {where} holds the product: its vapour pressure is {percent(pressure.value / ambient_Pa)} of the "
        f"air's, and some {significant(100.0 * loss.value, 2)} % is lost as vapour. It stays vented, never closed."
    )


@dataclass(frozen=True)
class Heats:
    """Heats of S batches, (S,): to warm the charge, to boil up the vapour; and what the condenser takes out."""

    warming_J: Array
    boiling_J: Array
    cooling_J: Array

    @property
    def taken_up_J(self) -> Array:
        """What the flask must take up."""
        return self.warming_J + self.boiling_J

    @property
    def ice_kg(self) -> Array:
        """Ice at 0 °C that melts to water at 0 °C if it takes all that the condenser takes out."""
        return self.cooling_J / HEAT_OF_MELTING_ICE_J_KG


def heats(
    properties: Properties,
    charge_mol: Array,
    distilled_mol: Array,
    reflux_ratio: Array,
    start_K: float,
    pot_K: tuple[Array, Array],
    head_K: Array,
    coolant_K: float | None,
) -> Heats:
    """Heats of distilling charges (S, N) until `distilled_mol`, (S, N), is over at reflux ratios (S,).

    `pot_K` are the pot's temperatures when it begins to boil and at the end,
    (S,) each; `head_K`, (S,), is a mean one of the still head. What is
    distilled is cooled to the coolant's temperature, if there is one. Heats of
    mixing are left out.
    """
    per_K = properties.molar_mass_kg_mol * properties.heat_capacity_J_kg_K
    first_K, last_K = pot_K
    warming = (charge_mol @ per_K) * (first_K - start_K) + ((charge_mol - distilled_mol) @ per_K) * (last_K - first_K)
    boiling = (reflux_ratio + 1.0) * (distilled_mol @ properties.enthalpy_of_vaporization_J_mol)
    subcooling = np.zeros_like(boiling) if coolant_K is None else (distilled_mol @ per_K) * (head_K - coolant_K)
    return Heats(np.maximum(warming, 0.0), boiling, boiling + np.maximum(subcooling, 0.0))


def melts_ice(coolant_K: float | None) -> bool:
    """Whether ice can be what keeps a coolant cold."""
    return coolant_K is not None and coolant_K >= ICE_POINT_K


def duty(of: Heats, heat_W: float | None, heat_share: float, coolant_K: float | None) -> Duty:
    """What a sheet says of heats: `heat_share` of what the heater gives, if known, reaches the flask's content."""
    boil_up_W = None if heat_W is None else heat_W * heat_share
    return Duty(
        interval(of.taken_up_J / heat_share),
        interval(of.cooling_J),
        interval(of.ice_kg) if melts_ice(coolant_K) else None,
        boil_up_W,
        None if boil_up_W is None else interval(of.taken_up_J / boil_up_W),
    )


def reflux_ratio_of(take_off_m3_s: float, boil_up_W: float, distillate_mol: Array, properties: Properties) -> Array:
    """Reflux ratios, (S,), of a take-off: the vapour that the heat boils up over what is taken off, less 1.

    `distillate_mol`, (S, N), is what the product is expected to be, in any
    amount. Raises ImpossibleQuantity where the heat boils up less than is to be
    taken off of the central one; the others are 0 there.
    """
    volume_m3 = distillate_mol @ (properties.molar_mass_kg_mol / properties.density_kg_m3)
    latent_J_m3 = (distillate_mol @ properties.enthalpy_of_vaporization_J_mol) / volume_m3
    boiled_up_m3_s = boil_up_W / latent_J_m3
    if boiled_up_m3_s[0] < take_off_m3_s:
        raise ImpossibleQuantity(
            f"{significant(_mL_min(take_off_m3_s), 3)} mL/min cannot be taken off: the {boil_up_W:.0f} W that reach "
            f"the flask boil up {significant(_mL_min(float(boiled_up_m3_s[0])), 3)} mL/min. Take off less or heat more."
        )
    return np.maximum(boiled_up_m3_s / take_off_m3_s - 1.0, 0.0)


def _mL_min(flow_m3_s: float) -> float:
    return flow_m3_s * 6e7


def cost(
    currency: str,
    feed_price: float | None,
    product_m3: Array,
    supplied_J: Array,
    ice_kg: Array,
    price_per_kWh: float | None,
    price_per_kg_ice: float | None,
) -> Cost:
    """Cost of a litre of products of volumes (S,), for which heats and ice, (S,), are used; without a price, None.

    `supplied_J` is what the heater gives. There is no cost of nothing: both are
    None where the central composition gives no product.
    """
    if feed_price is None or product_m3[0] < _LEAST_PRODUCT_M3:
        return Cost(currency, None, None)
    # A composition that gives no product has no cost of a litre.
    some = product_m3 > _LEAST_SHARE * product_m3[0]
    product_m3, supplied_J, ice_kg = product_m3[some], supplied_J[some], ice_kg[some]
    litres = product_m3 * LITRES_PER_M3
    per_litre = interval(feed_price / litres)
    if price_per_kWh is None and price_per_kg_ice is None:
        return Cost(currency, per_litre, None)
    energy = supplied_J / JOULES_PER_KWH * (price_per_kWh or 0.0) + ice_kg * (price_per_kg_ice or 0.0)
    return Cost(currency, per_litre, interval((feed_price + energy) / litres))

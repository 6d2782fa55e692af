"""A feed: the label's ingredients as pure species, in every sampled composition, with draws of what data are off by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.activity import SCHEME
from cutpoint.db.curves import CurveBank
from cutpoint.db.parting import MODEL_U95
from cutpoint.db.volatile_liquid import VolatileLiquid
from cutpoint.schema.errors import NoValue

from ..labels.ingredients import Ingredient
from ..recipes.recipe import NOT_VOLATILE, Amount
from .draws import Liquids
from .partial_pressures import DrawnLiquid
from .properties import Properties, liquid_properties

if TYPE_CHECKING:
    from cutpoint.db import Component, Store

Array = NDArray[np.float64]

COVERAGE_FACTOR = 1.96
"""Expanded uncertainty over standard uncertainty for a coverage of 95 % (GUM, JCGM 100:2008, table G.1)."""
RESIDUE_DENSITY_KG_M3 = 1_000.0
"""Of what does not distil; common practice, no source."""
_AROUND_K = 60.0
"""How far below the lowest and above the highest boiling point temperatures may be met."""
_LOWEST_K, _HIGHEST_K = 60.0, 1_000.0
_COLD_K = 190.0
"""Dry ice: nothing at a bench is asked colder, but for gases that boil below."""


@dataclass(frozen=True)
class Feed:
    """k ingredients as N species in S compositions, row 0 being the central one.

    `owner`, (N,), is the ingredient of each species; `mol`, (S, N), how much
    there is; `ingredient_kg`, (S, k), the mass of each ingredient, the ones
    that do not distil included. `liquids` hold the draws; `ln_p_draw`, (S, N),
    is that of each vapour pressure, `gamma_scale`, (S, N), a factor of each ln γ: at infinite dilution it moves
    a relative volatility as much as the model's uncertainty for pairs does. `ideal` names the species that are taken to
    mix ideally for want of parameters.
    """

    ingredients: tuple[Ingredient, ...]
    components: tuple[Component, ...]
    species: Properties
    owner: NDArray[np.int64]
    mol: Array
    ingredient_kg: Array
    pressure_Pa: float
    liquid: VolatileLiquid
    ln_p_draw: Array
    gamma_scale: Array
    boiling_K: Array
    ideal: tuple[str, ...]

    def liquids(self, rows: NDArray[np.int64] | slice = slice(None)) -> Liquids:
        """The liquids of some of the compositions at the pressure of the feed."""
        ln_p = np.log(self.pressure_Pa) - self.ln_p_draw[rows]
        return Liquids(self.liquid, ln_p, self.gamma_scale[rows])

    def drawn(self) -> DrawnLiquid:
        """The same at any pressure, all compositions together."""
        return DrawnLiquid(self.liquid, self.ln_p_draw, self.gamma_scale)

    def by_ingredient_kg(self, mol: Array) -> Array:
        """Masses by ingredient, (..., k), of amounts by species, (..., N)."""
        belongs = np.zeros((len(self.owner), len(self.ingredients)))
        belongs[np.arange(len(self.owner)), self.owner] = self.species.molar_mass_kg_mol
        return np.asarray(mol @ belongs)

    def volume_m3(self, mol: Array) -> Array:
        """Liquid volumes at 20 °C, (...,), of amounts by species, (..., N), without a change on mixing."""
        return np.asarray(mol @ (self.species.molar_mass_kg_mol / self.species.density_kg_m3))


def make_feed(
    store: Store,
    ingredients: Sequence[Ingredient],
    shares: Array,
    basis: str,
    amount: Amount,
    pressure_Pa: float,
    seed: int,
) -> Feed:
    """The feed of sampled shares, (S, k), by mass or volume, with draws from a seed; the first row is not drawn.

    Raises NoValue where an ingredient has no vapour-pressure curve.
    """
    members = [
        (place, component, share)
        for place, ingredient in enumerate(ingredients)
        for component, share in _members(store, ingredient)
    ]
    if not members:
        raise NoValue("Nothing on the label is volatile: there is nothing to distil.")
    owner = np.array([place for place, _, _ in members], dtype=np.int64)
    within = np.array([share for _, _, share in members])
    components = [component for _, component, _ in members]
    bank = reduce(CurveBank.with_those_of, [_bank(component) for component in components])
    boiling_K = _boiling_K(bank, pressure_Pa)
    species = liquid_properties(components, boiling_K)
    masses = _masses_kg(shares, basis, amount, owner, within, species)
    mol = masses[:, owner] * within / species.molar_mass_kg_mol
    model_places, ideal = _modelled(store, components, mol[0])
    tables = store.pair_tables
    counts = [tables.counts(components[place].cas) for place in model_places]
    model = tables.book.model([[one for one in counts if one]]) if model_places else None
    liquid = VolatileLiquid(
        bank,
        model,
        model_places,
        max(_LOWEST_K, min(_COLD_K, float(boiling_K.min()) - _AROUND_K)),
        min(_HIGHEST_K, float(boiling_K.max()) + _AROUND_K),
    )
    rng = np.random.default_rng(seed)
    drawn = rng.standard_normal((2, len(shares), len(components))) / COVERAGE_FACTOR
    drawn[:, 0] = 0.0
    ln_p_draw = drawn[0] * np.nan_to_num(bank.relative_u95(pressure_Pa))
    return Feed(
        tuple(ingredients), tuple(components), species, owner, mol, masses, pressure_Pa, liquid, ln_p_draw,
        1.0 + MODEL_U95 * drawn[1], boiling_K, tuple(ideal),
    )  # fmt: skip


def _members(store: Store, ingredient: Ingredient) -> list[tuple[Component, float]]:
    """The species of one ingredient with their mass fractions in it; none for what does not distil."""
    if ingredient.kind == NOT_VOLATILE:
        return []
    if ingredient.cut is not None:
        return [(store.component(one.cas), one.mass_fraction) for one in ingredient.cut.surrogates]
    assert ingredient.cas is not None
    return [(store.component(ingredient.cas), 1.0)]


def _bank(component: Component) -> CurveBank:
    if component.curve_bank is None:
        raise NoValue(
            f"No vapour-pressure curve of {component.name} ({component.cas}) is held, so where it comes over cannot "
            "be said. If it stays in the flask, say so in the recipe's [meanings]."
        )
    return component.curve_bank


def _boiling_K(bank: CurveBank, pressure_Pa: float) -> Array:
    """Boiling points, (N,); where a curve does not reach the pressure, the end that is nearer to it."""
    boiling = bank.boiling_points(pressure_Pa).value
    low, high = bank.limits_K()
    above = bank.pressure_limits_Pa()[0] > pressure_Pa
    return np.where(np.isnan(boiling), np.where(above, low, high), boiling)


def _masses_kg(
    shares: Array, basis: str, amount: Amount, owner: NDArray[np.int64], within: Array, species: Properties
) -> Array:
    """Masses of the ingredients, (S, k), from shares by mass or volume and the whole amount."""
    specific_m3_kg = np.zeros(shares.shape[1])
    np.add.at(specific_m3_kg, owner, within / species.density_kg_m3)
    specific_m3_kg[specific_m3_kg == 0.0] = 1.0 / RESIDUE_DENSITY_KG_M3
    by_mass = shares if basis == "mass" else shares / specific_m3_kg
    by_mass = by_mass / by_mass.sum(axis=1, keepdims=True)
    if amount.mass_kg is not None:
        return np.asarray(amount.mass_kg * by_mass)
    assert amount.volume_m3 is not None
    return np.asarray(amount.volume_m3 * by_mass / (by_mass @ specific_m3_kg)[:, None])


def _modelled(store: Store, components: Sequence[Component], mol: Array) -> tuple[list[int], list[str]]:
    """Places of the species that the activity model covers together, and the names of the others.

    Of species between whose groups no parameters are published the scarcer is left out.
    """
    tables = store.pair_tables
    tables.load_counts([component.cas for component in components])
    places: list[int] = []
    for place in sorted(range(len(components)), key=lambda place: -mol[place]):
        counts = tables.counts(components[place].cas)
        others = [tables.counts(components[other].cas) for other in places]
        if counts and not tables.book.unknown_interactions([counts, *(one for one in others if one)]):
            places.append(place)
    left_out = [components[place].name for place in range(len(components)) if place not in places]
    return sorted(places), list(dict.fromkeys(left_out))


def told_ideal(feed: Feed) -> list[str]:
    """What a reader must know of species that are taken to mix ideally."""
    if not feed.ideal:
        return []
    return [
        f"How {', '.join(feed.ideal)} mix{'es' if len(feed.ideal) == 1 else ''} with the rest cannot be predicted "
        f"({SCHEME} lacks groups or parameters): taken as ideal, and azeotropes with it are not seen."
    ]

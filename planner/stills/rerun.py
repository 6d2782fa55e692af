"""The still of a recipe, to be run again and again with other compositions than the sheet's."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..labels.sampling import sample
from ..recipes.recipe import Recipe
from ..runs.fitting import Curves
from ..runs.report import Expected
from .batches import distil_feed
from .feed import COVERAGE_FACTOR, Feed
from .plan import charge_of, make_plan, reflux_ratio_asked
from .setting import Setting, set_up

if TYPE_CHECKING:
    from cutpoint.db import Store

Array = NDArray[np.float64]

_DRAWS = 32
"""Batches of the central composition that tell how sure the head temperature is, with data and model drawn."""
_SAMPLED_FOR_RANGES = 2_000


def expected_of(recipe: Recipe, store: Store) -> Expected:
    """What a recipe lets expect of a batch: its still, compositions drawn from its label, and its sheet.

    Raises as `make_plan` does.
    """
    still = RecipeStill(store, set_up(store, recipe))
    return Expected(still, still.sample, make_plan(store, recipe))


@dataclass
class RecipeStill:
    """Runs the recipe's apparatus on compositions given as mass fractions, without draws."""

    store: Store
    setting: Setting

    def __post_init__(self) -> None:
        drawn = self.sample(_SAMPLED_FOR_RANGES, 1)
        self.lower, self.upper = drawn.min(axis=0), drawn.max(axis=0)
        self.names = tuple(one.name for one in self.setting.ingredients)
        self.curve_u95_K = self._curve_u95_K()

    def sample(self, n: int, seed: int) -> Array:
        """Mass fractions of n compositions, (n, k), uniform in all that the label allows, in its own basis."""
        shares = sample(self.setting.bounds, n, seed)
        kg = self.setting.feed(self.store, shares).ingredient_kg
        return np.asarray(kg / kg.sum(axis=1, keepdims=True))

    def run(self, mass_fractions: Array) -> Curves:
        """The batches of compositions, (S, k)."""
        feed = self._feed(mass_fractions)
        undrawn = replace(feed, ln_p_draw=np.zeros_like(feed.ln_p_draw), gamma_scale=np.ones_like(feed.gamma_scale))
        volume, head, mol = self._distilled(undrawn)
        return Curves(volume, head, undrawn.by_ingredient_kg(mol), self.curve_u95_K)

    def _feed(self, mass_fractions: Array) -> Feed:
        by_mass = replace(self.setting, recipe=replace(self.setting.recipe, basis="mass"))
        return by_mass.feed(self.store, mass_fractions)

    def _distilled(self, feed: Feed) -> tuple[Array, Array, Array]:
        """Volumes distilled and head temperatures, (S, V), and the amounts by species, (S, V, N)."""
        recipe = self.setting.recipe
        _, mol = charge_of(feed, recipe, self.setting.target)
        ratio = np.full(len(mol), reflux_ratio_asked(recipe, feed, self.setting.target))
        batch = distil_feed(feed, mol, np.arange(len(mol)), recipe.column.plates, ratio, recipe.column.holdup_m3)
        distilled = np.swapaxes(batch.distilled_mol, 0, 1)
        return feed.volume_m3(distilled), batch.head_K.T, distilled

    def _curve_u95_K(self) -> float:
        """What data and model leave open of the head temperature at a volume: the median along the batch."""
        kg = self.setting.feed(self.store, self.setting.shares(1)).ingredient_kg
        volume, head, _ = self._distilled(self._feed(np.repeat(kg / kg.sum(), _DRAWS, axis=0)))
        at_same = np.stack([np.interp(volume[0], v, t) for v, t in zip(volume, head, strict=True)])
        return COVERAGE_FACTOR * float(np.median(at_same.std(axis=0)))

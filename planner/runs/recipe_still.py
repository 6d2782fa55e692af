"""The still of a recipe: every composition that its label allows, distilled as its sheet distils the middle one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ..labels.sampling import sample
from ..recipes.recipe import Recipe
from ..stills.batches import course_of, distil_feed
from ..stills.distilling import charge_of
from ..stills.feed import COVERAGE_FACTOR, Feed
from ..stills.plan import make_plan
from ..stills.setting import Setting, number_of_compositions, set_up
from .fitting import Curves
from .likelihood import at_volumes
from .report import Expected

if TYPE_CHECKING:
    from cutpoint.db import Store

Array = NDArray[np.float64]

DRAWS = 32
"""Batches of the middle of the label that tell how far data and model move the head temperature."""
MOST_COMPOSITIONS, FOR_ONE_OF_THE_SHEET = 600, 3
"""Compositions tried: three for each of the sheet's, as long as that is not too many."""


def expected_of(store: Store, recipe: Recipe) -> Expected:
    """What a recipe lets expect; raises what `make_plan` raises."""
    plan = make_plan(store, recipe)
    setting = set_up(store, recipe)
    still = RecipeStill(store, setting, plan.reflux_ratio)
    bounds = setting.bounds

    def sampler(n: int, seed: int) -> Array:
        return sample(bounds, n, seed)

    n_species = len(setting.feed(store, setting.shares(1)).owner)
    tried = min(MOST_COMPOSITIONS, FOR_ONE_OF_THE_SHEET * number_of_compositions(n_species))
    return Expected(still, sampler, plan, tried)


class RecipeStill:
    """The still at the recipe's settings; k ingredients, their shares by mass or volume as the label has them."""

    def __init__(self, store: Store, setting: Setting, reflux_ratio: float) -> None:
        self._store, self._setting, self._reflux_ratio = store, setting, reflux_ratio
        self.lower, self.upper = setting.bounds.lower, setting.bounds.upper
        self.names = tuple(one.name for one in setting.ingredients)
        self._u95_K: float | None = None

    def run(self, shares: Array) -> Curves:
        """The batches of shares, (S, k), by the best values of all data."""
        feed = self._setting.feed(self._store, shares)
        best = replace(feed, ln_p_draw=np.zeros_like(feed.ln_p_draw), gamma_scale=np.ones_like(feed.gamma_scale))
        if self._u95_K is None:
            self._u95_K = self._curve_u95_K()
        volume_m3, head_K, distilled_kg = self._course(best)
        return Curves(volume_m3, head_K, distilled_kg, feed.ingredient_kg, self._u95_K)

    def _curve_u95_K(self) -> float:
        """Expanded uncertainty of the head temperature from data and model: the median over the volume."""
        feed = self._setting.feed(self._store, np.repeat(self._setting.shares(1), DRAWS, axis=0))
        volume_m3, head_K, _ = self._course(feed)
        heads = at_volumes(volume_m3, head_K, np.linspace(0.0, volume_m3[0, -1], head_K.shape[1]))
        return COVERAGE_FACTOR * float(np.nanmedian(np.nanstd(heads[1:], axis=0)))

    def _course(self, feed: Feed) -> tuple[Array, Array, Array]:
        """Volumes, m3, and head temperatures, K, (S, V), and masses distilled, kg, (S, V, k)."""
        recipe = self._setting.recipe
        _, mol = charge_of(feed, recipe, self._setting.target)
        rows = np.arange(len(mol))
        ratio = np.full(len(mol), self._reflux_ratio)
        batch = distil_feed(feed, mol, rows, recipe.column.plates, ratio, recipe.column.holdup_m3)
        course = course_of(feed, batch, np.zeros(len(mol)), feed.ingredient_kg)
        return course.volume_m3, course.head_K, course.mass_kg

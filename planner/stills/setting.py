"""A recipe brought together with the store: what its label may be, and the apparatus, ready to be computed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import CutpointError, NotSeparable, WrongLabel, WrongRecipe

from ..labels.ingredients import Ingredient, resolve
from ..labels.ranges import Bounds, bounds, central
from ..labels.reading import read_label
from ..labels.sampling import sample
from ..recipes.recipe import NOT_VOLATILE, Recipe
from .feed import Feed, make_feed

if TYPE_CHECKING:
    from cutpoint.db import Store

Array = NDArray[np.float64]

COMPOSITIONS = 200
_FEWEST_COMPOSITIONS = 24
_SPECIES_AT_FULL_NUMBER = 8
ROOM_K = 293.15
_REDUCED_PA = 50_000.0
"""Below it a pump, not an altitude, makes the pressure."""
SEED = 2533
"""Any number; the same one makes the same sheet."""


@dataclass(frozen=True)
class Setting:
    """A recipe with its ingredients, the ranges of its label, and the place of the target among them."""

    recipe: Recipe
    ingredients: tuple[Ingredient, ...]
    bounds: Bounds
    target: int

    def shares(self, n: int) -> Array:
        """The central composition and n - 1 sampled ones, (n, k), by mass or volume as the label has them."""
        return np.concatenate([central(self.bounds)[None], sample(self.bounds, n - 1, SEED)])

    def feed(self, store: Store, shares: Array) -> Feed:
        """The feed of compositions, (S, k); the data's draws are of the first row excepted."""
        recipe = self.recipe
        return make_feed(store, self.ingredients, shares, recipe.basis, recipe.amount, recipe.pressure_Pa, SEED)


def set_up(store: Store, recipe: Recipe) -> Setting:
    """Read the label and find the target; raises WrongLabel, UnresolvedLabel, WrongRecipe and NotSeparable."""
    label = read_label(recipe.label, recipe.label_line, recipe.basis)
    ingredients = resolve(store, label, recipe.meanings)
    _refuse_doubles(ingredients)
    return Setting(recipe, ingredients, bounds(label.lines), _target(store, ingredients, recipe.target))


def _refuse_doubles(ingredients: Sequence[Ingredient]) -> None:
    """Raise WrongLabel where two lines mean the same: only the reader knows whether their shares are to be summed."""
    first: dict[tuple[str, str], Ingredient] = {}
    for one in ingredients:
        before = first.setdefault((one.kind, one.name), one)
        if before is not one and one.kind != NOT_VOLATILE:
            low, high = (100.0 * (getattr(before.line, end) + getattr(one.line, end)) for end in ("lower", "upper"))
            ends = f"{low:.4g}" if low == high else f"{low:.4g} - {high:.4g}"
            raise WrongLabel(
                f"Lines {before.line.number} and {one.line.number} of the label both mean {one.name}. Write them as "
                f"one line; if their shares add up, that is {ends} %."
            )


def number_of_compositions(n_species: int) -> int:
    """200, or fewer where a label means so many species that the sheet would take long."""
    work = (_SPECIES_AT_FULL_NUMBER / max(n_species, _SPECIES_AT_FULL_NUMBER)) ** 2
    return max(_FEWEST_COMPOSITIONS, int(COMPOSITIONS * work))


def refuse_gas_in_the_open(feed: Feed) -> None:
    """Raise WrongRecipe where the feed boils at room temperature and no package holds it."""
    x = feed.mol[:1] / feed.mol[:1].sum()
    K = np.exp(feed.liquid.ln_gamma(x, np.array([ROOM_K])) + feed.liquid.ln_pressures(np.array([ROOM_K])))
    pressure_Pa = float((x * K).sum())
    if pressure_Pa > feed.pressure_Pa and feed.pressure_Pa < _REDUCED_PA:
        raise WrongRecipe(
            f"At {feed.pressure_Pa / 1e3:.4g} kPa this mixture boils below room temperature ({ROOM_K - 273.15:.0f} °C, "
            f"where its vapour pressure is {pressure_Pa / 1e3:.3g} kPa): distil it at a higher pressure."
        )
    if pressure_Pa > feed.pressure_Pa:
        raise WrongRecipe(
            f"At {ROOM_K - 273.15:.0f} °C this mixture has a vapour pressure of {pressure_Pa / 1e3:.3g} kPa, above the "
            f"{feed.pressure_Pa / 1e3:.4g} kPa of the air: in an open flask it boils away. If it comes from a "
            'pressurised package, say so: [package] temperature = "20 degC".'
        )


def _target(store: Store, ingredients: Sequence[Ingredient], asked: str) -> int:
    """The place of the ingredient that the recipe asks for."""

    def key(text: str | None) -> str:
        return " ".join((text or "").lower().split())

    places = [
        place
        for place, one in enumerate(ingredients)
        if key(asked) in {key(one.name), key(one.cas), key(one.line.name)}
    ] or [place for place, one in enumerate(ingredients) if one.cas is not None and one.cas == _cas(store, asked)]
    if not places:
        listed = ", ".join(ingredient.name for ingredient in ingredients)
        raise WrongRecipe(f"The target {asked!r} is not on the label, which lists {listed}. Name one of these.")
    place = places[0]
    if ingredients[place].line.upper == 0.0:
        raise NotSeparable(f"The label says that there is no {ingredients[place].name} in it.")
    if ingredients[place].kind == NOT_VOLATILE:
        raise NotSeparable(f"{ingredients[place].name} is said not to be volatile: it stays in the flask.")
    return place


def _cas(store: Store, asked: str) -> str | None:
    try:
        return store.component(asked).cas
    except CutpointError:
        return None

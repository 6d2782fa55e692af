"""A recipe's feed in the recipe's apparatus: what goes into the flask, at which reflux ratio, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.matches import celsius
from cutpoint.schema.errors import NotSeparable, WrongRecipe

from ..recipes.recipe import Recipe
from .batches import course_of, distil_feed
from .bench import LEAST_MARGIN_K, Heats, heats, reflux_ratio_of
from .column import Batch
from .feed import Feed
from .fractions import Course, Cuts, at_place, between, choose_cuts
from .opening import open_package
from .results import Opening
from .setting import ROOM_K, refuse_gas_in_the_open

Array = NDArray[np.float64]

REFLUX_RATIOS = (1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
"""Those that the scan looks at beside the recipe's own."""
_EMPTY = 0.01
"""Share of the moles below which an opened package counts as boiled away."""
_TRACE = 1e-9


@dataclass(frozen=True)
class Distilled:
    """Batches of S charges, (S, N) in mol, with their course and receivers, each at its reflux ratio, (S,)."""

    feed: Feed
    mol: Array
    reflux_ratio: Array
    batch: Batch
    course: Course
    cuts: Cuts

    def until_end_mol(self) -> Array:
        """What has come over when the product ends, (S, N)."""
        distilled = np.swapaxes(self.batch.distilled_mol, 0, 1)
        return between(distilled, np.zeros(len(self.mol)), self.cuts.end)

    def heats(self, recipe: Recipe) -> Heats:
        """The heats of distilling until the product ends."""
        pot_K = self.batch.pot_K.T
        start_K = min(ROOM_K, float(pot_K[0, 0])) if recipe.package is None else recipe.package.temperature_K
        return heats(
            self.feed.species, self.mol, self.until_end_mol(), self.reflux_ratio, start_K,
            (pot_K[:, 0], at_place(pot_K, self.cuts.end)), self.course.head_K.mean(axis=1), recipe.coolant_K,
        )  # fmt: skip


def charge_of(feed: Feed, recipe: Recipe, target: int) -> tuple[Opening | None, Array]:
    """What goes into the flask, mol, (S, N): the feed, or what is left of it when its package has been opened.

    Raises WrongRecipe for a gas in an open flask, NotSeparable for a package that boils away.
    """
    if recipe.package is None:
        refuse_gas_in_the_open(feed)
        return None, feed.mol
    opened = open_package(
        feed.mol, feed.drawn(), feed.species, feed.owner == target, recipe.package.temperature_K,
        recipe.pressure_Pa, recipe.column.plates, recipe.coolant_K, recipe.package.pressure_Pa,
    )  # fmt: skip
    if opened.left_mol[0].sum() < _EMPTY * feed.mol[0].sum():
        raise NotSeparable(
            f"Opened at {celsius(recipe.package.temperature_K)} the package boils away: nothing is left to distil. "
            "Open it colder, and say so: [package] temperature."
        )
    # Where another composition boils away, a trace stands for it.
    return opened.opening, np.maximum(opened.left_mol, _TRACE * feed.mol)


def reflux_ratio_asked(recipe: Recipe, feed: Feed, target: int) -> float:
    """The reflux ratio of the recipe: given, or from the take-off and what the heat boils up of the target."""
    if recipe.column.plates == 0:
        return 0.0
    if recipe.reflux_ratio is not None:
        return recipe.reflux_ratio
    if recipe.take_off_m3_s is None or recipe.heat_W is None:
        raise WrongRecipe(
            "A take-off rate tells the reflux ratio only with the heat that boils: give [heat] power, or [column] "
            "reflux_ratio instead of take_off."
        )
    product = np.where(feed.owner == target, feed.mol[:1], 0.0)
    return float(reflux_ratio_of(recipe.take_off_m3_s, recipe.heat_W * recipe.heat_share, product, feed.species)[0])


def distil_all(
    feed: Feed, mol: Array, recipe: Recipe, target: int, reflux_ratio: float
) -> tuple[Distilled, Distilled | None]:
    """All compositions at the recipe's reflux ratio; and the central one at others, None without a column."""
    S, column = len(mol), recipe.column
    ratios = np.array(sorted({*REFLUX_RATIOS, reflux_ratio}) if column.plates else [])
    rows = np.concatenate([np.arange(S), np.zeros(len(ratios), dtype=np.int64)])
    asked = np.concatenate([np.full(S, reflux_ratio), ratios])
    whole = distil_feed(feed, mol[rows], rows, column.plates, asked, column.holdup_m3)
    coldest_K = None if recipe.coolant_K is None else recipe.coolant_K + LEAST_MARGIN_K
    if coldest_K is not None and float(feed.boiling_K[feed.owner == target].max()) < coldest_K:
        coldest_K = None  # what no condenser holds is told of the condenser, not of the purity
    shift_K = _shift_K(feed, target)

    def part(places: slice) -> Distilled:
        batch = whole.rows(places)
        of_feed = rows[places]
        course = course_of(feed, batch, shift_K[of_feed], feed.ingredient_kg[of_feed])
        return Distilled(
            feed, mol[of_feed], asked[places], batch, course, choose_cuts(course, target, recipe.purity, coldest_K)
        )

    if not len(ratios):
        return part(slice(0, S)), None
    alone = [part(slice(place, place + 1)) for place in range(S, S + len(ratios))]
    return part(slice(0, S)), _joined(alone)


def _joined(alone: list[Distilled]) -> Distilled:
    """Batches whose receivers were chosen each for itself, as one."""
    first = alone[0]
    course = Course(*(np.concatenate([getattr(one.course, name) for one in alone]) for name in Course.__annotations__))
    cuts = Cuts(
        np.concatenate([one.cuts.start for one in alone]), np.concatenate([one.cuts.end for one in alone]),
        None, None, np.array([one.cuts.reached[0] for one in alone]),
    )  # fmt: skip
    return Distilled(
        first.feed, np.concatenate([one.mol for one in alone]),
        np.concatenate([one.reflux_ratio for one in alone]), Batch.joined([one.batch for one in alone]), course, cuts,
    )  # fmt: skip


def _shift_K(feed: Feed, target: int) -> Array:
    """How far each draw moves the target's boiling point, (S,)."""
    own = np.flatnonzero(feed.owner == target)
    T = feed.boiling_K[own]
    step_K = 1.0
    slope = (feed.liquid.ln_pressures(T + step_K) - feed.liquid.ln_pressures(T - step_K)) / (2.0 * step_K)
    slope = slope[np.arange(len(own)), own]
    return np.asarray(-(feed.ln_p_draw[:, own] / slope).mean(axis=1))

"""What each receiver holds and what stays in the flask, and what other reflux ratios would give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..recipes.recipe import Recipe
from .distilling import Distilled
from .feed import RESIDUE_DENSITY_KG_M3, Feed
from .fractions import at_place, best_purity, between
from .intervals import interval
from .results import Fraction, Interval, Product, RefluxRow, Share
from .setting import Setting

Array = NDArray[np.float64]

_NOTHING = 1e-9
"""A mass fraction below which the arithmetic, not the still, says how much there is."""


def fractions_of(setting: Setting, done: Distilled) -> tuple[Fraction, ...]:
    """What comes into each receiver and what stays in the flask, in order."""
    course, cuts, feed = done.course, done.cuts, done.feed
    S, V = course.head_K.shape
    first, last = np.zeros(S), np.full(S, V - 1.0)
    parts = [
        ("fore-run", first, cuts.start, None, cuts.from_K),
        ("product", cuts.start, cuts.end, cuts.from_K, cuts.to_K),
        ("after-run", cuts.end, last, cuts.to_K, None),
    ]
    told = []
    for name, start, end, from_K, to_K in parts:
        volume = between(course.volume_m3, start, end)
        if name == "product" or volume.any():
            readings = (_reading(setting, done, one_K) for one_K in (from_K, to_K))
            told.append(_fraction(setting, done, name, start, end, *readings))
    stays = staying_kg(setting, feed)
    left = feed.by_ingredient_kg(done.batch.left_mol[-1]) + stays
    volume = feed.volume_m3(done.batch.left_mol[-1]) + stays.sum(axis=1) / RESIDUE_DENSITY_KG_M3
    at_end = interval(course.volume_m3[:, -1])
    told.append(
        Fraction(
            "residue",
            None,
            None,
            at_end,
            at_end,
            interval(volume),
            interval(left.sum(axis=1)),
            _contents(setting, left),
        )
    )
    return tuple(told)


def staying_kg(setting: Setting, feed: Feed) -> Array:
    """Masses by ingredient, (S, k), of what does not distil."""
    stays = [not (feed.owner == place).any() for place in range(len(setting.ingredients))]
    return np.where(stays, feed.ingredient_kg, 0.0)


def _reading(setting: Setting, done: Distilled, head_K: float | None) -> Interval | None:
    """The reading at which a receiver is changed, with what the draws move it by; None at either end of the batch."""
    if head_K is None:
        return None
    return interval(head_K + done.course.shift_K - setting.recipe.thermometer_correction_K)


def _fraction(
    setting: Setting,
    done: Distilled,
    name: str,
    start: Array,
    end: Array,
    from_reading_K: Interval | None,
    to_reading_K: Interval | None,
) -> Fraction:
    course = done.course
    mass = between(course.mass_kg, start, end)
    return Fraction(
        name=name,
        from_reading_K=from_reading_K,
        to_reading_K=to_reading_K,
        from_volume_m3=interval(at_place(course.volume_m3, start)),
        to_volume_m3=interval(at_place(course.volume_m3, end)),
        volume_m3=interval(between(course.volume_m3, start, end)),
        mass_kg=interval(mass.sum(axis=1)),
        contents=_contents(setting, mass),
    )


def _contents(setting: Setting, mass: Array) -> tuple[Share, ...]:
    """Mass fractions in what is collected, (S, k); batches that collect nothing do not speak."""
    some = mass.sum(axis=1) > 0.0
    some[0] = True
    fractions = mass[some] / np.maximum(mass[some].sum(axis=1, keepdims=True), 1e-30)
    fractions[fractions < _NOTHING] = 0.0
    return tuple(
        Share(one.name, one.cas, interval(fractions[:, place])) for place, one in enumerate(setting.ingredients)
    )


def product_of(setting: Setting, done: Distilled) -> Product:
    """What is had of the target between the two changes of the receiver."""
    course, cuts, target = done.course, done.cuts, setting.target
    mass = between(course.mass_kg, cuts.start, cuts.end)
    total = np.maximum(mass.sum(axis=1), 1e-30)
    purity, in_feed = mass[:, target] / total, np.maximum(done.feed.ingredient_kg[:, target], 1e-30)
    return Product(
        setting.ingredients[target].name, setting.recipe.purity, bool(cuts.reached[0]), interval(purity),
        interval(mass[:, target] / in_feed), interval(between(course.volume_m3, cuts.start, cuts.end)), interval(total),
        best_purity(course.mass_kg[0], target, float(in_feed[0])), float((purity >= setting.recipe.purity).mean()),
    )  # fmt: skip


def reflux_rows(setting: Setting, scan: Distilled | None) -> tuple[RefluxRow, ...]:
    """What other reflux ratios give of the target in the central composition; 0 where the purity is not had."""
    if scan is None:
        return ()
    recipe, target = setting.recipe, setting.target
    mass = between(scan.course.mass_kg, scan.cuts.start, scan.cuts.end)
    recovery = np.where(scan.cuts.reached, mass[:, target] / np.maximum(scan.course.charged_kg[:, target], 1e-30), 0.0)
    times_s = _times_s(scan, recipe)
    return tuple(
        RefluxRow(float(ratio), float(had), time_s)
        for ratio, had, time_s in zip(scan.reflux_ratio, recovery, times_s, strict=True)
    )


def _times_s(scan: Distilled, recipe: Recipe) -> list[float | None]:
    if recipe.heat_W is None:
        return [None] * len(scan.mol)
    return [float(needed) for needed in scan.heats(recipe).taken_up_J / (recipe.heat_W * recipe.heat_share)]

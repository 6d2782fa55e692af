"""The separation sheet of a recipe: label, feed, still, fractions and bench, one after another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import CutpointError

from ..recipes.recipe import Recipe
from .batches import course_of, distil_feed
from .bench import cost, duty, holding
from .column import Batch
from .feed import Feed
from .fractions import Course, Cuts, at_place, best_purity, between, choose_cuts, most_recovered
from .intervals import interval
from .opening import open_package
from .pairs_met import not_parted, pair_rows
from .plan_words import cautions_of, end_sign, told_column, verdict, weak_points
from .results import Fraction, HeadCurve, IngredientRow, Interval, Plan, Product, RefluxRow, Share
from .setting import Setting, number_of_compositions, reflux_ratio_of, refuse_gas_in_the_open, set_up

if TYPE_CHECKING:
    from cutpoint.db import Component, Store

Array = NDArray[np.float64]

REFLUX_RATIOS = (1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
"""Those that the scan looks at beside the recipe's own."""
_CURVE_POINTS = 101


@dataclass(frozen=True)
class _Distilled:
    """The batches of all compositions, (V, S, ...), with their course and cuts; and those of the reflux scan."""

    feed: Feed
    mol: Array
    batch: Batch
    course: Course
    cuts: Cuts
    scan_ratios: tuple[float, ...]
    scan_batch: Batch | None


def make_plan(store: Store, recipe: Recipe) -> Plan:
    """The sheet of a recipe.

    Raises WrongLabel and UnresolvedLabel for the label, WrongRecipe for what
    the recipe asks, NoValue for an ingredient without a curve, and NotSeparable.
    """
    setting = set_up(store, recipe)
    central = setting.feed(store, setting.shares(1))
    feed = setting.feed(store, setting.shares(number_of_compositions(len(central.owner))))
    if recipe.package is None:
        refuse_gas_in_the_open(feed)
        opening, mol = None, feed.mol
    else:
        opening, mol = open_package(feed, recipe, setting.target)
    reflux_ratio = reflux_ratio_of(recipe, feed, setting.target)
    done = _distil(feed, mol, recipe, setting.target, reflux_ratio)
    return _sheet(store, setting, done, reflux_ratio, opening)


def _distil(feed: Feed, mol: Array, recipe: Recipe, target: int, reflux_ratio: float) -> _Distilled:
    S, column = len(mol), recipe.column
    ratios = tuple(sorted({*REFLUX_RATIOS, reflux_ratio})) if column.plates else ()
    rows = np.concatenate([np.arange(S), np.zeros(len(ratios), dtype=np.int64)])
    asked = np.concatenate([np.full(S, reflux_ratio), np.array(ratios)])
    whole = distil_feed(feed, mol[rows], rows, column.plates, asked, column.holdup_m3)
    batch = whole.rows(slice(0, S))
    course = course_of(feed, batch, _shift_K(feed, target))
    return _Distilled(
        feed, mol, batch, course, choose_cuts(course, target, recipe.purity), ratios,
        whole.rows(slice(S, None)) if ratios else None,
    )  # fmt: skip


def _shift_K(feed: Feed, target: int) -> Array:
    """How far each draw moves the target's boiling point, (S,)."""
    own = np.flatnonzero(feed.owner == target)
    T = feed.boiling_K[own]
    step_K = 1.0
    slope = (feed.liquid.ln_pressures(T + step_K) - feed.liquid.ln_pressures(T - step_K)) / (2.0 * step_K)
    slope = slope[np.arange(len(own)), own]
    return np.asarray(-(feed.ln_p_draw[:, own] / slope).mean(axis=1))


def _sheet(store: Store, setting: Setting, done: _Distilled, reflux_ratio: float, opening: object) -> Plan:
    recipe, feed = setting.recipe, done.feed
    fractions = _fractions(setting, done)
    product = _product(setting, done)
    pairs = pair_rows(store, setting, feed)
    held = tuple(dict.fromkeys(feed.components))
    part = Plan(
        title=recipe.title,
        pressure_Pa=recipe.pressure_Pa,
        altitude_m=recipe.altitude_m,
        n_compositions=len(done.mol),
        plates=recipe.column.plates,
        column=told_column(recipe.column),
        reflux_ratio=reflux_ratio,
        thermometer_correction_K=recipe.thermometer_correction_K,
        feed_mass_kg=interval(feed.ingredient_kg.sum(axis=1)),
        feed_volume_m3=interval(feed.volume_m3(feed.mol)),
        ingredients=_ingredient_rows(setting, feed),
        opening=opening,  # type: ignore[arg-type]
        curve=_head_curve(recipe, done),
        fractions=fractions,
        product=product,
        reflux_scan=_reflux_scan(setting, done),
        end_sign=end_sign(done.course, done.cuts, recipe.thermometer_correction_K),
        pairs=pairs,
        not_parted=not_parted(setting, pairs, fractions),
        holding=holding(feed, done.batch, done.cuts, recipe),
        duty=duty(feed, done.mol, done.batch, done.cuts, recipe, reflux_ratio),
        cost=None,  # type: ignore[arg-type]
        mass_closure=_mass_closure(done, fractions),
        verdict="",
        weak_points=weak_points(setting, store, feed, done.batch),
        cautions=cautions_of(held, feed, recipe),
    )
    whole = replace(part, cost=cost(recipe, part.product, part.duty))
    return replace(whole, verdict=verdict(whole))


def _ingredient_rows(setting: Setting, feed: Feed) -> tuple[IngredientRow, ...]:
    shares = feed.ingredient_kg / feed.ingredient_kg.sum(axis=1, keepdims=True)
    rows = []
    for place, one in enumerate(setting.ingredients):
        own = np.flatnonzero(feed.owner == place)
        boils_K = feed.boiling_K[own]
        grade, u95_K = (
            _surety(feed.components[own[0]], feed.pressure_Pa) if one.cut is None and own.size else (None, None)
        )
        row = IngredientRow(
            printed=one.line.text,
            name=one.name,
            cas=one.cas,
            kind=one.kind,
            mass_fraction=_spread(shares[:, place]),
            boiling_point_K=float(boils_K.min()) if own.size else None,
            boiling_end_K=float(boils_K.max()) if one.cut is not None else None,
            boiling_u95_K=u95_K,
            grade=grade,
            remark=one.note,
        )
        rows.append(row)
    return tuple(rows)


def _spread(values: Array) -> Interval:
    """The central value with the least and the largest of all compositions: a label's range has no tails."""
    return Interval(float(values[0]), float(values.min()), float(values.max()))


def _surety(component: Component, pressure_Pa: float) -> tuple[str | None, float | None]:
    """Grade and U95, K, of a boiling point; None of both where the pressure is out of its reach."""
    try:
        boiling = component.boiling_point(pressure_Pa)
    except CutpointError:
        return None, None
    return boiling.grade, boiling.u95


def _head_curve(recipe: Recipe, done: _Distilled) -> HeadCurve:
    """The central curve with the band of all at the same volume."""
    course, correction = done.course, recipe.thermometer_correction_K
    volume = np.linspace(0.0, float(course.volume_m3[0, -1]), _CURVE_POINTS)

    def on_grid(volumes: Array, values: Array) -> Array:
        return np.stack([np.interp(volume, v, t) for v, t in zip(volumes, values, strict=True)])

    head = on_grid(course.volume_m3, course.head_K) - correction
    low, high = np.quantile(head, (0.025, 0.975), axis=0)
    pot = np.interp(volume, course.volume_m3[0], done.batch.pot_K[:, 0])
    return HeadCurve(*(tuple(map(float, line)) for line in (volume, head[0], low, high, pot)))


def _fractions(setting: Setting, done: _Distilled) -> tuple[Fraction, ...]:
    course, cuts, feed = done.course, done.cuts, done.feed
    S, V = course.head_K.shape
    first, last = np.zeros(S), np.full(S, V - 1.0)
    parts = [
        ("fore-run", first, cuts.start),
        ("product", cuts.start, cuts.end),
        ("after-run", cuts.end, last),
    ]
    told = []
    for name, start, end in parts:
        volume = between(course.volume_m3, start, end)
        if name == "product" or volume.any():
            told.append(_fraction(setting, done, name, start, end, volume))
    left = feed.by_ingredient_kg(done.batch.left_mol[-1])
    stays = np.array([not (feed.owner == place).any() for place in range(len(setting.ingredients))])
    left[:, stays] = feed.ingredient_kg[:, stays]
    volume = feed.volume_m3(done.batch.left_mol[-1]) + left[:, stays].sum(axis=1) / 1_000.0
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


def _fraction(setting: Setting, done: _Distilled, name: str, start: Array, end: Array, volume: Array) -> Fraction:
    course, correction = done.course, setting.recipe.thermometer_correction_K
    mass = between(course.mass_kg, start, end)
    readings = [interval(at_place(course.head_K, place) - correction) for place in (start, end)]
    return Fraction(
        name, *readings, interval(at_place(course.volume_m3, start)), interval(at_place(course.volume_m3, end)),
        interval(volume), interval(mass.sum(axis=1)), _contents(setting, mass),
    )  # fmt: skip


def _contents(setting: Setting, mass: Array) -> tuple[Share, ...]:
    """Mass fractions in what is collected, (S, k); batches that collect nothing do not speak."""
    some = mass.sum(axis=1) > 0.0
    some[0] = True
    fractions = mass[some] / np.maximum(mass[some].sum(axis=1, keepdims=True), 1e-30)
    return tuple(
        Share(one.name, one.cas, interval(fractions[:, place])) for place, one in enumerate(setting.ingredients)
    )


def _product(setting: Setting, done: _Distilled) -> Product:
    course, cuts, target = done.course, done.cuts, setting.target
    mass = between(course.mass_kg, cuts.start, cuts.end)
    total = np.maximum(mass.sum(axis=1), 1e-30)
    purity, in_feed = mass[:, target] / total, done.feed.ingredient_kg[:, target]
    return Product(
        setting.ingredients[target].name, setting.recipe.purity, cuts.reached, interval(purity),
        interval(mass[:, target] / in_feed), interval(between(course.volume_m3, cuts.start, cuts.end)), interval(total),
        best_purity(course.mass_kg[0], target, float(in_feed[0])), float((purity >= setting.recipe.purity).mean()),
    )  # fmt: skip


def _reflux_scan(setting: Setting, done: _Distilled) -> tuple[RefluxRow, ...]:
    if done.scan_batch is None:
        return ()
    recipe, feed = setting.recipe, done.feed
    course = course_of(feed, done.scan_batch, np.zeros(len(done.scan_ratios)))
    rows = []
    for place, ratio in enumerate(done.scan_ratios):
        moles = done.scan_batch.distilled_mol[-1, place]
        time_s = None
        if recipe.heat_W is not None:
            boiled_J = (ratio + 1.0) * float(moles @ feed.species.enthalpy_of_vaporization_J_mol)
            time_s = boiled_J / (recipe.heat_W * recipe.heat_share)
        rows.append(RefluxRow(ratio, most_recovered(course.mass_kg[place], setting.target, recipe.purity), time_s))
    return tuple(rows)


def _mass_closure(done: _Distilled, fractions: tuple[Fraction, ...]) -> float:
    """What pot, column and receivers hold together against what was put in, the worst of all compositions."""
    accounted = done.batch.distilled_mol[-1].sum(axis=1) + done.batch.left_mol[-1].sum(axis=1)
    return float(np.abs(accounted / done.mol.sum(axis=1) - 1.0).max())

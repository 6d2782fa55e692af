"""The separation sheet of a recipe: label, feed, still, fractions and bench, one after another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.errors import CutpointError, WrongRecipe

from ..recipes.recipe import NOT_VOLATILE, Recipe
from ..sheets.cautions import cautions_for
from .batches import course_of, distil_feed
from .bench import LEAST_MARGIN_K, Heats, cost, duty, heats, holding, reflux_ratio_of
from .column import Batch
from .feed import RESIDUE_DENSITY_KG_M3, Feed
from .fractions import Course, Cuts, at_place, best_purity, between, choose_cuts, most_recovered
from .intervals import interval
from .opening import open_package
from .pairs_met import not_parted, pair_rows
from .plan_words import end_sign, told_column, weak_points, with_verdict
from .results import (
    Fraction,
    HeadCurve,
    Holding,
    IngredientRow,
    Interval,
    Opening,
    Plan,
    Product,
    RefluxRow,
    Share,
)
from .setting import ROOM_K, Setting, number_of_compositions, refuse_gas_in_the_open, set_up

if TYPE_CHECKING:
    from cutpoint.db import Component, Store

Array = NDArray[np.float64]

REFLUX_RATIOS = (1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
"""Those that the scan looks at beside the recipe's own."""
_CURVE_POINTS = 101
_NOTHING = 1e-9
"""A mass fraction below which the arithmetic, not the still, says how much there is."""


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
    opening, mol = charge_of(feed, recipe, setting.target)
    reflux_ratio = reflux_ratio_asked(recipe, feed, setting.target)
    done = _distil(feed, mol, recipe, setting.target, reflux_ratio)
    return _sheet(store, setting, done, reflux_ratio, opening)


def charge_of(feed: Feed, recipe: Recipe, target: int) -> tuple[Opening | None, Array]:
    """What goes into the flask, mol, (S, N): the feed, or what is left of it when its package has been opened."""
    if recipe.package is None:
        refuse_gas_in_the_open(feed)
        return None, feed.mol
    opened = open_package(
        feed.mol, feed.drawn(), feed.species, feed.owner == target, recipe.package.temperature_K,
        recipe.pressure_Pa, recipe.column.plates, recipe.package.pressure_Pa,
    )  # fmt: skip
    return opened.opening, opened.left_with_column_mol


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


def _distil(feed: Feed, mol: Array, recipe: Recipe, target: int, reflux_ratio: float) -> _Distilled:
    S, column = len(mol), recipe.column
    ratios = tuple(sorted({*REFLUX_RATIOS, reflux_ratio})) if column.plates else ()
    rows = np.concatenate([np.arange(S), np.zeros(len(ratios), dtype=np.int64)])
    asked = np.concatenate([np.full(S, reflux_ratio), np.array(ratios)])
    whole = distil_feed(feed, mol[rows], rows, column.plates, asked, column.holdup_m3)
    batch = whole.rows(slice(0, S))
    course = course_of(feed, batch, _shift_K(feed, target))
    coldest_K = None if recipe.coolant_K is None else recipe.coolant_K + LEAST_MARGIN_K
    return _Distilled(
        feed, mol, batch, course, choose_cuts(course, target, recipe.purity, coldest_K), ratios,
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


def _sheet(store: Store, setting: Setting, done: _Distilled, reflux_ratio: float, opening: Opening | None) -> Plan:
    recipe, feed = setting.recipe, done.feed
    fractions, pairs = _fractions(setting, done), pair_rows(store, setting, feed)
    spent = _heats(done, reflux_ratio, recipe)
    held_back = _holding(done, recipe)
    product = _product(setting, done)
    product_m3 = between(done.course.volume_m3, done.cuts.start, done.cuts.end)
    return with_verdict(
        Plan(
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
            charge_volume_m3=interval(
                feed.volume_m3(done.mol) + _staying_kg(setting, feed).sum(axis=1) / RESIDUE_DENSITY_KG_M3
            ),
            ingredients=_ingredient_rows(setting, feed),
            opening=opening,
            curve=_head_curve(recipe, done),
            fractions=fractions,
            product=product,
            reflux_scan=_reflux_scan(setting, done),
            end_sign=end_sign(done.course, done.cuts, recipe.thermometer_correction_K),
            pairs=pairs,
            not_parted=not_parted(setting, pairs, fractions),
            holding=held_back,
            duty=duty(spent, recipe.heat_W, recipe.heat_share),
            cost=cost(
                recipe.amount.currency,
                recipe.amount.price,
                product_m3,
                spent.taken_up_J / recipe.heat_share,
                spent.ice_kg,
                recipe.price_per_kWh,
                recipe.price_per_kg_ice,
            ),
            mass_closure=_mass_closure(done),
            verdict="",
            weak_points=weak_points(setting, store, feed, done.batch),
            cautions=_cautions(store, setting, feed, held_back, product),
        )
    )


def _holding(done: _Distilled, recipe: Recipe) -> Holding:
    """Whether condenser and receiver hold the product; the vapour's dew point is the temperature of the still head."""
    course, cuts, feed = done.course, done.cuts, done.feed
    distilled = np.swapaxes(done.batch.distilled_mol, 0, 1)
    places = np.arange(course.head_K.shape[1])
    within = (places >= np.floor(cuts.start)[:, None]) & (places <= np.ceil(cuts.end)[:, None])
    return holding(
        feed.drawn(), between(distilled, cuts.start, cuts.end), between(course.volume_m3, cuts.start, cuts.end),
        feed.species.molar_mass_kg_mol, np.where(within, course.head_K, np.inf).min(axis=1), recipe.pressure_Pa,
        recipe.coolant_K, recipe.receiver_bath_K,
    )  # fmt: skip


def _heats(done: _Distilled, reflux_ratio: float, recipe: Recipe) -> Heats:
    """The heats of distilling until the product is over."""
    cuts, batch = done.cuts, done.batch
    distilled = np.swapaxes(batch.distilled_mol, 0, 1)
    until = between(distilled, np.zeros(len(cuts.end)), cuts.end)
    pot_K = batch.pot_K.T
    start_K = min(ROOM_K, float(pot_K[0, 0])) if recipe.package is None else recipe.package.temperature_K
    return heats(
        done.feed.species, done.mol, until, np.full(len(until), reflux_ratio), start_K,
        (pot_K[:, 0], at_place(pot_K, cuts.end)), done.course.head_K.mean(axis=1), recipe.coolant_K,
    )  # fmt: skip


def _cautions(store: Store, setting: Setting, feed: Feed, held_back: Holding, product: Product) -> tuple[str, ...]:
    """Of exactly these: the species that distil and what stays in the flask, where the store knows it."""
    stays = [
        store.component(one.cas) for one in setting.ingredients if one.kind == NOT_VOLATILE and one.cas is not None
    ]
    boils_K = {one.cas: float(T) for one, T in zip(feed.components, feed.boiling_K, strict=True)}
    lost_kg = None if held_back.loss is None else held_back.loss.value * product.mass_kg.value
    return cautions_for(
        [*feed.components, *stays],
        boiling_points_K=boils_K,
        is_liquefied_gas=setting.recipe.package is not None,
        lost_kg=lost_kg,
    )


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
            printed=" ".join(one.line.text.split()),
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
    stays = _staying_kg(setting, feed)
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


def _staying_kg(setting: Setting, feed: Feed) -> Array:
    """Masses by ingredient, (S, k), of what does not distil."""
    stays = [not (feed.owner == place).any() for place in range(len(setting.ingredients))]
    return np.where(stays, feed.ingredient_kg, 0.0)


def _reading(setting: Setting, done: _Distilled, head_K: float | None) -> Interval | None:
    """The reading at which a receiver is changed, with what the draws move it by; None at either end of the batch."""
    if head_K is None:
        return None
    return interval(head_K + done.course.shift_K - setting.recipe.thermometer_correction_K)


def _fraction(
    setting: Setting,
    done: _Distilled,
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


def _mass_closure(done: _Distilled) -> float:
    """What receivers and flask hold together against what was put in, the worst of all compositions."""
    feed, course, cuts = done.feed, done.course, done.cuts
    first, last = np.zeros(len(cuts.start)), np.full(len(cuts.start), course.head_K.shape[1] - 1.0)
    parts = ((first, cuts.start), (cuts.start, cuts.end), (cuts.end, last))
    received = sum(between(course.mass_kg, start, end).sum(axis=1) for start, end in parts)
    accounted = received + feed.by_ingredient_kg(done.batch.left_mol[-1]).sum(axis=1)
    return float(np.abs(accounted / feed.by_ingredient_kg(done.mol).sum(axis=1) - 1.0).max())

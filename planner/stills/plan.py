"""The separation sheet of a recipe: label, feed, still, fractions and bench, one after another."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.matches import celsius
from cutpoint.schema.errors import CutpointError

from ..recipes.recipe import NOT_VOLATILE, Recipe
from ..sheets.cautions import cautions_for
from .bench import LEAST_MARGIN_K, cost, duty, holding, melts_ice
from .distilling import Distilled, charge_of, distil_all, reflux_ratio_asked
from .feed import RESIDUE_DENSITY_KG_M3, Feed
from .fractions import between
from .intervals import interval
from .pairs_met import not_parted, pair_rows, refuse_what_reacts
from .plan_words import end_sign, told_column, weak_points, with_verdict
from .receivers import fractions_of, product_of, reflux_rows, staying_kg
from .results import HeadCurve, Holding, IngredientRow, Interval, Opening, Plan
from .setting import Setting, number_of_compositions, set_up

if TYPE_CHECKING:
    from cutpoint.db import Component, Store

Array = NDArray[np.float64]

_CURVE_POINTS = 101
_MAIN_PART = 0.5
"""Mole fraction from which a component freezes near its own melting point; common practice, no source."""


def make_plan(store: Store, recipe: Recipe) -> Plan:
    """The sheet of a recipe.

    Raises WrongLabel and UnresolvedLabel for the label, WrongRecipe for what
    the recipe asks, NoValue for an ingredient without a curve, and NotSeparable.
    """
    setting = set_up(store, recipe)
    central = setting.feed(store, setting.shares(1))
    refuse_what_reacts(store, setting, central)
    feed = setting.feed(store, setting.shares(number_of_compositions(len(central.owner))))
    opening, mol = charge_of(feed, recipe, setting.target)
    reflux_ratio = reflux_ratio_asked(recipe, feed, setting.target)
    done, scan = distil_all(feed, mol, recipe, setting.target, reflux_ratio)
    return _sheet(store, setting, done, scan, opening)


def _sheet(store: Store, setting: Setting, done: Distilled, scan: Distilled | None, opening: Opening | None) -> Plan:
    recipe, feed = setting.recipe, done.feed
    fractions, pairs = fractions_of(setting, done), pair_rows(store, setting, feed)
    spent = done.heats(recipe)
    held_back, lost_kg = _holding(done, recipe)
    product = product_of(setting, done)
    product_m3 = between(done.course.volume_m3, done.cuts.start, done.cuts.end)
    return with_verdict(
        Plan(
            title=recipe.title,
            pressure_Pa=recipe.pressure_Pa,
            altitude_m=recipe.altitude_m,
            n_compositions=len(done.mol),
            plates=recipe.column.plates,
            column=told_column(recipe.column),
            reflux_ratio=float(done.reflux_ratio[0]),
            thermometer_correction_K=recipe.thermometer_correction_K,
            feed_mass_kg=interval(feed.ingredient_kg.sum(axis=1)),
            feed_volume_m3=interval(
                feed.volume_m3(feed.mol) + staying_kg(setting, feed).sum(axis=1) / RESIDUE_DENSITY_KG_M3
            ),
            charge_volume_m3=interval(
                feed.volume_m3(done.mol) + staying_kg(setting, feed).sum(axis=1) / RESIDUE_DENSITY_KG_M3
            ),
            ingredients=_ingredient_rows(setting, feed),
            opening=opening,
            curve=_head_curve(recipe, done),
            fractions=fractions,
            product=product,
            reflux_scan=reflux_rows(setting, scan),
            end_sign=end_sign(done.course, done.cuts, recipe.thermometer_correction_K),
            pairs=pairs,
            not_parted=not_parted(setting, pairs, fractions),
            holding=held_back,
            duty=duty(spent, recipe.heat_W, recipe.heat_share, recipe.coolant_K),
            cost=cost(
                recipe.amount.currency,
                recipe.amount.price,
                product_m3,
                spent.taken_up_J / recipe.heat_share,
                spent.ice_kg if melts_ice(recipe.coolant_K) else np.zeros(len(done.mol)),
                recipe.price_per_kWh,
                recipe.price_per_kg_ice,
            ),
            mass_closure=_mass_closure(done),
            verdict="",
            weak_points=weak_points(setting, store, feed, done.batch),
            cautions=_cautions(store, setting, feed, lost_kg),
        )
    )


def _holding(done: Distilled, recipe: Recipe) -> tuple[Holding, float]:
    """Whether condenser and receiver hold the product, and the mass that may leave as vapour, kg.

    The vapour's dew point is the temperature of the still head. What comes over
    before the product and warmer coolant than that is not condensed at all.
    """
    course, cuts, feed = done.course, done.cuts, done.feed
    distilled = np.swapaxes(done.batch.distilled_mol, 0, 1)
    places = np.arange(course.head_K.shape[1])
    within = (places >= np.floor(cuts.start)[:, None]) & (places <= np.ceil(cuts.end)[:, None])
    product_mol = between(distilled, cuts.start, cuts.end)
    held = holding(
        feed.drawn(), product_mol, between(course.volume_m3, cuts.start, cuts.end),
        feed.species.molar_mass_kg_mol, np.where(within, course.head_K, np.inf).min(axis=1), recipe.pressure_Pa,
        recipe.coolant_K, recipe.receiver_bath_K,
    )  # fmt: skip
    frozen = _told_freezing(done, product_mol[0], recipe)
    held = replace(held, words=(*held.words, *frozen), freezes=bool(frozen))
    product_kg = float(product_mol[0] @ feed.species.molar_mass_kg_mol)
    lost_kg = product_kg * (0.0 if held.loss is None else held.loss.value)
    if recipe.coolant_K is None:
        return held, lost_kg
    passes = np.flatnonzero(course.head_K[0, : int(cuts.start[0]) + 1] < recipe.coolant_K + LEAST_MARGIN_K)
    if not passes.size or cuts.start[0] == 0.0:
        return held, lost_kg
    passed_kg = float(course.mass_kg[0, passes[-1]].sum())
    words = (
        f"Up to {1e3 * passed_kg:.0f} g of the fore-run come over colder than the condenser holds: led into the hood "
        "they leave as gas, and the receiver has so much less."
    )
    return replace(held, words=(*held.words, words)), lost_kg + passed_kg


def _told_freezing(done: Distilled, product_mol: Array, recipe: Recipe) -> list[str]:
    """Which large part of the product melts above the coolant or the bath: a solid in a condenser shuts the still."""
    shares = product_mol / max(float(product_mol.sum()), 1e-30)
    cold_K = [T_K for T_K in (recipe.coolant_K, recipe.receiver_bath_K) if T_K is not None]
    told = {}
    for component, share in zip(done.feed.components, shares, strict=True):
        melts = component.held("melting_point")
        if melts is not None and cold_K and share > _MAIN_PART and melts.value > min(cold_K):
            told[component.name] = (
                f"{component.name} melts at {celsius(melts.value)}: it may freeze in the condenser or the receiver and "
                "shut the still. Keep both above that."
            )
    return list(told.values())


def _cautions(store: Store, setting: Setting, feed: Feed, lost_kg: float) -> tuple[str, ...]:
    """Of exactly these: the species that distil and what stays in the flask, where the store knows it."""
    stays = [
        store.component(one.cas) for one in setting.ingredients if one.kind == NOT_VOLATILE and one.cas is not None
    ]
    boils_K = {one.cas: float(T) for one, T in zip(feed.components, feed.boiling_K, strict=True)}
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
            mass_fraction=_range_of(setting, shares, place),
            boiling_point_K=float(boils_K.min()) if own.size else None,
            boiling_end_K=float(boils_K.max()) if one.cut is not None else None,
            boiling_u95_K=u95_K,
            grade=grade,
            remark=one.note,
        )
        rows.append(row)
    return tuple(rows)


def _range_of(setting: Setting, shares: Array, place: int) -> Interval:
    """The central mass fraction with the ends that the label allows; by volume, those of all compositions tried."""
    values = shares[:, place]
    low, high = float(values.min()), float(values.max())
    if setting.recipe.basis == "mass":
        low, high = float(setting.bounds.lower[place]), float(setting.bounds.upper[place])
    return Interval(float(values[0]), min(low, float(values[0])), max(high, float(values[0])))


def _surety(component: Component, pressure_Pa: float) -> tuple[str | None, float | None]:
    """Grade and U95, K, of a boiling point; None of both where the pressure is out of its reach."""
    try:
        boiling = component.boiling_point(pressure_Pa)
    except CutpointError:
        return None, None
    return boiling.grade, boiling.u95


def _head_curve(recipe: Recipe, done: Distilled) -> HeadCurve:
    """The central curve with the band of all at the same volume."""
    course, correction = done.course, recipe.thermometer_correction_K
    volume = np.linspace(0.0, float(course.volume_m3[0, -1]), _CURVE_POINTS)

    def on_grid(volumes: Array, values: Array) -> Array:
        return np.stack([np.interp(volume, v, t) for v, t in zip(volumes, values, strict=True)])

    head = on_grid(course.volume_m3, course.head_K) - correction
    low, high = np.quantile(head, (0.025, 0.975), axis=0)
    pot = np.interp(volume, course.volume_m3[0], done.batch.pot_K[:, 0])
    return HeadCurve(*(tuple(map(float, line)) for line in (volume, head[0], low, high, pot)))


def _mass_closure(done: Distilled) -> float:
    """What receivers and flask hold together against what was put in, the worst of all compositions.

    The column closes its balances by itself; this holds what the sheet makes of them to the feed.
    """
    feed, course, cuts = done.feed, done.course, done.cuts
    first, last = np.zeros(len(cuts.start)), np.full(len(cuts.start), course.head_K.shape[1] - 1.0)
    parts = ((first, cuts.start), (cuts.start, cuts.end), (cuts.end, last))
    received = sum(between(course.mass_kg, start, end).sum(axis=1) for start, end in parts)
    accounted = received + feed.by_ingredient_kg(done.batch.left_mol[-1]).sum(axis=1)
    return float(np.abs(accounted / feed.by_ingredient_kg(done.mol).sum(axis=1) - 1.0).max())

"""The sentences of a sheet: whether it will work, how the end shows, and what the numbers leave out."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.liquid_split import stability
from cutpoint.db.pairs import ACID_GROUPS

from ..recipes.recipe import NOT_VOLATILE, Column
from .column import Batch
from .feed import Feed, told_ideal
from .fractions import Course, Cuts
from .results import EndSign, Plan
from .setting import Setting

if TYPE_CHECKING:
    from cutpoint.db import Store

Array = NDArray[np.float64]

ROOM_K = 293.15
_NO_RISE_K, _SHARP_SHARE = 2.0, 0.03
_UNBALANCED, _UNSETTLED, _WORTH_TELLING = 0.05, 0.2, 0.01
_MOMENTS_LOOKED_AT = 9
_LAYERS = 1e-4

ALWAYS = (
    "Computed with theoretical plates, the same molar flows in the whole column, no heat loss from it, an ideal vapour "
    "and the column keeping up with the flask: a guide to be checked against the thermometer, not a promise."
)


def told_column(column: Column) -> str:
    """The column in words, without its plates."""
    if column.kind is None:
        return "a bare still head" if column.plates == 0 else "a column"
    return column.kind if column.height_m is None else f"{column.kind}, {100.0 * column.height_m:.3g} cm"


def end_sign(course: Course, cuts: Cuts, correction_K: float) -> EndSign:
    """How the head temperature moves where the product ends, for the central composition."""
    head, volume = course.head_K[0], course.volume_m3[0]
    V = len(head)
    start, end = float(cuts.start[0]), float(cuts.end[0])
    places = np.arange(V)

    def reading(place: float) -> float:
        return float(np.interp(place, places, head)) - correction_K

    plateau = reading(start + 0.7 * (end - start))
    if cuts.to_K is None:
        return EndSign(plateau, reading(V - 1.0), 0.0, "The product runs to the end: stop before the flask runs dry.")
    after = reading(min(V - 1.0, end + 0.25 * (V - 1.0 - end) + 0.03 * V))
    rise = after - plateau
    if rise < _NO_RISE_K:
        return EndSign(
            plateau, after, float(volume[-1] - np.interp(end, places, volume)),
            "The head temperature hardly moves where the product ends: change the receiver by volume.",
        )  # fmt: skip
    span = [
        float(np.interp(plateau + correction_K + share * rise, np.maximum.accumulate(head), volume))
        for share in (0.1, 0.9)
    ]
    over = max(span[1] - span[0], 0.0)
    sharp = over < _SHARP_SHARE * float(volume[-1])
    how = "a sharp rise that cannot be missed" if sharp else "a gradual rise: change at the reading, not by feel"
    return EndSign(
        plateau, after, over, f"The head temperature climbs by {rise:.0f} K over {1e6 * over:.0f} mL, {how}."
    )


def with_verdict(plan: Plan) -> Plan:
    """The sheet with its one sentence on whether it will work."""
    return replace(plan, verdict=_verdict(plan))


def _verdict(plan: Plan) -> str:
    product = plan.product
    name, asked = product.target, f"{100.0 * product.wanted_purity:.4g} %"
    if not product.reached:
        return (
            f"It will not work as asked: {asked} {name} cannot be had this way; the best is "
            f"{100.0 * product.best_purity:.3g} % by mass, in a tenth of it or more."
        )
    low, high = (f"{1e6 * end:.0f}" for end in (product.volume_m3.low, product.volume_m3.high))
    had = (
        f"{1e6 * product.volume_m3.value:.0f} mL ({low}–{high}) of {name} of {asked} or better, "
        f"{100.0 * product.recovery.value:.0f} % of what is there"
    )
    if product.chance >= 0.9:
        words = f"It should work: {had}."
    elif product.chance >= 0.5:
        words = (
            f"It may work: {had}; {100.0 * product.chance:.0f} % of the compositions that the label allows reach it."
        )
    else:
        share = f"{100.0 * product.chance:.0f} % of the compositions"
        words = f"It works only for some of what the label allows ({share}): {had}."
    held = plan.holding
    if held.condenser_holds is False:
        words += " But the condenser does not hold it."
    if held.freezes:
        words += " But it may freeze on the way."
    if held.receiver_holds is False:
        words += " But the receiver does not surely hold it."
    return words


def weak_points(setting: Setting, store: Store, feed: Feed, batch: Batch) -> tuple[str, ...]:
    """What the numbers leave out or only assume for this feed."""
    told = [
        *filter(None, [setting.bounds.remark]),
        *told_ideal(feed),
        *_told_two_liquids(feed, batch),
        *_told_outside(feed, batch),
    ]
    cuts = [one.name for one in setting.ingredients if one.cut is not None]
    if cuts:
        told.append(
            f"{' and '.join(cuts)}: a few pure components spread over the boiling range stand for what is many; "
            "another lot boils a little otherwise."
        )
    stays = [one.name for one in setting.ingredients if one.kind == NOT_VOLATILE]
    if stays:
        told.append(f"{' and '.join(stays)}: taken to stay in the flask without raising the boiling points.")
    told += feed.species.remarks
    acids = [
        one.name for one in dict.fromkeys(feed.components) if ACID_GROUPS & set(store.pair_tables.counts(one.cas) or {})
    ]
    if acids:
        told.append(f"{' and '.join(acids)}: acids pair up in the vapour, which is left out; trust its part least.")
    if batch.imbalance[0] > _UNSETTLED:
        told.append(
            "The computation did not settle on the column's state for the middle of the label: do not trust what this "
            "sheet says of the change of fractions. Fewer plates, or a trial in small, will tell more."
        )
    elif (off := float((batch.imbalance > _UNBALANCED).mean())) >= _WORTH_TELLING:
        told.append(
            f"In {100.0 * off:.0f} % of the compositions a plate was out of balance by up to "
            f"{100.0 * batch.imbalance.max():.0f} % at a change of fractions: the change is blurred there."
        )
    return (*told, ALWAYS)


def _told_two_liquids(feed: Feed, batch: Batch) -> list[str]:
    """Whether flask or distillate part into two liquids, which the computation takes for one."""
    moments = np.linspace(0, len(batch.pot) - 1, _MOMENTS_LOOKED_AT).astype(np.int64)
    told = []
    for where, x, T in (
        ("The liquid in the flask", batch.pot[moments, 0], batch.pot_K[moments, 0]),
        ("The distillate, once it is cold,", batch.vapour[moments, 0], np.full(len(moments), ROOM_K)),
    ):
        found = stability(
            feed.liquid.ln_gamma, np.maximum(x, 1e-12) / np.maximum(x, 1e-12).sum(axis=1, keepdims=True), T
        )
        if (found.distance < -_LAYERS).any():
            told.append(f"{where} is predicted to part into two layers at some time")
    if not told:
        return []
    return [
        f"{'; '.join(told)}. The computation takes the liquid for one, so its temperatures and shares are rough there; "
        "a separating funnel may part more than the column."
    ]


def _told_outside(feed: Feed, batch: Batch) -> list[str]:
    x, T = batch.pot[:, 0], batch.pot_K[:, 0]
    outside = feed.liquid.outside(T, x).any(axis=0)
    names = dict.fromkeys(feed.components[place].name for place in np.flatnonzero(outside))
    if not names:
        return []
    return [f"{', '.join(names)}: met at temperatures beyond the vapour-pressure curve, which goes on straight there."]

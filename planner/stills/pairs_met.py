"""What cannot be parted on the way, and why: the verdicts of `pair` on the ingredients that are there."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from cutpoint.db.activity import SCHEME
from cutpoint.db.blocks import judge_block
from cutpoint.db.pairs import told_azeotrope
from cutpoint.db.reacting import SALT_TOLD, told_explosive, told_reaction
from cutpoint.db.verdicts import AZEOTROPE, CLOSE, UNDECIDED
from cutpoint.schema.errors import NotSeparable

from .feed import Feed
from .results import Fraction, PairRow
from .setting import Setting

if TYPE_CHECKING:
    from cutpoint.db import Store

MOST_PAIRS = 45
"""More than these nobody reads; pairs with the target come first, then those of the largest ingredients."""
IMPURITY = 0.005
"""Mass fraction in the product from which an impurity is worth a word."""
HARD = (AZEOTROPE, CLOSE, UNDECIDED)


def pair_rows(store: Store, setting: Setting, feed: Feed) -> tuple[PairRow, ...]:
    """The pairs of ingredients that distil: those with the target first, then by how much there is of both."""
    target = setting.target
    present = sorted({int(place) for place in feed.owner}, key=lambda place: -feed.ingredient_kg[0, place])
    others = [place for place in present if place != target]
    couples = ([(target, other) for other in others] + list(combinations(others, 2)))[:MOST_PAIRS]
    numbers = [_nearest(feed, a, b) for a, b in couples]
    asked = [(cas_a, cas_b) for cas_a, cas_b in numbers if cas_a != cas_b]
    columns = judge_block(store, asked, setting.recipe.pressure_Pa) if asked else {}
    judged = iter([dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)])
    return tuple(
        _pair_row(setting, couple, next(judged)) if cas_a != cas_b else _same(setting, couple)
        for couple, (cas_a, cas_b) in zip(couples, numbers, strict=True)
    )


def _same(setting: Setting, couple: tuple[int, int]) -> PairRow:
    """A cut and a component that is among its surrogates."""
    a, b = (setting.ingredients[place].name for place in couple)
    return PairRow(a, b, 0.0, 0.0, CLOSE, "One is taken to hold the other: nothing parts them.")


def refuse_what_reacts(store: Store, setting: Setting, feed: Feed) -> None:
    """Raise NotSeparable for components that explode or react with one another; what stays in the flask counts too."""
    tables = store.pair_tables
    names = {one.cas: one.name for one in feed.components}
    names |= {one.cas: one.name for one in setting.ingredients if one.cas is not None and one.cut is None}
    told = [sentence for cas, name in names.items() for sentence in told_explosive(cas, name)]
    for a, b in combinations(names, 2):
        told += told_reaction((a, b), (tables.counts(a) or {}, tables.counts(b) or {}), (names[a], names[b]))
    dangers = [sentence for sentence in dict.fromkeys(told) if not sentence.startswith(SALT_TOLD)]
    if dangers:
        raise NotSeparable(f"Do not distil this. {' '.join(dangers)} No sheet is made of it.")


def _nearest(feed: Feed, a: int, b: int) -> tuple[str, str]:
    """CAS numbers of two ingredients, a cut standing for the surrogate that boils nearest to the other."""
    of_a, of_b = (np.flatnonzero(feed.owner == place) for place in (a, b))
    apart = np.abs(feed.boiling_K[of_a][:, None] - feed.boiling_K[of_b][None])
    nearest_a, nearest_b = np.unravel_index(int(np.argmin(apart)), apart.shape)
    return feed.components[of_a[nearest_a]].cas, feed.components[of_b[nearest_b]].cas


def _pair_row(setting: Setting, couple: tuple[int, int], judged: dict[str, Any]) -> PairRow:
    """What a block says of one pair; one that has no answer is undecided, and its problem is told."""
    names = setting.ingredients[couple[0]].name, setting.ingredients[couple[1]].name
    azeotropes = judged["azeotropes"] or ()
    told = " ".join(told_azeotrope(names, one) for one in azeotropes).replace(f" ({SCHEME})", "")
    return PairRow(
        *names,
        judged["delta_boiling_point_K"],
        judged["delta_u95_K"],
        judged["verdict"] or UNDECIDED,
        told or judged["reason"] or judged["problem"],
    )


def not_parted(setting: Setting, pairs: tuple[PairRow, ...], fractions: tuple[Fraction, ...]) -> tuple[str, ...]:
    """What comes over with the target although it should not, with the reason that the pair gives."""
    target = setting.ingredients[setting.target].name
    product = next(fraction for fraction in fractions if fraction.name == "product")
    told = []
    for share in product.contents:
        row = next((pair for pair in pairs if {pair.a, pair.b} == {share.name, target}), None)
        if share.name == target or share.mass_fraction.value < IMPURITY or row is None:
            continue
        why = (
            f"{row.verdict}: {row.reason}" if row.verdict in HARD else "more plates or a higher reflux ratio part them"
        )
        told.append(f"{share.name}, {100.0 * share.mass_fraction.value:.2g} % by mass of the product: {why}")
    return tuple(told)

"""What cannot be parted on the way, and why: the verdicts of `pair` on the ingredients that are there."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from cutpoint.db.activity import SCHEME
from cutpoint.db.verdicts import AZEOTROPE, CLOSE, UNDECIDED
from cutpoint.schema.errors import CutpointError

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
    couples = [(target, other) for other in others] + list(combinations(others, 2))
    rows = [_pair_row(store, setting, feed, a, b) for a, b in couples[:MOST_PAIRS]]
    return tuple(row for row in rows if row is not None)


def _pair_row(store: Store, setting: Setting, feed: Feed, a: int, b: int) -> PairRow | None:
    """The verdict on two ingredients, a cut standing for the surrogate that boils nearest to the other."""
    of_a, of_b = (np.flatnonzero(feed.owner == place) for place in (a, b))
    apart = np.abs(feed.boiling_K[of_a][:, None] - feed.boiling_K[of_b][None])
    nearest_a, nearest_b = np.unravel_index(int(np.argmin(apart)), apart.shape)
    cas_a, cas_b = (feed.components[place].cas for place in (of_a[nearest_a], of_b[nearest_b]))
    if cas_a == cas_b:
        return None
    name_a, name_b = (setting.ingredients[place].name for place in (a, b))
    try:
        judged = store.pair(cas_a, cas_b, setting.recipe.pressure_Pa)
    except CutpointError as error:
        return PairRow(name_a, name_b, float("nan"), float("nan"), UNDECIDED, error.message)
    telling = judged.reasons[1] if len(judged.reasons) > 1 else judged.reasons[0]
    reason = telling.replace(f" ({SCHEME})", "")
    return PairRow(name_a, name_b, judged.delta_boiling_point_K, judged.delta_u95_K, judged.verdict, reason)


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
        told.append(f"{share.name} stays in the product ({100.0 * share.mass_fraction.value:.2g} % by mass): {why}")
    return tuple(told)

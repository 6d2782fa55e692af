"""A feed distilled in the recipe's apparatus, every composition at once, on all processors."""

from __future__ import annotations

import os

import numpy as np
from numpy.typing import NDArray

from .column import Batch, Still, distil
from .feed import Feed
from .forks import in_parallel
from .fractions import Course

Array = NDArray[np.float64]

STEPS = 80
"""Moments of a batch: then the receiver's content is known to some 0.3 % of the charge."""
LEAST_LEFT = 0.03
"""Share of the volume at which a batch ends: a flask is never boiled dry."""
_LEAST_ROWS = 32
"""Fewer batches than this are not worth a process."""


def distil_feed(
    feed: Feed, mol: Array, rows: NDArray[np.int64], plates: int, reflux_ratio: Array, holdup_m3: float
) -> Batch:
    """Distil amounts, (R, N), with the draws of the feed's compositions `rows`, (R,), each at its reflux ratio, (R,).

    `holdup_m3` is the liquid in the whole column.
    """
    per_mol_m3 = feed.volume_m3(mol) / mol.sum(axis=1)
    holdup_mol = holdup_m3 / max(plates, 1) / per_mol_m3
    # What is left at the end is mostly the heaviest: a share of the volume is to be left, not of the moles.
    heaviest = int(np.argmax(feed.boiling_K))
    heavy_m3_mol = float(feed.species.molar_mass_kg_mol[heaviest] / feed.species.density_kg_m3[heaviest])
    least_left = np.minimum(LEAST_LEFT, LEAST_LEFT * per_mol_m3 / heavy_m3_mol)
    start_K = np.broadcast_to(float(np.median(feed.boiling_K)), rows.shape)

    def part(chunk: NDArray[np.int64]) -> Batch:
        still = Still(plates, reflux_ratio[chunk], holdup_mol[chunk])
        liquids = feed.liquids(rows[chunk])
        first = feed.liquid.bubble_points_K(
            mol[chunk] / mol[chunk].sum(axis=1, keepdims=True), start_K[chunk], liquids.ln_p, liquids.gamma_scale
        )
        return distil(mol[chunk], still, liquids, first, steps=STEPS, least_left=least_left[chunk])

    workers = max(1, min(os.cpu_count() or 1, len(rows) // _LEAST_ROWS))
    parts = in_parallel(part, np.array_split(np.arange(len(rows)), workers))
    return Batch.joined(parts)


def course_of(feed: Feed, batch: Batch, shift_K: Array, charged_kg: Array) -> Course:
    """What batches give as masses by ingredient, volumes and head temperatures, from moment to moment.

    `charged_kg`, (S, k), is what there was of each ingredient.
    """
    distilled = np.swapaxes(batch.distilled_mol, 0, 1)
    return Course(feed.by_ingredient_kg(distilled), feed.volume_m3(distilled), batch.head_K.T, shift_K, charged_kg)

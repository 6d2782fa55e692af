"""How far each source scatters, and how often it blunders, estimated where sources overlap.

Every voice is held out in turn and compared with what the others agree on
(`hold_out`). Its deviations are taken to come from two parts: a sound one,
Student's distribution whose scale is the voice's scatter, its rounding and the
others' own uncertainty together, and a blundering one, a Cauchy distribution
thirty of grade A's limits wide. The scatter of a voice is

    s(source, precision, company) × f(warmth),

in the property's unit or relative to the value. Scatter, warmth factor and
chance of a blunder are found by expectation maximisation (A. P. Dempster,
N. M. Laird, D. B. Rubin, J. R. Stat. Soc. B 39 (1977) 1-38; for Student's
distribution C. Liu and D. B. Rubin, Stat. Sin. 5 (1995) 19-39). A cell with few
comparisons is drawn towards its source's values over all cells. Since the
others' consensus depends on the scatters, the whole is done three times. No
cell scatters less than one of the same source in more company.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from .consensus import FREEDOM
from .hold_out import RELATIVE, hold_out
from .posterior import sound_and_blunder
from .voices import COMPANIES, GROUP, grade_limit

Array = NDArray[np.float64]
Groups = NDArray[np.int64]

ROUNDS = 3
ITERATIONS = 25
BLUNDER_WIDTH = 30.0
"""Width of the distribution of blunders, in units of grade A's limit."""
FIRST_SCATTER = 1.0
UNKNOWN_SCATTER = 2.0
"""Scatters at the start, and of a source that could not be compared, in units of grade A's limit."""
LEAST_SCATTER = 1.0 / 12.0
"""Smallest scatter that any voice is credited with, in units of grade A's limit: 0.04 K, as far as
temperature scales differ."""
FIRST_BLUNDER = 0.05
USUAL_BLUNDER = 0.03
BLUNDER_BOUNDS = (0.002, 0.5)
DRAWN_LIKE = 15.0
"""Number of comparisons at which a cell's own scatter weighs as much as its source's."""
BLUNDER_DRAWN_LIKE = 20.0
WARMTH_DRAWN_LIKE = 20.0

SOURCE = ["property", "source", "fitted"]
CELL = [*SOURCE, "precision", "company"]
WARMTH = ["property", "warmth"]


@dataclass(frozen=True)
class ErrorModel:
    """`cells` and `sources` (scatter, blunder, n_compared by CELL and SOURCE; relative where the property is),
    `warmth` (factor by property and warmth)."""

    cells: pd.DataFrame
    sources: pd.DataFrame
    warmth: pd.Series


def weigh(spoken: pd.DataFrame, model: ErrorModel | None) -> pd.DataFrame:
    """The voices with their standard uncertainty `u`, `blunder` probability and `blunder_width`; None: all alike."""
    limit = grade_limit(spoken)
    if model is None:
        scatter, blunder = FIRST_SCATTER * limit, pd.Series(FIRST_BLUNDER, index=spoken.index)
    else:
        unit = spoken["value"].abs().where(spoken["property"].map(RELATIVE).astype(bool), 1.0)
        cell, source = (
            known.reindex(pd.MultiIndex.from_frame(spoken[key])).set_axis(spoken.index)
            for known, key in ((model.cells, CELL), (model.sources, SOURCE))
        )
        warmth = model.warmth.reindex(pd.MultiIndex.from_frame(spoken[WARMTH])).fillna(1.0).to_numpy()
        known = cell["scatter"].fillna(source["scatter"]) * unit
        scatter = known.fillna(UNKNOWN_SCATTER * limit) * warmth
        blunder = cell["blunder"].fillna(source["blunder"]).fillna(FIRST_BLUNDER)
    scatter = scatter.clip(lower=LEAST_SCATTER * limit)
    u = np.hypot(scatter, spoken["step"] / np.sqrt(12.0))
    return spoken.assign(u=u, blunder=blunder, blunder_width=BLUNDER_WIDTH * limit)


def fit(spoken: pd.DataFrame) -> ErrorModel | None:
    """The error model of all voices; None where no two sources speak of one component."""
    shared = spoken[spoken.groupby(GROUP)["house"].transform("nunique") >= 2]
    model: ErrorModel | None = None
    if shared.empty:
        return model
    for _ in range(ROUNDS):
        held = hold_out(weigh(shared, model))
        if held.empty:
            return model
        model = _maximise(held)
    return model


def _maximise(held: pd.DataFrame) -> ErrorModel:
    limit = (grade_limit(held) / held["unit"]).to_numpy()
    deviations = _Deviations(held, _numbers(held, WARMTH))
    at_source, at_cell = _numbers(held, SOURCE), _numbers(held, CELL)
    first = FIRST_SCATTER * _first(limit, at_source)
    sources = deviations.maximise(at_source, first, np.full(len(first), USUAL_BLUNDER), LEAST_SCATTER * first)
    of_source = _first(at_source, at_cell)
    scatter, blunder, factor = sources
    cells = deviations.maximise(
        at_cell, scatter[of_source], blunder[of_source], LEAST_SCATTER * _first(limit, at_cell), factor
    )
    warmth_keys = held.drop_duplicates(WARMTH).sort_values(WARMTH)[WARMTH]
    return ErrorModel(
        _poorer_in_less_company(_frame(held, CELL, cells)),
        _frame(held, SOURCE, sources),
        pd.Series(cells[2], index=pd.MultiIndex.from_frame(warmth_keys)),
    )


def _first(values: NDArray[Any], group: Groups) -> NDArray[Any]:
    """The first value of each group."""
    return values[np.unique(group, return_index=True)[1]]


def _numbers(table: pd.DataFrame, key: list[str]) -> Groups:
    return np.asarray(table.groupby(key, sort=True).ngroup(), dtype=np.int64)


def _poorer_in_less_company(cells: pd.DataFrame) -> pd.DataFrame:
    """Cells whose scatter is no smaller where fewer voices speak.

    Where few speak, the others' own uncertainty hides the scatter; no table is
    better where fewer have looked.
    """
    wide = cells["scatter"].unstack("company").reindex(columns=list(reversed(COMPANIES)))
    least = pd.Series(wide.cummax(axis=1).stack())
    return cells.assign(scatter=least.reindex(cells.index))


def _frame(held: pd.DataFrame, key: list[str], found: tuple[Array, Array, Array]) -> pd.DataFrame:
    counted = held.groupby(key, sort=True).size().rename("n_compared")
    return counted.to_frame().assign(scatter=found[0], blunder=found[1])


class _Deviations:
    """Held-out deviations and everything known beside them, for expectation maximisation."""

    def __init__(self, held: pd.DataFrame, warmth: Groups) -> None:
        self.distance = (held["held_value"] - held["value"]).abs().to_numpy()
        self.unit = held["unit"].to_numpy()
        self.rounding = (held["step"] / np.sqrt(12.0)).to_numpy()
        self.others = held["u"].to_numpy()
        self.width = held["held_blunder_width"].to_numpy()
        self.warmth = warmth
        self.n_warmth = np.bincount(warmth)
        # Factors of one property balance to 1, weighted by the number of comparisons.
        self.property_of_warmth = _first(pd.factorize(held["property"])[0], warmth)

    def maximise(
        self,
        group: Groups,
        scatter: Array,
        blunder: Array,
        least: Array,
        factor: Array | None = None,
    ) -> tuple[Array, Array, Array]:
        """Scatter and blunder probability per group, and the warmth factors.

        Groups with few comparisons are drawn towards the values that they start from.
        """
        start, usual, n = scatter, blunder, np.bincount(group)
        factor = np.ones(len(self.n_warmth)) if factor is None else factor
        for _ in range(ITERATIONS):
            own = np.hypot(scatter[group] * factor[self.warmth] * self.unit, self.rounding)
            total = own + self.others  # scales of Cauchy distributions add
            sound, blundering = sound_and_blunder(self.distance, total, FREEDOM, blunder[group], self.width)
            share = expit(sound - blundering)
            z2 = (self.distance / total) ** 2
            # Expected square of the scaled deviation, with the weight that Student's distribution gives it.
            square = share * z2 * (FREEDOM + 1.0) / (FREEDOM + z2)
            factor = self._balanced(factor * _step(square, share, self.warmth, WARMTH_DRAWN_LIKE) ** 0.25)
            scatter = np.maximum(scatter * _step(square, share, group, 0.0) ** 0.5, least)
            blunder = np.clip(
                (np.bincount(group, 1.0 - share) + BLUNDER_DRAWN_LIKE * usual) / (n + BLUNDER_DRAWN_LIKE),
                *BLUNDER_BOUNDS,
            )
        weight = np.bincount(group, share)
        scatter = np.exp((weight * np.log(scatter) + DRAWN_LIKE * np.log(start)) / (weight + DRAWN_LIKE))
        return np.maximum(scatter, least), blunder, factor

    def _balanced(self, factor: Array) -> Array:
        total = np.bincount(self.property_of_warmth, np.log(factor) * self.n_warmth)
        mean = total / np.bincount(self.property_of_warmth, self.n_warmth)
        return np.asarray(factor / np.exp(mean[self.property_of_warmth]))


def _step(square: Array, share: Array, group: Groups, drawn_like: float) -> Array:
    """Ratio of found to expected mean square in each group, bounded so that the iteration stays calm."""
    found = np.bincount(group, square) + drawn_like
    expected = np.bincount(group, share) + drawn_like
    return np.clip(found / np.maximum(expected, 1e-9), 0.25, 4.0)


def source_model(model: ErrorModel | None) -> pd.DataFrame:
    """The model's cells as rows of the table `source_model`."""
    columns = [
        "property",
        "source",
        "speaks_by",
        "precision",
        "company",
        "n_compared",
        "scatter",
        "blunder_probability",
    ]
    if model is None:
        return pd.DataFrame(columns=columns)
    table = model.cells.reset_index().rename(columns={"blunder": "blunder_probability"})
    table["speaks_by"] = table["fitted"].map({True: "correlations", False: "values"})
    return table[columns]

"""Does a stated interval hold what it should? Held-out values test it, and widen it where it holds too little.

A voice that was held out (`hold_out`) should lie within

    sqrt(U95² + (t u)²)

of what the others agree on in 95 of 100 cases: U95 is theirs, u the held-out
voice's own standard uncertainty (scatter and rounding), and t the 95 % quantile
of the distribution of sound values, so that t u is its own 95 % interval. Each
case counts with the probability that the held-out value is sound: a blunder of
its own source is no test of the others' interval. Blunders are counted.

Intervals of one property that rest on as many sources and are about as wide
form a band. Where fewer than 92.5 % of a band's held-out values lie inside, its
intervals are widened by the factor with which 92.5 % do: between 92 and 98 %
the stated 95 % is held to be true, and an interval is never narrowed. Widening
moves intervals from one band to the next, so it is done until every band holds
enough, at most six times. The coverage that is reported is measured crosswise:
the factors of one half of the components on the cases of the other.
"""

from __future__ import annotations

from collections.abc import Callable
from zlib import crc32

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import t as student

from cutpoint.schema.properties import PROPERTIES

from .consensus import FREEDOM, regrade
from .hold_out import RELATIVE

LEAST_COVERAGE = 0.925
LEAST_COMPARED = 40
"""Held-out values that it takes to know a band's coverage."""
MOST_SOURCES = 3
LARGEST_FACTOR = 5.0
"""A larger factor would say that the error model itself is wrong."""
ROUNDS = 6
OWN_INTERVAL = float(student.ppf(0.975, FREEDOM))
"""95 % quantile of a sound value's distribution, in its standard uncertainty."""

_BOUNDS = {
    name: (a, (a * b) ** 0.5, b, (b * c) ** 0.5, c)
    for name, (a, b, c) in ((name, entry.grade_limits) for name, entry in PROPERTIES.items())
}
"""Bounds between bands: the grades' limits, and the geometric middles between them."""

Widening = list[pd.Series]
"""Factors on U95 by property and band, one series a round; a band that is not named stays as it is."""


Widened = Callable[[pd.DataFrame], pd.DataFrame]
"""`widened` with its rounds given."""


def widening(held: pd.DataFrame) -> Widening:
    """The factors that the held-out values ask for."""
    rounds: Widening = []
    for _ in range(ROUNDS):
        factors = _factors(widened(held, rounds))
        if factors.empty:
            break
        rounds.append(factors)
    return rounds


def widened(values: pd.DataFrame, rounds: Widening) -> pd.DataFrame:
    """Values (property, value, u95, n_sources) with wider uncertainties and the grades that these deserve."""
    for factors in rounds:
        keys = pd.MultiIndex.from_arrays([values["property"], _band(values)])
        values = values.assign(u95=values["u95"] * factors.reindex(keys).fillna(1.0).to_numpy())
    return regrade(values)


def crosswise(held: pd.DataFrame) -> pd.DataFrame:
    """Held-out cases with uncertainties widened by what the other half of the components asked for.

    So no case tests a factor that it helped to choose.
    """
    half = held["cas"].map(lambda cas: crc32(cas.encode()) % 2)
    parts = [widened(held[half == this], widening(held[half != this])) for this in (0, 1)]
    return pd.concat([part for part in parts if not part.empty] or parts[:1], ignore_index=True)


def coverage(held: pd.DataFrame) -> pd.DataFrame:
    """The table `calibration`: per property and grade how many were held out, blunders, and the fraction inside."""
    inside = held["sound"].where(_inside(held), 0.0)
    table = held.assign(inside=inside, blunder=1.0 - held["sound"])
    sums = table.groupby(["property", "grade"], sort=True)[["sound", "inside", "blunder"]].sum().reset_index()
    return pd.DataFrame(
        {
            "property": sums["property"],
            "grade": sums["grade"],
            "n_held_out": sums["sound"].round().astype(np.int64),
            "n_blunders": sums["blunder"].round().astype(np.int64),
            "coverage": sums["inside"] / sums["sound"],
        }
    )


def _band(values: pd.DataFrame) -> pd.Series:
    """Name of the band: number of sources, and how many bounds lie below the uncertainty."""
    relative = values["property"].map(RELATIVE).astype(bool)
    width = values["u95"] / values["value"].abs().where(relative, 1.0)
    bounds = np.array([_BOUNDS[name] for name in values["property"]]).reshape(-1, 5)
    wide = (width.to_numpy()[:, np.newaxis] > bounds).sum(axis=1)
    return values["n_sources"].clip(upper=MOST_SOURCES).astype(str) + "." + wide.astype(str)


def _inside(held: pd.DataFrame) -> NDArray[np.bool_]:
    distance = (held["held_value"] - held["value"]).abs()
    return (distance <= np.hypot(held["u95"], OWN_INTERVAL * held["held_u"])).to_numpy()


def _factors(held: pd.DataFrame) -> pd.Series:
    """Factor by (property, band) of the bands that hold too little."""
    distance = held["held_value"] - held["value"]
    beyond_own = np.sqrt((distance**2 - (OWN_INTERVAL * held["held_u"]) ** 2).clip(lower=0.0))
    table = held.assign(band=_band(held), needed=beyond_own / held["u95"], inside=held["sound"].where(_inside(held), 0))
    sums = table.groupby(["property", "band"])[["sound", "inside"]].sum()
    poor = sums[(sums["sound"] >= LEAST_COMPARED) & (sums["inside"] < LEAST_COVERAGE * sums["sound"])]
    ordered = table.sort_values("needed", kind="stable").groupby(["property", "band"])
    found = {key: _quantile(ordered.get_group(key)) for key in poor.index}
    factors = pd.Series(found, index=poor.index, dtype=np.float64)
    return factors.clip(1.0, LARGEST_FACTOR)


def _quantile(ordered: pd.DataFrame) -> float:
    """The factor that is enough for `LEAST_COVERAGE` of the cases, each weighing as likely as it is sound."""
    share = (ordered["sound"].cumsum() / ordered["sound"].sum()).to_numpy()
    return float(ordered["needed"].iloc[np.searchsorted(share, LEAST_COVERAGE)])

"""A weak witness: the normal boiling point that the structure alone leads one to expect.

The model is the Gaussian process of `gaussian_process` on the structure's
`descriptors`, trained on the boiling points on which at least two sources agree
(grade A or B).

No component's estimate comes from a model that saw its value: the training set
is cut into `FOLDS` parts, molecules of one connectivity (stereoisomers,
labelled ones) staying together, and each part is predicted by the others.

The expanded uncertainty is read off those held-out residuals: their 95 %
quantile as a function of the model's own standard deviation, then a factor for
the chemical class. The residual holds the errors of the tables, too.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple
from zlib import crc32

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from rdkit import Chem
from threadpoolctl import threadpool_limits

from .descriptors import CHEMICAL_CLASSES, chemical_class, connectivity, describe, is_organic
from .gaussian_process import Forecast, predict, train
from .group_counts import boiling_point_K, count_groups
from .structure import silence

Array = NDArray[np.float64]

FOLDS = 5
NO_FOLD = -1
WORKERS = 2
"""Parts at work at a time; each holds a matrix of up to 300 MB."""
TRAINED_GRADES = ("A", "B")
TRAINED_RANGE_K = (150.0, 750.0)
LEAST_SOURCES = 2
LEAST_TRAINED = 300
"""With fewer components to learn from there is no estimate."""

COVERAGE = 0.95
DEVIATION_BINS = 12
LEAST_OF_CLASS = 100
"""A class with fewer held-out residuals has no uncertainty factor of its own."""

ALL = "all"
DECIMALS = 2

_COLUMNS = {
    "cas": str,
    "value": float,
    "u95": float,
    "chemical_class": str,
    "additive_value": float,
    "trained": bool,
}
_ERROR_COLUMNS = (
    "chemical_class",
    "n",
    "median_abs_error_K",
    "p90_abs_error_K",
    "coverage_u95",
    "additive_coverage",
    "additive_median_abs_error_K",
    "median_abs_error_where_additive_K",
)


@dataclass(frozen=True)
class Estimates:
    """What structures say.

    `boiling_points`: cas, value (K), u95 (K), chemical_class, additive_value
    (K; NaN where the groups do not cover the molecule), trained (whether the
    component's value took part in training; its own estimate never saw it).

    `errors`: over the training set, held out, per chemical class and for
    `all`: n, median_abs_error_K, p90_abs_error_K, coverage_u95 (fraction inside
    an uncertainty that was calibrated without them), additive_coverage (fraction
    that the additive method covers), and on those covered
    additive_median_abs_error_K beside median_abs_error_where_additive_K.
    """

    boiling_points: pd.DataFrame
    errors: pd.DataFrame


class _Structure(NamedTuple):
    """What one structure tells of itself."""

    chemical_class: str
    connectivity: str
    additive_K: float
    descriptors: Array


def estimate(components: pd.DataFrame, values: pd.DataFrame) -> Estimates:
    """Estimate the normal boiling point of every organic component that has one to compare with.

    `components` needs cas, smiles and kind; `values` cas, value (K), u95 (K),
    n_sources and grade of the consensus. Components without a readable
    structure, streams, salts, radicals and compounds without carbon or with a
    metal get no row. The outcome does not depend on the order of the rows, nor
    on the number of threads.
    """
    table, features = _structures(components, values)
    trained = _is_trained(table)
    if trained.sum() < LEAST_TRAINED:
        return Estimates(
            _boiling_points(table.iloc[:0].assign(trained=False)), pd.DataFrame(columns=list(_ERROR_COLUMNS))
        )
    fold = _folds(table["connectivity"], trained)
    forecast = _forecasts(features, table, trained, fold)
    table = table.assign(
        trained=trained,
        fold=fold,
        estimate=forecast.mean_K,
        deviation=forecast.deviation_K,
        residual=np.abs(forecast.mean_K - table["value"].to_numpy()),
    )
    table["expanded"] = _expanded(table[trained], table)
    return Estimates(_boiling_points(table), _errors(table[trained]))


def _structures(components: pd.DataFrame, values: pd.DataFrame) -> tuple[pd.DataFrame, Array]:
    """Organic components with a value, by CAS number, with what their structures tell, and their descriptors."""
    silence()
    pure = components.loc[(components["kind"] == "pure") & components["smiles"].notna(), ["cas", "smiles"]]
    columns = ["cas", "value", "u95", "n_sources", "grade"]
    table = pure.merge(values[columns], on="cas").sort_values("cas", ignore_index=True)
    read = [_read(smiles) for smiles in table["smiles"]]
    organic = [structure for structure in read if structure is not None]
    table = table[np.array([structure is not None for structure in read], dtype=bool)].reset_index(drop=True)
    table["chemical_class"] = pd.Series([structure.chemical_class for structure in organic], dtype=str)
    table["connectivity"] = pd.Series([structure.connectivity for structure in organic], dtype=str)
    table["additive"] = pd.Series([structure.additive_K for structure in organic], dtype=float)
    return table, np.array([structure.descriptors for structure in organic])


def _read(smiles: str) -> _Structure | None:
    """What a structure tells; None if it cannot be read or is not organic.

    The molecule itself is let go: RDKit keeps much beside it.
    """
    molecule = Chem.MolFromSmiles(smiles)
    if molecule is None or not is_organic(molecule):
        return None
    counts = count_groups(molecule)
    additive_K = np.nan if counts is None else boiling_point_K(counts)
    return _Structure(chemical_class(molecule), connectivity(molecule), additive_K, describe(molecule))


def _is_trained(table: pd.DataFrame) -> NDArray[np.bool_]:
    agreed = table["grade"].isin(TRAINED_GRADES) & (table["n_sources"] >= LEAST_SOURCES)
    return (agreed & table["value"].between(*TRAINED_RANGE_K)).to_numpy(dtype=bool)


def _folds(keys: pd.Series, trained: NDArray[np.bool_]) -> NDArray[np.int64]:
    """The part of the training set that must not speak for a component; `NO_FOLD` if its connectivity is in none.

    It follows from the connectivity alone, whatever the other components.
    """
    fold = np.array([crc32(key.encode()) % FOLDS for key in keys], dtype=np.int64)
    return np.where(keys.isin(keys[trained]), fold, NO_FOLD)


def _forecasts(features: Array, table: pd.DataFrame, trained: NDArray[np.bool_], fold: NDArray[np.int64]) -> Forecast:
    """Each component's forecast by the training set without the component's own part."""
    T_b_K, u_K = table["value"].to_numpy(dtype=np.float64), table["u95"].to_numpy(dtype=np.float64) / 2.0
    mean_K, deviation_K = np.full(len(table), np.nan), np.full(len(table), np.nan)

    def ask(part: int) -> None:
        learn, asked = trained & (fold != part), fold == part
        model = train(features[learn], T_b_K[learn], u_K[learn])
        mean_K[asked], deviation_K[asked] = predict(model, features[asked])

    # One thread in each linear algebra routine, so that sums are always formed in one order.
    with threadpool_limits(limits=1, user_api="blas"), ThreadPoolExecutor(WORKERS) as pool:
        list(pool.map(ask, (NO_FOLD, *range(FOLDS))))
    return Forecast(mean_K, deviation_K)


def _expanded(known: pd.DataFrame, asked: pd.DataFrame) -> Array:
    """Half width that holds `COVERAGE` of the held-out residuals of components like each one asked for, K."""
    ratio = known["residual"] / _by_deviation(known, known["deviation"])
    grouped = ratio.groupby(known["chemical_class"])
    factor = grouped.quantile(COVERAGE)[grouped.size() >= LEAST_OF_CLASS]
    common = float(ratio.quantile(COVERAGE))
    own = asked["chemical_class"].map(factor).astype(float).fillna(common).to_numpy()
    return own * _by_deviation(known, asked["deviation"])


def _by_deviation(known: pd.DataFrame, deviation_K: pd.Series) -> Array:
    """The quantile of the residuals at a model deviation: straight lines through bins of equal size, K.

    It never falls; beyond the outer bins it stays in proportion to the deviation.
    """
    bins = pd.qcut(known["deviation"].rank(method="first"), DEVIATION_BINS, labels=False)
    typical = known["deviation"].groupby(bins).median().to_numpy()
    quantile = np.maximum.accumulate(known["residual"].groupby(bins).quantile(COVERAGE).to_numpy())
    inside = np.interp(deviation_K, typical, quantile)
    return np.asarray(inside * np.maximum(1.0, deviation_K.to_numpy() / typical[-1]))


def _boiling_points(table: pd.DataFrame) -> pd.DataFrame:
    named = {"estimate": "value", "expanded": "u95", "additive": "additive_value"}
    frame = table.drop(columns=["value", "u95"]).rename(columns=named).reindex(columns=list(_COLUMNS))
    return frame.round(dict.fromkeys(("value", "u95", "additive_value"), DECIMALS)).astype(_COLUMNS)


def _errors(known: pd.DataFrame) -> pd.DataFrame:
    inside = pd.Series(False, index=known.index)
    for part in range(FOLDS):
        asked = known[known["fold"] == part]
        inside[asked.index] = asked["residual"] <= _expanded(known[known["fold"] != part], asked)
    known = known.assign(inside=inside, additive_residual=(known["additive"] - known["value"]).abs())
    present = [name for name in CHEMICAL_CLASSES if (known["chemical_class"] == name).any()]
    parts = [(ALL, known), *((name, known[known["chemical_class"] == name]) for name in present)]
    return pd.DataFrame([_error_row(name, part) for name, part in parts])


def _error_row(name: str, part: pd.DataFrame) -> dict[str, str | int | float]:
    covered = part["additive"].notna()
    return {
        "chemical_class": name,
        "n": len(part),
        "median_abs_error_K": float(part["residual"].median()),
        "p90_abs_error_K": float(part["residual"].quantile(0.9)),
        "coverage_u95": float(part["inside"].mean()),
        "additive_coverage": float(covered.mean()),
        "additive_median_abs_error_K": float(part["additive_residual"].median()),
        "median_abs_error_where_additive_K": float(part.loc[covered, "residual"].median()),
    }

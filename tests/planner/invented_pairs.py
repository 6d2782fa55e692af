"""Boiling-point diagrams to be drawn in tests: invented figures of the six shapes that pairs of liquids have.

Vapour pressures by Trouton's rule, activity coefficients by the equation of
Margules with two parameters, an ideal vapour; names lend only their length.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutpoint.db.diagram_results import MeasuredPoint, PairDiagram
from cutpoint.db.results import Azeotrope

Array = NDArray[np.float64]

ATMOSPHERE_PA = 101_325.0
STEEPNESS = 10.5
"""Entropy of vaporisation at the normal boiling point over R, about 88 J/(mol K) (Trouton's rule)."""
GRID = np.linspace(0.0, 1.0, 201)
MOLAR_MASSES_G_MOL = (86.2, 88.1)
SOURCE = "Invented, Tables for Tests (2020), table 1"


def _gammas(x: Array, a12: float, a21: float) -> tuple[Array, Array]:
    """Activity coefficients of a and b (M. Margules, Sitzungsber. Akad. Wiss. Wien 104 (1895) 1243-1278)."""
    one = (1.0 - x) ** 2 * (a12 + 2.0 * (a21 - a12) * x)
    other = x**2 * (a21 + 2.0 * (a12 - a21) * (1.0 - x))
    return np.exp(one), np.exp(other)


def _pressure(T_K: Array, boiling_K: float) -> Array:
    return np.exp(STEEPNESS * (1.0 - boiling_K / T_K))


def _boiled(x: Array, boiling_K: tuple[float, float], a12: float, a21: float) -> tuple[Array, Array]:
    """Bubble temperature and vapour of each liquid, by bisection."""
    gamma_a, gamma_b = _gammas(x, a12, a21)
    low_K, high_K = np.full(x.shape, 200.0), np.full(x.shape, 600.0)
    for _ in range(60):
        T_K = 0.5 * (low_K + high_K)
        partial_a = x * gamma_a * _pressure(T_K, boiling_K[0])
        total = partial_a + (1.0 - x) * gamma_b * _pressure(T_K, boiling_K[1])
        low_K, high_K = np.where(total < 1.0, T_K, low_K), np.where(total < 1.0, high_K, T_K)
    return T_K, partial_a / total


def _two_liquids(a: float) -> tuple[float, float]:
    """The two liquids of a symmetrical mixture, ln((1 - x)/x) = a (1 - 2 x), by fixed-point iteration."""
    x = 1e-3
    for _ in range(500):
        x = 1.0 / (1.0 + np.exp(a * (1.0 - 2.0 * x)))
    return x, 1.0 - x


def diagram(
    names: tuple[str, str],
    boiling_K: tuple[float, float],
    margules: tuple[float, float] = (0.0, 0.0),
    *,
    is_split: bool = False,
    measured: tuple[MeasuredPoint, ...] = (),
    u95_K: float = 0.6,
    model: str = "modified UNIFAC (Dortmund)",
) -> PairDiagram:
    """A diagram with its azeotropes, where the vapour is the liquid, or where two liquids boil together."""
    T_K, y = _boiled(GRID, boiling_K, *margules)
    liquids = None
    if is_split:
        liquids = _two_liquids(margules[0])
        inside = (liquids[0] < GRID) & (liquids[1] > GRID)
        (flat_K, _), (flat_y, _) = _boiled(np.array(liquids), boiling_K, *margules)
        T_K, y = np.where(inside, flat_K, T_K), np.where(inside, flat_y, y)
        azeotropes = [_azeotrope("heterogeneous", float(flat_y), float(flat_K))]
    else:
        richer = np.sign((y - GRID)[1:-1])
        places = np.flatnonzero(richer[:-1] * richer[1:] < 0.0) + 1
        kinds = ["minimum" if richer[place - 1] > 0.0 else "maximum" for place in places]
        azeotropes = [
            _azeotrope(kind, float(GRID[place]), float(T_K[place])) for kind, place in zip(kinds, places, strict=True)
        ]
    spread = u95_K * (0.3 + GRID * (1.0 - GRID) * 4.0)
    return PairDiagram(
        {"cas": "1-11-1", "name": names[0]}, {"cas": "2-22-2", "name": names[1]}, ATMOSPHERE_PA, tuple(GRID.tolist()),
        tuple(T_K.tolist()), tuple(y.tolist()), tuple(spread.tolist()), liquids, tuple(azeotropes), measured, model,
    )  # fmt: skip


def _azeotrope(kind: str, x: float, T_K: float) -> Azeotrope:
    mass_a, mass_b = MOLAR_MASSES_G_MOL
    w = x * mass_a / (x * mass_a + (1.0 - x) * mass_b)
    return Azeotrope("predicted", kind, T_K, w, x, "modified UNIFAC (Dortmund)", ATMOSPHERE_PA)


DIAGRAMS = {
    "ideal": diagram(("2,2,4-trimethylpentane", "tetrahydrofuran"), (372.4, 339.1), model="Raoult's law"),
    "minimum": diagram(
        ("hexane", "ethyl acetate"), (341.9, 350.3), (1.1, 0.9),
        measured=(MeasuredPoint(0.66, 338.3, "minimum", SOURCE), MeasuredPoint(0.63, 338.1, "minimum", SOURCE)),
    ),
    "maximum": diagram(("propan-2-one", "trichloromethane"), (329.2, 334.3), (-0.9, -0.7)),
    "heterogeneous": diagram(
        ("butan-1-ol", "water"), (390.8, 373.15), (3.0, 3.0), is_split=True,
        measured=(MeasuredPoint(0.31, 351.0, "heterogeneous", SOURCE),),
    ),
    "close-boiling": diagram(("3-methylpentane", "2-methylpentane"), (336.40, 336.28), (0.001, 0.001), u95_K=0.2),
    "double": diagram(("benzene", "hexafluorobenzene"), (353.2, 353.4), (0.5, -0.5)),
}  # fmt: skip

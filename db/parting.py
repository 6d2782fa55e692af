"""How well distillation parts pairs: relative volatility over the whole composition, azeotropes, plates, in arrays.

The number of theoretical plates at total reflux is Fenske's with the varying
volatility integrated over what the column spans,

    N = ∫ d ln(x/(1-x)) / ln α(x),

which is M. R. Fenske's formula (Ind. Eng. Chem. 24 (1932) 482-485) where α is
constant. The equivalent difference says the same in kelvins: how far apart two
liquids that mix ideally would have to boil to need as many plates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .azeotropes import SCAN
from .pair_equilibrium import Boiling, Pairs, boil
from .two_liquids import Split, split_at_boiling

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

MODEL_U95 = 0.35
"""Expanded uncertainty of ln(γ_a/γ_b) over |ln γ_a| + |ln γ_b|: at the compositions of 43 of the 45 measured
homogeneous azeotropes that can be predicted, where ln α should be 0, it is smaller with that of the curves
(`tests/published/test_azeotropes.py`). What the measurements are off by is in it too."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(20)
MIDDLE = int(np.flatnonzero(SCAN == 0.5)[0])


@dataclass(frozen=True)
class Span:
    """Plates over the span of the purities: as computed, and at either end of the uncertainty; inf where never."""

    plates: Array
    plates_least: Array
    plates_most: Array


@dataclass(frozen=True)
class Parting:
    """What the model says of P pairs.

    `boiling` and `ln_alpha_u95` are on the grid `SCAN`, the boiling liquid
    being split in two where it is unstable (then `ln_alpha` is that of the
    whole). `K_per_ln_alpha` turns a logarithm of a relative volatility into the
    difference of boiling points of an ideal pair. `surely_azeotropic`: a is the
    more volatile at some composition and b at another, both beyond the uncertainty.
    """

    boiling: Boiling
    split: Split
    ln_alpha: Array
    ln_alpha_u95: Array
    span: Span
    K_per_ln_alpha: Array
    surely_azeotropic: Bools


def part(pairs: Pairs, purity_a: float, purity_b: float) -> Parting:
    """Bubble points, azeotropes and plates of every pair; purities are mole fractions of the two products."""
    low, high = np.log((1.0 - purity_b) / purity_b), np.log(purity_a / (1.0 - purity_a))
    nodes = 1.0 / (1.0 + np.exp(-(0.5 * (high - low) * _NODES + 0.5 * (high + low))))
    x = np.broadcast_to(np.concatenate([SCAN, nodes]), (len(pairs), len(SCAN) + len(nodes)))
    boiling = boil(pairs, x)
    scan = boiling.first(len(SCAN))
    split = split_at_boiling(pairs, scan)
    ln_alpha = of_the_whole(boiling, split)
    u95 = _u95(pairs, boiling)
    span = _span(ln_alpha[:, len(SCAN) :], u95[:, len(SCAN) :], 0.5 * (high - low) * _WEIGHTS)
    on_scan, on_scan_u95 = ln_alpha[:, : len(SCAN)], u95[:, : len(SCAN)]
    with np.errstate(invalid="ignore"):
        both_ways = (on_scan > on_scan_u95).any(axis=1) & (on_scan < -on_scan_u95).any(axis=1)
    K_per_ln_alpha = 2.0 / pairs.slopes(scan.T_K[:, MIDDLE : MIDDLE + 1]).sum(axis=0)[:, 0]
    return Parting(scan, split, on_scan, on_scan_u95, span, K_per_ln_alpha, np.asarray(both_ways))


def of_the_whole(boiling: Boiling, split: Split) -> Array:
    """ln α of the liquid as a whole, where it boils as two liquids of which neither is its own composition."""
    x, y = boiling.x, split.y[:, None]
    torn = (x > split.x_lean[:, None]) & (x < split.x_rich[:, None])
    if not torn.any():
        return boiling.ln_alpha
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(torn, np.log(y / (1.0 - y)) - np.log(x / (1.0 - x)), boiling.ln_alpha)


def _u95(pairs: Pairs, boiling: Boiling) -> Array:
    """Expanded uncertainty of ln α: of both vapour pressures and of the model, as root sum of squares (GUM, 5.1.2)."""
    of_curves = np.hypot(*pairs.relative_u95(boiling.ln_p))
    return np.hypot(of_curves, MODEL_U95 * boiling.non_ideality)


def _span(ln_alpha: Array, u95: Array, weights: Array) -> Span:
    """Plates from ln α and its uncertainty at the nodes of the quadrature; NaN where a curve does not carry."""

    def plates(force: Array) -> Array:
        with np.errstate(divide="ignore", invalid="ignore"):
            total = (weights / force).sum(axis=1)
        return np.where(np.isnan(force).any(axis=1), np.nan, np.where((force > 0.0).all(axis=1), total, np.inf))

    with np.errstate(invalid="ignore"):
        sign = np.where(ln_alpha.mean(axis=1, keepdims=True) < 0.0, -1.0, 1.0)
    force = sign * ln_alpha
    return Span(plates(force), plates(force + u95), plates(force - u95))

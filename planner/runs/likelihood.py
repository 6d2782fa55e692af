"""How well curves explain readings, each with the offset that suits it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

READING_U_K = 0.5
"""Standard uncertainty of one reading of a bench thermometer; common practice, no source."""
VOLUME_U_M3 = 1e-6
"""Standard uncertainty of a volume read from a cylinder and of what hangs in the condenser; common practice."""
THERMOMETER_U_K = 1.0
"""Standard uncertainty of a bench thermometer's zero; common practice, no source."""
MOST_INDEPENDENT = 20.0
"""Readings next to each other share the curve's error: all together count for no more than so many."""
MOST_READINGS = 150
"""More are thinned: medians of neighbours stand for them."""
DEGREES_OF_FREEDOM = 4.0
"""Of Student's t: tails that let one reading in a hundred be quite wrong."""
_ROUNDS = 30


@dataclass(frozen=True)
class Readings:
    """Volumes distilled, m3, and readings with the known correction added, K: (n,) each."""

    volume_m3: Array
    reading_K: Array


@dataclass(frozen=True)
class Explained:
    """S curves held against n readings.

    `residual_K` is reading minus curve, (S, n); `precision`, (S, n), what each
    reading weighs, outliers less, 1/K2; `shift_K`, (S,), the common shift that
    suits a curve best, with its variance; `log_posterior`, (S,), is -inf where
    there is no curve. `offset_share` is the thermometer's part of the shift.
    """

    residual_K: Array
    precision: Array
    shift_K: Array
    shift_variance_K2: Array
    log_posterior: Array
    shift_prior_variance_K2: float
    offset_share: float

    @staticmethod
    def joined(parts: Sequence[Explained]) -> Explained:
        """All parts as one."""
        arrays = ("residual_K", "precision", "shift_K", "shift_variance_K2", "log_posterior")
        joined = {name: np.concatenate([getattr(part, name) for part in parts]) for name in arrays}
        return Explained(
            **joined,
            shift_prior_variance_K2=parts[0].shift_prior_variance_K2,
            offset_share=parts[0].offset_share,
        )


def thinned(noted: Readings) -> Readings:
    """At most `MOST_READINGS`, in the order of the volume."""
    order = np.argsort(noted.volume_m3, kind="stable")
    volume, reading = noted.volume_m3[order], noted.reading_K[order]
    if len(order) <= MOST_READINGS:
        return Readings(volume, reading)
    parts = np.array_split(np.arange(len(order)), MOST_READINGS)
    return Readings(
        np.array([volume[part].mean() for part in parts]), np.array([np.median(reading[part]) for part in parts])
    )


def at_volumes(curve_volume_m3: Array, values: Array, volume_m3: Array) -> Array:
    """Curves, (S, V), at volumes, (n,): (S, n). Beyond its ends a curve keeps its last value."""
    return np.stack([np.interp(volume_m3, v, y) for v, y in zip(curve_volume_m3, values, strict=True)])


def reading_u_K(slope_K_m3: Array, curve_u_K: float) -> Array:
    """Standard uncertainty of a reading against a curve of this slope: of both axes, and of the curve."""
    return np.sqrt(READING_U_K**2 + curve_u_K**2 + (slope_K_m3 * VOLUME_U_M3) ** 2)


def slopes(curve_volume_m3: Array, head_K: Array, volume_m3: Array) -> Array:
    """Slopes of curves, (S, V), around volumes, (n,), over the uncertainty of a volume: (S, n), K/m3."""
    after, before = (at_volumes(curve_volume_m3, head_K, volume_m3 + step) for step in (VOLUME_U_M3, -VOLUME_U_M3))
    return (after - before) / (2.0 * VOLUME_U_M3)


def explain(curve_volume_m3: Array, head_K: Array, curve_u_K: float, noted: Readings) -> Explained:
    """Hold readings against curves, (S, V), whose standard uncertainty is `curve_u_K`."""
    known = np.asarray(np.isfinite(head_K + curve_volume_m3).all(axis=1))
    head_K = np.where(known[:, None], head_K, 0.0)
    curve_volume_m3 = np.where(known[:, None], curve_volume_m3, np.linspace(0.0, 1.0, head_K.shape[1]))
    sigma = reading_u_K(slopes(curve_volume_m3, head_K, noted.volume_m3), curve_u_K)
    residual = noted.reading_K - at_volumes(curve_volume_m3, head_K, noted.volume_m3)
    share = min(1.0, MOST_INDEPENDENT / residual.shape[1])
    prior_variance = THERMOMETER_U_K**2 + curve_u_K**2
    shift, precision = _shift(residual, share / sigma**2, sigma, prior_variance)
    z2 = ((residual - shift[:, None]) / sigma) ** 2
    nu = DEGREES_OF_FREEDOM
    log_likelihood = share * (-np.log(sigma) - 0.5 * (nu + 1.0) * np.log1p(z2 / nu)).sum(axis=1)
    variance = 1.0 / (precision.sum(axis=1) + 1.0 / prior_variance)
    # Laplace's approximation to the integral over the shift.
    log_posterior = log_likelihood - 0.5 * shift**2 / prior_variance + 0.5 * np.log(variance)
    return Explained(
        residual, precision, shift, variance, np.where(known, log_posterior, -np.inf), prior_variance,
        THERMOMETER_U_K**2 / prior_variance,
    )  # fmt: skip


def _shift(residual: Array, weight: Array, sigma: Array, prior_variance: float) -> tuple[Array, Array]:
    """The likeliest shift of each curve, (S,), and the weights of its readings, (S, n), by reweighted least squares."""
    shift = np.median(residual, axis=1)
    for _ in range(_ROUNDS):
        precision = weight * _believed(residual - shift[:, None], sigma)
        shift = (precision * residual).sum(axis=1) / (precision.sum(axis=1) + 1.0 / prior_variance)
    return shift, weight * _believed(residual - shift[:, None], sigma)


def _believed(deviation: Array, sigma: Array) -> Array:
    """What Student's t leaves of a reading's weight: less the further off it is."""
    return (DEGREES_OF_FREEDOM + 1.0) / (DEGREES_OF_FREEDOM + (deviation / sigma) ** 2)

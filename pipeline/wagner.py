"""One Wagner curve through all sound correlations of a component, its boiling point and its critical point.

With T_r = T/T_c and τ = 1 - T_r the form (D. Ambrose, J. Chem. Thermodyn. 18
(1986) 45-51)

    T_r ln(p/p_c) = A τ + B τ^1.5 + C τ^2.5 + D τ^5

is linear in its coefficients and ends in the critical point by itself. They
are the maximum a posteriori estimate: each correlation, sampled inside its own
range, weighs by its source's scatter; the boiling point by its uncertainty;
and where all of them are silent the coefficients stay near those of the
corresponding-states method of D. Ambrose and J. Walton, Pure Appl. Chem. 61
(1989) 1395-1403, doi:10.1351/pac198961081395, with the acentric factor that
gives the component's boiling point.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutpoint.schema.properties import ATMOSPHERE_PA

from .voices import ROBUST_SIGMA

Array = NDArray[np.float64]

EXPONENTS = np.array([1.0, 1.5, 2.5, 5.0])

AMBROSE_WALTON = np.array(
    [
        [-5.97616, 1.29874, -0.60394, -1.06841],
        [-5.03365, 1.11505, -5.41217, -7.46628],
        [-0.64771, 2.41539, -4.26979, 3.25259],
    ]
)
"""Coefficients of f0, f1 and f2 of the method; rows multiply 1, ω and ω²."""


def terms(T_r: Array) -> Array:
    """Powers of τ; shape (..., 4)."""
    return (1.0 - T_r)[..., np.newaxis] ** EXPONENTS


def acentric_factor_from_boiling_point(T_b_K: Array, T_c_K: Array, p_c_Pa: Array) -> Array:
    """Acentric factor with which the method boils at T_b_K at one atmosphere; NaN where none does."""
    T_r = T_b_K / T_c_K
    zero, one, two = np.moveaxis(terms(T_r) @ AMBROSE_WALTON.T, -1, 0)
    zero = zero - T_r * np.log(ATMOSPHERE_PA / p_c_Pa)
    with np.errstate(invalid="ignore"):
        root = np.sqrt(one**2 - 4.0 * two * zero)
    return (-one - root) / (2.0 * two)


def corresponding_states(omega: Array) -> Array:
    """Coefficients of the method for acentric factors; shape (..., 4)."""
    return np.stack([np.ones_like(omega), omega, omega**2], axis=-1) @ AMBROSE_WALTON


def departures(coefficients: Array, corresponding: Array) -> tuple[Array, Array]:
    """Mean and covariance (4, 4) of published coefficients about the corresponding-states ones.

    Each coefficient's departures are clipped at five robust standard
    deviations first, so that no single misfit widens the prior.
    """
    difference = coefficients - corresponding
    centre = np.median(difference, axis=0)
    spread = ROBUST_SIGMA * np.median(np.abs(difference - centre), axis=0)
    clipped = np.clip(difference, centre - 5.0 * spread, centre + 5.0 * spread)
    return np.mean(clipped, axis=0), np.cov(clipped, rowvar=False)


def normal_equations(group: NDArray[np.int64], n_groups: int, T_r: Array, y: Array, u_y: Array) -> tuple[Array, Array]:
    """Sums of xᵀx/u² (n_groups, 4, 4) and xᵀy/u² (n_groups, 4) over the points of each group."""
    x = terms(T_r) / u_y[:, np.newaxis]
    matrix = np.zeros((n_groups, 4, 4))
    right = np.zeros((n_groups, 4))
    np.add.at(matrix, group, x[:, :, np.newaxis] * x[:, np.newaxis, :])
    np.add.at(right, group, x * (y / u_y)[:, np.newaxis])
    return matrix, right


def posterior(matrix: Array, right: Array, prior_mean: Array, prior_covariance: Array) -> Array:
    """Coefficients (n, 4) from the normal equations and the prior."""
    precision = np.linalg.inv(prior_covariance)
    covariance = np.linalg.inv(matrix + precision)
    return np.einsum("nij,nj->ni", covariance, right + prior_mean @ precision)

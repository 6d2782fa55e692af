"""The Wagner form, and the curves of corresponding states.

With T_r = T/T_c and τ = 1 - T_r the form (D. Ambrose, J. Chem. Thermodyn. 18
(1986) 45-51)

    T_r ln(p/p_c) = A τ + B τ^1.5 + C τ^2.5 + D τ^5

is linear in its coefficients and ends in the critical point by itself.

D. Ambrose and J. Walton, Pure Appl. Chem. 61 (1989) 1395-1403,
doi:10.1351/pac198961081395, give the coefficients as quadratic functions of the
acentric factor. Taking the one that boils at the evaluated normal boiling point
needs no more than T_b, T_c and p_c.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cutpoint.schema.equations import WIDTH
from cutpoint.schema.properties import ATMOSPHERE_PA

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


def wagner_curves(coefficients: Array, constants: pd.DataFrame) -> pd.DataFrame:
    """Curves with coefficients (N, 4) and the T_c_K and p_c_Pa of `constants`, as a frame of curves with its index."""
    rows = np.full((len(constants), WIDTH), np.nan)
    rows[:, :4] = coefficients
    rows[:, 4:6] = constants[["T_c_K", "p_c_Pa"]]
    column = pd.Series(rows.tolist(), index=constants.index, dtype=object)
    return pd.DataFrame({"equation": "wagner_2.5_5", "coefficients": column})


def estimated_curves(constants: pd.DataFrame) -> pd.DataFrame:
    """The corresponding-states curves of components with T_c_K, p_c_Pa and omega, as a frame of curves."""
    return wagner_curves(corresponding_states(constants["omega"].to_numpy()), constants)

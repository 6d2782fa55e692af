"""Correlations of liquid densities and enthalpies of vaporisation, and what no correlation may do.

Coefficients come as in `schema.equations`: an array whose last axis holds up to
`WIDTH` numbers, padded with NaN. Temperatures in K. With T_r = T / T_c and
τ = 1 - T_r, the forms, their coefficients in order and their sources are

`molar_density_rackett`  C1 / C2^(1 + (1 - T/C3)^C4), mol/m3; (C1, C2, C3, C4).
                         The Rackett equation with fitted constants: H. G. Rackett, J. Chem. Eng. Data 15 (1970)
                         514-517, doi:10.1021/je60047a012; Green and Perry, Perry's Chemical Engineers' Handbook,
                         8th edition, 2008, table 2-32.
`density_vdi`            rho_c + A τ^0.35 + B τ^(2/3) + C τ + D τ^(4/3), kg/m3; (A, B, C, D, T_c, rho_c).
                         VDI Heat Atlas, 2nd edition, Springer 2010, section D3.1.
`density_linear`         rho_0 - k (T - T_0), kg/m3; (rho_0, k, T_0).
                         CRC Handbook of Chemistry and Physics, 95th edition, 2014, section 4.
`enthalpy_watson`        C1 τ^(C2 + C3 T_r + C4 T_r^2), J/mol; (C1, C2, C3, C4, T_c).
                         K. M. Watson, Ind. Eng. Chem. 35 (1943) 398-406, with a temperature-dependent exponent:
                         Perry's Chemical Engineers' Handbook, 8th edition, 2008, table 2-150.
`enthalpy_vdi`           R T_c (A τ^(1/3) + B τ^(2/3) + C τ + D τ^2 + E τ^6), J/mol; (A, B, C, D, E, T_c).
                         VDI Heat Atlas, 2nd edition, Springer 2010, section D3.1.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cutpoint.schema.equations import FORMS, Array, ln_pressure
from cutpoint.schema.properties import MOLAR_GAS_CONSTANT_J_MOL_K, PROPERTIES

ValueForm = Callable[[Array, Array], Array]


def _reduced_distance(T_K: Array, T_c: Array) -> Array:
    return np.maximum(1.0 - T_K / T_c, 0.0)


def _molar_density_rackett(coefficients: Array, T_K: Array) -> Array:
    c1, c2, c3, c4 = (coefficients[..., place] for place in range(4))
    return c1 / c2 ** (1.0 + _reduced_distance(T_K, c3) ** c4)


def _density_vdi(coefficients: Array, T_K: Array) -> Array:
    a, b, c, d, T_c, rho_c = (coefficients[..., place] for place in range(6))
    tau = _reduced_distance(T_K, T_c)
    return rho_c + a * tau**0.35 + b * tau ** (2.0 / 3.0) + c * tau + d * tau ** (4.0 / 3.0)


def _density_linear(coefficients: Array, T_K: Array) -> Array:
    rho_0, k, T_0 = (coefficients[..., place] for place in range(3))
    return rho_0 - k * (T_K - T_0)


def _enthalpy_watson(coefficients: Array, T_K: Array) -> Array:
    c1, c2, c3, c4, T_c = (coefficients[..., place] for place in range(5))
    T_r = T_K / T_c
    return c1 * _reduced_distance(T_K, T_c) ** (c2 + c3 * T_r + c4 * T_r**2)


def _enthalpy_vdi(coefficients: Array, T_K: Array) -> Array:
    a, b, c, d, e, T_c = (coefficients[..., place] for place in range(6))
    tau = _reduced_distance(T_K, T_c)
    series = a * tau ** (1.0 / 3.0) + b * tau ** (2.0 / 3.0) + c * tau + d * tau**2 + e * tau**6
    return MOLAR_GAS_CONSTANT_J_MOL_K * T_c * series


_FORMS: dict[str, ValueForm] = {
    "molar_density_rackett": _molar_density_rackett,
    "density_vdi": _density_vdi,
    "density_linear": _density_linear,
    "enthalpy_watson": _enthalpy_watson,
    "enthalpy_vdi": _enthalpy_vdi,
}


def value_at(form: str, coefficients: Array, T_K: ArrayLike) -> Array:
    """Value of a correlation: kg/m3 for densities, mol/m3 for `molar_density_rackett`, J/mol for enthalpies.

    The leading axes of `coefficients` (..., WIDTH) broadcast against `T_K`. At
    and above the critical temperature the critical value is returned; whether
    the correlation holds at `T_K` is for the caller to know.
    """
    return _FORMS[form](coefficients, np.asarray(T_K, dtype=np.float64))


GRID_POINTS = 33
"""Temperatures at which a correlation is looked at over its range."""

UNSTATED_LOW_END = 0.5
"""Fraction of the upper end from which a correlation without a stated lower end is looked at."""

LEAST_LOW_END = 0.1
"""Smallest lower end of a pressure correlation's range, as a fraction of the upper end.

The widest published ranges, of refractory metals from 298 K, reach down to 0.11; the few rows
below 0.1 start at 1 K or less, which is a misprint (our own limit, no source)."""


def broken_physics(
    equation: str, property_name: str, coefficients: Array, T_min_K: Array, T_max_K: Array
) -> list[tuple[NDArray[np.bool_], str]]:
    """Where correlations break physics inside their ranges, as (rows, reason) pairs.

    `coefficients` has the shape (n, WIDTH), the ends of the ranges the shape
    (n,); an open lower end is NaN. A pressure must rise with temperature all
    the way and be plausible at its upper end; at its lower end it may be too
    small to measure. Densities must be plausible, enthalpies not negative.
    """
    low_K = np.where(np.isnan(T_min_K), UNSTATED_LOW_END * T_max_K, T_min_K)
    grid_K = low_K + np.linspace(0.0, 1.0, GRID_POINTS)[:, None] * (T_max_K - low_K)
    least, greatest = PROPERTIES[property_name].plausible
    with np.errstate(all="ignore"):
        if equation in FORMS:
            ln_p = ln_pressure(equation, coefficients, grid_K)
            rising = (np.diff(ln_p, axis=0) > 0.0).all(axis=0)
            plausible = (ln_p[-1] >= np.log(least)) & (ln_p[-1] <= np.log(greatest))
            return [
                (low_K < LEAST_LOW_END * T_max_K, "the lower end of its range is too far below the upper end"),
                (~rising, "the pressure does not rise with temperature over its range"),
                (~plausible, f"the pressure at the upper end of its range is outside {least:g} to {greatest:g} Pa"),
            ]
        value = value_at(equation, coefficients, grid_K)
    if equation == "molar_density_rackett":
        least, greatest = PROPERTIES["liquid_molar_volume"].plausible
        least, greatest = 1.0 / greatest, 1.0 / least
    elif property_name == "enthalpy_of_vaporization":
        least = 0.0  # at the critical temperature
    implausible = ~np.logical_and(value >= least, value <= greatest)
    return [(np.any(implausible, axis=0), "a value inside its range is not plausible")]

"""The saturation line of water: region 4 of the IAPWS Industrial Formulation 1997, a judge and never a source.

IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 for
the Thermodynamic Properties of Water and Steam, equations 29 to 31 and table
34; W. Wagner et al., J. Eng. Gas Turbines Power 122 (2000) 150-182,
doi:10.1115/1.483186. One quadratic form in transformed pressure and
temperature, solved for either. Valid from 273.15 K to the critical point; it
stays within 0.03 % of the IAPWS-95 formulation's vapour pressure.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

REFERENCE = "IAPWS R7-97(2012)"
WATER_CAS = "7732-18-5"
T_MIN_K = 273.15
CRITICAL_TEMPERATURE_K = 647.096
CRITICAL_PRESSURE_PA = 22.064e6

_PASCAL_PER_MEGAPASCAL = 1e6
_N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
"""Coefficients n1 to n10 of table 34."""


def saturation_pressure(T_K: ArrayLike) -> Array:
    """Vapour pressure of water in Pa, from 273.15 K to 647.096 K (equation 30)."""
    T_K = np.asarray(T_K, dtype=np.float64)
    theta = T_K + _N[8] / (T_K - _N[9])
    a = theta**2 + _N[0] * theta + _N[1]
    b = _N[2] * theta**2 + _N[3] * theta + _N[4]
    c = _N[5] * theta**2 + _N[6] * theta + _N[7]
    return _PASCAL_PER_MEGAPASCAL * (2.0 * c / (-b + np.sqrt(b**2 - 4.0 * a * c))) ** 4


def saturation_temperature(p_Pa: ArrayLike) -> Array:
    """Boiling temperature of water in K, from 611.213 Pa to 22.064 MPa (equation 31)."""
    beta = (np.asarray(p_Pa, dtype=np.float64) / _PASCAL_PER_MEGAPASCAL) ** 0.25
    e = beta**2 + _N[2] * beta + _N[5]
    f = _N[0] * beta**2 + _N[3] * beta + _N[6]
    g = _N[1] * beta**2 + _N[4] * beta + _N[7]
    d = 2.0 * g / (-f - np.sqrt(f**2 - 4.0 * e * g))
    n9, n10 = _N[8], _N[9]
    return 0.5 * (n10 + d - np.sqrt((n10 + d) ** 2 - 4.0 * (n9 + n10 * d)))

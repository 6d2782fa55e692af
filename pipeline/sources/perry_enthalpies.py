"""Enthalpies of vaporisation (J/mol) of 344 liquids as correlations in temperature.

Perry's Chemical Engineers' Handbook, table 2-150: C1 τ^(C2 + C3 T_r + C4 T_r^2), τ = 1
- T_r.

Departures: C1 is printed in J/kmol and was divided by 1000 for the distribution.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="perry_enthalpies",
    title="Heats of Vaporization of Inorganic and Organic Liquids, table 2-150",
    citation=(
        "D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th edition, McGraw-Hill, 2008, table 2-150"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Phase Change/Table 2-150 Heats of Vaporization of Inorganic and Organic Liquids.tsv",
    sha256="e5914f2d9878e01b65bdcd06fa89479d32b5d8f3614d8a301ef7bcd9bb6e2af0",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="enthalpy",
            property="enthalpy_of_vaporization",
            equation="enthalpy_watson",
            coefficients=(
                Coefficient("C1"),
                Coefficient("C2"),
                Coefficient("C3"),
                Coefficient("C4"),
                Coefficient("Tc"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

"""Vapour pressures of 340 liquids by the Rankine-Kirchhoff equation with a power term.

Perry's Chemical Engineers' Handbook, table 2-8: ln p = C1 + C2/T + C3 ln T + C4 T^C5,
Pa and K.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="perry_vapour_pressures",
    title="Vapor Pressure of Inorganic and Organic Liquids, table 2-8",
    citation=(
        "D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th edition, McGraw-Hill, 2008, table 2-8"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Table 2-8 Vapor Pressure of Inorganic and Organic Liquids.tsv",
    sha256="019dfe329851fb19c4315b772cd098b5c24d1371431f1bdf8ad6b200a6c7dc37",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="vapour_pressure",
            property="vapour_pressure",
            equation="kirchhoff",
            coefficients=(
                Coefficient("C1"),
                Coefficient("C2"),
                Coefficient("C3"),
                Coefficient("C4"),
                Coefficient("C5"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

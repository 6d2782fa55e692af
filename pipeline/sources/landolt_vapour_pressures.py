"""Vapour pressures of about 6,300 liquids by the Antoine equation.

Landolt-Börnstein, volume IV/20: A - B / (T + C); a substance may have several rows, one
per range.

Departures: printed for kPa and decimal logarithms, converted for the distribution to
Pa, K and natural logarithms.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="landolt_vapour_pressures",
    title="Vapor Pressure and Antoine Constants, Landolt-Börnstein IV/20, liquids",
    citation=(
        "J. Dykyj, J. Svoboda, R. C. Wilhoit, M. Frenkel, K. R. Hall, Vapor Pressure and Antoine "
        "Constants, Landolt-Börnstein, New Series, group IV, volume 20, subvolumes A (1999), B (2000), C "
        "(2001), Springer, Berlin"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Landolt_antoine_V20.tsv",
    sha256="b2933c604d56da07eb583a4de7c1bb1a9b9aa4896f2c294409e3ba559c97a0e8",
    name_column="Name",
    correlations=(
        Correlation(
            field="Antoine",
            property="vapour_pressure",
            equation="antoine",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

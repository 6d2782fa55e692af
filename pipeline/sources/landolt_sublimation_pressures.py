"""Sublimation pressures of about 1,100 solids by the Antoine equation.

Landolt-Börnstein, volume IV/20: A - B / (T + C).

Departures: printed for kPa and decimal logarithms, converted for the distribution to
Pa, K and natural logarithms.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="landolt_sublimation_pressures",
    title="Vapor Pressure and Antoine Constants, Landolt-Börnstein IV/20, solids",
    citation=(
        "J. Dykyj, J. Svoboda, R. C. Wilhoit, M. Frenkel, K. R. Hall, Vapor Pressure and Antoine "
        "Constants, Landolt-Börnstein, New Series, group IV, volume 20, subvolumes A (1999), B (2000), C "
        "(2001), Springer, Berlin"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Landolt_antoine_sublimation_V20.tsv",
    sha256="c5f6dc628e12f2c47f59b00d12b89064974747fe832ed1a4512e3c65b5fe084d",
    name_column="Name",
    correlations=(
        Correlation(
            field="Antoine",
            property="sublimation_pressure",
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

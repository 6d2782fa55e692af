"""Vapour pressures of 325 liquids by the Antoine equation.

The Properties of Gases and Liquids, appendix A: log10 p = A - B / (T + C).

Departures: printed for bar and °C, converted for the distribution to Pa and K;
converted here from decimal to natural logarithms.
"""

from __future__ import annotations

from cutpoint.schema.equations import LN10

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="poling_antoine",
    title="Vapor pressures, appendix A, Antoine equation",
    citation=(
        "B. E. Poling, J. M. Prausnitz, J. P. O'Connell, The Properties of Gases and Liquids, 5th "
        "edition, McGraw-Hill, New York, 2001, appendix A"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Antoine Collection Poling.tsv",
    sha256="6944a8497f104667c1bf5b7494fa08442aff1592c5ed8a72707aa37c5b266290",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="Antoine",
            property="vapour_pressure",
            equation="antoine",
            coefficients=(
                Coefficient("A", scale=LN10),
                Coefficient("B", scale=LN10),
                Coefficient("C"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

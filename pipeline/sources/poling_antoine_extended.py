"""Vapour pressures of 97 liquids by the extended Antoine equation.

The Properties of Gases and Liquids, appendix A: log10 p = A - B / (T + C) + 0.43429 x^n
+ E x^8 + F x^12 with x = (T - t_0 - 273.15) / T_c where positive, up to near the
critical point.

Departures: printed for bar and °C, converted for the distribution to Pa and K (t_0
still counts from 0 °C); A and B are converted here to natural logarithms, the
equation's form does so for the rest.
"""

from __future__ import annotations

from cutpoint.schema.equations import LN10

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="poling_antoine_extended",
    title="Vapor pressures, appendix A, extended Antoine equation",
    citation=(
        "B. E. Poling, J. M. Prausnitz, J. P. O'Connell, The Properties of Gases and Liquids, 5th "
        "edition, McGraw-Hill, New York, 2001, appendix A"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Antoine Extended Collection Poling.tsv",
    sha256="cc0233269b05888882043f2dde73586a957679faccaa88f2d63f2cf94554aa71",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="Antoine",
            property="vapour_pressure",
            equation="antoine_extended",
            coefficients=(
                Coefficient("A", scale=LN10),
                Coefficient("B", scale=LN10),
                Coefficient("C"),
                Coefficient("Tc"),
                Coefficient("to"),
                Coefficient("n"),
                Coefficient("E"),
                Coefficient("F"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

"""Vapour pressures of 43 liquid metals by the Rankine-Kirchhoff equation.

ln p = A + B/T + C ln T + D T^E with E = 1, Pa and K.

Departures: published for atmospheres and decimal logarithms, converted for the
distribution.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="alcock_vapour_pressures",
    title="Vapour pressure equations for the metallic elements, liquids",
    citation=(
        "C. B. Alcock, V. P. Itkin, M. K. Horrigan, Vapour pressure equations for the metallic elements: "
        "298-2500 K, Can. Metall. Q. 23 (1984) 309-313, doi:10.1179/cmq.1984.23.3.309"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Alcock_Itkin_Horrigan_metalic_elements.tsv",
    sha256="d5aa145b67ea51265374b5622276e07d4857cf68e3b52353bbdb2c8c080479db",
    name_column="name",
    correlations=(
        Correlation(
            field="vapour_pressure",
            property="vapour_pressure",
            equation="kirchhoff",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("E"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

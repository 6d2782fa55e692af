"""Sublimation pressures of 51 solid metals by the Rankine-Kirchhoff equation.

ln p = A + B/T + C ln T + D T^E with E = 1, Pa and K. The column of names holds element
symbols and is not read.

Departures: published for atmospheres and decimal logarithms, converted for the
distribution.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="alcock_sublimation_pressures",
    title="Vapour pressure equations for the metallic elements, solids",
    citation=(
        "C. B. Alcock, V. P. Itkin, M. K. Horrigan, Vapour pressure equations for the metallic elements: "
        "298-2500 K, Can. Metall. Q. 23 (1984) 309-313, doi:10.1179/cmq.1984.23.3.309"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Alcock_Itkin_Horrigan_metalic_elements_sublimation.tsv",
    sha256="5506759c009dc515066f5fb537606eb745e91ba1453f9fbc6362ba26c9ebb747",
    correlations=(
        Correlation(
            field="sublimation_pressure",
            property="sublimation_pressure",
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

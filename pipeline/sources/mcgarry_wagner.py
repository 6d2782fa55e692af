"""Vapour pressures of 245 liquids by the Wagner equation with exponents 3 and 6.

Departures: the table states the lower end of each range only; the correlation ends at
its critical temperature. Critical constants are those of the fit and are not read as
evidence.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="mcgarry_wagner",
    title=("Correlation and Prediction of the Vapor Pressures of Pure Liquids over Large Pressure Ranges"),
    citation=(
        "J. McGarry, Correlation and prediction of the vapor pressures of pure liquids over large "
        "pressure ranges, Ind. Eng. Chem. Process Des. Dev. 22 (1983) 313-322, doi:10.1021/i200021a023"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Wagner Original McGarry.tsv",
    sha256="389d475630f54bf5faa168192c42319b4236d3816132613dbaf85f631a71a580",
    name_column="Name",
    correlations=(
        Correlation(
            field="Wagner",
            property="vapour_pressure",
            equation="wagner_3_6",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("Tc"),
                Coefficient("Pc"),
            ),
            T_min_K="Tmin",
            T_max_K="Tc",
        ),
    ),
)

"""Vapour pressures of 104 liquids by the Wagner equation with exponents 2.5 and 5.

The Properties of Gases and Liquids, appendix A. Critical constants are those of the fit
and are not read as evidence.

Departures: printed for bar, converted for the distribution to Pa.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="poling_wagner",
    title="Vapor pressures, appendix A, Wagner equation",
    citation=(
        "B. E. Poling, J. M. Prausnitz, J. P. O'Connell, The Properties of Gases and Liquids, 5th "
        "edition, McGraw-Hill, New York, 2001, appendix A"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/Wagner Collection Poling.tsv",
    sha256="97fecbd70c931065cddc32b3f41e51bd69bc20199d11a1d006de668a29e9c0e5",
    name_column="Name",
    correlations=(
        Correlation(
            field="Wagner",
            property="vapour_pressure",
            equation="wagner_2.5_5",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("Tc"),
                Coefficient("Pc"),
            ),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

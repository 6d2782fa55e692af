"""Molar densities (mol/m3) of 344 saturated liquids as correlations in temperature.

Perry's Chemical Engineers' Handbook, table 2-32: C1 / C2^(1 + (1 - T/C3)^C4).

Departures: C1 is printed in mol/dm3 and was multiplied by 1000 for the distribution.
The two substances that the printed table gives in another form are o-terphenyl, which
stands here in the common form, and water, which is absent.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="perry_densities",
    title="Densities of Inorganic and Organic Liquids, table 2-32",
    citation=(
        "D. W. Green, R. H. Perry, Perry's Chemical Engineers' Handbook, 8th edition, McGraw-Hill, 2008, table 2-32"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Density/Perry Parameters 105.tsv",
    sha256="c96ed248229ae57cfc817ad3e985617062488d8a64de899fbf2eae141d5554ad",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="density",
            property="liquid_density",
            equation="molar_density_rackett",
            coefficients=(Coefficient("C1"), Coefficient("C2"), Coefficient("C3"), Coefficient("C4")),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)

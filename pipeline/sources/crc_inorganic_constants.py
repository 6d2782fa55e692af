"""Melting and normal boiling points (K) and densities (kg/m3) of about 2,400 inorganic compounds.

CRC Handbook, section 4, "Physical Constants of Inorganic Compounds".

Departures: marks of sublimation, decomposition and triple points are lost in the file.
The printed table states densities at 25 °C unless marked otherwise; the marks are lost,
so 298.15 K is taken for all, and most of the values are densities of solids.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="crc_inorganic_constants",
    title="Physical Constants of Inorganic Compounds",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 4"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Misc/Physical Constants of Inorganic Compounds.csv",
    sha256="121483869a54d517dea142893c0ef361d962014fa178de0b2fd070d04389c953",
    name_column="Chemical",
    values=(
        Value("Tm", "melting_point"),
        Value("Tb", "normal_boiling_point"),
        Value("rho", "liquid_density", temperature_K=298.15),
    ),
)

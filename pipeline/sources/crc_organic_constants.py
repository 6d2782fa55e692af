"""Melting and normal boiling points (K) and densities (kg/m3) of about 10,900 organic compounds.

CRC Handbook, section 3, "Physical Constants of Organic Compounds". The refractive index
is not read.

Departures: the printed table marks reduced-pressure boiling points, decomposition and
sublimation with superscripts and letters that the file has lost, so that some values
are no normal boiling points. It states densities at 20 °C unless marked otherwise; the
marks are lost too, so 293.15 K is taken for all, and the density of a compound that
melts above that may be one of the solid.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="crc_organic_constants",
    title="Physical Constants of Organic Compounds",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 3"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Misc/Physical Constants of Organic Compounds.csv",
    sha256="375cc9b2db48877ac5b8fb60c3713ef05adbbe927957c45094362d806ecfe383",
    name_column="Name",
    values=(
        Value("Tm", "melting_point"),
        Value("Tb", "normal_boiling_point"),
        Value("rho", "liquid_density", temperature_K=293.15),
    ),
)

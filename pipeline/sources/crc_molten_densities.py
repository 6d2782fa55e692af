"""Densities (kg/m3) of about 180 molten elements and salts, linear in temperature.

CRC Handbook, section 4, "Density of Molten Elements and Representative Salts": rho - k
(T - T_m) from the melting point to the stated highest temperature.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source

SOURCE = Source(
    name="crc_molten_densities",
    title="Density of Molten Elements and Representative Salts",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 4"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Density/CRC Inorganics densties of molten compounds and salts.tsv",
    sha256="602727ade83f2f6b10aaf19b10922b1fbea97267d1450a322159062e0e01850f",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="density",
            property="liquid_density",
            equation="density_linear",
            coefficients=(Coefficient("rho"), Coefficient("k"), Coefficient("Tm")),
            T_min_K="Tm",
            T_max_K="Tmax",
        ),
    ),
)

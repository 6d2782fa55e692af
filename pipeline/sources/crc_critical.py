"""Critical temperature (K), pressure (Pa) and molar volume (m3/mol) of about 860 organic compounds.

CRC Handbook, section 6, "Critical Constants of Organic Compounds". The stated errors
are not read.

Departures: much of it is taken over from the IUPAC evaluations, so the two are not
independent.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="crc_critical",
    title="Critical Constants of Organic Compounds",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 6"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/CRCCriticalOrganics.tsv",
    sha256="ef533e3d7b14fe3b2a9d7a11887bce6912b2fb0c40001ecdbcbadf0b1c8d67a7",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
    ),
)

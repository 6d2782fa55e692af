"""Enthalpies of vaporisation (J/mol) of about 930 compounds at the boiling point and at 298.15 K.

CRC Handbook, section 6, "Enthalpy of Vaporization", with the normal boiling point (K)
at which the first of the two was taken.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="crc_enthalpies_of_vaporization",
    title="Enthalpy of Vaporization",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 6"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Phase Change/CRC Handbook Heat of Vaporization.tsv",
    sha256="3167c400fc9581f2e3c82a6581c8b7959e53d6565945042c0dc9c2c54592cf69",
    name_column="Chemical",
    values=(
        Value("Tb", "normal_boiling_point"),
        Value("HvapTb", "enthalpy_of_vaporization_at_boiling_point", temperature_K="Tb"),
        Value("Hvap298", "enthalpy_of_vaporization", temperature_K=298.15),
    ),
)

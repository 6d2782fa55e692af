"""Molar volumes (m3/mol) of about 120 inorganic liquids at 298.15 K.

CRC Handbook, section 4, "Physical Constants of Inorganic Compounds": the entries that
are liquid.

Departures: computed from the printed densities for the distribution, so it is no
evidence beside the table of constants. The temperature is the one the printed table
states for unmarked values.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="crc_inorganic_liquid_densities",
    title="Physical Constants of Inorganic Compounds, liquids",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th "
        "edition, CRC Press, Boca Raton, 2014, section 4"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Density/CRC Liquid Inorganic Constant Densities.tsv",
    sha256="f3e86615cb725a41d441becb3f041b19b51650427c737d50ebc82af84b7bd883",
    name_column="Chemical",
    values=(Value("Vm", "liquid_molar_volume", temperature_K=298.15),),
)

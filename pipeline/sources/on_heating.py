"""What sublimes or decomposes at one atmosphere instead of boiling, although tables print a boiling point of many.

Columns: CAS number, name, behaviour (`sublimes`, `decomposes`), when (at what temperature, in
words), citation. A substance that boils with some decomposition, as many do above 250 °C, is not
listed; one that must be distilled at low pressure because it falls apart before it boils is. A
list like this is never complete.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="on_heating",
    title="Substances that sublime or decompose at one atmosphere before they boil",
    citation=(
        "W. M. Haynes, D. R. Lide, T. J. Bruno (eds.), CRC Handbook of Chemistry and Physics, 95th edition, "
        "CRC Press 2014, sections 3, 4, 6 and 7; National Institute for Occupational Safety and Health, "
        "NIOSH Pocket Guide to Chemical Hazards, 2007; P. G. Urben (ed.), Bretherick's Handbook of Reactive "
        "Chemical Hazards, 7th edition, Elsevier 2007; and others: each row has its own"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="on_heating.csv",
    sha256="85289b592558170becd1b64bb458887c62684d7caeb28fa287cd026d934464f5",
    delimiter=",",
    cas_column="cas",
)

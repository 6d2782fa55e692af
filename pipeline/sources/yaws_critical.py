"""Critical constants and acentric factors of about 7,500 compounds.

Temperature in K, pressure in Pa, molar volume in m3/mol, acentric factor without unit.

Departures: the book marks experimental and estimated values, the file does not; most of
the less common compounds are estimates.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="yaws_critical",
    title="Yaws' critical properties",
    citation=(
        "C. L. Yaws, Thermophysical Properties of Chemicals and Hydrocarbons, 2nd edition, Gulf "
        "Professional Publishing, 2014"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/Yaws Collection.tsv",
    sha256="8e9cce88b781b13a380c4d21ff86c4fd57d63592ffe3c40a88721fee2614bb64",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
        Value("omega", "acentric_factor"),
    ),
)

"""Melting and boiling points, enthalpies of vaporisation and fire data from Wikidata.

About 10,100 substances: temperatures in K, enthalpies in J/mol, flammability limits as
mole fractions of vapour in air. Enthalpies of fusion and formation, entropy, refractive
index and partition coefficients are not read.

Departures: statements of volunteers, with or without a reference; the pressure of a
boiling point and the temperature of an enthalpy of vaporisation are not in the file, so
the latter is read without one.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="wikidata",
    title="Wikidata, properties of chemical substances",
    citation=(
        "Wikidata, properties P2101, P2102, P2128, P2116, P2199, P2202, P2203, Wikimedia Foundation, as "
        "shipped with chemicals 1.5.2"
    ),
    licence="MIT, as part of the package chemicals 1.5.2; Wikidata itself is under CC0 1.0",
    distribution="chemicals",
    file="chemicals/Misc/wikidata_properties.tsv",
    sha256="1c8cc7f549f150483527b76ab85daee121751dfaac5ebd3083971b045d8bd6db",
    cas_is_digits=True,
    values=(
        Value("Tm", "melting_point"),
        Value("Tb", "normal_boiling_point"),
        Value("Hvap", "enthalpy_of_vaporization"),
        Value("T_flash", "flash_point"),
        Value("T_autoignition", "autoignition_temperature"),
        Value("LFL", "lower_flammability_limit"),
        Value("UFL", "upper_flammability_limit"),
    ),
)

"""Critical temperature (K), pressure (Pa) and molar volume (m3/mol) of about 120 inorganic substances."""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="mathews_critical",
    title="The Critical Constants of Inorganic Substances",
    citation=(
        "J. F. Mathews, The critical constants of inorganic substances, Chem. Rev. 72 (1972) 71-100, "
        "doi:10.1021/cr60275a004"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/Mathews1972InorganicCriticalProps.tsv",
    sha256="3f02b75eed7350267abca7974f1571b9724a4366f02d9ca32c3c8e941697b1f8",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
    ),
)

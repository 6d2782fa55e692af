"""Critical temperature (K), pressure (Pa) and acentric factor of about 190 hydrocarbons.

Departures: published in degrees Rankine and pounds per square inch; converted for the
distribution, hence the long decimals.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="passut_danner_critical",
    title="Acentric Factor. A Valuable Correlating Parameter for the Properties of Hydrocarbons",
    citation=(
        "C. A. Passut, R. P. Danner, Acentric factor. A valuable correlating parameter for the properties "
        "of hydrocarbons, Ind. Eng. Chem. Process Des. Dev. 12 (1973) 365-368, doi:10.1021/i260047a026"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/PassutDanner1973.tsv",
    sha256="1b14440e300855dac834c0d8af0955ca6d5b861b4251ed96a77b7048b258a62f",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("omega", "acentric_factor"),
    ),
)

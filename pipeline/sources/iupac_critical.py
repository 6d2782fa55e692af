"""Critical temperature (K), pressure (Pa) and molar volume (m3/mol) of about 810 organic compounds.

The series of critical evaluations under the IUPAC Commission on Thermodynamics, parts 1
to 12. The compressibility factor follows from the other three and is not read.

Departures: the critical temperature of phenanthrene is written in thousands of kelvins in the
file and is read as 869 K.
"""

from __future__ import annotations

from ..source import Repair, Source, Value

SOURCE = Source(
    name="iupac_critical",
    title="Vapor-Liquid Critical Properties of Elements and Compounds, parts 1 to 12",
    citation=(
        "D. Ambrose, C. L. Young, C. Tsonopoulos et al., Vapor-Liquid Critical Properties of Elements and "
        "Compounds, parts 1 to 12, J. Chem. Eng. Data 40 (1995) 345-357 to 60 (2015) 3444-3482"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/IUPACOrganicCriticalProps.tsv",
    sha256="94aa74b87def173c0a39b823100512cca6709830f5cfbecbbe8ae3c80f09295d",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
    ),
    repairs=(Repair(102, "Tc", "0.869", "869", "decimal point: 869 K written as 0.869"),),
)

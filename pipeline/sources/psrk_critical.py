"""Critical constants and acentric factors of about 1,000 compounds.

Temperature in K, pressure in Pa, molar volume in m3/mol, acentric factor without unit.

Departures: the article does not say which of the constants were estimated.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="psrk_critical",
    title="PSRK group contribution equation of state, revision IV, appendix",
    citation=(
        "S. Horstmann, A. Jabłoniec, J. Krafczyk, K. Fischer, J. Gmehling, PSRK group contribution "
        "equation of state: comprehensive revision and extension IV, Fluid Phase Equilib. 227 (2005) "
        "157-164, doi:10.1016/j.fluid.2004.11.002"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Critical Properties/Appendix to PSRK Revision 4.tsv",
    sha256="8193e7c2279326784e0acb9454d79173961f1d69c09ee5291f7742e774058db7",
    name_column="Chemical",
    values=(
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
        Value("omega", "acentric_factor"),
    ),
)

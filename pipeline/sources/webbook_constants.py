"""Constants and Antoine correlations of about 13,800 compounds from the NIST Chemistry WebBook.

Melting, normal boiling and critical temperatures (K), critical pressure (Pa) and molar
volume (m3/mol), standard molar enthalpy of vaporisation (J/mol) and the Antoine
equation with natural logarithm, K and Pa. Triple points, enthalpies of formation,
fusion and sublimation and entropies are not read.

Departures: the web book lists several measurements of most quantities; the file holds
one number for each, chosen or averaged for the distribution. Its enthalpies of
vaporisation are the standard ones, at 298.15 K.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Source, Value

SOURCE = Source(
    name="webbook_constants",
    title="NIST Chemistry WebBook, constants",
    citation=(
        "P. J. Linstrom, W. G. Mallard (eds.), NIST Chemistry WebBook, NIST Standard Reference Database "
        "69, doi:10.18434/T4D303"
    ),
    licence=(
        "MIT, as part of the package chemicals 1.5.2; the web book is a work of the US National Institute "
        "of Standards and Technology, Standard Reference Data Act"
    ),
    distribution="chemicals",
    file="chemicals/Misc/webbook_constants.tsv",
    sha256="8d0b7c7b62a2bc8ff4c91448975775924cf1f844f4ab67ece29da19f60838262",
    cas_is_digits=True,
    values=(
        Value("Tm", "melting_point"),
        Value("Tb", "normal_boiling_point"),
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
        Value("Vc", "critical_volume"),
        Value("Hvap", "enthalpy_of_vaporization", temperature_K=298.15),
    ),
    correlations=(
        Correlation(
            field="Antoine",
            property="vapour_pressure",
            equation="antoine",
            coefficients=(Coefficient("AntoineA"), Coefficient("AntoineB"), Coefficient("AntoineC")),
            T_min_K="AntoineTmin",
            T_max_K="AntoineTmax",
        ),
    ),
)

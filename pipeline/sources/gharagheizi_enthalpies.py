"""Enthalpies of vaporisation (J/mol) of about 2,700 compounds at 298.15 K.

Experimental values gathered by the authors to fit and test a group-contribution method;
the predictions of the article are not in the file.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="gharagheizi_enthalpies",
    title="Vaporization enthalpies at 298 K, appendix",
    citation=(
        "F. Gharagheizi, O. Babaie, S. Mazdeyasna, Prediction of vaporization enthalpy of pure compounds "
        "using a group contribution-based method, Ind. Eng. Chem. Res. 50 (2011) 6503-6507, "
        "doi:10.1021/ie2001764"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Phase Change/Ghazerati Appendix Vaporization Enthalpy.tsv",
    sha256="14911df3baa533a0b5d4c6972040d49a22d4cf3b0d670a30bc4aa0ef86f75c5a",
    name_column="Chemical",
    values=(Value("Hvap298", "enthalpy_of_vaporization", temperature_K=298.15),),
)

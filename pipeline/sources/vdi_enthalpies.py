"""Enthalpies of vaporisation (J/mol) of 272 liquids as correlations in temperature.

VDI Heat Atlas, section D3.1: R T_c (A τ^(1/3) + B τ^(2/3) + C τ + D τ^2 + E τ^6), τ = 1
- T/T_c.

No range is stated: the correlation ends at the critical temperature, and its lower end
is left open.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Repair, Source

SOURCE = Source(
    name="vdi_enthalpies",
    title="Enthalpies of vaporization, VDI Heat Atlas, section D3.1",
    citation=("VDI-Gesellschaft (ed.), VDI Heat Atlas, 2nd edition, Springer, Berlin, 2010, section D3.1"),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Phase Change/VDI PPDS Enthalpies of vaporization.tsv",
    sha256="98b48aaee463fa1c87b72fc50290fdd798d95b3035514135215fcfdf2d5de773",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="enthalpy",
            property="enthalpy_of_vaporization",
            equation="enthalpy_vdi",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("E"),
                Coefficient("Tc"),
            ),
            T_max_K="Tc",
        ),
    ),
    repairs=(Repair(246, "CAS", "7440-21-3", "7803-62-5", "CAS number: the row is silane's, by name and values"),),
)

"""Densities (kg/m3) of 272 saturated liquids as correlations in temperature.

VDI Heat Atlas, section D3.1: rho_c + A τ^0.35 + B τ^(2/3) + C τ + D τ^(4/3), τ = 1 -
T/T_c.

No range is stated: the correlation ends at the critical temperature, and its lower end
is left open.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Repair, Source

SOURCE = Source(
    name="vdi_densities",
    title="Densities of saturated liquids, VDI Heat Atlas, section D3.1",
    citation=("VDI-Gesellschaft (ed.), VDI Heat Atlas, 2nd edition, Springer, Berlin, 2010, section D3.1"),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Density/VDI PPDS Density of Saturated Liquids.tsv",
    sha256="904ba4579ae25065efb1c66afa4474bef13786d106e818ce44ba2aa358c3b8a7",
    name_column="Chemical",
    correlations=(
        Correlation(
            field="density",
            property="liquid_density",
            equation="density_vdi",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("Tc"),
                Coefficient("rhoc"),
            ),
            T_max_K="Tc",
        ),
    ),
    repairs=(Repair(246, "CAS", "7440-21-3", "7803-62-5", "CAS number: the row is silane's, by name and values"),),
)

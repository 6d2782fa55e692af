"""Vapour pressures of 275 liquids by the Wagner equation, with melting and critical points.

VDI Heat Atlas, section D3.1: exponents 2.5 and 5, temperatures in K, pressures in Pa.

No range is stated: the natural one is taken, from the melting to the critical point of
the same row.
"""

from __future__ import annotations

from ..source import Coefficient, Correlation, Repair, Source, Value

SOURCE = Source(
    name="vdi_vapour_pressures",
    title="Vapour pressures, VDI Heat Atlas, section D3.1",
    citation=("VDI-Gesellschaft (ed.), VDI Heat Atlas, 2nd edition, Springer, Berlin, 2010, section D3.1"),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Vapor Pressure/VDI PPDS Boiling temperatures at different pressures.tsv",
    sha256="d77cfd87d3411e22c386444aea9ce44a89fea25a2d60ee5e4260371f45a39291",
    name_column="Chemical",
    values=(
        Value("Tm", "melting_point"),
        Value("Tc", "critical_temperature"),
        Value("Pc", "critical_pressure"),
    ),
    correlations=(
        Correlation(
            field="Wagner",
            property="vapour_pressure",
            equation="wagner_2.5_5",
            coefficients=(
                Coefficient("A"),
                Coefficient("B"),
                Coefficient("C"),
                Coefficient("D"),
                Coefficient("Tc"),
                Coefficient("Pc"),
            ),
            T_min_K="Tm",
            T_max_K="Tc",
        ),
    ),
    repairs=(Repair(248, "CAS", "7440-21-3", "7803-62-5", "CAS number: the row is silane's, by name and values"),),
)

"""Melting and normal boiling points (K) and liquid molar volumes (m3/mol) from CAS Common Chemistry.

About 79,300 substances. The molar volumes of solids are not read.

Departures: boiling points there may carry a pressure; the file holds what the
distribution took for normal ones, and it did not always see the pressure. Molar volumes
were computed by the distribution from the stated densities, whose temperature the file
does not give.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="common_chemistry",
    title="CAS Common Chemistry, experimental properties",
    citation=(
        "A. Jacobs, D. Williams, K. Hickey et al., CAS Common Chemistry in 2021, J. Chem. Inf. Model. 62 "
        "(2022) 2737-2743, doi:10.1021/acs.jcim.2c00268"
    ),
    licence=(
        "MIT, as part of the package chemicals 1.5.2; CAS Common Chemistry itself is under CC BY-NC 4.0 "
        "(non-commercial)"
    ),
    distribution="chemicals",
    file="chemicals/Misc/common_chemistry_data.tsv",
    sha256="f3aafb2bcbde9b2be35c94aeb8e581db6d2eea5b2c54a7f8c9c873ac9362b67e",
    cas_is_digits=True,
    values=(
        Value("Tm", "melting_point"),
        Value("Tb", "normal_boiling_point"),
        Value("Vml", "liquid_molar_volume"),
    ),
)

"""Groups of modified UNIFAC (Dortmund): number, main group, relative volume R and relative surface Q.

Columns: number, group, main_number, main_group, R, Q, citation. Group and main
group have names of their own each: CHO is the aldehyde, CH-O the ether carbon
with one hydrogen; the pyrrolidone groups cy-CON-... are the whole ring with
the nitrogen's next carbon. The citation is the paper that brought the main
group into the parameter matrix, by its number: up to 45 the one of 1993, then
2002, 2006, 2016. The ions of molten salts are left out.

Departures, all kept as published: R of main groups 1 to 13 does not fall with
the hydrogens, as it would if it were counted from atomic radii; CNH2 has the Q
of CHNH2; H2COCH is larger than H2COCH2, contrary to the order of the other
epoxides, so answers about ethylene and propylene oxide deserve less trust.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="modified_unifac_groups",
    title="Groups of modified UNIFAC (Dortmund) and their sizes",
    citation=(
        "J. Gmehling, J. Li, M. Schiller, Ind. Eng. Chem. Res. 32 (1993) 178; J. Gmehling, R. Wittig, J. Lohmann, "
        "R. Joh, Ind. Eng. Chem. Res. 41 (2002) 1678; A. Jakob, H. Grensemann, J. Lohmann, J. Gmehling, Ind. Eng. "
        "Chem. Res. 45 (2006) 7924; D. Constantinescu, J. Gmehling, J. Chem. Eng. Data 61 (2016) 2738"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="modified_unifac_groups.csv",
    sha256="86f6e3c9703bcae761033013f6cbd26edeb9fbea648df7fef670bbc25db61e6c",
    delimiter=",",
)

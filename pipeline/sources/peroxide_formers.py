"""Substances that form explosive peroxides on storage.

Class A: explosive levels without concentration. Class B: on concentration, by distillation
or evaporation. Class C: peroxides may start a violent polymerisation. A substance that
is stored in two ways stands with its more dangerous class. Columns: CAS number, name,
class, citation. A list like this is never complete: an ether that is not on it may still
form peroxides.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="peroxide_formers",
    title="Substances that form explosive peroxides, by class",
    citation=(
        "R. J. Kelly, Review of Safety Guidelines for Peroxidizable Organic Chemicals, Chem. Health Saf. "
        "3(5) (1996) 28-36, doi:10.1021/acs.chas.8b03515; D. E. Clark, Chem. Health Saf. 8(5) (2001) "
        "12-22; National Research Council, Prudent Practices in the Laboratory (2011), table 4.8"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="peroxide_formers.csv",
    sha256="feb89b8687e23c3a8b783cd62b25780363be69ddc2fbdd0c3050b2b736a226e1",
    delimiter=",",
    cas_column="cas",
)

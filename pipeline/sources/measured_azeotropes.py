"""Binary azeotropes as they were measured, each with the publication it was read in.

Columns: CAS number and name of the two components, pressure in kPa, boiling temperature in °C, mass
percent of the first component, kind (`minimum`, `maximum`, or `heterogeneous`: a minimum over two
liquid layers), ordinal (2 for the second of a double azeotrope), citation. Where a paper prints a mole
fraction, the citation says that it was converted, and where it prints only the table of both phases,
that the azeotrope was interpolated between the two points around it, or taken where the pressure or the
temperature of the table is extreme; a citation that ends in "; from memory" was not looked up. Rows were
chosen by what could be read, without sight of any prediction, and none is left out because a model misses
it. A list like this is never complete: a pair that it lacks may well form an azeotrope.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="measured_azeotropes",
    title="Measured binary azeotropes",
    citation=(
        "Azeotropes in Lange's Handbook of Chemistry of 1961 (10th edition) and in Hodgman's Handbook of Chemistry "
        "and Physics of 1962 (44th edition); L. H. Horsley, Azeotropic Data III, Advances in Chemistry Series 116, "
        "American Chemical Society 1973; papers in Fluid Phase Equilibria, the Journal of Chemical and Engineering "
        "Data and others: each row has its own"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="measured_azeotropes.csv",
    sha256="410e748c09247e5f5335f78df8f32dbcc0fa398401faab63a39b3a077cba9851",
    delimiter=",",
    cas_column="cas_a",
)

"""Pairs that were measured over the whole range and form no azeotrope at the pressure that is given.

Columns: CAS number and name of the two components, pressure in kPa, citation. Most rows come from the
abstract of a measurement that names every azeotrope it found, or says that there is none; the citation
says which. A citation that ends in "; from memory" was not looked up. Rows were chosen without sight of
any prediction, and none is left out because a model misses it. At another pressure a pair may form an
azeotrope.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="zeotropic_pairs",
    title="Pairs known to form no azeotrope",
    citation=(
        "Azeotropes in Lange's Handbook of Chemistry of 1961 (10th edition); abstracts of isobaric measurements in "
        "Journal of Chemical and Engineering Data and Fluid Phase Equilibria; and others: each row has its own"
    ),
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="zeotropic_pairs.csv",
    sha256="a56bc8b3bec7d03afea9e2344c362d0cd24253e0a48173534bd58f43fc93ae37",
    delimiter=",",
    cas_column="cas_a",
)

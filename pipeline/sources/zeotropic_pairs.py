"""Pairs that were measured and form no azeotrope.

Columns: cas_a, name_a, cas_b, name_b, pressure_kPa, citation.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="zeotropic_pairs",
    title="Measured pairs without an azeotrope",
    citation="Handbooks of chemistry and physics, and articles; each row has its own",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="zeotropic_pairs.csv",
    sha256="8d18f0a19cd8e7d851f03b0cc426d1d3df4103862269211bb4960c6a791af3b8",
    delimiter=",",
    cas_column="cas_a",
)

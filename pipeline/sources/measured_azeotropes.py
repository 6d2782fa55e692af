"""Measured azeotropes of two components.

Columns: cas_a, name_a, cas_b, name_b, pressure_kPa, temperature_C, mass_percent_a, kind, ordinal, citation.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="measured_azeotropes",
    title="Measured binary azeotropes",
    citation="Handbooks of chemistry and physics, and articles; each row has its own",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="measured_azeotropes.csv",
    sha256="82b02a155ec860f89fc4a7af037f7ac01c5592420c8b2ec9763db0b36f2d34de",
    delimiter=",",
    cas_column="cas_a",
)

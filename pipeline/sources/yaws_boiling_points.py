"""Normal boiling points (K) of about 13,500 compounds.

Departures: the book marks experimental and estimated values, the file does not; a share
of the values are estimates, and some repeat other handbooks.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="yaws_boiling_points",
    title="Yaws' boiling points",
    citation=(
        "C. L. Yaws, Thermophysical Properties of Chemicals and Hydrocarbons, 2nd edition, Gulf "
        "Professional Publishing, 2014"
    ),
    licence="MIT, as part of the package chemicals 1.5.2",
    distribution="chemicals",
    file="chemicals/Phase Change/Yaws Boiling Points.tsv",
    sha256="b5066ceb80001f0f2b8c2c89b9463a7489c90cb16962ba4775d3b7ebcb4c470f",
    values=(Value("Tb", "normal_boiling_point"),),
)

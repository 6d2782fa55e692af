"""Melting points (K) of about 11,500 compounds.

The open data set of J.-C. Bradley and colleagues: experimental values gathered from
suppliers and the literature, with contradictory ones weeded out; one averaged value per
compound in the file.
"""

from __future__ import annotations

from ..source import Source, Value

SOURCE = Source(
    name="open_notebook_melting_points",
    title="Open melting point dataset",
    citation=(
        "J.-C. Bradley, A. Williams, A. Lang, Jean-Claude Bradley Open Melting Point Dataset, figshare "
        "(2014), doi:10.6084/m9.figshare.1031637"
    ),
    licence="MIT, as part of the package chemicals 1.5.2; the data set itself is under CC0 1.0",
    distribution="chemicals",
    file="chemicals/Phase Change/OpenNotebook Melting Points.tsv",
    sha256="a41cec098dce1dd603652342d4a9f0171b2f67625ebe80a1d3ab4b02a52f0bed",
    values=(Value("Tm", "melting_point"),),
)

"""Cuts: grades of streams with their boiling ranges, entered by hand.

Columns: name (the key), further names parted by `|`, CAS number, definition in
this project's words, initial and final boiling point at 101 325 Pa (°C, or the
CAS number of a component that boils there, or empty for the ends of the
composition), composition in percent by mass by chemical class or by CAS number,
its source, and the citation for the range. Inventory definitions state round
temperatures and call them approximate; the data sheet of the product at hand decides.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="cuts",
    title="Cuts sold under one CAS number, with their boiling ranges",
    citation="entered for this project; citation in each row",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="cuts.csv",
    sha256="d10df428a52107dfa06ceda536e6607c70e0e4e83a6f47784534de3401961161",
    delimiter=",",
    cas_column="cas",
)

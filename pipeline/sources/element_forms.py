"""Everyday names of the elements and the CAS number of the form in which each is sold.

Columns: CAS number, name, further names, formula, the form, citation. "Carbon" is given to
7440-44-0, the number on jars of carbon that is not called graphite, diamond or carbon black;
those keep their own numbers. "Phosphorus" is the red form, the one sold without a colour in
its name being rare. "Sulfur" carries the formula S, as the number is registered, although
its vapour and crystals are mostly S8.
"""

from __future__ import annotations

from ..source import Source

SOURCE = Source(
    name="element_forms",
    title="The form in which each element is sold",
    citation="entered for this project; citation in each row",
    licence="MIT, as part of this project",
    distribution="cutpoint",
    file="element_forms.csv",
    sha256="bebbc3e5d3792f2f0a9226905db30cbc503cd3e81d25761c1a74c7d0bb269a04",
    delimiter=",",
    cas_column="cas",
)

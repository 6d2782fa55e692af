"""The tables about cuts: what is sold under one CAS number and boils over a range, and what stands for it."""

from __future__ import annotations

from .table import CAS, Table, column


class CutTable(Table):
    """One row per cut: a grade of a stream, with its definition and its boiling range at 101 325 Pa."""

    name: str = column("name of the cut; several may share a CAS number", unique=True, str_length={"min_value": 1})
    cas: str = column("CAS Registry Number under which it is sold; a component of the kind stream", **CAS)
    also_called: str = column("further names, parted by |", nullable=True)
    definition: str = column("what it is, in few words", str_length={"min_value": 1})
    initial_boiling_point_K: float = column("lower end of the boiling range, K", gt=0)
    final_boiling_point_K: float = column("upper end of the boiling range, K", gt=0)
    source: str = column("where the boiling range was published; where the composition comes from")

    class Config:
        metadata = {"name": "cut", "key": ["name"]}


class CutSurrogateTable(Table):
    """One row per (cut, pure component that stands for a part of it)."""

    cut: str = column("name of the cut")
    surrogate_cas: str = column("CAS Registry Number of the pure component", **CAS)
    mass_fraction: float = column("part of the cut's mass for which it stands", gt=0, le=1)

    class Config:
        metadata = {"name": "cut_surrogate", "key": ["cut", "surrogate_cas"]}

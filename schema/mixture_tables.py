"""The tables about mixtures: groups of molecules, how groups interact, and what was measured of pairs."""

from __future__ import annotations

from .table import CAS, Table, column

AZEOTROPE_KINDS = ("minimum", "maximum", "heterogeneous")
GROUP_SCHEMES = ("modified UNIFAC (Dortmund)",)


class FunctionalGroupTable(Table):
    """One row per (component, group): how often the group occurs in the molecule."""

    cas: str = column("CAS Registry Number", **CAS)
    scheme: str = column("published group-contribution scheme")
    group: str = column("group of the scheme")
    count: int = column("how often it occurs", ge=1)

    class Config:
        metadata = {"name": "functional_group", "key": ["cas", "scheme", "group"]}


class GroupSizeTable(Table):
    """One row per group of a group-contribution scheme: its main group, relative volume and relative surface."""

    scheme: str = column("published group-contribution scheme")
    group: str = column("group of the scheme")
    main_group: str = column("main group, by which groups interact")
    R: float = column("relative van der Waals volume", gt=0)
    Q: float = column("relative van der Waals surface", ge=0)
    source: str = column("open table")

    class Config:
        metadata = {"name": "group_size", "key": ["scheme", "group"]}


class GroupParameterTable(Table):
    """One row per ordered pair of main groups: published interaction parameters."""

    scheme: str = column("published group-contribution scheme")
    group_a: str = column("first main group")
    group_b: str = column("second main group")
    a_K: float = column("constant term of a + b T + c T², K; the group b as the first one's surroundings")
    b: float = column("linear term")
    c_per_K: float = column("quadratic term, 1/K")
    source: str = column("open table")

    class Config:
        metadata = {"name": "group_parameter", "key": ["scheme", "group_a", "group_b"]}


class AzeotropeTable(Table):
    """One row per azeotrope of a pair at a pressure."""

    cas_a: str = column("CAS Registry Number of the first component", **CAS)
    cas_b: str = column("CAS Registry Number of the second component", **CAS)
    pressure_Pa: float = column("pressure, Pa", gt=0)
    basis: str = column("measured or predicted", isin=("measured", "predicted"))
    ordinal: int = column("1; 2 and on for the further azeotropes of a pair that has several", ge=1)
    temperature_K: float = column("boiling temperature of the azeotrope, K", gt=0)
    mole_fraction_a: float = column("mole fraction of the first component", in_range={"min_value": 0, "max_value": 1})
    mass_fraction_a: float = column("mass fraction of the first component", in_range={"min_value": 0, "max_value": 1})
    kind: str = column("minimum, maximum or heterogeneous", isin=AZEOTROPE_KINDS)
    source: str = column("publication, or the model")

    class Config:
        metadata = {"name": "azeotrope", "key": ["cas_a", "cas_b", "pressure_Pa", "basis", "ordinal"]}


class ZeotropicPairTable(Table):
    """One row per pair that was measured at a pressure and forms no azeotrope there."""

    cas_a: str = column("CAS Registry Number of the first component", **CAS)
    cas_b: str = column("CAS Registry Number of the second component", **CAS)
    pressure_Pa: float = column("pressure, Pa", gt=0)
    source: str = column("publication")

    class Config:
        metadata = {"name": "zeotropic_pair", "key": ["cas_a", "cas_b", "pressure_Pa"]}

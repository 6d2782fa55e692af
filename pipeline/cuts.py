"""The station of cuts: streams that boil over a range, and the pure components that stand for each.

A cut is a grade of a stream: several may share a CAS number, and its name is
its key. Its composition is told either by chemical classes ("alkane 60;
aromatic 40"), from which `surrogates` chooses among the candidates of the
table `cut_surrogates`, or component by component ("106-97-8 60; 75-28-5 40"),
both in percent by mass. An end of its boiling range is a temperature, or the
CAS number of a component that boils there, or empty, and then that of the
component of its composition that boils first or last.

A surrogate is pure, has an evaluated boiling point and a vapour-pressure
curve, and its molecule is covered by the groups. A row that cannot be used is
rejected whole, with the reason.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pandas as pd

from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.names import search_key
from cutpoint.schema.properties import ICE_POINT_K
from cutpoint.schema.tables import check, empty

from .account import Account, Cells, Refused, number
from .surrogates import BEYOND_K, FEWEST, MOST, Candidate, spread

CUT_TABLES = ("cuts", "cut_surrogates")
"""Sources that are read here and do not pass `normalise`."""

CLASSES = ("alkane", "isoalkane", "cycloalkane", "alkene", "aromatic")
"""Chemical classes of candidates: straight and branched alkanes, cycloalkanes, alkenes, aromatics."""


@dataclass(frozen=True)
class Cuts:
    """The two tables of cuts by name; `rejected` as in the schema; `rows_kept` counts rows per source."""

    tables: dict[str, pd.DataFrame]
    rejected: pd.DataFrame
    rows_kept: dict[str, int]


def cuts(
    components: pd.DataFrame,
    evaluations: pd.DataFrame,
    curves: pd.DataFrame,
    functional_groups: pd.DataFrame,
    frames: Mapping[str, pd.DataFrame],
) -> Cuts:
    """The tables of cuts from those of the other stations and the frames of text of `CUT_TABLES`.

    A source that was left out gives no rows. Raises BuildFailed if a table breaks its contract.
    """
    account = Account("cuts")
    streams = set(components.loc[components["kind"] == "stream", "cas"])
    boiling_K = _boiling_points(components, evaluations, curves, functional_groups)
    candidates = _candidates(account, frames, boiling_K)
    rows: list[dict[str, object]] = []
    surrogates: list[dict[str, object]] = []
    seen: set[str] = set()
    for row, cells in account.rows(frames, "cuts"):
        try:
            cut, fractions = _cut(cells, streams, boiling_K, candidates)
            if search_key(cells["name"]) in seen:
                raise Refused(f"name {cells['name']!r}: an earlier row has it")
        except Refused as refused:
            account.refuse("cuts", row, cells, str(refused))
            continue
        seen.add(search_key(cells["name"]))
        account.kept["cuts"] += 1
        rows.append(cut)
        surrogates += [
            {"cut": cells["name"], "surrogate_cas": cas, "mass_fraction": fraction}
            for cas, fraction in fractions.items()
        ]
    made = {"cut": rows, "cut_surrogate": surrogates}
    tables = {table: check(table, pd.DataFrame(told) if told else empty(table), "cuts") for table, told in made.items()}
    return Cuts(tables, account.rejected(), dict(account.kept))


def _boiling_points(
    components: pd.DataFrame, evaluations: pd.DataFrame, curves: pd.DataFrame, functional_groups: pd.DataFrame
) -> dict[str, float]:
    """Boiling point, K, by CAS number, of all that may be a surrogate."""
    fit = set(components.loc[components["kind"] == "pure", "cas"])
    fit &= set(curves["cas"]) & set(functional_groups["cas"])
    boiling = evaluations[evaluations["property"] == "normal_boiling_point"]
    return {cas: float(value) for cas, value in zip(boiling["cas"], boiling["value"], strict=True) if cas in fit}


def _candidates(
    account: Account, frames: Mapping[str, pd.DataFrame], boiling_K: Mapping[str, float]
) -> list[Candidate]:
    found: dict[str, Candidate] = {}
    for row, cells in account.rows(frames, "cut_surrogates"):
        try:
            if cells["class"] not in CLASSES:
                raise Refused(f"class {cells['class']!r}: must be one of {', '.join(CLASSES)}")
            if cells["cas"] in found:
                raise Refused("an earlier row has the same component")
            found[cells["cas"]] = Candidate(cells["cas"], cells["class"], _boils_at(cells["cas"], boiling_K))
        except Refused as refused:
            account.refuse("cut_surrogates", row, cells, str(refused))
            continue
        account.kept["cut_surrogates"] += 1
    return list(found.values())


def _boils_at(cas: str, boiling_K: Mapping[str, float]) -> float:
    if cas not in boiling_K:
        raise Refused(f"{cas}: no pure component with boiling point, vapour-pressure curve and groups has this number")
    return boiling_K[cas]


def _cut(
    cells: Cells, streams: set[str], boiling_K: Mapping[str, float], candidates: list[Candidate]
) -> tuple[dict[str, object], dict[str, float]]:
    """The row of a cut, and the mass fractions of its surrogates by CAS number."""
    if cells["cas"] not in streams:
        raise Refused(f"{cells['cas']}: no stream has this CAS number")
    shares = _shares(cells["composition"])
    named = all(is_cas(part) for part in shares)
    of_parts = {part: _boils_at(part, boiling_K) for part in shares} if named else {}
    initial_K = _end_K(cells, "initial", boiling_K, of_parts, min)
    final_K = _end_K(cells, "final", boiling_K, of_parts, max)
    if not 0 < initial_K < final_K:
        raise Refused(f"a boiling range from {cells['initial']!r} to {cells['final']!r} is none")
    if named:
        fractions = _given(shares, of_parts, initial_K, final_K)
    else:
        fractions = _chosen(shares, initial_K, final_K, candidates)
    row: dict[str, object] = {
        "name": cells["name"],
        "cas": cells["cas"],
        "also_called": cells["aliases"] or None,
        "definition": cells["definition"],
        "initial_boiling_point_K": round(initial_K, 2),
        "final_boiling_point_K": round(final_K, 2),
        "source": f"{cells['citation']}; composition: {cells['composition_source']}",
    }
    return row, fractions


def _end_K(
    cells: Cells,
    column: str,
    boiling_K: Mapping[str, float],
    of_parts: Mapping[str, float],
    outermost: Callable[[list[float]], float],
) -> float:
    """One end of the boiling range, K."""
    if is_cas(cells[column]):
        return _boils_at(cells[column], boiling_K)
    if not cells[column] and of_parts:
        return outermost(list(of_parts.values()))
    return number(cells, column) + ICE_POINT_K


def _shares(text: str) -> dict[str, float]:
    """Mass fractions of what a composition names: all chemical classes, or all CAS numbers."""
    shares: dict[str, float] = {}
    for part in text.split(";"):
        name, _, percent = part.strip().rpartition(" ")
        shares[name] = number({text: percent}, text) / 100.0
    if not (all(name in CLASSES for name in shares) or all(is_cas(name) for name in shares)):
        raise Refused(f"composition {text!r}: must name chemical classes alone, or CAS numbers alone")
    if min(shares.values()) <= 0 or not math.isclose(sum(shares.values()), 1.0):
        raise Refused(f"composition {text!r}: must be positive percentages with the sum 100")
    return shares


def _given(
    shares: dict[str, float], of_parts: Mapping[str, float], initial_K: float, final_K: float
) -> dict[str, float]:
    """The composition as it stands, lowest boiling point first."""
    if not FEWEST <= len(shares) <= MOST:
        raise Refused(f"{len(shares)} components: a cut has {FEWEST} to {MOST}")
    outside = [cas for cas, T_K in of_parts.items() if not initial_K - BEYOND_K <= T_K <= final_K + BEYOND_K]
    if outside:
        raise Refused(f"{', '.join(outside)}: boils outside the range")
    return {cas: round(shares[cas], 6) for cas in sorted(shares, key=lambda cas: of_parts[cas])}


def _chosen(
    shares: dict[str, float], initial_K: float, final_K: float, candidates: list[Candidate]
) -> dict[str, float]:
    fractions = spread(initial_K, final_K, shares, candidates)
    if fractions is None:
        raise Refused(f"fewer than {FEWEST} surrogates of the classes {', '.join(shares)} are spread over the range")
    return fractions

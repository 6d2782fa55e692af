"""The third station: observations and identities become components with names.

A component is a CAS number. It comes from an identity row whose statements
agree (`structure`), from a hand table (elements that no identity row has,
streams), or, for want of both, from the observations alone. Identity rows with
the same InChIKey stay separate components, because a lost stereochemistry or
an old number must not merge two boiling points; the note in `repair` tells.
A CAS number known from observations alone is given the formula and molar mass
of the one identity row that lists it among its names, never its structure: the
other number may be a stereoisomer, which has the same formula.

A wrong check digit refuses a CAS number, with the right digit in the reason;
so do more than ten digits, which CAS has never given. Whatever hangs on a
refused number goes to `rejected` with it, and every row that came in is either
kept or stands there under the field `*`.
"""

from __future__ import annotations

import os
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from cutpoint.schema.identifiers import cas_sort_key
from cutpoint.schema.tables import check, empty, key_of

from .hand_tables import ANY_PURE, HouseTables, OnHeating, Substance
from .identities import Identity, Refusal, Row, refusal_of_cas, settle
from .naming import Bearer, name_all
from .normalise import WHOLE_ROW
from .source import LIVE_SOURCES
from .structure import Verdict, formula_composition, formula_molar_mass_g_mol

WORKERS = 2
"""Most processes that check structures."""

_COMPONENT_COLUMNS = [column for column in empty("component").columns if column != "name"]


@dataclass(frozen=True)
class Resolved:
    """Tables of `schema.tables` that leave this station; `rows_kept` counts rows per source.

    `on_heating` says by CAS number what a hand table knows to sublime or decompose.
    """

    components: pd.DataFrame
    names: pd.DataFrame
    observations: pd.DataFrame
    rejected: pd.DataFrame
    rows_kept: dict[str, int]
    on_heating: dict[str, OnHeating]


def resolve(
    identities: pd.DataFrame,
    observations: pd.DataFrame,
    names: pd.DataFrame,
    rejected: pd.DataFrame,
    house: HouseTables,
    workers: int | None = None,
) -> Resolved:
    """Components, their names, and the observations that belong to them.

    `identities` has one row per identity row (source, source_row, cas, formula,
    molar_mass_g_mol, smiles, inchi without its prefix, inchikey, names: the
    systematic, the common, then further ones); `names` has source, source_row,
    cas, name, language and choice (0 before 1) from property tables; `observations`
    and `rejected` are the tables of the schema. The result does not depend on the order of the rows or on the
    number of `workers` (processes; by default one per processor, two at most).

    Raises BuildFailed if a table breaks its contract.
    """
    streams = {stream.cas for stream in house.streams}
    settled = settle(identities, streams, workers or min(WORKERS, os.cpu_count() or 1))
    accepted = settled.accepted

    observations = observations.sort_values(key_of("observation"), kind="stable", ignore_index=True)
    why = _refusals_by_cas(observations["cas"].unique(), settled.refused_cas)
    bad = observations["cas"].isin(why)
    kept = observations[~bad]

    components = _components(accepted, house, settled.refused, kept)
    further = _in_order(names[names["cas"].isin(components)])
    bearers = _bearers(components, accepted, further)
    n_sources = {str(cas): int(count) for cas, count in kept.groupby("cas")["source"].nunique().items()}
    naming = name_all(bearers, house, n_sources)

    rows_kept = {(row.source, row.source_row) for row in accepted.values()} | settled.confirming
    rows_kept |= _rows(kept) | _rows(further)
    rows_kept |= {(source, row) for source, row, cas, _ in house.rows if cas == ANY_PURE or cas in components}
    refusals = [
        rejected,
        _whole_rows(settled.refused),
        _refused_values(observations[bad], why),
        _whole_rows(_rows_left_empty(observations[bad], names, house, why, rows_kept)),
        naming.taken_away,
    ]
    table = pd.DataFrame(components.values(), columns=_COMPONENT_COLUMNS).assign(
        name=lambda frame: frame["cas"].map(naming.shown)
    )
    return Resolved(
        check("component", table.sort_values("cas", key=_by_number, ignore_index=True), "resolve"),
        check("name", naming.names, "resolve"),
        check("observation", kept.reset_index(drop=True), "resolve"),
        check("rejected", _sorted_rejections(refusals), "resolve"),
        dict(sorted(Counter(source for source, _ in rows_kept).items())),
        {cas: told for cas, told in (house.on_heating or {}).items() if cas in components},
    )


def _in_order(names: pd.DataFrame) -> pd.DataFrame:
    """Names of property tables first, then those of live sources, labels before aliases."""
    ordered = names.assign(behind=names["source"].isin(LIVE_SOURCES))
    return ordered.sort_values(["behind", "choice", "source", "source_row", "name", "language"], kind="stable")


def _by_number(cas: pd.Series) -> pd.Series:
    return cas.map(cas_sort_key)


def _rows(frame: pd.DataFrame) -> set[Row]:
    return set(zip(frame["source"], frame["source_row"].astype("int64").tolist(), strict=True))


def _refusals_by_cas(numbers: Iterable[str], refused_cas: dict[str, str]) -> dict[str, str]:
    """Reason per CAS number of the observations that cannot be kept."""
    why = {}
    for cas in numbers:
        if reason := refusal_of_cas(cas) or refused_cas.get(cas):
            why[cas] = reason
    return why


def _component(cas: str, source: str, kind: str, verdict: Verdict, repair: str | None) -> dict[str, object]:
    return {
        "cas": cas,
        "formula": verdict.formula,
        "molar_mass_g_mol": verdict.molar_mass_g_mol,
        "smiles": verdict.smiles,
        "inchikey": verdict.inchikey,
        "kind": kind,
        "phase_behaviour": None,
        "source": source,
        "repair": repair,
    }


def _components(
    accepted: dict[str, Identity],
    house: HouseTables,
    refused_rows: Iterable[Refusal],
    observations: pd.DataFrame,
) -> dict[str, dict[str, object]]:
    """Rows of the component table by CAS number, without their names."""
    twins = _shared_inchikeys(accepted)
    components = {
        cas: _component(cas, row.source, "pure", row.verdict, _joined(row.verdict.repair, twins.get(cas)))
        for cas, row in accepted.items()
    }
    not_taken = {cas: f"structure of {source} row {row} not taken" for source, row, cas, _, _ in refused_rows}
    for stream in house.streams:
        components[stream.cas] = _component(stream.cas, stream.source, "stream", Verdict(), not_taken.get(stream.cas))
    for element in house.elements:
        if element.cas not in components:
            components[element.cas] = _component(
                element.cas, element.source, "pure", _verdict_of(element), "no structure in the source"
            )
    first = observations.drop_duplicates("cas")
    unknown = {cas: source for cas, source in zip(first["cas"], first["source"], strict=True) if cas not in components}
    lenders = _lenders(accepted, unknown)
    for cas, source in unknown.items():
        lender = lenders.get(cas)
        lent = Verdict() if lender is None else without_structure(lender.verdict)
        note = f"formula and molar mass of {lender.cas}, which lists this number among its names" if lender else None
        components[cas] = _component(cas, source, "pure", lent, note)
    return components


def without_structure(verdict: Verdict) -> Verdict:
    """The verdict's formula and molar mass, which isomers share, without its structure."""
    return Verdict(formula=verdict.formula, molar_mass_g_mol=verdict.molar_mass_g_mol, ordinary=verdict.ordinary)


def _verdict_of(element: Substance) -> Verdict:
    composition = formula_composition(element.formula)
    if composition is None:
        return Verdict()
    return Verdict(formula=element.formula, molar_mass_g_mol=round(formula_molar_mass_g_mol(composition[0]), 4))


def _joined(*notes: str | None) -> str | None:
    return "; ".join(note for note in notes if note) or None


def _shared_inchikeys(accepted: dict[str, Identity]) -> dict[str, str]:
    """A note for each CAS number whose InChIKey other numbers have too."""
    bearers = defaultdict(list)
    for cas, row in accepted.items():
        if row.verdict.inchikey:
            bearers[row.verdict.inchikey].append(cas)
    notes = {}
    for sharing in bearers.values():
        for cas in sharing if len(sharing) > 1 else ():
            others = ", ".join(sorted((other for other in sharing if other != cas), key=cas_sort_key))
            notes[cas] = f"same InChIKey as {others}"
    return notes


def _lenders(accepted: dict[str, Identity], unknown: Iterable[str]) -> dict[str, Identity]:
    """The one identity row that lists an unknown CAS number among its names."""
    wanted = set(unknown)
    owners = defaultdict(set)
    for cas, row in accepted.items():
        for name in wanted.intersection(row.names):
            owners[name].add(cas)
    return {cas: accepted[next(iter(found))] for cas, found in owners.items() if len(found) == 1}


def _bearers(
    components: dict[str, dict[str, object]], accepted: dict[str, Identity], further: pd.DataFrame
) -> list[Bearer]:
    bearers = []
    for cas, component in components.items():
        row = accepted.get(cas)
        compound = component["kind"] == "pure" and component["formula"] is not None
        single = compound and "." not in str(component["smiles"])
        bearers.append(
            Bearer(cas, row.source, row.source_row, row.verdict.ordinary, compound, single, row.names)
            if row
            else Bearer(cas, str(component["source"]), 0, True, compound, single)
        )
    by_cas = {bearer.cas: bearer for bearer in bearers}
    columns = ["source", "source_row", "cas", "name", "language"]
    for source, source_row, cas, name, language in further[columns].itertuples(index=False):
        by_cas[cas].further.append((source, int(source_row), name, language))
    return bearers


def _whole_rows(rows: Iterable[Refusal]) -> pd.DataFrame:
    """Rejections of whole rows from (source, row, CAS number, raw text, reason)."""
    frame = pd.DataFrame(list(rows), columns=["source", "source_row", "cas", "raw", "reason"])
    return frame.assign(field=WHOLE_ROW)


def _refused_values(observations: pd.DataFrame, why: dict[str, str]) -> pd.DataFrame:
    frame = observations[["source", "source_row", "field", "cas", "raw"]]
    return frame.assign(reason=frame["cas"].map(why))


def _rows_left_empty(
    refused: pd.DataFrame, names: pd.DataFrame, house: HouseTables, why: dict[str, str], rows_kept: set[Row]
) -> list[tuple[str, int, str, str, str]]:
    """Rows of property and hand tables of which nothing is kept."""
    left: dict[Row, tuple[str, int, str, str, str]] = {}

    def told(source: str, source_row: int, cas: str, raw: str, reason: str) -> None:
        if (source, source_row) not in rows_kept:
            left.setdefault((source, source_row), (source, source_row, cas, raw, reason))

    for source, row, cas, raw in refused[["source", "source_row", "cas", "raw"]].itertuples(index=False):
        told(source, int(row), cas, raw, why[cas])
    stranger = "no component: nothing else is known of this CAS number"
    for source, row, cas, name in names[["source", "source_row", "cas", "name"]].itertuples(index=False):
        told(source, int(row), cas, name, refusal_of_cas(cas) or stranger)
    for source, row, cas, raw in house.rows:
        told(source, row, cas, raw, stranger)
    return list(left.values())


def _sorted_rejections(parts: Iterable[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if len(part)]
    columns = ["source", "source_row", "field", "cas", "raw", "reason"]
    frame = pd.concat(filled, ignore_index=True) if filled else pd.DataFrame(columns=columns)
    return frame[columns].sort_values(key_of("rejected"), kind="stable", ignore_index=True)

"""Which identity row stands for each CAS number: its statements must agree, and packaged tables come first.

A row of a live source serves a number that no packaged table has a structure
for. Where one does, the live row confirms it or is refused with both InChIKeys;
it never replaces it. Of several live rows the first stands, in the order of
source and row.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from cutpoint.schema.identifiers import cas_check_digit, is_cas, looks_like_cas

from .source import LIVE_SOURCES
from .structure import Claim, Verdict, judge_all

CAS_DIGITS = 10
"""Most digits of a CAS Registry Number."""

Row = tuple[str, int]
Refusal = tuple[str, int, str, str, str]
"""Source, row, CAS number, raw text, reason."""


@dataclass(frozen=True)
class Identity:
    """An identity row and what the checks made of it."""

    source: str
    source_row: int
    cas: str
    names: list[str]
    raw: str
    verdict: Verdict


@dataclass(frozen=True)
class Identities:
    """The row that stands for each CAS number, the rows that say the same, and the refusals.

    `refused_cas` gives the reason for each number whose packaged rows were all refused, streams aside: a live row that
    is refused says nothing against what else is known of the number.
    """

    accepted: dict[str, Identity]
    confirming: set[Row]
    refused: list[Refusal]
    refused_cas: dict[str, str]


def refusal_of_cas(cas: str) -> str | None:
    """Why a CAS number cannot be one; None if it can."""
    if not looks_like_cas(cas):
        return "CAS number: its layout is not that of one"
    if not is_cas(cas):
        return f"CAS check digit: it would have to be {cas_check_digit(cas[:-2])}"
    if len(cas.replace("-", "")) > CAS_DIGITS:
        return "CAS number: more than ten digits, an invented number"
    return None


def settle(identities: pd.DataFrame, streams: set[str], workers: int) -> Identities:
    """Judge the identity rows, those of packaged tables first.

    `identities` as `resolve` takes it; `streams` are CAS numbers of mixtures;
    `workers` processes check structures.
    """
    ordered = identities.sort_values(["source", "source_row"], kind="stable")
    live = ordered["source"].isin(LIVE_SOURCES)
    accepted: dict[str, Identity] = {}
    confirming: set[Row] = set()
    refused: list[Refusal] = []
    why: dict[str, str] = {}

    def enter(row: Identity) -> None:
        reason = _refusal(row, streams)
        if reason is None and row.cas in accepted:
            reason = _contradiction(row.verdict.inchikey, accepted[row.cas])
            if reason is None:
                confirming.add((row.source, row.source_row))
        elif reason is None:
            accepted[row.cas] = row
        elif row.source not in LIVE_SOURCES:
            why[row.cas] = reason
        if reason is not None:
            refused.append((row.source, row.source_row, row.cas, row.raw, reason))

    for row in _judged(ordered[~live], workers):
        enter(row)
    known = live & ordered["cas"].isin(accepted)
    for row in _unjudged(ordered[known]):
        enter(row)
    for row in _judged(ordered[live & ~known], workers):
        enter(row)
    refused_cas = {cas: reason for cas, reason in why.items() if cas not in streams and cas not in accepted}
    return Identities(accepted, confirming, refused, refused_cas)


def _judged(ordered: pd.DataFrame, workers: int) -> Iterable[Identity]:
    claims = _claims(ordered)
    return _rows(ordered, claims, judge_all(claims, workers))


def _unjudged(ordered: pd.DataFrame) -> Iterable[Identity]:
    """Rows of numbers that have a structure already: their InChIKey is all that is compared."""
    return _rows(ordered, (claims := _claims(ordered)), [Verdict(inchikey=claim.inchikey or None) for claim in claims])


def _claims(ordered: pd.DataFrame) -> list[Claim]:
    columns = [_texts(ordered[column]) for column in ("smiles", "inchi", "inchikey", "formula", "molar_mass_g_mol")]
    return [Claim(*cells) for cells in zip(*columns, strict=True)]


def _rows(ordered: pd.DataFrame, claims: list[Claim], verdicts: list[Verdict]) -> Iterable[Identity]:
    keys = zip(ordered["source"], ordered["source_row"].astype("int64").tolist(), ordered["cas"], strict=True)
    for (source, row, cas), names, claim, verdict in zip(keys, ordered["names"], claims, verdicts, strict=True):
        yield Identity(source, row, cas, list(names), "\t".join((cas, *claim)), verdict)


def _texts(column: pd.Series) -> list[str]:
    """Cells as text, missing ones empty."""
    return column.astype("object").where(column.notna(), "").map(str).tolist()


def _refusal(row: Identity, streams: set[str]) -> str | None:
    if row.cas in streams:
        return "identity of a stream: one structure cannot stand for a mixture"
    if reason := refusal_of_cas(row.cas):
        return reason
    return f"structure: {row.verdict.refusal}" if row.verdict.refusal else None


def _contradiction(inchikey: str | None, standing: Identity) -> str | None:
    """Why a further row of a number cannot be right, the first one standing; None if it says the same or less."""
    theirs = standing.verdict.inchikey
    if inchikey is None or theirs is None or inchikey == theirs:
        return None
    return f"structure: {inchikey}, but {standing.source} row {standing.source_row} has {theirs}"

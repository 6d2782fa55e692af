"""Tables of the quality report on what the sources say: disagreements, disputes, outliers, what was rejected."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import shorten
from typing import TYPE_CHECKING

from .evidence_tables import GRADES, percent, source_words, words
from .figures import observed_quantity, quantity, reading_unit, significant
from .page import Column, Grid

if TYPE_CHECKING:
    from cutpoint.db.quality import Disagreement, Dispute, DisputedValue, OutlierKind, Refusal, SourceAccount, Spread

MOST_RAW_LETTERS = 120
"""Letters of a refused row that are shown as an example."""


def spreads(counted: Sequence[Spread]) -> Grid:
    """How many boiling points the sources spread over more than so much, by the grade that came of it."""
    columns = [
        Column("spread over more than", right=True),
        Column("components", right=True),
        *(Column(grade, right=True) for grade in GRADES),
        Column("no value", right=True),
    ]
    rows = [
        [
            f"{spread.wider_than_K:g} K",
            f"{spread.n_components:,}",
            *(f"{spread.grades.get(grade, 0):,}" for grade in (*GRADES, "none")),
        ]
        for spread in counted
    ]
    return Grid(columns, rows)


def disagreements(pairs: Sequence[Disagreement], limit: int | None = None) -> Grid:
    """Pairs of sources, those that disagree most often first."""
    columns = [
        Column("source", wraps=True),
        Column("against", wraps=True),
        Column("shared", right=True),
        Column("> 1 K apart", right=True),
        Column("same number", right=True, spare=True),
        Column("median apart", right=True, spare=True),
    ]
    rows = [
        [
            source_words(pair.source_a),
            source_words(pair.source_b),
            f"{pair.n_shared:,}",
            percent(pair.share_differing, 2),
            percent(pair.n_identical / pair.n_shared, 2),
            f"{significant(pair.median_abs_difference_K, 2)} K",
        ]
        for pair in sorted(pairs, key=lambda pair: (-pair.share_differing, -pair.n_shared))[:limit]
    ]
    return Grid(columns, rows)


def disputes(found: Sequence[Dispute], *, with_property: bool) -> Grid:
    """Disputes in short: what the two camps say, and what the store stands for."""
    columns = [
        *([Column("property", wraps=True)] if with_property else []),
        Column("component", wraps=True),
        Column("sources say", wraps=True),
        Column("the store says", wraps=True),
    ]
    rows = [
        [
            *([words(dispute.property)] if with_property else []),
            f"{dispute.name} [{dispute.cas}]",
            f"{camp(dispute, 'lower')}, or {camp(dispute, 'upper')}",
            stands_for(dispute),
        ]
        for dispute in found
    ]
    return Grid(columns, rows)


def camp(dispute: Dispute, which: str) -> str:
    """The values of a camp and how many independent sources say so."""
    values = [said.value for said in dispute.observations if said.camp == which]
    low, high = (observed_quantity(dispute.property, end, dispute.unit) for end in (min(values), max(values)))
    n = dispute.n_lower if which == "lower" else dispute.n_upper
    unit = reading_unit(dispute.property, dispute.unit)[0]
    span = low if low == high else f"{low.removesuffix(unit).strip()} to {high}"
    return f"{span} ({n} source{'' if n == 1 else 's'})"


def stands_for(dispute: Dispute) -> str:
    """What the store says in a dispute."""
    if dispute.value is None or dispute.u95 is None:
        return "no value"
    value = quantity(dispute.property, dispute.value, dispute.u95, dispute.unit)
    return f"{value}, grade {dispute.grade}, {'left open' if dispute.left_open else 'settled'}"


def decision(dispute: Dispute) -> str:
    """What the store decided in a dispute, and on what grounds; the reasons of each outlier stand beside it."""
    aside = [said for said in dispute.observations if said.status == "outlier"]
    told = f"Set aside as outliers: {len(aside)} of {len(dispute.observations)} observations."
    if dispute.value is None:
        behaviour = f" It {dispute.phase_behaviour}." if dispute.phase_behaviour in ("sublimes", "decomposes") else ""
        return f"The store gives no value.{behaviour} {told}"
    n = dispute.n_sources
    behind = "no source, by" if n == 0 else f"{n} independent source{'' if n == 1 else 's'}, by"
    side = "between the camps" if dispute.stands_with == "neither" else f"with the {dispute.stands_with} camp"
    reach = "reaches" if dispute.left_open else "does not reach"
    return f"The store stands {side}, on {behind} the rule “{dispute.rule}”; its U95 {reach} another camp. {told}"


def disputed_values(dispute: Dispute) -> Grid:
    """Every observation of a dispute."""
    columns = [
        Column("value", right=True),
        Column("camp"),
        Column("status", colours={"accepted": "green", "outlier": "red"}),
        Column("source", wraps=True),
        Column("reason", wraps=True),
        Column("as printed", wraps=True),
    ]
    rows = [
        [
            observed_quantity(dispute.property, said.value, dispute.unit),
            said.camp,
            said.status,
            _place(said),
            said.reason or "",
            said.raw,
        ]
        for said in dispute.observations
    ]
    return Grid(columns, rows)


def _place(said: DisputedValue) -> str:
    by = ", where its correlation reaches 1 atm" if said.speaks_by == "correlations" else ""
    return f"{source_words(said.source)}, row {said.source_row}{by}"


def outliers(kinds: Sequence[OutlierKind], *, by_property: bool) -> Grid:
    """Observations kept in sight but out of the evaluation, by reason."""
    columns = [Column("reason", wraps=True), Column("number", right=True)]
    rows = [[kind.reason, f"{kind.n:,}"] for kind in kinds]
    if by_property:
        columns.append(Column("of", wraps=True))
        for row, kind in zip(rows, kinds, strict=True):
            row.append(", ".join(f"{words(name)} {count:,}" for name, count in kind.properties.items()))
    return Grid(columns, rows)


def rejected(kinds: Sequence[Refusal], *, by_source: bool) -> Grid:
    """Rows and values refused, by reason; by source with an example, too."""
    columns = [Column("reason", wraps=True), Column("number", right=True)]
    rows = [[kind.reason, f"{kind.n:,}"] for kind in kinds]
    if by_source:
        columns += [Column("from", wraps=True), Column("for example", wraps=True)]
        for row, kind in zip(rows, kinds, strict=True):
            sources = ", ".join(f"{source_words(source)} {count:,}" for source, count in kind.sources.items())
            raw = shorten(" · ".join(kind.example_raw.split("\t")), MOST_RAW_LETTERS, placeholder=" …")
            row += [sources, f"{source_words(kind.example_source)}, row {kind.example_source_row}: {raw}"]
    return Grid(columns, rows)


def sources(accounts: Sequence[SourceAccount]) -> Grid:
    """What became of the rows of each open table."""
    columns = [
        Column("source", wraps=True),
        Column("rows", right=True),
        Column("kept", right=True),
        Column("rejected", right=True),
        Column("values rejected", right=True),
        Column("title", wraps=True),
        Column("publication", wraps=True),
        Column("licence", wraps=True),
    ]
    rows = [
        [
            source_words(account.source),
            f"{account.rows_read:,}",
            f"{account.rows_kept:,}",
            f"{account.rows_rejected:,}",
            f"{account.values_rejected:,}",
            account.title,
            account.citation,
            account.licence,
        ]
        for account in accounts
    ]
    return Grid(columns, rows)

"""What people are shown: each answer of the query module as the blocks of a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from typing import TYPE_CHECKING

from cutpoint.db.matches import celsius
from cutpoint.schema.names import ENGLISH, LANGUAGES
from cutpoint.schema.properties import PROPERTIES

from .crosschecks import against_the_judges
from .curve_card import curve_card
from .cut_card import cut_card
from .figures import observed_quantity, plain_quantity, pressure, quantity, reading_unit, rounded
from .page import Block, Column, Grid, Heading, Items, Paragraph

if TYPE_CHECKING:
    from cutpoint.db import (
        Component,
        Evaluated,
        Evaluation,
        Hazard,
        Match,
        Matches,
        Neighbour,
        Neighbours,
        Observation,
    )
    from cutpoint.pipeline.report import BuildReport, VerifyReport

CAUTIONS = "Cautions"
CARD_REMARK = "Hazards and cautions of a component: `cutpoint card CAS`."
NONE_HELD = "–"
_ORDER = tuple(PROPERTIES)
GRADE = Column("grade", colours={"A": "green", "B": "cyan", "C": "yellow", "D": "red"})


def grades_legend() -> str:
    """One line that says what the grades of temperatures mean."""
    a, b, c = PROPERTIES["normal_boiling_point"].grade_limits
    return f"Grades: A ± {a:g} K or better from 3 sources, B ± {b:g} K, C ± {c:g} K, D wider or a single source."


def hazard_remark(shown: int, hazards: Mapping[str, Set[str]]) -> str:
    """One line on what the components of a list can do, and where their cautions are.

    `hazards` holds the hazard properties of each component that has any.
    """
    kinds = {
        "flammable": ("flash_point", "lower_flammability_limit", "autoignition_temperature"),
        "harmful to breathe": ("exposure_limit",),
        "forming peroxides": ("peroxide_former",),
    }
    counts = {words: sum(not held.isdisjoint(figures) for held in hazards.values()) for words, figures in kinds.items()}
    told = ", ".join(f"{words} {count}" for words, count in counts.items() if count)
    if not told:
        return CARD_REMARK
    return f"Known hazards of the {shown} shown: {told}; cautions of each: `cutpoint card CAS`."


def matches(found: Matches, hazards: Mapping[str, Set[str]]) -> list[Block]:
    """The answer to `find`, with the hazard properties held of each match."""
    blocks: list[Block] = []
    if all(match.matched_by == "spelling" for match in found):
        blocks.append(Paragraph(f"Nothing is called “{found.query}”. The nearest spellings are:"))
    if found.in_other_languages:
        asked = LANGUAGES[found.language or ENGLISH]
        blocks.append(Paragraph(f"No such name is held in {asked}: it is read in the other languages."))
    columns = [
        Column("CAS"),
        Column("name", wraps=True),
        Column("formula", spare=True),
        Column("boils at", right=True),
        GRADE,
        Column("matched by", wraps=True, spare=True),
        Column("score", right=True),
    ]
    rows = [
        [
            match.cas,
            match.name,
            match.formula or match.kind,
            _boils(match),
            match.grade or NONE_HELD,
            match.how,
            f"{match.score:.2f}",
        ]
        for match in found
    ]
    remark = hazard_remark(len(rows), hazards)
    return [*blocks, Grid(columns, rows), Paragraph(remark), Paragraph(grades_legend(), faint=True)]


def _boils(match: Match) -> str:
    if match.boiling_point_K is None:
        return NONE_HELD
    return quantity("normal_boiling_point", match.boiling_point_K, match.boiling_point_u95_K or 0.0, "K")


def card(component: Component, *, evidence: bool) -> list[Block]:
    """The answer to `card`."""
    blocks = _identity(component)
    evaluations = component.evaluations()
    if evaluations:
        blocks += [Heading("Values, ± expanded uncertainty (coverage 95 %)"), _evaluations(evaluations)]
        blocks.append(Paragraph(grades_legend() + " Other properties have limits of their own.", faint=True))
    else:
        blocks.append(Paragraph("The store holds no evaluated property of this component."))
    if component.kind == "stream":
        blocks += [Heading("Boiling range at 101.325 kPa"), *cut_card(component.cuts())]
    else:
        blocks += [Heading("Vapour-pressure curve"), *curve_card(component)]
    hazards = component.hazards()
    if hazards:
        blocks += [Heading("Hazards"), _hazards(hazards)]
    if evidence:
        blocks += [Heading("Evidence, as each source gives it"), *_observations(component.observations())]
        blocks += against_the_judges(component.crosschecks())
    return [*blocks, *cautions(component.cautions())]


def _identity(component: Component) -> list[Block]:
    mass = f", {component.molar_mass_g_mol:.3f} g/mol" if component.molar_mass_g_mol is not None else ""
    lines = [f"{component.formula or 'no formula'}{mass}, {component.kind}"]
    if component.phase_behaviour not in (None, "boils"):
        lines.append(f"At atmospheric pressure it {component.phase_behaviour} instead of boiling.")
    lines += [
        f"{label} {text}"
        for label, text in (("SMILES", component.smiles), ("InChIKey", component.inchikey))
        if text is not None
    ]
    lines.append(f"Identity from {component.source}" + (f"; {component.repair}" if component.repair else ""))
    title = Paragraph(f"{component.name} [{component.cas}]", strong=True)
    note = [Paragraph(component.note)] if component.note else []
    return [title, *note, *(Paragraph(line) for line in lines)]


def _evaluations(evaluations: Sequence[Evaluation]) -> Grid:
    columns = [
        Column("property", wraps=True),
        Column("value", right=True),
        Column("kelvin", right=True, spare=True),
        GRADE,
        Column("sources", right=True),
        Column("rule", wraps=True, spare=True),
    ]
    rows = [
        [
            _property_at(held.property, held.temperature_K),
            quantity(held.property, held.value, held.u95, held.unit),
            f"{rounded(held.value, held.u95)[0]} K" if held.unit == "K" else "",
            held.grade,
            str(held.n_sources),
            held.rule,
        ]
        for held in sorted(evaluations, key=lambda held: _ORDER.index(held.property))
    ]
    return Grid(columns, rows)


def _property_at(property: str, temperature_K: float | None) -> str:
    words = property.replace("_", " ")
    return words if temperature_K is None else f"{words} at {celsius(temperature_K)}"


def _hazards(hazards: Sequence[Hazard]) -> Grid:
    columns = [
        Column("hazard", wraps=True),
        Column("value", right=True),
        Column("cautious end", right=True),
        Column("sources", wraps=True, spare=True),
    ]
    rows = [[_hazard_name(hazard), *_hazard_figures(hazard), hazard.sources] for hazard in hazards]
    return Grid(columns, rows)


def _hazard_name(hazard: Hazard) -> str:
    words = hazard.property.replace("_", " ")
    return words if hazard.limit_kind in ("value", "class") else f"{words} ({hazard.limit_kind})"


def _hazard_figures(hazard: Hazard) -> tuple[str, str]:
    if hazard.value is None:
        return hazard.text or NONE_HELD, NONE_HELD
    end = hazard.value if hazard.conservative is None else hazard.conservative
    value, cautious = (plain_quantity(hazard.property, figure, hazard.unit) for figure in (hazard.value, end))
    return value, cautious


def _observations(observations: Sequence[Observation]) -> list[Block]:
    """A grid for each property, the properties in the order of the vocabulary."""
    columns = [
        Column("value", right=True, wraps=True),
        Column("source", wraps=True),
        Column("status", wraps=True),
    ]
    groups: dict[str, list[list[str]]] = {}
    for seen in sorted(observations, key=lambda seen: _ORDER.index(seen.property)):
        status = f"{seen.status}: {seen.reason}" if seen.reason else seen.status
        row = [_observed(seen), f"{seen.source}, row {seen.source_row}", status]
        groups.setdefault(_property_at(seen.property, seen.temperature_K), []).append(row)
    return [block for title, rows in groups.items() for block in (Heading(title), Grid(columns, rows))]


def _observed(seen: Observation) -> str:
    if seen.value is not None:
        return observed_quantity(seen.property, seen.value, seen.unit)
    if reading_unit(seen.property, seen.unit)[0] == "class":
        return seen.raw
    span = f", {seen.T_min_K:g} to {seen.T_max_K:g} K" if seen.T_min_K is not None and seen.T_max_K is not None else ""
    return f"{seen.equation}{span}"


def boil(component: Component, boiling: Evaluated, pressure_Pa: float) -> list[Block]:
    """The answer to `boil`."""
    text = (
        f"{component.name} [{component.cas}] boils at {quantity('boiling_point', boiling.value, boiling.u95, 'K')} "
        f"({rounded(boiling.value, boiling.u95)[0]} K) at {pressure(pressure_Pa)}, grade {boiling.grade}."
    )
    blocks: list[Block] = [Paragraph(text, strong=True)]
    if component.note:
        blocks.append(Paragraph(component.note))
    if boiling.remark:
        blocks.append(Paragraph(f"That is {boiling.remark}."))
    if boiling.extrapolated:
        blocks.append(Paragraph("Extrapolated: the pressure lies outside the range of the vapour-pressure curve."))
    blocks.append(Paragraph(f"From {_behind(component, boiling)}. {grades_legend()}", faint=True))
    return [*blocks, *cautions(component.cautions())]


def _behind(component: Component, boiling: Evaluated) -> str:
    """What a boiling point rests on."""
    normal = component.held("normal_boiling_point")
    if normal is not None and normal.n_sources == 0:
        return "the structure alone: an estimate, what the tables print was not believed"
    sources = ", ".join(boiling.sources)
    return sources if boiling.n_sources else f"{sources} for the normal boiling point, and the structure for the rest"


def near(
    component: Component, found: Neighbours, shown: Sequence[Neighbour], hazards: Mapping[str, Set[str]]
) -> list[Block]:
    """The answer to `near`: the nearest to be shown, their hazard properties, and how many more there are."""
    here = f"{celsius(found.boiling_point_K)} at {pressure(found.pressure_Pa)}"
    head = (
        f"{component.name} [{component.cas}] boils at {here}. "
        f"Within {found.within_K:g} K boil {len(found.neighbours)} others:"
    )
    columns = [
        Column("difference", right=True),
        Column("boils at", right=True),
        Column("CAS"),
        Column("name", wraps=True),
        GRADE,
    ]
    rows = [
        [f"{other.delta_K:+.2f} K", celsius(other.boiling_point_K), other.cas, other.name, other.grade]
        for other in shown
    ]
    blocks: list[Block] = [Paragraph(head, strong=True)]
    if found.remark:
        blocks.append(Paragraph(f"Its own boiling point is {found.remark}."))
    if rows:
        blocks.append(Grid(columns, rows))
    if estimates := sum(other.is_estimate for other in shown):
        verb = "is an estimate" if estimates == 1 else "are estimates"
        blocks.append(
            Paragraph(f"Of those shown {estimates} {verb}, of grade D: no source says where they boil there.")
        )
    if hidden := len(found.neighbours) - len(rows):
        blocks.append(Paragraph(f"and {hidden} more, farther away: --limit shows more of them, --json all."))
    if found.without_curve:
        unseen = f"{found.without_curve} components have no curve that reaches this pressure and were not looked at."
        blocks.append(Paragraph(unseen))
    if rows:
        blocks.append(Paragraph(hazard_remark(len(rows), hazards)))
    return [*blocks, Paragraph(grades_legend(), faint=True), *cautions(component.cautions())]


def cautions(texts: Sequence[str]) -> list[Block]:
    """The one block of cautions; nothing where there are none."""
    return [Items(texts, framed=CAUTIONS)] if texts else []


def rebuild(report: BuildReport) -> list[Block]:
    """The answer to `rebuild`: what was built, from what, and what was refused and why."""
    columns = [
        Column("source", wraps=True),
        Column("rows read", right=True),
        Column("kept", right=True),
        Column("rejected", right=True),
        Column("values rejected", right=True, spare=True),
    ]
    fields = ("rows_read", "rows_kept", "rows_rejected", "values_rejected")
    rows = [[source["source"], *(f"{source[name]:,}" for name in fields)] for source in report.sources]
    totals = (sum(source[name] for source in report.sources) for name in fields)
    rows.append(["all", *(f"{total:,}" for total in totals)])
    counts = [[name.replace("_", " "), f"{count:,}"] for name, count in report.counts.items()]
    reasons = [[reason, f"{count:,}"] for reason, count in report.rejected_by_reason.items()]
    state = "was up to date" if report.up_to_date else "is built"
    return [
        Heading("Open tables"),
        Grid(columns, rows),
        Heading("Rejected, by reason"),
        Grid([Column("reason", wraps=True), Column("rows and values", right=True)], reasons),
        Heading("Store"),
        Grid([Column("what", wraps=True), Column("count", right=True)], counts),
        Paragraph(f"The store {report.path} {state}.", strong=True),
        *_made_with(report),
    ]


def verify(report: VerifyReport) -> list[Block]:
    """The answer to `verify`: every table with its digest, and whether the rebuild gave the same."""
    differing = {difference["table"]: difference["rebuilt_digest"] for difference in report.differences}
    columns = [
        Column("table"),
        Column("rows", right=True),
        Column("digest"),
        Column("rebuilt", colours={"same": "green"}),
    ]
    rows = [
        [name, f"{table['rows']:,}", str(table["digest"])[:12], differing[name][:12] if name in differing else "same"]
        for name, table in report.tables.items()
    ]
    verdict = "A rebuild gives the same tables"
    if differing:
        verdict = f"{len(differing)} {'table differs' if len(differing) == 1 else 'tables differ'} from a rebuild"
    return [
        Grid(columns, rows),
        Paragraph(f"{verdict}: {report.path}.", strong=True),
        *_made_with(report),
    ]


def _made_with(report: BuildReport | VerifyReport) -> list[Block]:
    effort = f"It took {report.seconds:.1f} s and at most {report.peak_rss_MiB:.0f} MiB of memory."
    return [Paragraph(f"Digest {report.digest}"), Paragraph(effort)]

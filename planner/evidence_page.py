"""The quality report as one HTML page that needs nothing else: no script, no font, no address to load from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cutpoint.db.disputes import WORST_BOILING_POINTS, WORST_OF_OTHERS
from cutpoint.db.targets import CALIBRATED_COVERAGE, LEAST_HELD_OUT

from . import evidence_figures, evidence_tables, source_tables
from .charts import drawing, inline_svg
from .evidence_tables import judged, percent, words
from .evidence_words import GLOSSARY, INTRODUCTION, STYLE, grade_limits, held
from .markup import element, folded, frame, paragraph, section, table, terms, text
from .mixing_tables import wrong_pairs

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cutpoint.db.quality import Dispute, Evidence, Judgement

NOT_MEASURED = "Not measured in this store."
FARTHEST_SHOWN = 20

Part = tuple[str, str, list[str]]
"""Identifier, title and content of a section."""


def document(found: Evidence) -> str:
    """The page; the same store gives the same text."""
    with drawing():
        parts = _parts(found)
    contents = "".join(element("li", element("a", text(title), href=f"#{name}")) for name, title, _ in parts)
    body = "\n".join(
        [
            element("header", _header(found)),
            element("nav", element("h2", "Contents") + element("ol", contents), aria_label="Contents"),
            element("main", "\n".join(section(name, title, *content) for name, title, content in parts)),
        ]
    )
    head = (
        '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>Evidence: how good the component store is</title><style>{STYLE}</style>"
    )
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n{body}\n</body></html>\n'


def _header(found: Evidence) -> str:
    libraries = [
        f"{item.removeprefix('library:')} {value}" for item, value in found.build.items() if item.startswith("library:")
    ]
    told = {
        "Digest of the store": found.digest or "not stated",
        "cutpoint": found.build.get("cutpoint_version", "version not stated"),
        "Schema version": found.build.get("schema_version", "not stated"),
        "Built with": ", ".join(libraries) or "not stated",
        "Machine": found.build.get("machine", "not stated"),
        "Holds": held(found.rows),
    }
    return (
        element("h1", "How good is this component store?")
        + "".join(paragraph(said) for said in INTRODUCTION)
        + element("details", element("summary", "What it was built from") + terms(told.items()), open="")
    )


def _parts(found: Evidence) -> list[Part]:
    return [
        ("asked", "Goals, and what is reached", _targets(found)),
        ("words", "What the words mean", [terms(GLOSSARY), table(grade_limits(), "Largest U95 of each grade")]),
        ("coverage", "What is covered, and how surely", _coverage(found)),
        ("calibration", "Do the stated uncertainties hold?", _calibration(found)),
        ("judges", "Against judges that were never a source", _judges(found)),
        ("azeotropes", "Predicted azeotropes against measured ones", _azeotropes(found)),
        ("structure", "Boiling points expected from the structure", _structure_model(found)),
        ("models", "How good each source is", _source_models(found)),
        ("disagreement", "Where the sources disagree", _disagreements(found)),
        ("disputes", "The worst disputes", _disputes(found)),
        ("outliers", "Set aside as outliers", _outliers(found)),
        ("rejected", "Refused altogether", _rejected(found)),
        ("sources", "The sources", _sources(found)),
    ]


def _picture(figure: Figure, name: str, title: str, seen: str) -> str:
    """A picture with its caption; what is seen in it is also its description."""
    drawn = inline_svg(figure, name, title, seen)
    frame = element("div", drawn, class_="picture scroll", tabindex="0", role="region", aria_label=title)
    said = element("strong", text(f"{title}. ")) + text(seen)
    return element("figure", frame + element("figcaption", said), class_=name)


def _targets(found: Evidence) -> list[str]:
    remarks = [element("li", text(f"{target.what}: {target.remark}.")) for target in found.targets if target.remark]
    return [
        paragraph(evidence_tables.summary(found.targets), class_="answer"),
        table(
            evidence_tables.targets(found.targets),
            "Goals, what is reached, and from how many cases",
        ),
        element("ul", "".join(remarks)) if remarks else "",
    ]


def _coverage(found: Evidence) -> list[str]:
    seen = (
        "Each bar is one property; its parts are the shares of the grades among the components that have a value, "
        "whose number stands on the right. "
        "Grade D means: take it as a hint. Most components are rare, and one table alone speaks of them."
    )
    drawn = []
    if found.coverage:
        figure = evidence_figures.coverage(found.coverage)
        drawn = [_picture(figure, "coverage-picture", "Values by property and grade", seen)]
    return [
        *drawn,
        table(evidence_tables.coverage(found.coverage), "Components with a value, by property and grade"),
        paragraph(
            "A vapour-pressure curve is what boiling points at other pressures come from. Pooled curves were fitted to "
            "several correlations at once; chosen ones are the best single correlation; corresponding states are "
            "estimates from the boiling point and the structure."
        ),
        table(evidence_tables.curves(found.curves), "Components with a vapour-pressure curve, by rule and grade"),
    ]


def _calibration(found: Evidence) -> list[str]:
    if not found.calibration:
        return [paragraph(NOT_MEASURED)]
    low, high = (f"{100 * share:.0f}" for share in CALIBRATED_COVERAGE)
    told = (
        "Leave one source out, evaluate from the others, and look whether the value left out lies inside the stated "
        "95 % interval, joined (as a root sum of squares) with the 95 % interval of that source's own scatter. "
        "If the uncertainties are honest it does so in about 95 of 100 cases: more often means that "
        "they are too cautious, less often that they promise too much. Plain blunders of a source, such as a misprint, "
        "are counted but are no test of an interval."
    )
    seen = (
        f"Dots are the shares of held-out values that lie inside the stated interval; the shaded band is {low} to "
        f"{high} %, which is asked. Lines show how far chance alone could move a dot (95 %); a hollow dot has fewer "
        f"than {LEAST_HELD_OUT} values behind it and is not judged."
    )
    figure = evidence_figures.calibration(found.calibration)
    return [
        paragraph(told),
        _picture(figure, "calibration-picture", "How often the intervals hold", seen),
        table(evidence_tables.calibration(found.calibration), "Held-out values inside the stated 95 % interval"),
    ]


def _judges(found: Evidence) -> list[str]:
    if not found.judgements:
        return [paragraph(NOT_MEASURED)]
    told = (
        "A judge had no part in any value. Reference libraries hold equations fitted to the best measurements of a "
        "fluid; rules of physics tie properties together, as the slope of a vapour-pressure curve to the heat of "
        "vaporisation. “Differ” counts the components that lie outside the judge's tolerance."
    )
    libraries = [judgement for judgement in found.judgements if judgement.kind == "library"]
    content = [
        paragraph(told),
        table(evidence_tables.judgements(found.judgements), "Every property against every judge"),
    ]
    for place, judgement in enumerate(libraries):
        content += _library(judgement, f"judge-{place + 1}")
    for judgement in found.judgements:
        if judgement.kind == "rule" and judgement.deviations:
            title = f"{judgement.reference}, {judged(judgement)}: components that break it, farthest off first"
            content.append(folded(title, evidence_tables.farthest(judgement, FARTHEST_SHOWN)))
    content.append(element("h3", "Adjudicated"))
    if found.adjudications:
        content.append(table(evidence_tables.adjudications(found.adjudications), "Decided by a third source"))
    else:
        content.append(paragraph("No disagreement with a judge has been adjudicated in this store."))
    return content


def _library(judgement: Judgement, name: str) -> list[str]:
    """A histogram and a table by grade where there are enough components; what differs in any case."""
    title = f"{judgement.reference}: {judged(judgement)}"
    content = []
    if evidence_figures.can_be_drawn(judgement):
        seen = (
            "Components by how far they are from the judge, on a logarithmic axis: each figure on it is ten times the "
            "one to its left. Colours are the grades that the store gives."
        )
        if evidence_figures.limits(judgement):
            seen += " Dashed lines are limits that the goals name."
        content = [
            element("h3", text(title)),
            _picture(evidence_figures.deviations(judgement), name, f"Deviations from {title}", seen),
            table(evidence_tables.by_grade(judgement), f"{title}, by the grade that the store gives"),
        ]
    if judgement.n_components_differing:
        said = f"{title}: components that differ, farthest off first"
        content.append(folded(said, evidence_tables.farthest(judgement, FARTHEST_SHOWN)))
    return content


def _azeotropes(found: Evidence) -> list[str]:
    if not found.measured_pairs:
        return [paragraph(NOT_MEASURED)]
    able = [pair for pair in found.measured_pairs if pair.problem is None]
    told = (
        f"{len(found.measured_pairs)} pairs whose azeotrope was measured, or of which it was found that they form "
        f"none; {len(able)} of them can be predicted by modified UNIFAC (Dortmund) from the structures alone. The "
        "figures asked stand above. Here are the pairs of which it predicts the existence or the kind wrongly: a "
        "measured azeotrope always wins over a predicted one, but a pair that was never measured can be wrong likewise."
    )
    return [paragraph(told), table(wrong_pairs(found.measured_pairs), "Predicted wrongly")]


def _structure_model(found: Evidence) -> list[str]:
    if not found.structure_model:
        return [paragraph(NOT_MEASURED)]
    told = (
        "A model of our own says from the structure alone where a substance should boil. It is a weak witness: it "
        "unmasks boiling points at reduced pressure, and stands in where no table is to be believed. Each error here "
        "is of substances that the model had not seen; beside it, on the same substances, that of a published "
        "additive method, which adds up contributions of groups."
    )
    return [paragraph(told), table(evidence_tables.structure_model(found.structure_model), "Held-out errors by class")]


def _source_models(found: Evidence) -> list[str]:
    if not found.source_models:
        return [paragraph(NOT_MEASURED)]
    told = (
        "How far a source scatters about the truth when it is sound, how often it is plainly wrong (a blunder), and in "
        "brackets the number of components on which it was compared with others. A source is better where many speak "
        "of a substance, since everybody has looked there; hence three columns."
    )
    properties = list(dict.fromkeys(model.property for model in found.source_models))
    content = [paragraph(told)]
    for property in properties:
        models = [model for model in found.source_models if model.property == property]
        grid = evidence_tables.source_models(models, with_numbers=True)
        title = f"{words(property).capitalize()}: scatter, share of blunders"
        content.append(table(grid, title) if property == properties[0] else folded(title, grid))
    return content


def _disagreements(found: Evidence) -> list[str]:
    content = [
        paragraph(
            "What the tables print, before anything is believed or refused. The first table counts boiling points that "
            "two or more sources spread, and the grade that came of it all the same."
        ),
        table(source_tables.spreads(found.spreads), "Boiling points spread over the sources"),
    ]
    if not found.disagreements:
        return [*content, paragraph("No two sources share enough boiling points to be compared.")]
    seen = (
        "For each pair of sources, the percentage of the components they share whose boiling points are more than 1 K "
        "apart, and below it in small print how many they share. A star marks boiling points worked out from a "
        "source's vapour-pressure correlations."
    )
    figure = evidence_figures.disagreements(found.disagreements)
    pairs = source_tables.disagreements(found.disagreements)
    return [
        *content,
        _picture(figure, "disagreement-picture", "Disagreement between sources", seen),
        folded("Every pair of sources as a table, most disagreement first", pairs),
    ]


def _disputes(found: Evidence) -> list[str]:
    told = (
        "The values of a property are parted at the widest gap between them. A dispute scores the width of the gap in "
        "units of grade C's limit (for temperatures in proportion to T above 25 °C), times the square of the number of "
        "independent sources in the smaller camp: one source alone may have a misprint, two that agree make it a "
        "dispute. “Settled” means that the store's uncertainty does not reach the other camp, “left open” that it "
        "does. Both can be wrong: please look at the observations."
    )
    care = (
        "Where a flash point, an autoignition temperature or a flammability limit is in dispute, go by the cautious "
        "end that `cutpoint card` shows, the product's own safety data sheet, and local codes."
    )
    content = [paragraph(told), paragraph(care, class_="care")]
    for property in dict.fromkeys(dispute.property for dispute in found.disputes):
        listed = [dispute for dispute in found.disputes if dispute.property == property]
        limit = WORST_BOILING_POINTS if property == "normal_boiling_point" else WORST_OF_OTHERS
        content.append(element("h3", text(f"{words(property).capitalize()}: the worst {min(limit, len(listed))}")))
        content += [_dispute(place, dispute) for place, dispute in enumerate(listed, 1)]
    return content if found.disputes else [*content, paragraph("The sources of this store dispute nothing.")]


def _dispute(place: int, dispute: Dispute) -> str:
    name = f"{dispute.name} [{dispute.cas}]"
    said = f"{source_tables.camp(dispute, 'lower')}, or {source_tables.camp(dispute, 'upper')}"
    summary = element("strong", text(f"{place}. {name}")) + text(
        f": {said}. The store: {source_tables.stands_for(dispute)}."
    )
    shown = frame(source_tables.disputed_values(dispute), f"{name}, {words(dispute.property)}: every observation")
    decided = paragraph(f"Score {dispute.score:.1f}. {source_tables.decision(dispute)}")
    return element("details", element("summary", summary) + decided + shown, class_="dispute")


def _outliers(found: Evidence) -> list[str]:
    told = (
        "Kept in sight, with the reason, but out of the evaluation. `cutpoint card NAME --evidence` shows those of one "
        "component."
    )
    return [paragraph(told), table(source_tables.outliers(found.outliers, by_property=True), "Outliers by reason")]


def _rejected(found: Evidence) -> list[str]:
    told = (
        "Rows, and single values of rows that were otherwise kept, that no component or property could be made of. "
        "Nothing is dropped silently: each stands in the store's table `rejected` with its source, row and text."
    )
    return [paragraph(told), table(source_tables.rejected(found.rejected, by_source=True), "Refused, by reason")]


def _sources(found: Evidence) -> list[str]:
    read, refused = (
        sum(getattr(account, name) for account in found.sources) for name in ("rows_read", "rows_rejected")
    )
    share = f", {percent(refused / read)} of which gave nothing" if read else ""
    told = f"{len(found.sources)} open tables with {read:,} rows{share}."
    return [paragraph(told), table(source_tables.sources(found.sources), "What became of the rows of each open table")]

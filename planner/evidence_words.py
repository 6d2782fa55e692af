"""What the HTML report says of itself: the words it uses, explained for a chemist, and how it looks."""

from __future__ import annotations

from collections.abc import Mapping

from cutpoint.schema.properties import EVALUATED_PROPERTIES, PROPERTIES

from .evidence_tables import words
from .figures import significant
from .page import Column, Grid

INTRODUCTION = (
    "This page says how far the values of a component store can be trusted, worked out from the store's own tables. "
    "Open tables of boiling points and other properties contradict each other more often than one would think; the "
    "store weighs them, states an uncertainty with every value, and sets aside what cannot be true. Whether it does "
    "that well is shown here.",
    "The numbers are no substitute for the safety data sheet of the product at hand, nor for local codes and licensed "
    "practice.",
)

GLOSSARY = (
    (
        "U95",
        "Expanded uncertainty with a coverage of 95 % (GUM, JCGM 100:2008). “78.3 ± 0.2 °C” says: in 95 cases of 100 "
        "the true value lies between 78.1 and 78.5 °C.",
    ),
    (
        "Grade",
        "A statement about U95, not about taste. A boiling point of grade A is known to half a kelvin or better and "
        "stands on three independent sources; B to 2 K; C to 10 K; D is anything wider, a single source that nobody "
        "has checked, or an estimate. Other properties have limits of their own, given below.",
    ),
    ("Source", "One open table, as it was published. Its rows are observations."),
    (
        "Independent",
        "Tables of one publishing house count once, and so does a number that another source repeats to the last "
        "digit: it may have been copied.",
    ),
    (
        "Judge",
        "A reference that was never a source: a library of equations fitted to the best measurements, or a rule of "
        "physics. Agreement with a judge is therefore earned.",
    ),
    (
        "Outlier",
        "An observation that the store keeps in sight, with the reason, but does not believe: far from what the others "
        "agree on, or against physics. The classic is a boiling point at reduced pressure printed as a normal one.",
    ),
    (
        "Rejected",
        "A row or value of which nothing could be made: no known substance, no unit, a text that is no number.",
    ),
    ("Camp", "In a dispute, the values on one side of the widest gap."),
)


_HELD = {
    "component": "components",
    "name": "names",
    "source": "open tables",
    "observation": "observations",
    "evaluation": "evaluated values",
    "vapour_curve": "vapour-pressure curves",
    "crosscheck": "comparisons with judges",
    "hazard": "hazard figures",
    "azeotrope": "azeotropes",
    "rejected": "rejected rows and values",
}


def held(rows: Mapping[str, int]) -> str:
    """How much the store holds, from the number of rows of its tables."""
    return ", ".join(f"{rows[table]:,} {what}" for table, what in _HELD.items() if rows.get(table))


def grade_limits() -> Grid:
    """Largest U95 of the grades of each property."""
    columns = [Column("property", wraps=True), *(Column(grade, right=True) for grade in "ABC")]
    rows = [[words(name), *map(_limit, PROPERTIES[name].grade_limits, [name] * 3)] for name in EVALUATED_PROPERTIES]
    return Grid(columns, rows)


def _limit(limit: float, name: str) -> str:
    entry = PROPERTIES[name]
    if entry.relative:
        return f"{significant(100 * limit)} %"
    return f"{limit:g} {'' if entry.unit == '1' else entry.unit}".rstrip()


STYLE = """
:root { color: #24292e; background: #fff; font: 16px/1.5 system-ui, "Segoe UI", Roboto, "Liberation Sans", sans-serif; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 72rem; padding: 1rem 1.5rem 4rem; overflow-wrap: break-word; }
h1 { font-size: 1.9rem; line-height: 1.2; margin: 1rem 0; }
h2 { font-size: 1.35rem; margin: 2.5rem 0 .75rem; padding-top: .75rem; border-top: 2px solid #24292e; }
h3 { font-size: 1.1rem; margin: 2rem 0 .5rem; }
p, dl, figcaption, nav, ul { max-width: 46rem; }
a { color: #0b5c7a; }
nav h2 { border: 0; margin: 1.5rem 0 .25rem; padding: 0; font-size: 1.1rem; }
nav ol { margin: 0; columns: 22rem; column-gap: 2rem; }
.answer { font-size: 1.1rem; font-weight: 600; }
.care { border-left: 4px solid #c98a00; padding: .25rem .75rem; background: #fff8e6; }
dl { display: grid; grid-template-columns: minmax(6rem, max-content) 1fr; gap: .35rem 1rem; }
dt { font-weight: 600; }
dd { margin: 0; min-width: 0; overflow-wrap: anywhere; }
details { margin: .5rem 0; }
summary { cursor: pointer; padding: .2rem 0; }
.dispute { border-bottom: 1px solid #e2e5e8; margin: 0; }
.scroll {
  overflow-x: auto; margin: 0 0 1.25rem;
  background:
    linear-gradient(90deg, #fff 30%, #fff0) left / 2.5rem 100% no-repeat local,
    linear-gradient(-90deg, #fff 30%, #fff0) right / 2.5rem 100% no-repeat local,
    linear-gradient(90deg, #0003, #0000) left / .8rem 100% no-repeat,
    linear-gradient(-90deg, #0003, #0000) right / .8rem 100% no-repeat;
}
.scroll:focus-visible, summary:focus-visible, a:focus-visible { outline: 3px solid #1b6f8a; outline-offset: 2px; }
table { border-collapse: collapse; font-size: .92rem; }
.caption { font-weight: 600; font-size: .95rem; margin: 1.25rem 0 .25rem; }
th, td { padding: .3rem .8rem .3rem 0; text-align: left; vertical-align: top; white-space: nowrap; }
thead th { border-bottom: 2px solid #24292e; vertical-align: bottom; white-space: normal; }
tbody th { font-weight: 400; }
tbody tr { border-bottom: 1px solid #e2e5e8; }
.number { text-align: right; font-variant-numeric: tabular-nums; }
td.wraps, tbody th.wraps { white-space: normal; min-width: 8rem; max-width: 36rem; overflow-wrap: anywhere; }
.green { color: #1a6e2e; font-weight: 600; }
.red { color: #b3261e; font-weight: 600; }
.yellow { color: #8a5a00; font-weight: 600; }
.cyan { color: #0b6e78; font-weight: 600; }
code { font-size: .95em; }
figure { margin: 1rem 0 1.5rem; }
.picture { max-width: 36rem; margin: 0; }
.picture svg { display: block; width: 100%; height: auto; }
figcaption { color: #4a5157; font-size: .95rem; margin-top: .5rem; }
.disagreement-picture .picture { max-width: 54rem; }
.disagreement-picture svg { min-width: 44rem; }
@media (max-width: 40rem) {
  body { padding: .5rem 1rem 3rem; }
  h1 { font-size: 1.5rem; }
  dl { display: block; }
  dd { margin: 0 0 .6rem; }
  table { font-size: .84rem; }
  th, td { padding-right: .6rem; }
  td.wraps, tbody th.wraps { min-width: 6.5rem; }
  .spare { display: none; }
}
@media print { details > summary { list-style: none; } .scroll { overflow: visible; } }
"""

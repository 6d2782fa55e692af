"""Statements of Wikidata with a quantity: from the solutions of a query to rows of the snapshot.

A statement comes in several solutions if it has several qualifiers or references. What is
no quantity, or has a condition that nobody knows, is refused with its raw text: a boiling
point at an unknown pressure would else pass for a normal one.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence

from cutpoint.pipeline.wikidata_terms import PROPERTIES

from .sparql import ENTITY, Binding, entity, is_literal, raw, text
from .staging import Row

SOURCE = "wikidata_live"
ONE = "1"
"""Unit of a number without one, which Wikidata writes as the item Q199, the number one."""

_DECIMAL = re.compile(r"[+-]?\d+(\.\d+)?([eE][+-]?\d{1,3})?")
_STATEMENT = re.compile(rf"{re.escape(ENTITY)}statement/([\w$-]+)")
_RANKS = {f"http://wikiba.se/ontology#{name.title()}Rank": name for name in ("preferred", "normal", "deprecated")}


class Refused(Exception):
    """A statement that cannot be used; says why."""


def rows_of(solutions: Sequence[Binding]) -> tuple[list[Row], list[Row]]:
    """Rows of `wikidata_values` and of `rejected` from the solutions of a query for values."""
    statements: dict[str, list[Binding]] = defaultdict(list)
    for solution in solutions:
        statements[text(solution, "statement") or raw(solution)].append(solution)
    kept: list[Row] = []
    rejected: list[Row] = []
    for told in statements.values():
        try:
            kept.extend(_rows(told))
        except Refused as refused:
            rejected.append((SOURCE, entity(told[0], "item") or "", min(map(raw, told)), str(refused)))
    return kept, rejected


def _rows(solutions: Sequence[Binding]) -> set[Row]:
    """One row for each pressure, temperature and phase that a statement is said to hold for."""
    reference = _reference(solutions)
    return {(*_statement(solution), reference) for solution in solutions}


def _statement(solution: Binding) -> Row:
    item, statement = entity(solution, "item"), _STATEMENT.fullmatch(text(solution, "statement") or "")
    property, rank = text(solution, "property"), _RANKS.get(text(solution, "rank") or "")
    if item is None or statement is None or property not in PROPERTIES or rank is None:
        raise Refused("item, statement, property or rank is missing or unheard of")
    if "value" not in solution:
        raise Refused("the statement says that there is no value")
    if "amount" not in solution:
        raise Refused("the value is unknown or no quantity")
    for condition in ("pressure", "temperature"):
        if not is_literal(solution, condition) or (condition in solution and f"{condition}_amount" not in solution):
            raise Refused(f"the {condition} that it is said to hold for is unknown")
    return (
        item,
        statement[1],
        property,
        _number(solution, "amount"),
        _unit(solution, "unit"),
        _number(solution, "lower"),
        _number(solution, "upper"),
        _number(solution, "pressure_amount"),
        _unit(solution, "pressure_unit"),
        _number(solution, "temperature_amount"),
        _unit(solution, "temperature_unit"),
        _phase(solution),
        rank,
    )


def _number(solution: Binding, variable: str) -> str | None:
    number = text(solution, variable)
    if number is not None and not _DECIMAL.fullmatch(number):
        raise Refused(f"the {variable.replace('_', ' ')} is no decimal number")
    return number


def _unit(solution: Binding, variable: str) -> str | None:
    if variable not in solution:
        return None
    unit = entity(solution, variable)
    if unit is None:
        raise Refused(f"the {variable.replace('_', ' ')} is no item of Wikidata")
    return ONE if unit == "Q199" else unit


def _phase(solution: Binding) -> str | None:
    if "phase" not in solution:
        return None
    phase = entity(solution, "phase")
    if phase is None:
        raise Refused("the phase that it is said to hold for is unknown")
    return phase


def _reference(solutions: Sequence[Binding]) -> str | None:
    """The works and web pages that a statement refers to, in one text."""
    works = {entity(solution, "stated_in") for solution in solutions}
    pages = {text(solution, "reference_url") for solution in solutions}
    return "; ".join(sorted(told for told in works | pages if told)) or None

"""The separation sheet on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from ..page import Block, Heading, Items, Paragraph
from ..render import cautions, grades_legend
from ..stills.results import Plan
from . import tables, words

MOST_PAIRS = 20
"""Pairs shown, hardest first."""


def blocks(plan: Plan) -> list[Block]:
    """The answer to `plan`: verdict, label, steps, what to expect, what cannot be parted, weak points, cautions."""
    return [
        Heading(plan.title),
        Paragraph(plan.verdict, strong=True),
        Paragraph(words.conditions(plan)),
        *_label(plan),
        Heading(words.STEPS),
        Items(words.steps(plan), numbered=True),
        *_expected(plan),
        *_pairs(plan),
        Heading(words.HOLDING),
        tables.holding(plan),
        *_items(plan.holding.words),
        *_weak(plan),
        *cautions(plan.cautions),
    ]


def _label(plan: Plan) -> list[Block]:
    return [
        Heading(words.LABEL),
        tables.ingredients(plan),
        *_items(tables.remarks(plan)),
        Paragraph(grades_legend(), faint=True),
    ]


def _expected(plan: Plan) -> list[Block]:
    """What comes over, when, how pure, in what time and at what cost."""
    return [
        Heading(words.EXPECTED),
        Paragraph(words.how_to_read(plan), faint=True),
        *_opening(plan),
        Heading(words.FRACTIONS),
        tables.fractions(plan, with_contents=False),
        Items([f"{one.name}: {tables.contents(one.contents)} % by mass" for one in plan.fractions]),
        Heading(words.HEAD),
        tables.head(plan) if plan.curve.volume_m3 else Paragraph(words.NO_CURVE),
        Heading(words.PRODUCT),
        tables.product(plan),
        Heading(words.REFLUX),
        tables.reflux(plan),
        Heading(words.DUTY),
        tables.duty(plan),
    ]


def _opening(plan: Plan) -> list[Block]:
    if plan.opening is None:
        return []
    return [Heading(words.OPENING), Paragraph(words.package(plan.opening)), tables.opening(plan.opening)]


def _pairs(plan: Plan) -> list[Block]:
    grid = tables.pairs(plan, MOST_PAIRS)
    left_out = words.pairs_left_out(len(grid.rows), plan)
    told: list[Block] = [Heading(words.PAIRS), Items(words.not_parted(plan))]
    if grid.rows:
        told.append(grid)
    return [*told, Paragraph(left_out)] if left_out else told


def _weak(plan: Plan) -> list[Block]:
    return [Heading(words.WEAK), Items(plan.weak_points)] if plan.weak_points else []


def _items(texts: Sequence[str]) -> list[Block]:
    return [Items(texts)] if texts else []

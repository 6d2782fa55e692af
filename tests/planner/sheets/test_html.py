"""The sheet as a page: sound markup that needs nothing else, and is made for two sides of A4."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from cutpoint.planner.sheets.html import MOST_PAIRS, RUN_COLUMNS, RUN_ROWS, html, write_sheet
from cutpoint.planner.stills.results import Plan
from cutpoint.schema.errors import WrongUsage

EMPTY = {"meta", "br", "use", "path", "rect"}
LOADING = {"src", "srcset", "data", "action", "poster", "background"}


class Seen(HTMLParser):
    """Elements and text of a page; every element must be closed in turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.counts: Counter[str] = Counter()
        self.identifiers: Counter[str] = Counter()
        self.loads: list[str] = []
        self.words: list[str] = []
        self.tables: list[Counter[str]] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.counts[tag] += 1
        if identifier := given.get("id"):
            self.identifiers[identifier] += 1
        self.loads += [f"{name}={value}" for name, value in attrs if name in LOADING]
        self.loads += [value or "" for name, value in attrs if "href" in name and not (value or "").startswith("#")]
        if tag == "table":
            self.tables.append(Counter())
        elif self.tables:
            self.tables[-1][tag] += 1
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if tag not in EMPTY:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "svg"} & set(self.open):
            self.words.append(data)


def test_the_page_is_sound_and_stands_alone(plan: Plan) -> None:
    page = html(plan)
    seen = Seen(page)
    assert page.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert (seen.counts["h1"], seen.counts["main"], seen.counts["script"], seen.counts["link"]) == (1, 1, 0, 0)
    assert seen.loads == []
    assert "@import" not in page and "url(http" not in page
    assert [name for name, times in seen.identifiers.items() if times > 1] == []
    assert f"<title>{plan.title}" in page
    assert all(table["th"] for table in seen.tables)
    assert re.search(r"\b(None|nan|NaN|inf)\b", " ".join(seen.words)) is None


def test_the_same_sheet_gives_the_same_page(plans: dict[str, Plan]) -> None:
    assert html(plans["ordinary"]) == html(plans["ordinary"])


def test_there_is_an_empty_table_for_the_run(plans: dict[str, Plan]) -> None:
    page = html(plans["sparse"])
    run = page[page.index('id="run"') :]
    assert RUN_ROWS >= 15
    assert run.count("<td") == RUN_ROWS * len(RUN_COLUMNS)
    for field in ("Date", "Operator", "Barometer", "Batch", *RUN_COLUMNS):
        assert f">{field}<" in run


def test_it_is_made_for_paper_and_for_telephones(plans: dict[str, Plan]) -> None:
    page = html(plans["ordinary"])
    assert "@page { size: A4;" in page and "@media print" in page and "max-width: 40rem" in page
    assert page.index('class="front"') < page.index('id="fractions"') < page.index('class="back"')
    assert page.index('class="back"') < page.index('id="cautions"') < page.index('id="run"')
    assert page.count('class="cautions"') == 1


def test_the_picture_has_words(plans: dict[str, Plan]) -> None:
    page = html(plans["ordinary"])
    assert '<desc id="head-temperature-desc">The head reads 54.4 °C at the start and 72.9 °C after 940 mL.' in page
    assert "<svg" not in html(plans["sparse"])


def test_a_crowded_page_leaves_the_easier_pairs_out(plans: dict[str, Plan]) -> None:
    page = html(plans["crowded"])
    assert page.count(">undecided<") == MOST_PAIRS
    assert "none harder: 31 (" in page


def test_what_a_label_says_cannot_become_markup(plans: dict[str, Plan]) -> None:
    hostile = "<script>alert(1)</script>&\x1b[31m"
    plan = plans["ordinary"]
    row = replace(plan.ingredients[0], printed=hostile, name=hostile, remark=hostile)
    page = html(replace(plan, title=hostile, ingredients=(row,), verdict=hostile, weak_points=(hostile,)))
    assert "<script" not in page and "\x1b" not in page
    assert Seen(page).counts["h1"] == 1


def test_it_is_written_whole_or_not_at_all(plans: dict[str, Plan], tmp_path: Path) -> None:
    write_sheet(plans["ordinary"], tmp_path / "sheet.html")
    assert (tmp_path / "sheet.html").read_text(encoding="utf-8") == html(plans["ordinary"])
    with pytest.raises(WrongUsage, match="folder"):
        write_sheet(plans["ordinary"], tmp_path)

"""The command `evidence`: its page, its object, its HTML file; on the invented rows of tests/db/evidence.sql."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import duckdb
import pytest
from click.testing import Result

from cutpoint import db
from cutpoint.db.evidence import evidence
from cutpoint.planner.evidence import page
from cutpoint.planner.evidence_tables import deviation, percent
from cutpoint.planner.page import show
from cutpoint.schema import SCHEMA_VERSION
from cutpoint.schema.ddl import create_statements
from cutpoint.schema.tables import TABLES

Run = Callable[..., Result]
Answer = Callable[..., dict[str, Any]]
Error = Callable[..., tuple[dict[str, Any], int]]

ROWS = Path(__file__).parents[1] / "db" / "evidence.sql"
VOID = {"meta", "br", "link", "img", "hr", "input"}


def _build(path: Path, rows: str) -> Path:
    with duckdb.connect(str(path)) as connection:
        for table in TABLES:
            for statement in create_statements(table):
                connection.execute(statement)
        connection.execute(rows)
    return path


@pytest.fixture(scope="module")
def small_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store that the fixtures `run`, `answer`, `error` and `process` ask."""
    rows = ROWS.read_text("utf-8").replace("$schema_version", str(SCHEMA_VERSION))
    return _build(tmp_path_factory.mktemp("evidence") / "store.duckdb", rows)


@pytest.fixture(scope="module")
def bare_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store in which nothing was measured, nor anything else."""
    rows = f"INSERT INTO build VALUES ('schema_version', '{SCHEMA_VERSION}')"
    return _build(tmp_path_factory.mktemp("evidence") / "bare.duckdb", rows)


class Page(HTMLParser):
    """What is needed of a page to test it; raises where elements do not close in their order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words += data + " "

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]

    def values(self, attribute: str) -> list[str]:
        return [value for _, attributes in self.tags if (value := attributes.get(attribute)) is not None]


@pytest.fixture(scope="module")
def html(small_store: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    from cutpoint.planner.evidence_page import document

    with db.open(small_store) as store:
        return document(evidence(store))


def test_the_parts_of_the_page_in_their_order(run: Run) -> None:
    result = run("evidence")
    assert result.exit_code == 0, result.output
    parts = [
        "Goals, and what is reached",
        "Components with a value, by grade",
        "Components with a vapour-pressure curve",
        "Calibration: ",
        "Judges, which are never sources",
        "Sources of boiling points",
        "Boiling points on which sources differ",
        "Sources that differ most often",
        "Worst disputes: boiling points",
        "Worst dispute of each safety figure",
        "Observations set aside as outliers",
        "Rows and values refused",
        "Store",
    ]
    places = [result.stdout.index(f"\n{part}") for part in parts]
    assert places == sorted(places)


def test_what_the_page_says(run: Run) -> None:
    page = " ".join(run("evidence").stdout.split())
    for said in (
        "boiling point, grades A and B, against CoolProp: median deviation ≤ 0.04 K 0.06 K not met 5",
        "boiling points of grade A ≥ 2,000 3 not met 7",
        "vapour pressure, 5 to 500 kPa, against CoolProp: fluids within 2 % ≥ 90 % 50 % not met 2",
        "structure model, held out: its median error over that of the additive method ≤ 50 % 25 % met 90",
        "4 of the 17 goals are reached; 4 are not measured in this store.",
        "1 more are adjudicated.",
        "normal boiling point 3 2 0 2 7",
        "normal boiling point 95 % ! 90 % too few too few",
        "CoolProp 1.2.3 vapour pressure, 5 to 500 kPa 2 2.6 %",
        "alpha handbook finely – – 0.1 K, 1 %",
        "alpha handbook to 1 K 0.5 K, 10 % – –",
        "epsilon curves (curves) inside its range – 0.2 K, 2 % –",
        "eta table zeta table 12 25 % 33 % 0.5 K",
        "hexane [110-54-3] 26.85 to 27.35 °C (2 sources), or 68.65 to 68.85 °C (2 sources) 69 ± 41 °C, grade D, left",
        "sucrose [57-50-1] 226.85 °C (1 source), or 426.85 °C (1 source) no value",
        "flash point toluene [108-88-3] 3.85 °C (1 source), or 53.85 °C (1 source) 3.9 ± 5.0 °C, grade B, settled",
        "safety data sheet",
        "CAS number 2",
        "digest c0ffee",
    ):
        assert said in page, said


def test_what_was_not_measured_is_said_so(run: Run, bare_store: Path) -> None:
    result = run("evidence", "--store", str(bare_store))
    assert result.exit_code == 0
    assert "0 of the 17 goals are reached; 15 are not measured in this store." in result.stdout
    assert result.stdout.count("\nNot measured in this store.") >= 8


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_terminals_stay_readable(
    small_store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], columns: int
) -> None:
    with db.open(small_store) as store:
        blocks = page(evidence(store))
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    show(blocks)
    lines = capsys.readouterr().out.split("\n")
    assert max(map(len, lines)) <= columns
    assert not any("…" in line for line in lines)


def test_the_object(answer: Answer, small_store: Path) -> None:
    told = answer("evidence")
    assert set(told) == {
        "path", "digest", "build", "rows", "targets", "coverage", "curves", "calibration", "judgements",
        "measured_pairs", "adjudications", "structure_model", "source_models", "spreads", "disputes",
        "disagreements", "rejected",
        "outliers", "sources",
    }  # fmt: skip
    assert told["path"] == str(small_store)
    assert told["targets"][0] == {
        "key": "boiling_point_median_deviation",
        "what": "boiling point, grades A and B, against CoolProp: median deviation",
        "relation": "at most",
        "limit": 0.04,
        "reached": pytest.approx(0.06),
        "unit": "K",
        "n": 5,
        "met": False,
        "remark": None,
    }
    assert told["disputes"][0]["observations"][0]["reason"] == "outside the consensus near 341.9 K"


def test_the_file_is_whole_and_the_answer_says_where(run: Run, answer: Answer, tmp_path: Path, html: str) -> None:
    file = tmp_path / "report.html"
    result = run("evidence", "--html", str(file))
    assert result.exit_code == 0
    assert result.stdout.strip().endswith(f"The page is written to {file}.")
    assert file.read_text("utf-8") == html
    assert answer("evidence", "--html", str(file))["digest"] == "c0ffee"
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]


def test_the_same_store_gives_the_same_bytes(process: Callable[..., Any], tmp_path: Path, html: str) -> None:
    (tmp_path / "matplotlibrc").write_text("font.size: 30\naxes.facecolor: red\nsvg.fonttype: path\n", "utf-8")
    surroundings = {"PYTHONHASHSEED": "7", "MATPLOTLIBRC": str(tmp_path), "TZ": "Asia/Tokyo", "SOURCE_DATE_EPOCH": "9"}
    written = process("evidence", "--html", str(tmp_path / "again.html"), **surroundings)
    assert written.returncode == 0, written.stderr
    assert (tmp_path / "again.html").read_text("utf-8") == html


@pytest.mark.parametrize("place", [".", "missing/report.html", "file/report.html"])
def test_a_place_that_cannot_be_written(error: Error, tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("no folder")
    told, status = error("evidence", "--html", str(tmp_path / place))
    assert (told["kind"], status) == ("usage", 2)
    assert "cannot be written" in told["message"]
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_a_store_that_is_missing(error: Error, tmp_path: Path) -> None:
    told, status = error("evidence", "--store", str(tmp_path / "none.duckdb"), "--html", str(tmp_path / "page.html"))
    assert (told["kind"], status) == ("store_missing", 1)
    assert list(tmp_path.iterdir()) == []


def test_the_html_needs_nothing_else(html: str) -> None:
    read = Page(html)
    assert {"script", "link", "img", "iframe", "object", "image", "use"} & {tag for tag, _ in read.tags} <= {"use"}
    identifiers = read.values("id")
    assert len(identifiers) == len(set(identifiers))
    for reference in read.values("href") + read.values("xlink:href"):
        assert reference.startswith("#") and reference[1:] in identifiers
    assert set(re.findall(r"url\(#([^)]+)\)", html)) <= set(identifiers)
    assert set(re.findall(r"https?://[^\s\"<]+", html)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }
    assert "@import" not in html and "url(" not in html.partition("</style>")[0]


def test_the_html_can_be_read_by_everybody(html: str) -> None:
    read = Page(html)
    assert read.all("html") == [{"lang": "en"}]
    assert {"name": "viewport", "content": "width=device-width, initial-scale=1"} in read.all("meta")
    assert len(read.all("h1")) == len(read.all("main")) == len(read.all("nav")) == 1
    pictures = read.all("svg")
    assert len(pictures) == len(read.all("figure")) == len(read.all("figcaption")) >= 4
    for picture in pictures:
        assert picture["role"] == "img"
        assert {picture["aria-labelledby"], picture["aria-describedby"]} <= set(read.values("id"))
    assert all(header.get("scope") in ("col", "row") for header in read.all("th"))
    assert len(read.all("table")) == len(read.all("thead")) > 20
    contents = [link["href"] for link in read.all("a")]
    assert contents == [f"#{part['id']}" for part in read.all("section")]


def test_what_the_html_says(html: str) -> None:
    words = " ".join(Page(html).words.split())
    for said in (
        "How good is this component store?",
        "c0ffee",
        "9 components",
        "Expanded uncertainty with a coverage of 95 %",
        "4 of the 17 goals are reached; 4 are not measured in this store.",
        "fewer than 30 held out, not judged: C (10), D (0).",
        "CoolProp 1.2.3: normal boiling point",
        "Decided by a third source",
        "order: boils below the critical temperature",
        "1. hexane [110-54-3]",
        "Score 15.3. The store stands with the upper camp, on 2 independent sources, by the rule “consensus”; its U95 "
        "reaches another camp. Set aside as outliers: 2 of 5 observations.",
        "The store gives no value. It decomposes. Set aside as outliers: 2 of 2 observations.",
        "epsilon curves, row 1, where its correlation reaches 1 atm",
        "alpha handbook, row 1: a · b",
        "go by the cautious end",
    ):
        assert said in words, said


def test_nothing_from_a_source_is_markup(html: str) -> None:
    assert "<b>" not in html and "<d>" not in html and "<alpha_handbook>" not in html
    assert "benzene &lt;b&gt;" in html and "Invented &amp; sons" in html


def test_a_bare_store_has_a_page_too(run: Run, bare_store: Path, tmp_path: Path) -> None:
    file = tmp_path / "bare.html"
    result = run("evidence", "--store", str(bare_store), "--html", str(file))
    assert result.exit_code == 0, result.output
    read = Page(file.read_text("utf-8"))
    assert read.words.count("Not measured in this store.") == 5
    assert read.all("svg") == []


@pytest.mark.parametrize(
    ("size", "unit", "relative", "said"),
    [
        (0.0277, "K", False, "0.028 K"),
        (173.98, "K", False, "174 K"),
        (0.0, "K", False, "0 K"),
        (0.00306, "1", True, "0.31 %"),
        (0.0052, "1", False, "0.0052"),
    ],
)
def test_sizes_of_deviations(size: float, unit: str, relative: bool, said: str) -> None:
    assert deviation(size, unit, relative) == said


def test_percentages() -> None:
    assert [percent(share) for share in (0.0, 0.92308, 1.0)] == ["0 %", "92.3 %", "100 %"]

"""The notes of a batch, read from a CSV file as people write it.

A line names the columns; then one line per reading. Commas, semicolons or tabs
part the cells; lines that are empty or begin with # are passed over.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator
from itertools import zip_longest
from pathlib import Path

from cutpoint.schema.errors import WrongRun

from .columns import EXAMPLE, READING, RECEIVER, REMARK, TIME, VOLUME, Column, find_columns, is_header, is_units
from .run import Row, Run
from .times import elapsed
from .values import is_missing, reading_K, time_s, volume_m3
from .volumes import distilled

MOST_BYTES = 32 * 2**20
MOST_ROWS = 100_000
FEWEST_COMPARED = 3
MOST_CHARACTERS = 10_000
"""Of one line; more is no note."""
_MOST_REMARK = 200

Cells = tuple[int, list[str]]
"""A line's number and its cells."""


def read_run(path: Path) -> Run:
    """The notes in a file.

    Raises WrongRun, naming the line and what to do, for a file that is not
    there or no text, that lacks head temperature or volume, for a figure that
    cannot be, a clock that runs backwards, a volume that falls, and for fewer
    than three rows that can be compared.
    """
    try:
        if path.is_dir():
            raise WrongRun(f"{str(path)!r} is a folder: name the file with the notes in it.")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError as error:
        raise WrongRun(f"There is no file {str(path)!r}: name the one with the notes of the batch.") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise WrongRun(f"The notes in {str(path)!r} cannot be read: {why}.") from error
    return parse_run(content, path.name)


def parse_run(content: bytes, name: str) -> Run:
    """The notes in the content of a file called `name`; raises WrongRun as `read_run`."""
    text = _decoded(content, name)
    header, lines = _cells(text, name)
    columns, remarks = find_columns(header[1], header[0])
    noted = list(_noted(lines, columns, len(header[1])))
    times, told_times = elapsed([(line, time) for line, time, *_ in noted])
    volumes, receivers, told_volumes = distilled([(line, volume, own) for line, _, _, volume, own, _ in noted])
    rows = tuple(
        Row(line, time, reading, volume, receiver, remark)
        for (line, _, reading, _, _, remark), time, volume, receiver in zip(
            noted, times, volumes, receivers, strict=True
        )
    )
    run = Run(rows, (*remarks, *told_times, *told_volumes, *_incomplete(rows)))
    if len(run.compared) < FEWEST_COMPARED:
        raise WrongRun(
            f"{name} holds {len(run.compared)} rows with both a head temperature and a volume above zero; at least "
            f"{FEWEST_COMPARED} are needed to compare a batch with its sheet."
        )
    return run


def _decoded(content: bytes, name: str) -> str:
    """Text in UTF-8, UTF-16 with its byte order mark, or else Windows-1252."""
    if len(content) > MOST_BYTES:
        raise WrongRun(f"{name} is larger than {MOST_BYTES // 2**20} MiB, which no notes of a batch are.")
    if not content.strip():
        raise WrongRun(f"{name} is empty. Note the batch under a header such as '{EXAMPLE}'.")
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        text = content.decode("utf-16", errors="replace")
    else:
        try:
            text = content.decode("utf-8")
        except UnicodeDecodeError:
            text = content.decode("cp1252", errors="replace")
    control = re.search(r"[\x00-\x08\x0e-\x1f\x7f]", text)
    if control is not None:
        line = text.count("\n", 0, control.start()) + 1
        raise WrongRun(
            f"{name} is no text: line {line} holds the control character {ord(control[0])}. If it is a spreadsheet, "
            "save it as CSV in UTF-8."
        )
    return text.replace("\ufeff", "")


def _cells(text: str, name: str) -> tuple[Cells, Iterator[Cells]]:
    """The header and the lines below it, each parted into its cells."""
    lines = [
        (number, line)
        for number, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1)
        if line.strip(" \t;,\"'") and not line.lstrip(' "').startswith("#")
    ]
    if not lines:
        raise WrongRun(f"{name} holds no notes: only comments or empty lines. A header such as '{EXAMPLE}' goes first.")
    if len(lines) > MOST_ROWS + 1:
        raise WrongRun(
            f"{name} has more than {MOST_ROWS} rows. Thin it out: a reading for each millilitre is more than enough."
        )
    for number, line in lines:
        if len(line) > MOST_CHARACTERS:
            raise WrongRun(f"Line {number} of {name} is longer than {MOST_CHARACTERS} characters. Shorten it.")
    number, first = lines[0]
    delimiter = next((mark for mark in "\t;," if mark in first), ",")
    header = _parted(first, delimiter)
    if not is_header(header):
        raise WrongRun(
            f"Line {number} of {name} should name the columns, and holds figures. Put a header such as '{EXAMPLE}' "
            "above it."
        )
    below = lines[1:]
    if below and is_units(units := _parted(below[0][1], delimiter)):
        header = [f"{name} {unit}" for name, unit in zip_longest(header, units, fillvalue="")]
        below = below[1:]
    return (number, header), ((number, _parted(line, delimiter)) for number, line in below)


def _parted(line: str, delimiter: str) -> list[str]:
    # Line by line: a quotation mark that is never closed must not swallow the rest of the file.
    return next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))


Noted = tuple[int, tuple[float, bool] | None, float | None, float | None, str | None, str | None]
"""A line's number, time, head temperature, volume, receiver and remark as they stand there."""


def _noted(lines: Iterator[Cells], columns: dict[str, Column], width: int) -> Iterator[Noted]:
    last_is_remark = REMARK in columns and columns[REMARK].place == width - 1
    for line, cells in lines:
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            if not last_is_remark or _is_figure(cells[width - 1]):
                raise WrongRun(
                    f"Line {line} has {len(cells)} cells under {width} headers. If the comma is the decimal sign, part "
                    "the cells by semicolons; else put text with commas in quotation marks."
                )
            cells = [*cells[: width - 1], ", ".join(filter(None, map(str.strip, cells[width - 1 :])))]

        def cell(kind: str, cells: list[str] = cells) -> str:
            column = columns.get(kind)
            return "" if column is None or column.place >= len(cells) else cells[column.place].strip()

        time = time_s(cell(TIME), columns[TIME], line) if TIME in columns else None
        receiver = cell(RECEIVER)
        yield (
            line,
            time,
            reading_K(cell(READING), columns[READING], line),
            volume_m3(cell(VOLUME), columns[VOLUME], line),
            None if is_missing(receiver) else receiver[:_MOST_REMARK],
            cell(REMARK)[:_MOST_REMARK] or None,
        )


def _is_figure(cell: str) -> bool:
    return re.fullmatch(r"\s*\d+([.]\d+)?\s*", cell) is not None


def _incomplete(rows: tuple[Row, ...]) -> list[str]:
    """What is said of rows that cannot be compared."""
    told = []
    for lacks, which in (
        ("no head temperature", [row.line for row in rows if row.reading_K is None]),
        ("no volume", [row.line for row in rows if row.volume_m3 is None and row.reading_K is not None]),
        (
            "a reading before the first drop",
            [row.line for row in rows if row.volume_m3 == 0.0 and row.reading_K is not None],
        ),
    ):
        if which:
            lines = ", ".join(map(str, which[:8])) + (", …" if len(which) > 8 else "")
            told.append(f"{len(which)} of {len(rows)} rows hold {lacks} and are not compared (line {lines}).")
    return told

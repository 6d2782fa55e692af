"""The first station: an open table becomes a frame of text, if its bytes are the locked ones.

Nothing is interpreted here: no number is parsed, no cell is taken for missing.
The text is UTF-8 whatever the locale of the machine.
"""

from __future__ import annotations

import csv
import hashlib
from dataclasses import dataclass
from importlib import metadata
from io import BytesIO
from pathlib import Path

import pandas as pd

from cutpoint.schema.errors import SourceChanged, SourceMissing

from . import sources as hand_tables
from .source import Source

IDENTITY_COLUMNS = ("number", "CAS", "formula", "molar_mass", "smiles", "inchi", "inchikey", "names")
"""Columns of the headerless identifier files; `names` is the tab-separated rest of the line."""


@dataclass(frozen=True)
class RawTable:
    """One open table as text.

    `frame` has one text column per column of the file (dtype `str`, an empty
    cell is the empty string) and the index `source_row`, the first data row
    being 1; `sha256` is the hash of the file's bytes.
    """

    source: Source
    frame: pd.DataFrame
    sha256: str


def locate(source: Source) -> Path:
    """Path of the source's file: in the installed distribution, beside the modules, or absolute as given.

    Raises SourceMissing if the distribution or the file is not there.
    """
    given = Path(source.file)
    if given.is_absolute():
        path = given
    elif source.distribution == "cutpoint":
        path = Path(hand_tables.__file__).parent / given
    else:
        try:
            path = Path(str(metadata.distribution(source.distribution).locate_file(source.file)))
        except metadata.PackageNotFoundError:
            raise SourceMissing(
                f"Source {source.name} is shipped by the package {source.distribution}, which is not installed. "
                "Install cutpoint with its 'pipeline' extra, or leave the source out with --without "
                f"{source.name}."
            ) from None
    if not path.is_file():
        raise SourceMissing(
            f"Source {source.name} has no file at {path}. Install the locked version of {source.distribution}, "
            f"or leave the source out with --without {source.name}."
        )
    return path


def locked_content(source: Source) -> bytes:
    """The bytes of the source's file, if they are the locked ones.

    Raises SourceMissing if there is no such file, SourceChanged if its bytes
    are others.
    """
    path = locate(source)
    content = path.read_bytes()
    sha256 = hashlib.sha256(content).hexdigest()
    if sha256 != source.sha256:
        raise SourceChanged(
            f"Source {source.name} has changed: {path} has the SHA-256 {sha256}, locked is {source.sha256}. "
            f"Reinstall the locked version of {source.distribution}; if the change is wanted, read the new table "
            f"through and lock the new hash in the module pipeline/sources/{source.name}.py."
        )
    return content


def read(source: Source) -> RawTable:
    """The table as text; raises as `locked_content`."""
    content = locked_content(source)
    frame = _parse(source, locate(source), content)
    frame.index = pd.RangeIndex(1, len(frame) + 1, name="source_row")
    return RawTable(source, frame, source.sha256)


def _parse(source: Source, path: Path, content: bytes) -> pd.DataFrame:
    if source.layout == "identity":
        return _identity_frame(content)
    if source.layout == "own":
        if source.rows is None:
            raise TypeError(f"source {source.name} has the layout 'own' but no function `rows`")
        return source.rows(path).astype("str")
    return pd.read_csv(
        BytesIO(content),
        sep=source.delimiter,
        dtype="str",
        na_filter=False,
        encoding="utf-8",
        # Quotation marks in the tab-separated tables are primes of chemical names.
        quoting=csv.QUOTE_NONE if source.delimiter == "\t" else csv.QUOTE_MINIMAL,
    )


def _identity_frame(content: bytes) -> pd.DataFrame:
    # Not str.splitlines: names may hold characters that it takes for line ends.
    lines = content.decode("utf-8").removesuffix("\n").split("\n")
    last = len(IDENTITY_COLUMNS) - 1
    cells = [line.split("\t", last) for line in lines]
    padded = [row + [""] * (last + 1 - len(row)) for row in cells]
    return pd.DataFrame(padded, columns=list(IDENTITY_COLUMNS), dtype="str")

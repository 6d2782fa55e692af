"""The first station: the lock on the bytes, the text as it stands, and where files are found."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from cutpoint.pipeline.read import IDENTITY_COLUMNS, locate, read
from cutpoint.pipeline.source import Source, Value
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.errors import SourceChanged, SourceMissing

SOURCES = {source.name: source for source in all_sources()}


def written(folder: Path, content: bytes, **changes: object) -> Source:
    """An invented source whose file holds the content."""
    path = folder / "table.tsv"
    path.write_bytes(content)
    source = Source(
        name="invented",
        title="invented",
        citation="invented",
        licence="invented",
        distribution="cutpoint",
        file=str(path),
        sha256=hashlib.sha256(content).hexdigest(),
        values=(Value("Tb", "normal_boiling_point"),),
    )
    return replace(source, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["crc_critical", "ontario_exposure_limits", "identifiers_anion"])
def test_one_changed_byte_is_refused(name: str, tmp_path: Path) -> None:
    source = SOURCES[name]
    content = bytearray(locate(source).read_bytes())
    content[len(content) // 2] ^= 1
    copy = tmp_path / "copy"
    copy.write_bytes(content)
    with pytest.raises(SourceChanged) as caught:
        read(replace(source, file=str(copy)))
    told = caught.value.message
    assert name in told
    assert str(copy) in told
    assert source.sha256 in told
    assert hashlib.sha256(content).hexdigest() in told
    assert "Reinstall" in told


def test_an_unchanged_copy_is_read(tmp_path: Path) -> None:
    source = SOURCES["crc_critical"]
    copy = tmp_path / "copy"
    copy.write_bytes(locate(source).read_bytes())
    pd.testing.assert_frame_equal(read(replace(source, file=str(copy))).frame, read(source).frame)


def test_a_missing_file_or_package_says_what_to_do(tmp_path: Path) -> None:
    source = SOURCES["crc_critical"]
    for lost in (
        replace(source, file=str(tmp_path / "nowhere.tsv")),
        replace(source, file="chemicals/nowhere.tsv"),
        replace(source, distribution="no-such-distribution"),
        replace(source, distribution="cutpoint", file="nowhere.csv"),
    ):
        with pytest.raises(SourceMissing, match="--without crc_critical"):
            read(lost)


def test_cells_stay_text(tmp_path: Path) -> None:
    content = b'CAS\tTb\n1-2\tNA\n3-4\t\nNone\t1e3\n5-6\t 007 \n7-8\t"300\n'
    frame = read(written(tmp_path, content)).frame
    assert frame["Tb"].tolist() == ["NA", "", "1e3", " 007 ", '"300']
    assert frame["CAS"].tolist()[2] == "None"
    assert frame.index.tolist() == [1, 2, 3, 4, 5]
    assert frame.index.name == "source_row"


def test_commas_and_quotes_of_hand_entered_tables(tmp_path: Path) -> None:
    content = b'CAS,name\n64-17-5,"ethanol, absolute"\n'
    assert read(written(tmp_path, content, delimiter=",")).frame["name"].tolist() == ["ethanol, absolute"]


def test_identity_lines_keep_every_name(tmp_path: Path) -> None:
    content = "4\t78-96-6\tC3H9NO\t75.1\tCC(CN)O\t\t\tfirst\tsecond\u2028name\n-1\t64-17-5\tC2H6O\t46.07\n".encode()
    frame = read(written(tmp_path, content, layout="identity")).frame
    assert tuple(frame.columns) == IDENTITY_COLUMNS
    assert frame["names"].tolist() == ["first\tsecond\u2028name", ""]
    assert frame["inchikey"].tolist() == ["", ""]


@pytest.mark.parametrize("name", sorted(SOURCES))
def test_every_real_table_is_text(name: str) -> None:
    raw = read(SOURCES[name])
    assert len(raw.frame) > 0
    assert raw.sha256 == SOURCES[name].sha256
    assert not raw.frame.isna().any(axis=None)
    assert {str(kind) for kind in raw.frame.dtypes} == {"str"}
    assert raw.frame.index[0] == 1


def test_reading_does_not_depend_on_the_locale_or_import_the_distribution() -> None:
    script = (
        "import sys, hashlib\n"
        "from cutpoint.pipeline.read import read\n"
        "from cutpoint.pipeline.sources import all_sources\n"
        "wanted = [s for s in all_sources() if s.name in ('landolt_vapour_pressures', 'ontario_exposure_limits')]\n"
        "assert 'chemicals' not in sys.modules\n"
        "text = ''.join(read(s).frame.to_csv() for s in wanted)\n"
        "print(hashlib.sha256(text.encode()).hexdigest())\n"
    )
    digests = set()
    for locale in ("C", "C.UTF-8", "POSIX"):
        environment = {**os.environ, "LC_ALL": locale, "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
        done = subprocess.run(
            [sys.executable, "-c", script], env=environment, capture_output=True, text=True, check=True
        )
        digests.add(done.stdout)
    assert len(digests) == 1

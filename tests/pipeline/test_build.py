"""The whole line: what is read again, what a fault leaves behind, and that every row is accounted for."""

from __future__ import annotations

import dataclasses
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import pytest

from cutpoint.pipeline import adjudicate, cache, crosscheck
from cutpoint.pipeline import build as building
from cutpoint.pipeline.build import build, verify
from cutpoint.pipeline.publish import digests
from cutpoint.pipeline.read import locate, read
from cutpoint.pipeline.report import BuildReport
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.errors import BuildFailed, SourceChanged, WrongUsage
from cutpoint.schema.tables import SOURCED_TABLES, TABLES

SMALL = ("identifiers_pubchem_small", "crc_enthalpies_of_vaporization", "poling_wagner", "trade_names", "streams")
"""Real sources, but few and small, so that a fault can be tried many times."""

STREAMS = len(read(next(source for source in all_sources() if source.name == "streams")).frame)

WITHOUT_THE_REST = tuple(source.name for source in all_sources() if source.name not in SMALL)


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "stages"
    monkeypatch.setattr(cache, "default_folder", lambda: folder)
    return folder


def small_build(path: Path, **options: bool) -> BuildReport:
    return build(path, without=WITHOUT_THE_REST, **options)


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> BuildReport:
    """Report of a first small build; its cache lies beside the store."""
    folder = tmp_path_factory.mktemp("first")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache, "default_folder", lambda: folder / "stages")
        return small_build(folder / "s.duckdb")


@pytest.fixture
def target(first: BuildReport, tmp_path: Path, own_cache: Path) -> Path:
    """A copy of that store, with a copy of its cache in use: as if it had just been built."""
    shutil.copytree(Path(first.path).with_name("stages"), own_cache)
    return Path(shutil.copy2(first.path, tmp_path))


def test_nothing_changed_redoes_nothing(first: BuildReport, target: Path) -> None:
    before = target.stat()
    second = small_build(target)
    assert first.stages_run
    assert not first.up_to_date
    assert second.up_to_date
    assert second.stages_run == []
    assert target.stat().st_mtime_ns == before.st_mtime_ns
    assert second.digest == first.digest


def test_a_lost_store_is_published_from_the_cache(first: BuildReport, target: Path) -> None:
    target.write_bytes(b"overwritten")
    again = small_build(target)
    assert again.stages_run == []
    assert again.digest == first.digest


def test_a_damaged_cache_is_made_again(first: BuildReport, target: Path, own_cache: Path) -> None:
    for kept in own_cache.iterdir():
        kept.write_bytes(kept.read_bytes()[:100])
    target.unlink()
    assert small_build(target).digest == first.digest


def test_a_change_in_one_source_reads_that_source_alone(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    code_of = cache.code_of
    changed = "crc_enthalpies_of_vaporization"

    def pretend(paths: list[Path]) -> str:
        paths = list(paths)
        return code_of(paths) + ("changed" if [path.stem for path in paths] == [changed] else "")

    monkeypatch.setattr(cache, "code_of", pretend)
    report = small_build(target)
    assert report.stages_run == [f"normalise.{changed}", "resolve", "evaluate", "fit", "crosscheck", "mixtures", "cuts"]


def test_a_source_with_one_byte_changed_stops_the_build_and_the_old_store_stays(
    target: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digests(target)
    source = next(source for source in all_sources() if source.name == "poling_wagner")
    content = bytearray(locate(source).read_bytes())
    content[len(content) // 2] ^= 1
    copy = tmp_path / "changed.tsv"
    copy.write_bytes(content)
    changed = dataclasses.replace(source, file=str(copy))
    monkeypatch.setattr(
        building, "all_sources", lambda: tuple(changed if part.name == source.name else part for part in all_sources())
    )
    with pytest.raises(SourceChanged, match="poling_wagner") as failure:
        small_build(target)
    assert source.sha256 in failure.value.message
    assert digests(target) == before
    assert not list(tmp_path.glob(".s.duckdb.building-*"))


def test_a_wrong_adjudication_stops_the_build_and_the_old_store_stays(
    target: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digests(target)
    lines = adjudicate.TABLE.read_text("utf-8").splitlines()
    table = tmp_path / "adjudications.csv"
    table.write_text("\n".join([*lines, "67-64-1,normal_boiling_point,ours,329.3,K,,,no source is named"]), "utf-8")
    monkeypatch.setattr(crosscheck, "read_adjudications", lambda: adjudicate.read_adjudications(table))
    with pytest.raises(BuildFailed, match="names no third source"):
        small_build(target, cache=False)
    assert digests(target) == before


def test_an_unknown_source_to_leave_out_is_wrong_usage(tmp_path: Path) -> None:
    with pytest.raises(WrongUsage, match="no source named crc_nonsense"):
        build(tmp_path / "s.duckdb", without=("crc_nonsense",))


def test_a_build_killed_at_any_moment_leaves_the_old_store_and_the_next_one_works(target: Path, tmp_path: Path) -> None:
    before = digests(target)
    command = [sys.executable, "-m", "cutpoint.planner", "rebuild", "--to", str(target)]
    # Every source, nothing in the cache: the killed build would have changed the store.
    environment = os.environ | {"XDG_CACHE_HOME": str(tmp_path / "cache")}
    for delay_s in (0.5, 1.5, 3.0, 6.0):
        with subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        ) as running:
            time.sleep(delay_s)
            os.killpg(running.pid, signal.SIGKILL)
        assert digests(target) == before
    # Few sources, but another choice of them, killed while the new store is written, forced to disk and moved.
    command += [word for name in (*WITHOUT_THE_REST, "streams") for word in ("--without", name)]
    for delay_s in (0.0, 0.05, 0.1, 0.2, 0.4):
        with subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, start_new_session=True
        ) as running:
            assert running.stderr is not None
            for line in running.stderr:
                if b"publish" in line:
                    break
            time.sleep(delay_s)
            os.killpg(running.pid, signal.SIGKILL)
        held = digests(target)
        assert held == before or held["component"]["rows"] == before["component"]["rows"] - STREAMS
    shutil.rmtree(tmp_path / "cache", ignore_errors=True)
    again = small_build(target)
    assert {table: told["digest"] for table, told in again.tables.items() if table != "build"} == {
        table: told["digest"] for table, told in before.items()
    }
    assert not list(tmp_path.glob(".s.duckdb.building-*"))


def test_verify_agrees_with_a_fresh_build_and_finds_one_changed_value(target: Path) -> None:
    assert verify(target).differences == []
    with duckdb.connect(str(target)) as connection:
        connection.execute("UPDATE evaluation SET value = value + 1e-9 WHERE cas = '71-43-2'")
    assert [difference["table"] for difference in verify(target).differences] == ["evaluation"]


def test_verify_forgives_the_last_bits_of_another_machine_and_no_more(target: Path) -> None:
    with duckdb.connect(str(target)) as connection:
        connection.execute("UPDATE build SET value = 'another machine' WHERE item = 'machine'")
        connection.execute("UPDATE evaluation SET value = value * (1 + 1e-9) WHERE cas = '71-43-2'")
        connection.execute(
            "UPDATE vapour_curve SET coefficients = list_transform(coefficients, lambda c: c * (1 + 1e-9))"
        )
    assert verify(target).differences == []
    with duckdb.connect(str(target)) as connection:
        connection.execute("UPDATE evaluation SET value = value * (1 + 1e-5) WHERE cas = '71-43-2'")
    assert [difference["table"] for difference in verify(target).differences] == ["evaluation"]


@pytest.mark.parametrize("kept", [0.4, 0.99])
def test_a_store_that_was_cut_short_is_built_anew(first: BuildReport, target: Path, kept: float) -> None:
    content = target.read_bytes()
    target.write_bytes(content[: int(kept * len(content))])
    assert not small_build(target).up_to_date
    assert digests(target) == first.tables


@pytest.mark.parametrize("place", ["file.txt/s.duckdb", "folder", ""])
def test_a_place_that_cannot_be_written_is_told_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str
) -> None:
    (tmp_path / "file.txt").write_text("a file")
    (tmp_path / "folder").mkdir()
    monkeypatch.chdir(tmp_path)
    with pytest.raises(WrongUsage, match="No store can be written"):
        small_build(Path(place))


@pytest.mark.parametrize("environment", [{"LC_ALL": "C", "TZ": "UTC"}, {"LC_ALL": "tr_TR.UTF-8", "TZ": "Asia/Tokyo"}])
def test_sourced_tables_have_one_digest_anywhere(
    first: BuildReport, tmp_path: Path, environment: dict[str, str]
) -> None:
    script = (
        "from pathlib import Path\nfrom cutpoint.pipeline.build import build\n"
        "if __name__ == '__main__':\n"
        f"    build(Path({str(tmp_path / 'there.duckdb')!r}), without={WITHOUT_THE_REST!r}, cache=False)\n"
    )
    (tmp_path / "there.py").write_text(script, "utf-8")
    subprocess.run(
        [sys.executable, str(tmp_path / "there.py")],
        env=os.environ | environment | {"PYTHONHASHSEED": "4711", "OMP_NUM_THREADS": "1"},
        check=True,
    )
    there = digests(tmp_path / "there.duckdb")
    for table in SOURCED_TABLES:
        assert there[table]["digest"] == first.tables[table]["digest"]


def test_of_every_source_each_row_is_kept_or_rejected(real_store: Path) -> None:
    with duckdb.connect(str(real_store), read_only=True) as connection:
        accounts = connection.execute("SELECT source, rows_read, rows_kept, rows_rejected FROM source").fetchall()
        refused = dict(
            connection.execute("SELECT source, count(*) FROM rejected WHERE field = '*' GROUP BY source").fetchall()
        )
    assert {source for source, *_ in accounts} == {source.name for source in all_sources()}
    for source, count, kept, rejected in accounts:
        assert count == kept + rejected, source
        assert rejected == refused.get(source, 0), source


def test_the_store_holds_as_much_as_it_promises(real_build: BuildReport) -> None:
    counts = real_build.counts
    assert counts["components"] >= 70_000
    assert counts["with_boiling_point"] >= 18_900
    assert counts["vapour_pressure_correlations"] >= 8_500


def test_every_reference_points_at_a_component(real_store: Path) -> None:
    with duckdb.connect(str(real_store), read_only=True) as connection:
        for table in ("name", "observation", "evaluation", "vapour_curve", "crosscheck", "hazard", "functional_group"):
            assert table in TABLES
            orphans = connection.execute(f"SELECT cas FROM {table} ANTI JOIN component USING (cas) LIMIT 3").fetchall()
            assert orphans == [], table

"""The atlas: the same table however the work is done and however often it is ended; what is left out is told."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import duckdb
import psutil
import pytest
from click.testing import Result

from cutpoint import db
from cutpoint.planner import atlas_making
from cutpoint.planner.atlas_making import make_atlas
from cutpoint.planner.atlas_work import PAIRS_PER_BLOCK, n_blocks, n_pairs, pairs_of
from cutpoint.schema.errors import AtlasDiffers, AtlasMissing, NoSuchComponent, SchedulerLost, WorkerLost, WrongUsage
from cutpoint.schema.identifiers import cas_check_digit

Run = Callable[..., Result]

HERE = Path(__file__).parent
N_COMPONENTS = 150
"""11,175 pairs: six blocks."""
N_PAIRS = n_pairs(N_COMPONENTS)
TABLES = ("run", "component", "skipped", "pair", "azeotrope", "block")


def invented_cas(place: int) -> str:
    """A number with the right form and check digit."""
    body = f"{9000 + place}-{place % 90 + 10}"
    return f"{body}-{cas_check_digit(body)}"


CAS = sorted(invented_cas(place) for place in range(N_COMPONENTS))


@pytest.fixture(scope="module")
def liquids(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of invented liquids."""
    specification = spec_from_file_location("small_store", HERE.parent / "db" / "conftest.py")
    assert specification is not None and specification.loader is not None
    module = module_from_spec(specification)
    specification.loader.exec_module(module)
    rows: dict[str, list[tuple[object, ...]]] = {table: [] for table in module.TABLES}
    for place, cas in enumerate(CAS):
        name, boiling_K = f"demo liquid {place}", 300.0 + 150.0 * (place * 0.618 % 1.0)
        rows["component"].append((cas, name, None, None, None, None, "pure", "boils", "demo_identity", None))
        rows["name"].append((name.replace(" ", ""), cas, name, "en", "common", "own", 1, "demo_names"))
        rows["evaluation"].append(
            (cas, "normal_boiling_point", boiling_K, 0.4, "K", None, "A", 3, boiling_K, boiling_K, "consensus")
        )
    rows["build"] = [("schema_version", str(module.SCHEMA_VERSION)), ("digest", "ab" * 32)]
    path: Path = module.build_small_store(tmp_path_factory.mktemp("atlas") / "liquids.duckdb", rows)
    return path


@pytest.fixture(autouse=True)
def stand_ins(monkeypatch: pytest.MonkeyPatch) -> None:
    """Workers find the judging functions of the tests."""
    monkeypatch.syspath_prepend(str(HERE))
    monkeypatch.setenv("PYTHONPATH", str(HERE))
    monkeypatch.setenv("ATLAS_DEADLY", CAS[30])


@pytest.fixture
def names(tmp_path: Path) -> Path:
    path = tmp_path / "liquids.txt"
    path.write_text("\n".join(CAS), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def whole_atlas(liquids: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The atlas that one process makes at one go."""
    folder = tmp_path_factory.mktemp("undisturbed")
    names = folder / "liquids.txt"
    names.write_text("\n".join(CAS), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(HERE))
        summary = make_atlas(names, folder / "a.duckdb", store=liquids, processes=1, judge="atlas_stand_in:judge")
    assert (summary.components, summary.pairs, summary.resumed_pairs) == (N_COMPONENTS, N_PAIRS, 0)
    assert sum(summary.verdicts.values()) == N_PAIRS
    return folder / "a.duckdb"


@pytest.fixture(scope="module")
def undisturbed(whole_atlas: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Its content."""
    return content(whole_atlas)


def content(path: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, in an order of its own; NULL for NaN."""
    with duckdb.connect(str(path), read_only=True) as connection:
        return {table: connection.execute(f"FROM {table} ORDER BY ALL").fetchall() for table in TABLES}


def test_blocks_hold_every_pair_once() -> None:
    for n in (2, 3, 64, 65, 150, 201):
        cas = [f"{place:04d}" for place in range(n)]
        blocks = [pairs_of(block, cas) for block in range(n_blocks(n))]
        assert [pair for block in blocks for pair in block] == [(a, b) for a in cas for b in cas if a < b]
        assert {len(block) for block in blocks[:-1]} <= {PAIRS_PER_BLOCK}


def test_several_processes_give_the_same_table(
    liquids: Path, names: Path, tmp_path: Path, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    told: list[tuple[str, float]] = []
    make_atlas(
        names, tmp_path / "a.duckdb", store=liquids, processes=2, judge="atlas_stand_in:judge",
        progress=lambda stage, fraction: told.append((stage, fraction)),
    )  # fmt: skip
    assert content(tmp_path / "a.duckdb") == undisturbed
    assert told[-1] == (f"{N_PAIRS:,} of {N_PAIRS:,} pairs", 1.0)
    assert [fraction for _, fraction in told] == sorted(fraction for _, fraction in told)


def test_a_killed_run_is_gone_on_with(
    liquids: Path, names: Path, tmp_path: Path, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    path = tmp_path / "a.duckdb"
    script = (
        "import sys; from pathlib import Path; from cutpoint.planner.atlas_making import make_atlas; "
        "names, path, store = map(Path, sys.argv[1:]); make_atlas(names, path, store=store, processes=2, "
        "judge='atlas_stand_in:slow', progress=lambda stage, fraction: print(fraction, flush=True))"
    )
    command = [sys.executable, "-c", script, *map(str, (names, path, liquids))]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        while float(running.stdout.readline()) == 0.0:
            pass
        workers = psutil.Process(running.pid).children(recursive=True)
        running.send_signal(signal.SIGKILL)
    psutil.wait_procs(workers, timeout=5.0)
    assert not any(worker.is_running() and worker.status() != psutil.STATUS_ZOMBIE for worker in workers)
    with db.open_atlas(path) as begun:
        assert not begun.is_finished
        [(there,)] = begun.sql("SELECT count(*) FROM pair").fetchall()
    assert 0 < there < N_PAIRS and there % PAIRS_PER_BLOCK == 0
    summary = make_atlas(names, path, store=liquids, processes=2, judge="atlas_stand_in:judge")
    assert summary.resumed_pairs == there
    assert content(path) == undisturbed
    assert make_atlas(names, path, store=liquids).resumed_pairs == N_PAIRS  # nothing is left to judge


def test_a_dead_worker_loses_nothing(
    liquids: Path, names: Path, tmp_path: Path, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    make_atlas(names, tmp_path / "a.duckdb", store=liquids, processes=2, judge="atlas_stand_in:dies_once")
    assert liquids.with_name("killed").exists()
    assert content(tmp_path / "a.duckdb") == undisturbed


def test_a_block_that_ends_every_worker_is_named(
    liquids: Path, names: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ATLAS_DEADLY", CAS[148])
    with pytest.raises(WorkerLost, match=r"Block 5, the pairs from \S+ and \S+ to \S+ and \S+, ended its worker"):
        make_atlas(names, tmp_path / "a.duckdb", store=liquids, processes=2, judge="atlas_stand_in:deadly")
    assert sorted(row[0] for row in content(tmp_path / "a.duckdb")["block"])[:4] == [0, 1, 2, 3]


def test_a_block_with_a_fault_is_told_and_tried_again(
    liquids: Path, names: Path, tmp_path: Path, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    path = tmp_path / "a.duckdb"
    summary = make_atlas(names, path, store=liquids, processes=2, judge="atlas_stand_in:fails")
    assert len(summary.problems) >= 1 and "ZeroDivisionError: a fault" in summary.problems[0]
    with db.open_atlas(path) as faulty:
        assert not faulty.is_finished
        told = faulty.sql("SELECT count(*) FROM pair WHERE problem LIKE '%ZeroDivisionError%'").fetchall()
        assert told[0][0] >= PAIRS_PER_BLOCK
        assert faulty.pair(CAS[30], CAS[31]).verdict is None
    assert make_atlas(names, path, store=liquids, processes=2, judge="atlas_stand_in:judge").problems == ()
    assert content(path) == undisturbed


@pytest.fixture(scope="module")
def scheduler() -> Iterator[str]:
    """Address of a cluster of two processes on this machine."""
    import dask
    from distributed import LocalCluster

    # A worker that has died is asked in vain for its results for as long as this.
    with pytest.MonkeyPatch.context() as patch, dask.config.set({"distributed.comm.timeouts.connect": "3s"}):
        patch.setenv("PYTHONPATH", str(HERE))
        patch.setenv("ATLAS_DEADLY", CAS[30])
        patch.syspath_prepend(str(HERE))
        with LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1", dashboard_address="127.0.0.1:0"
        ) as cluster:
            yield cluster.scheduler_address


def test_a_cluster_gives_the_same_table(
    liquids: Path, names: Path, tmp_path: Path, scheduler: str, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    path = tmp_path / "a.duckdb"
    make_atlas(names, path, store=liquids, scheduler=scheduler, judge="atlas_stand_in:judge")
    assert content(path) == undisturbed


def test_a_cluster_that_loses_a_worker_loses_nothing(
    liquids: Path, names: Path, tmp_path: Path, scheduler: str, undisturbed: dict[str, list[tuple[Any, ...]]]
) -> None:
    liquids.with_name("killed").unlink(missing_ok=True)
    path = tmp_path / "a.duckdb"
    make_atlas(names, path, store=liquids, scheduler=scheduler, judge="atlas_stand_in:dies_once")
    assert liquids.with_name("killed").exists()
    assert content(path) == undisturbed


def test_a_wrong_address_is_told_at_once(liquids: Path, names: Path, tmp_path: Path) -> None:
    started = time.monotonic()
    with pytest.raises(SchedulerLost, match=r"No scheduler answers at tcp://127\.0\.0\.1:1"):
        make_atlas(names, tmp_path / "a.duckdb", store=liquids, scheduler="tcp://127.0.0.1:1")
    with pytest.raises(WrongUsage, match="is no address of a scheduler"):
        make_atlas(names, tmp_path / "a.duckdb", store=liquids, scheduler="post://nowhere")
    assert time.monotonic() - started < 8.0


def test_another_question_is_refused_until_begun_anew(liquids: Path, names: Path, tmp_path: Path) -> None:
    path = tmp_path / "a.duckdb"
    make = partial(make_atlas, names, path, store=liquids, processes=1, judge="atlas_stand_in:judge")
    names.write_text("\n".join(CAS[:20]), encoding="utf-8")
    make()
    with pytest.raises(AtlasDiffers, match=r"pressure Pa 101325\.0, now 84000\.0.*--anew"):
        make(84e3)
    names.write_text("\n".join(reversed(CAS[:20])), encoding="utf-8")
    assert make().resumed_pairs == n_pairs(20)  # the same components in another order
    names.write_text("\n".join(CAS[:21]), encoding="utf-8")
    with pytest.raises(AtlasDiffers, match="components 20, now 21"):
        make()
    summary = make(84e3, anew=True)
    assert (summary.pairs, summary.resumed_pairs) == (n_pairs(21), 0)


def test_another_store_is_refused(liquids: Path, names: Path, tmp_path: Path) -> None:
    names.write_text("\n".join(CAS[:3]), encoding="utf-8")
    other = tmp_path / "other.duckdb"
    other.write_bytes(liquids.read_bytes())
    with duckdb.connect(str(other)) as connection:
        connection.execute("UPDATE build SET value = 'cd' WHERE item = 'digest'")
    make_atlas(names, tmp_path / "a.duckdb", store=liquids, processes=1, judge="atlas_stand_in:judge")
    with pytest.raises(AtlasDiffers, match="store digest"):
        make_atlas(names, tmp_path / "a.duckdb", store=other, processes=1, judge="atlas_stand_in:judge")


def test_an_atlas_is_asked_in_either_order(whole_atlas: Path) -> None:
    with db.open_atlas(whole_atlas) as atlas:
        assert atlas.is_finished and atlas.pressure_Pa == 101_325.0
        [(a, b)] = atlas.sql(
            "SELECT cas_a, cas_b FROM pair WHERE verdict = 'azeotrope' ORDER BY ALL LIMIT 1"
        ).fetchall()
        there, back = atlas.pair(a, b), atlas.pair(b, a)
        assert there.delta_boiling_point_K == -(back.delta_boiling_point_K or 0.0)
        assert there.alpha_a_lean is not None and back.alpha_a_rich == 1.0 / there.alpha_a_lean
        assert (there.azeotropes[0].mass_fraction_a, back.azeotropes[0].mass_fraction_a) == (0.25, 0.75)
        assert there.minimum_plates is None
        assert atlas.pair("Demo liquid 3", CAS[4]) == atlas.pair(CAS[3], CAS[4])
        with pytest.raises(NoSuchComponent, match="is not in the list"):
            atlas.pair("water", a)
        with pytest.raises(WrongUsage, match="are one component"):
            atlas.pair(a, a)
        with pytest.raises(WrongUsage, match="read-only"):
            atlas.sql("DELETE FROM pair")
        uncommented = atlas.sql("SELECT column_name FROM duckdb_columns() WHERE NOT internal AND comment IS NULL")
        assert uncommented.fetchall() == []


def test_what_is_no_atlas_is_left_alone(liquids: Path, names: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.duckdb"
    other.write_bytes(liquids.read_bytes())
    with pytest.raises(WrongUsage, match="but no atlas"):
        make_atlas(names, other, store=liquids, anew=True)
    with pytest.raises(AtlasMissing, match="but no atlas"):
        db.open_atlas(other)
    with pytest.raises(AtlasMissing, match="There is no atlas"):
        db.open_atlas(tmp_path / "none.duckdb")
    with pytest.raises(WrongUsage, match="No atlas can be written"):
        make_atlas(names, names, store=liquids)
    assert other.read_bytes() == liquids.read_bytes()


# The command line, on the small store of common solvents.


@pytest.fixture
def small(small_store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The small store with a digest; the command judges with the stand-in."""
    path = tmp_path / "small.duckdb"
    path.write_bytes(small_store.read_bytes())
    with duckdb.connect(str(path)) as connection:
        connection.execute("INSERT INTO build VALUES ('digest', 'ef')")
    monkeypatch.setattr(atlas_making, "make_atlas", partial(make_atlas, judge="atlas_stand_in:judge"))
    monkeypatch.setenv("CUTPOINT_DB", str(path))
    return path


LIST = """\
# used eluents of a teaching lab, and what their bottles may also hold
name,remark
1,4-dioxane
141-78-6,the main part
ethyl alcohol   # spirit
"benzene, methyl-",from the old bottle
acetic ester
110-54-4
xylene
unobtainium

hexane
"""


def test_the_command_tells_what_it_left_out(run: Run, small: Path, tmp_path: Path) -> None:
    names = tmp_path / "eluents.txt"
    names.write_text(LIST, encoding="utf-8")
    result = run("atlas", "--components", str(names), "--processes", "1", "--json", CUTPOINT_DB=str(small))
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert told["path"] == str(tmp_path / "eluents.atlas.duckdb")
    assert (told["components"], told["pairs"], told["resumed_pairs"]) == (5, 10, 0)
    assert sum(told["verdicts"].values()) == 10
    assert [line["line_number"] for line in told["skipped"]] == [2, 7, 8, 9, 10]
    reasons = {line["text"]: line["reason"] for line in told["skipped"]}
    assert "ethyl acetate (141-78-6), which line 4 names already" in reasons["acetic ester"]
    assert "110-54-3" in reasons["110-54-4"]
    assert "belongs to 2 components" in reasons["xylene"]
    assert told["seconds"] > 0.0 and told["peak_rss_MiB"] > 10.0
    with db.open_atlas(told["path"]) as atlas:
        assert atlas.sql("SELECT line_number FROM skipped ORDER BY 1").fetchall() == [(2,), (7,), (8,), (9,), (10,)]
        assert atlas.pair("Ethyl alcohol", "1,4-dioxane").cas_a == "64-17-5"
    page = run("atlas", "--components", str(names), "--processes", "1", CUTPOINT_DB=str(small)).stdout
    for part in ("The 10 pairs of 5 components", "5 lines were left out", "'xylene'", "10 of the pairs were judged"):
        assert part in " ".join(page.split())


@pytest.mark.parametrize(
    ("text", "kind"), [("water\nunobtainium\n", "not_found"), ("", "not_found"), (b"water\n\xff\n", "usage")]
)
def test_a_list_without_pairs_is_an_error(run: Run, small: Path, tmp_path: Path, text: str | bytes, kind: str) -> None:
    names = tmp_path / "short.txt"
    names.write_bytes(text if isinstance(text, bytes) else text.encode())
    result = run("atlas", "--components", str(names), "--json", CUTPOINT_DB=str(small))
    assert json.loads(result.stdout)["error"]["kind"] == kind
    assert not (tmp_path / "short.atlas.duckdb").exists()


def test_wrong_usage_is_told(run: Run, small: Path, tmp_path: Path) -> None:
    for arguments, told in (
        (("--components", str(tmp_path / "none.txt")), "cannot be read"),
        (("--components", "-"), "--to"),
        (("--components", "x", "--scheduler", "tcp://127.0.0.1:1", "--processes", "2"), "exclude each other"),
        (("--components", "x", "--at", "0 Pa"), "pressure"),
    ):
        result = run("atlas", *arguments, CUTPOINT_DB=str(small))
        assert result.exit_code == 2 and told in result.stderr, result.output


def test_ctrl_c_leaves_a_file_to_go_on_with(liquids: Path, names: Path, tmp_path: Path) -> None:
    path = tmp_path / "a.duckdb"
    script = (
        "import signal, sys; from functools import partial; from cutpoint.planner import atlas_making; "
        "signal.signal(signal.SIGINT, signal.default_int_handler); "  # a run in the background ignores the signal
        "atlas_making.make_atlas = partial(atlas_making.make_atlas, judge='atlas_stand_in:slow'); "
        "from cutpoint.planner.cli import main; main()"
    )
    command = [sys.executable, "-c", script, "atlas", "--components", str(names), "--to", str(path)]
    running = subprocess.Popen(
        [*command, "--store", str(liquids), "--processes", "2"],
        stderr=subprocess.PIPE, text=True, env=os.environ, start_new_session=True,
    )  # fmt: skip
    assert running.stderr is not None
    while running.stderr.readline().startswith("  0%"):
        pass
    os.killpg(running.pid, signal.SIGINT)
    told = running.stderr.read()
    running.stderr.close()
    assert running.wait(timeout=10.0) == 130, told
    assert "Interrupted." in told and "Traceback" not in told
    summary = make_atlas(names, path, store=liquids, processes=2, judge="atlas_stand_in:judge")
    assert 0 < summary.resumed_pairs < N_PAIRS

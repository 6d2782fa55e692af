"""Publishing is all or nothing, and digests depend on the content alone."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import duckdb
import frictionless
import pandas as pd
import pytest

from cutpoint.pipeline.publish import agree_numerically, digests, replacing, sweep, write_parquet, write_store
from cutpoint.schema.tables import TABLES, check, empty, key_of


def frames() -> dict[str, pd.DataFrame]:
    """A store of two components and their names; every other table empty."""
    made = {table: empty(table) for table in TABLES}
    made["component"] = check(
        "component",
        pd.DataFrame(
            {
                "cas": ["64-17-5", "7732-18-5"],
                "name": ["ethanol", "water"],
                "formula": ["C2H6O", "H2O"],
                "molar_mass_g_mol": [46.069, 18.015],
                "smiles": ["CCO", "O"],
                "inchikey": ["LFQSCWFLJHTTHZ-UHFFFAOYSA-N", "XLYOFNOQVPJJNP-UHFFFAOYSA-N"],
                "kind": "pure",
                "phase_behaviour": None,
                "source": "test",
                "repair": None,
            }
        ),
        "test",
    )
    made["name"] = check(
        "name",
        pd.DataFrame(
            {
                "search_key": ["ethanol", "weingeist", "water"],
                "cas": ["64-17-5", "64-17-5", "7732-18-5"],
                "name": ["ethanol", "Weingeist", "water"],
                "language": ["en", "de", "en"],
                "kind": "common",
                "claim": "own",
                "rank": 1,
                "source": "test",
            }
        ),
        "test",
    )
    return made


def test_a_store_holds_every_table_with_key_and_comments(tmp_path: Path) -> None:
    write_store(frames(), tmp_path / "s.duckdb", {})
    with duckdb.connect(str(tmp_path / "s.duckdb"), read_only=True) as connection:
        told = {
            row[0]: row[1] for row in connection.execute("SELECT table_name, comment FROM duckdb_tables()").fetchall()
        }
        assert set(told) == set(TABLES)
        assert all(told.values())
        uncommented = connection.execute("SELECT count(*) FROM duckdb_columns() WHERE NOT internal AND comment IS NULL")
        assert uncommented.fetchone() == (0,)
        keys = connection.execute(
            "SELECT table_name FROM duckdb_constraints() WHERE constraint_type = 'PRIMARY KEY'"
        ).fetchall()
        assert {name for (name,) in keys} == set(TABLES) - {"name", "observation"}


def test_a_check_of_the_schema_holds_in_the_file(tmp_path: Path) -> None:
    write_store(frames(), tmp_path / "s.duckdb", {})
    with (
        duckdb.connect(str(tmp_path / "s.duckdb")) as connection,
        pytest.raises(duckdb.ConstraintException, match="CHECK"),
    ):
        connection.execute("UPDATE component SET kind = 'mixture'")


def test_the_digest_does_not_depend_on_row_order_or_threads(tmp_path: Path) -> None:
    write_store(frames(), tmp_path / "one.duckdb", {})
    shuffled = {table: frame.iloc[::-1].reset_index(drop=True) for table, frame in frames().items()}
    write_store(shuffled, tmp_path / "two.duckdb", {})
    assert digests(tmp_path / "one.duckdb") == digests(tmp_path / "two.duckdb")


def test_the_digest_does_not_depend_on_locale_time_zone_or_hash_seed(tmp_path: Path) -> None:
    write_store(frames(), tmp_path / "s.duckdb", {})
    store = str(tmp_path / "s.duckdb")
    script = f"from pathlib import Path; from cutpoint.pipeline import publish; print(publish.digests(Path({store!r})))"
    told = {
        subprocess.run(
            [sys.executable, "-c", script],
            env=os.environ | {"LC_ALL": locale, "TZ": zone, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for locale, zone, seed in [("C", "UTC", "1"), ("tr_TR.UTF-8", "Asia/Kathmandu", "77")]
    }
    assert len(told) == 1


@pytest.mark.parametrize("change", ["value", "null", "row"])
def test_any_change_of_content_changes_the_digest_of_its_table_only(tmp_path: Path, change: str) -> None:
    write_store(frames(), tmp_path / "s.duckdb", {})
    before = digests(tmp_path / "s.duckdb")
    statement = {
        "value": "UPDATE name SET language = 'fr' WHERE name = 'water'",
        "null": "UPDATE component SET formula = NULL WHERE cas = '64-17-5'",
        "row": "DELETE FROM name WHERE language = 'de'",
    }[change]
    with duckdb.connect(str(tmp_path / "s.duckdb")) as connection:
        connection.execute(statement)
    after = digests(tmp_path / "s.duckdb")
    assert [table for table in before if before[table] != after[table]] == ["component" if change == "null" else "name"]


def curve_of(**changed: object) -> dict[str, pd.DataFrame]:
    """The store with one curve and one comparison with a judge."""
    made = frames()
    curve = {
        "cas": "7732-18-5", "equation": "antoine", "coefficients": [23.2, 3816.0, -46.1] + [float("nan")] * 5,
        "T_min_K": 280.0, "T_max_K": 440.0, "T_lowest_K": 273.2, "T_highest_K": 500.0, "relative_residual": None,
        "u95_relative": 0.01, "band_u95_relative": [0.01] * 8, "rule": "chosen", "basis": "correlated", "grade": "A",
        "n_sources": 3, "source": "test",
    }  # fmt: skip
    judged = {
        "cas": "7732-18-5", "property": "vapour_pressure", "temperature_K": 300.0, "reference": "judge", "ours": 3536.0,
        "reference_value": 3535.9, "deviation": 2.8e-5, "tolerance": 0.02, "verdict": "agrees",
    }  # fmt: skip
    made["vapour_curve"] = check("vapour_curve", pd.DataFrame([curve | changed]), "test")
    made["crosscheck"] = check("crosscheck", pd.DataFrame([judged]), "test")
    return made


@pytest.mark.parametrize(
    ("changed", "same"),
    [
        ({"T_max_K": 440.0 * (1 + 1e-8)}, True),
        ({"T_max_K": 440.0 * (1 + 1e-5)}, False),
        ({"coefficients": [23.200001, 3816.0001, -46.1] + [float("nan")] * 5}, True),
        ({"coefficients": [23.21, 3816.0, -46.1] + [float("nan")] * 5}, False),
        ({"coefficients": [23.2, 3816.0] + [float("nan")] * 6}, False),
        ({"band_u95_relative": [0.01 + 1e-9] * 8}, True),
        ({"grade": "B"}, False),
    ],
)
def test_numbers_of_two_machines_agree_but_for_their_last_digits(
    tmp_path: Path, changed: dict[str, object], same: bool
) -> None:
    write_store(curve_of(), tmp_path / "one.duckdb", {})
    write_store(curve_of(**changed), tmp_path / "two.duckdb", {})
    assert agree_numerically(tmp_path / "one.duckdb", tmp_path / "two.duckdb", "vapour_curve", 1e-6) is same
    assert agree_numerically(tmp_path / "one.duckdb", tmp_path / "two.duckdb", "crosscheck", 1e-6)


def test_a_failed_build_leaves_the_old_store_and_nothing_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "s.duckdb"
    target.write_bytes(b"the old store")
    with pytest.raises(RuntimeError), replacing(target) as aside:
        aside.write_bytes(b"half a store")
        raise RuntimeError("the build failed")
    assert target.read_bytes() == b"the old store"
    assert list(tmp_path.iterdir()) == [target]


def test_a_writer_killed_at_any_moment_leaves_the_old_store(tmp_path: Path) -> None:
    target = tmp_path / "s.duckdb"
    write_store(frames(), target, {})
    before = digests(target)
    script = textwrap.dedent(
        f"""
        import sys; sys.path.insert(0, {str(Path(__file__).parent)!r})
        from pathlib import Path
        from test_publish import frames
        from cutpoint.pipeline.publish import replacing, write_store
        print("ready", flush=True)
        while True:
            with replacing(Path({str(target)!r})) as aside:
                write_store(frames(), aside, {{}})
        """
    )
    for delay_s in (0.0, 0.02, 0.05, 0.1, 0.2, 0.31):
        with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(delay_s)
            writer.send_signal(signal.SIGKILL)
        assert digests(target) == before
    sweep(target)
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


def test_the_remains_of_a_running_build_are_not_swept_away(tmp_path: Path) -> None:
    running = tmp_path / f".s.duckdb.building-{os.getppid()}"
    running.write_bytes(b"")
    sweep(tmp_path / "s.duckdb")
    assert running.exists()


def test_readers_that_are_open_keep_the_store_they_opened(tmp_path: Path) -> None:
    target = tmp_path / "s.duckdb"
    write_store(frames(), target, {})
    with duckdb.connect(str(target), read_only=True) as reader:
        newer = frames()
        newer["component"] = newer["component"].iloc[:1]
        with replacing(target) as aside:
            write_store(newer, aside, {})
        assert reader.execute("SELECT count(*) FROM component").fetchone() == (2,)
    assert digests(target)["component"]["rows"] == 1


def test_parquet_comes_with_a_valid_data_package(tmp_path: Path) -> None:
    write_store(frames(), tmp_path / "s.duckdb", {})
    folder = tmp_path / "parquet"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine", "utf-8")
    write_parquet(tmp_path / "s.duckdb", folder, "1.0.0")
    descriptor = json.loads((folder / "datapackage.json").read_text("utf-8"))
    assert frictionless.Package.validate_descriptor(descriptor).valid
    assert {resource["path"] for resource in descriptor["resources"]} == {f"{table}.parquet" for table in TABLES}
    for resource, table in zip(descriptor["resources"], TABLES, strict=True):
        assert resource["schema"]["primaryKey"] == key_of(table)
        described = [field["name"] for field in resource["schema"]["fields"]]
        assert list(pd.read_parquet(folder / resource["path"]).columns) == described
    assert (folder / "notes.txt").read_text("utf-8") == "mine"
    report = frictionless.Package(str(folder / "datapackage.json")).validate()
    assert report.valid, report.flatten(["rowNumber", "fieldName", "note"])[:5]

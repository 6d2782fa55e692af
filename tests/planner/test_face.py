"""What all commands have in common: help, version, completion, colours, streams, and what they import."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import Result

from cutpoint.planner.cli import SHELLS, cli
from cutpoint.planner.face import interruptible

Run = Callable[..., Result]
Process = Callable[..., subprocess.CompletedProcess[bytes]]

ESCAPE = b"\x1b"
ASKING = ("find", "card", "boil", "near", "pair", "verify", "diff", "evidence")


def _parameters() -> Iterator[tuple[str, click.Parameter]]:
    for name, command in cli.commands.items():
        for parameter in command.params:
            yield name, parameter


def test_every_command_has_help(run: Run) -> None:
    assert set(cli.commands) == {*ASKING, "atlas", "log", "plan", "rebuild", "refresh", "completion"}
    for name, command in cli.commands.items():
        assert command.help, name
    listed = run("--help").output.split("Commands:")[1]
    assert "...\n" not in listed, "the first sentence of a command is cut in the list"


@pytest.mark.parametrize(("command", "parameter"), list(_parameters()))
def test_every_option_has_help(command: str, parameter: click.Parameter) -> None:
    if isinstance(parameter, click.Option):
        assert parameter.help, f"{command} {parameter.opts}"


@pytest.mark.parametrize("command", sorted(cli.commands))
def test_help_is_shown(run: Run, command: str) -> None:
    for flag in ("--help", "-h"):
        result = run(command, flag)
        assert result.exit_code == 0
        assert result.output.startswith(f"Usage: cutpoint {command}")


@pytest.mark.parametrize("command", [*ASKING, "rebuild", "refresh"])
def test_every_question_can_be_answered_with_an_object(command: str) -> None:
    assert "--json" in {option for parameter in cli.commands[command].params for option in parameter.opts}


def test_version(run: Run) -> None:
    result = run("--version")
    assert result.exit_code == 0
    assert result.output.startswith("cutpoint ")


@pytest.mark.parametrize("shell", SHELLS)
def test_completion_scripts(run: Run, shell: str) -> None:
    result = run("completion", shell)
    assert result.exit_code == 0
    assert "_CUTPOINT_COMPLETE" in result.output


def test_completion_takes_the_shell_in_use(run: Run) -> None:
    assert run("completion", SHELL="/bin/zsh").output == run("completion", "zsh").output
    assert run("completion", SHELL="/bin/strange").exit_code == 2


def test_a_shell_is_offered_the_commands(process: Process) -> None:
    offered = process(_CUTPOINT_COMPLETE="bash_complete", COMP_WORDS="cutpoint ca", COMP_CWORD="1")
    assert offered.stdout.split() == [b"plain,card"]


def test_the_module_is_the_command(process: Process, run: Run) -> None:
    assert process("find", "hexane").stdout.decode() == run("find", "hexane").output


@pytest.mark.parametrize(
    "arguments", [["find", "hexane"], ["card", "hexane", "--evidence"], ["boil", "hexane", "--json"]]
)
def test_piped_output_has_no_escape_codes(process: Process, arguments: list[str]) -> None:
    answered = process(*arguments, TERM="xterm-256color")
    assert answered.returncode == 0
    assert ESCAPE not in answered.stdout + answered.stderr


def test_what_was_typed_does_not_steer_the_terminal(process: Process) -> None:
    refused = process("card", "\x1b[31mred\x1b[0m")
    assert refused.returncode == 1
    assert ESCAPE not in refused.stdout + refused.stderr


def _on_a_terminal(store: Path, columns: int, *arguments: str, **environment: str) -> bytes:
    """What the command writes to a terminal of so many columns."""
    ours, theirs = pty.openpty()
    surroundings = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    surroundings |= {"CUTPOINT_DB": str(store), "TERM": "xterm-256color", "COLUMNS": str(columns), **environment}
    command = [sys.executable, "-m", "cutpoint.planner", *arguments]
    with subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, env=surroundings):
        os.close(theirs)
        written = bytearray()
        while True:
            try:
                chunk = os.read(ours, 65_536)
            except OSError:  # Linux tells the end of a terminal so
                break
            if not chunk:
                break
            written += chunk
    os.close(ours)
    return bytes(written)


def test_a_terminal_gets_colour_unless_it_asks_for_none(small_store: Path) -> None:
    assert ESCAPE in _on_a_terminal(small_store, 100, "card", "hexane")
    assert ESCAPE not in _on_a_terminal(small_store, 100, "card", "hexane", NO_COLOR="1")
    assert ESCAPE not in _on_a_terminal(small_store, 100, "find", "hexane", "--json")


@pytest.mark.parametrize(
    "arguments",
    [["find", "acetone"], ["card", "hexane"], ["boil", "hexane"], ["near", "hexane"], ["pair", "hexane", "acetone"]],
)
def test_narrow_terminals_stay_readable(small_store: Path, arguments: list[str]) -> None:
    page = _on_a_terminal(small_store, 60, *arguments, NO_COLOR="1").decode()
    assert max(len(line.rstrip("\r")) for line in page.split("\n")) <= 60
    assert "…" not in page


def test_objects_are_utf_8_whatever_the_locale(process: Process) -> None:
    answered = process("card", "diethyl ether", "--json", PYTHONIOENCODING="latin-1")
    assert "°C".encode() in answered.stdout


def test_pages_survive_a_locale_without_the_degree_sign(process: Process) -> None:
    answered = process("find", "hexane", PYTHONIOENCODING="ascii")
    assert answered.returncode == 0
    assert b"110-54-3" in answered.stdout


def test_a_reader_that_leaves_is_no_error(small_store: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "cutpoint.planner", "card", "hexane"]
    environment = os.environ | {"CUTPOINT_DB": str(small_store)}
    left = subprocess.run(command, env=environment, stdout=writer, stderr=subprocess.PIPE, check=False)
    os.close(writer)
    assert left.stderr == b""


def test_ctrl_c_inside_a_query_is_an_interruption() -> None:
    with pytest.raises(KeyboardInterrupt), interruptible():
        raise RuntimeError("Query interrupted") from KeyboardInterrupt()  # as DuckDB tells it
    with pytest.raises(RuntimeError, match="something else"), interruptible():
        raise RuntimeError("something else")


HEAVY = {
    "numpy",
    "pandas",
    "pandera",
    "scipy",
    "rdkit",
    "rich",
    "pint",
    "duckdb",
    "platformdirs",
    "chemicals",
    "CoolProp",
}


def _imported_by(code: str, store: Path) -> set[str]:
    script = f"{code}\nimport sys\nprint(*sorted({{name.partition('.')[0] for name in sys.modules}}), file=sys.stderr)"
    environment = os.environ | {"CUTPOINT_DB": str(store)}
    told = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, check=True)
    return set(told.stderr.decode().split())


def test_the_command_line_imports_nothing_heavy(small_store: Path) -> None:
    assert not HEAVY & _imported_by("import cutpoint.planner.cli", small_store)


def test_a_look_up_imports_duckdb_alone(small_store: Path) -> None:
    asked = "from cutpoint.planner.cli import cli\ntry: cli.main(['find', 'hexane'])\nexcept SystemExit: pass"
    assert HEAVY & _imported_by(asked, small_store) == {"duckdb"}

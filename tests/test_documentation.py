"""The documents tell what is so: their commands, outputs, targets and paths are tried.

A block ```` ```console ```` in README.md holds command lines after `$ `, each
followed by what it prints: from the first line on, to the end or to a line `…`
that says there is more. `$ echo $?` shows the exit status of the command
before it; a command without one ends with 0. A block ```` ```pycon ```` is a
session with Python. `CUTPOINT_DB=build/components.duckdb python
tests/test_documentation.py` writes the outputs of that store into README.md.
"""

from __future__ import annotations

import contextlib
import doctest
import io
import os
import re
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from cutpoint.planner.cli import cli

REPOSITORY = Path(__file__).parents[1]
README = (REPOSITORY / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (REPOSITORY / "DEVELOPERS.md").read_text(encoding="utf-8")
MAKEFILE = (REPOSITORY / "Makefile").read_text(encoding="utf-8")

CONSOLE = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SESSION = re.compile(r"^```pycon\n(.*?)^```$", re.MULTILINE | re.DOTALL)
MORE = "…"
HOW_TO_MEND = "README.md shows other output; CUTPOINT_DB=STORE python tests/test_documentation.py writes it anew"


def asked(block: str) -> list[tuple[str, list[str]]]:
    """The command lines of a console block, each with the lines shown under it."""
    parts = re.split(r"^\$ ", block, flags=re.MULTILINE)
    assert not parts[0].strip(), f"a block begins without a command line: {parts[0]!r}"
    return [(lines[0], lines[1:]) for lines in (part.rstrip("\n").split("\n") for part in parts[1:])]


ASKED = [line for block in CONSOLE.findall(README) for line in asked(block)]
QUESTIONS = [
    (command, shown, int("".join(after[1]) or 0) if after[0] == "echo $?" else 0)
    for (command, shown), after in zip(ASKED, [*ASKED[1:], ("", [])], strict=True)
    if command.startswith("cutpoint ")
]


def answer(command: str, store: Path) -> tuple[list[str], int]:
    """The lines that a command line prints, on standard output and error alike, and its exit status."""
    done = subprocess.run(
        [sys.executable, "-m", "cutpoint.planner", *shlex.split(command)[1:]],
        env=os.environ | {"CUTPOINT_DB": str(store), "PYTHONIOENCODING": "utf-8"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        check=False,
    )
    return done.stdout.rstrip("\n").split("\n"), done.returncode


def beginning(lines: list[str], shown: list[str]) -> list[str]:
    """As much of an output as a block shows of it."""
    return [*lines[: len(shown) - 1], MORE] if shown[-1:] == [MORE] else lines


def replies(session: str) -> list[tuple[doctest.Example, str]]:
    """The statements of a session, each with what it prints now."""
    names: dict[str, Any] = {}
    replied = []
    for example in doctest.DocTestParser().get_examples(session):
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            exec(compile(example.source, "README.md", "single"), names)
        replied.append((example, printed.getvalue()))
    return replied


def test_readme_shows_the_commands_of_the_demo() -> None:
    asked_for = {shlex.split(command)[1] for command, _, _ in QUESTIONS}
    assert {"find", "card", "boil", "pair"} <= asked_for


@pytest.mark.parametrize(("command", "shown", "status"), QUESTIONS, ids=[question[0] for question in QUESTIONS])
def test_a_command_line_of_the_readme(command: str, shown: list[str], status: int, real_store: Path) -> None:
    lines, ended = answer(command, real_store)
    assert ended == status
    assert shown == beginning(lines, shown), HOW_TO_MEND


def test_the_python_session_of_the_readme(real_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CUTPOINT_DB", str(real_store))
    sessions = SESSION.findall(README)
    assert sessions
    for session in sessions:
        for example, printed in replies(session):
            assert example.want == printed, HOW_TO_MEND


@pytest.mark.parametrize("command", cli.commands)
def test_readme_names_every_command(command: str) -> None:
    assert f"`{command}" in README
    assert cli.commands[command].help


def test_readme_names_every_option_of_its_command_lines() -> None:
    declared = {option for command in cli.commands.values() for part in command.params for option in part.opts}
    declared |= {"--version", "--help", "--config-settings"}
    assert set(re.findall(r"(?<![\w-])--[a-z]+(?:-[a-z]+)*", README)) <= declared


def test_make_targets_exist_and_are_told() -> None:
    targets = set(re.findall(r"^([a-z]+):", MAKEFILE, re.MULTILINE))
    named = set(re.findall(r"`make ([a-z]+)`", README + DEVELOPERS))
    assert {"demo", "test"} <= set(re.findall(r"`make ([a-z]+)`", README))
    assert named == targets


def test_paths_of_developers_exist() -> None:
    quoted = re.findall(r"`([\w./-]+)`", DEVELOPERS)
    paths = {text for text in quoted if "/" in text or re.search(r"\.(py|csv|md|toml|lock|typed)$", text)}
    assert len(paths) > 20
    assert [path for path in sorted(paths) if not (REPOSITORY / path).exists()] == []


def test_links_lead_somewhere() -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", README + DEVELOPERS)
    assert [target for target in targets if "://" not in target and not (REPOSITORY / target).exists()] == []


def test_the_example_of_a_source_is_a_real_one() -> None:
    (block,) = re.findall(r"^```python\n(.*?)^```$", DEVELOPERS, re.MULTILINE | re.DOTALL)
    told: dict[str, Any] = {"__package__": "cutpoint.pipeline.sources"}
    exec(block, told)
    source = told["SOURCE"]
    assert source == import_module(f"cutpoint.pipeline.sources.{source.name}").SOURCE


def test_changelog_has_the_version() -> None:
    version = re.search(r'^version = "(.+)"$', (REPOSITORY / "pyproject.toml").read_text("utf-8"), re.MULTILINE)
    assert version is not None
    assert f"## [{version.group(1)}]" in (REPOSITORY / "CHANGELOG.md").read_text(encoding="utf-8")


def _console_anew(block: re.Match[str]) -> str:
    store = Path(os.environ["CUTPOINT_DB"])
    lines, status = [], 0
    for command, shown in asked(block.group(1)):
        if command == "echo $?":
            told = [str(status)]
        elif command.startswith("cutpoint "):
            told, status = answer(command, store)
        else:
            told = shown
        lines += [f"$ {command}", *beginning(told, shown)]
    return "\n".join(["```console", *lines, "```"])


def _session_anew(block: re.Match[str]) -> str:
    lines = []
    for example, printed in replies(block.group(1)):
        first, *further = example.source.rstrip("\n").split("\n")
        lines += [f">>> {first}", *(f"... {line}" for line in further), *printed.splitlines()]
    return "\n".join(["```pycon", *lines, "```"])


if __name__ == "__main__":
    anew = SESSION.sub(_session_anew, CONSOLE.sub(_console_anew, README))
    (REPOSITORY / "README.md").write_text(anew, encoding="utf-8")

"""Six questions of a teaching lab and a print workshop, on the command line: `make demo` runs this after the rebuild.

The scenarios are invented: the used eluent of a chromatography course (hexane,
ethyl acetate, some acetone) at 1600 m, and a workshop's brush cleaner.
"""

from __future__ import annotations

import shlex
from pathlib import Path

import click

from .cli import cli
from .recipes.example import BRUSH_CLEANER, USED_ELUENT


def _shown(path: Path) -> str:
    """A file as a user would type it from here."""
    whole = path.resolve()
    return str(whole.relative_to(Path.cwd()) if whole.is_relative_to(Path.cwd()) else whole)


SCENARIO = (
    "A teaching lab at 1600 m has a can of used eluent: hexane, ethyl acetate and some acetone. "
    "What is in it, where does it boil up there, and can a column part it? "
    "A print workshop wants the acetone back from its brush cleaner."
)

QUESTIONS = (
    ("The label has been misspelt: what was meant?", "find", "etyl acetat", "--limit", "3"),
    ("What is known of it, how surely, and what can hurt?", "card", "ethyl acetate"),
    ("Where does it boil at this altitude?", "boil", "ethyl acetate", "--altitude", "1600m"),
    ("Can a column part it from the hexane up here?", "pair", "hexane", "ethyl acetate", "--altitude", "1600m"),
    ("From the whole label to the sheet: what comes of the used eluent?", "plan", _shown(USED_ELUENT)),
    ("And of the brush cleaner?", "plan", _shown(BRUSH_CLEANER)),
)


def main() -> None:
    """Ask the questions in turn, each command line before its answer; leave with the first failure's exit status."""
    click.echo(f"\n{click.wrap_text(SCENARIO, 79)}")
    for number, (question, *arguments) in enumerate(QUESTIONS, 1):
        click.echo(f"\n{number}. {question}\n$ cutpoint {shlex.join(arguments)}\n")
        try:
            cli.main(arguments)
        except SystemExit as answered:
            if answered.code:
                raise


if __name__ == "__main__":
    main()

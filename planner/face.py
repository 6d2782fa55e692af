"""What the command line has in common: one object or one page out, errors in words, exit statuses.

0 answered; 1 the data hold no answer; 2 wrong usage; 130 interrupted.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from cutpoint.schema.errors import CutpointError

from .page import printable

Command = TypeVar("Command", bound=Callable[..., None])

INTERRUPTED = 130
"""Exit status after Ctrl-C: 128 plus the number of the signal, as shells count."""

MOST_CANDIDATES = 5
"""Candidates told in the paragraph; the object under `--json` holds them all."""


def json_option(command: Command) -> Command:
    """Give a command the option `--json`, as its argument `as_json`."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON object in SI units.")(command)


def store_option(command: Command) -> Command:
    """Give a command the option `--store`: the store to ask, as a path or None."""
    told = "Component store to ask.  [default: the user's data folder; CUTPOINT_DB]"
    return click.option("--store", type=click.Path(path_type=Path), envvar="CUTPOINT_DB", help=told)(command)


def emit(answer: Mapping[str, Any]) -> None:
    """Print one JSON object on standard output: strict (no NaN), UTF-8 whatever the locale."""
    text = json.dumps(answer, ensure_ascii=False, allow_nan=False, indent=2)
    # A shell may hand over bytes that are no UTF-8; they must not come out as such.
    click.echo(text.encode("utf-8", errors="replace"))


@contextmanager
def interruptible() -> Iterator[None]:
    """Let Ctrl-C be KeyboardInterrupt wherever it falls: inside a query DuckDB makes a RuntimeError of it."""
    try:
        yield
    except RuntimeError as failure:
        if isinstance(failure.__cause__, KeyboardInterrupt):
            raise failure.__cause__ from None
        raise


class Face(click.Group):
    """A command group that answers every failure with a paragraph, or with an object under `--json`."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        """Run the command line and leave with its exit status."""
        arguments = list(sys.argv[1:] if args is None else args)
        try:
            with interruptible():
                status = super().main(
                    arguments,
                    prog_name or "cutpoint",
                    complete_var,
                    standalone_mode=False,
                    windows_expand_args=windows_expand_args,
                    **extra,
                )
        except (click.Abort, KeyboardInterrupt):
            status = INTERRUPTED
        except Exception as failure:
            status = _tell(failure, as_json=_wants_json(arguments))
        sys.exit(status or 0)


def _wants_json(arguments: Sequence[str]) -> bool:
    """Whether `--json` is among the arguments; asked when they could not be parsed."""
    options = arguments[: arguments.index("--")] if "--" in arguments else arguments
    return "--json" in options


def _tell(failure: Exception, *, as_json: bool) -> int:
    """Say what went wrong, and give the exit status."""
    if isinstance(failure, click.exceptions.NoArgsIsHelpError) and not as_json:
        click.echo(failure.format_message(), err=True)
        return failure.exit_code
    body, status = _described(failure)
    if as_json:
        emit({"error": body})
    else:
        click.echo(printable(_paragraph(body)), err=True)
    return status


def _described(failure: Exception) -> tuple[dict[str, Any], int]:
    if isinstance(failure, CutpointError):
        return failure.as_dict(), failure.exit_status
    if isinstance(failure, click.ClickException):
        return {"kind": "usage", "message": _usage(failure), "candidates": []}, failure.exit_code
    message = (
        f"Something went wrong that should not have: {type(failure).__name__}: {failure} ({_place(failure)}). "
        "Please report this text together with the command as you typed it."
    )
    return {"kind": "internal", "message": message, "candidates": []}, 1


def _usage(failure: click.ClickException) -> str:
    """The parser's sentence, with where to read on."""
    if isinstance(failure, click.exceptions.NoArgsIsHelpError):
        return "A command is missing; `cutpoint --help` lists them."
    message = failure.format_message()
    if "unexpected extra argument" in message:
        message += " A name of several words goes in quotes."
    context = getattr(failure, "ctx", None)
    return f"{message} See `{context.command_path} --help`." if context is not None else message


def _place(failure: Exception) -> str:
    """File and line where the failure arose."""
    trace = failure.__traceback__
    if trace is None:
        return "place unknown"
    while trace.tb_next is not None:
        trace = trace.tb_next
    return f"{Path(trace.tb_frame.f_code.co_filename).name}, line {trace.tb_lineno}"


def _paragraph(body: Mapping[str, Any]) -> str:
    """An error's message, and its candidates unless the message has already told them by number."""
    message: str = body["message"]
    candidates = body["candidates"]
    if not candidates or any(candidate["cas"] in message for candidate in candidates):
        return message
    told = "; ".join(f"{candidate['name']} [{candidate['cas']}]" for candidate in candidates[:MOST_CANDIDATES])
    return f"{message} Candidates: {told}."

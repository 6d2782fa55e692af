"""Files that a command writes for its user: whole, or not at all."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from cutpoint.schema.errors import WrongUsage


def write_whole(path: Path, content: bytes, what: str) -> None:
    """Write a file beside its place and move it there, so that a reader never meets half of it.

    `what` names the content in the error. Raises WrongUsage, the old file
    untouched, if nothing can be written there.
    """
    target = Path(os.path.realpath(path))  # of a link, the file it points to is replaced
    aside = target.with_name(f".cutpoint-{os.getpid()}.part")
    try:
        if target.is_dir():
            raise IsADirectoryError("it is a folder")
        aside.write_bytes(content)
        aside.replace(target)
    except OSError as error:
        why = error.strerror or error
        raise WrongUsage(f"The {what} cannot be written to {str(path)!r}: {why}. Name another place.") from error
    finally:
        with suppress(OSError):
            aside.unlink()

"""Commented recipes to begin with."""

from __future__ import annotations

from pathlib import Path

from cutpoint.schema.errors import WrongUsage

USED_ELUENT = Path(__file__).with_name("example.toml")
"""A teaching lab's used eluent: every key explained."""

BRUSH_CLEANER = Path(__file__).with_name("brush_cleaner.toml")
"""A print workshop's brush cleaner: a petroleum cut, and what stays in the flask."""


def write_new(path: Path) -> None:
    """Write the commented recipe `USED_ELUENT` to a file that does not exist yet.

    Raises WrongUsage if there is something already, which is left untouched, or nothing can be written.
    """
    content = USED_ELUENT.read_bytes()
    try:
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError as error:
        raise WrongUsage(f"{str(path)!r} exists already and is left as it is: name a new file.") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise WrongUsage(f"The recipe cannot be written to {str(path)!r}: {why}. Name another place.") from error

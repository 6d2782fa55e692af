"""What is asked of files in several rooms: their hash, and that they are on the disk."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path


def file_sha256(path: Path) -> str:
    """SHA-256 of a file's content."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def force_to_disk(path: Path) -> None:
    """Return when a file, or the entries of a folder, will survive a loss of power."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

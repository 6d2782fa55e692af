"""What every table of the store is made of: its base class and its columns."""

from __future__ import annotations

from typing import Any

import pandera.pandas as pa

from .identifiers import CAS_PATTERN

CAS = {"str_matches": CAS_PATTERN}
"""Check of a column that holds CAS Registry Numbers."""


def column(description: str, **checks: Any) -> Any:
    """A column with its comment and its checks."""
    return pa.Field(description=description, **checks)


class Table(pa.DataFrameModel):
    """Base of all tables: exactly these columns, in this order, each of its type."""

    class Config:
        strict = True
        ordered = True
        coerce = True

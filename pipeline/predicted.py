"""Predicted azeotropes beside the measured ones: asked of a small store of the components that were measured.

How a mixture boils is computed by the read side, which this side does not
import: whoever builds hands the prediction in.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pandas as pd

import cutpoint.schema as schema
from cutpoint.schema.tables import TABLES, check, empty

from .publish import write_store

Predict = Callable[[Path], list[dict[str, Any]]]
"""From the path of a store to rows of the table `azeotrope`."""

_OF_COMPONENTS = ("component", "evaluation", "vapour_curve", "functional_group", "observation")
_WHOLE = ("group_size", "group_parameter", "azeotrope", "zeotropic_pair")


def with_predicted(frames: Mapping[str, pd.DataFrame], predict: Predict) -> dict[str, pd.DataFrame]:
    """The frames, the predicted azeotropes of all measured pairs added to the table `azeotrope`."""
    measured = [frames[table] for table in ("azeotrope", "zeotropic_pair")]
    cas = {number for frame in measured for column in ("cas_a", "cas_b") for number in frame[column]}
    small = {table: empty(table) for table in TABLES if table != "build"}
    small |= {table: frames[table] for table in _WHOLE}
    small |= {table: frames[table][frames[table]["cas"].isin(cas)] for table in _OF_COMPONENTS}
    with tempfile.TemporaryDirectory(prefix="cutpoint-pairs-") as folder:
        path = Path(folder) / "pairs.duckdb"
        write_store(small, path, {"schema_version": str(schema.SCHEMA_VERSION)})
        rows = predict(path)
    predicted = pd.DataFrame(rows, columns=frames["azeotrope"].columns)
    both = pd.concat([frames["azeotrope"], predicted], ignore_index=True) if rows else frames["azeotrope"]
    return {**frames, "azeotrope": check("azeotrope", both, "predicted")}

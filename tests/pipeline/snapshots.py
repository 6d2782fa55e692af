"""Small snapshots of the live sources for the tests: invented statements about real and invented substances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd
import pyarrow as pa

from cutpoint.pipeline.snapshot import SCHEMAS, About, write

CELSIUS, FAHRENHEIT, KELVIN, BAR, MMHG, KPA = "Q25267", "Q42289", "Q11579", "Q103510", "Q6859652", "Q21064807"
G_CM3, PERCENT, LIQUID, SOLID = "Q13147228", "Q11229", "Q11435", "Q11438"

ABOUT = About("SELECT …", "http://127.0.0.1/sparql", "2026-11-29T12:00:00+00:00", "CC0 1.0")


def table(name: str, rows: Sequence[Mapping[str, str]]) -> pd.DataFrame:
    """Rows of a snapshot's table, what is not given missing."""
    return pd.DataFrame([dict(row) for row in rows], columns=SCHEMAS[name].names).astype("object")


def statement(item: str, property: str, amount: str, unit: str, **more: str) -> dict[str, str]:
    """A row of `wikidata_values`: of normal rank, unless told otherwise."""
    given = {"item": item, "property": property, "amount": amount, "unit": unit, "rank": "normal"}
    return {**given, "statement": f"{item}-{property}-{amount}-{'-'.join(more.values())}", **more}


def write_snapshot(folder: Path, **tables: Sequence[Mapping[str, str]]) -> str:
    """Write a snapshot with the given rows, the other tables being empty; give its digest."""
    frames = {name: table(name, tables.get(name, ())) for name in SCHEMAS}
    return write(folder, in_order(frames), dict.fromkeys(SCHEMAS, ABOUT))


def in_order(frames: Mapping[str, pd.DataFrame]) -> dict[str, list[pa.RecordBatch]]:
    """The rows of each table in the order of its columns without duplicates, as a snapshot takes them."""
    return {name: _batches(SCHEMAS[name], frame) for name, frame in frames.items()}


def _batches(schema: pa.Schema, frame: pd.DataFrame) -> list[pa.RecordBatch]:
    rows = frame[schema.names].drop_duplicates().sort_values(schema.names, na_position="first")
    return pa.Table.from_pandas(rows, schema, preserve_index=False).to_batches()

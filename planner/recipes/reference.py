"""The reference of all tables and keys of a recipe, from the declaration that checks them."""

from __future__ import annotations

from collections.abc import Sequence

from .keys import TABLES, keys_of


def reference() -> str:
    """All tables and keys for people, as Markdown that reads well as plain text too."""
    parts = [
        "A recipe is a TOML file. A quantity is a number and a unit in quotation marks; "
        "counts, ratios and prices are bare numbers."
    ]
    for table in TABLES:
        heading = f"[{table.name}]" if table.name else "At the top"
        optional = "" if table.needed else " May be left out."
        parts.append(f"## {heading}\n\n{table.what}{optional}")
        rows = [
            (key.name, key.what, key.kind.units or key.kind.words, key.example, key.otherwise)
            for key in keys_of(table.name)
        ]
        if rows:
            parts.append(_table(("key", "what it is", "value", "example", "otherwise"), rows))
    return "\n\n".join(parts) + "\n"


def _table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [heads, *rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(heads))]
    padded = [
        "| " + " | ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) + " |" for line in lines
    ]
    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    return "\n".join([padded[0], rule, *padded[1:]])

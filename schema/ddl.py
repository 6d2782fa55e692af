"""DuckDB definitions of every table, generated from the pandera models."""

from __future__ import annotations

from typing import Any

import pandera.pandas as pa

from . import UNINDEXED_KEYS
from .tables import TABLES, key_of


def _sql_type(column: pa.Column, override: str | None) -> str:
    if override:
        return override
    kind = str(column.dtype)
    if kind.startswith("int"):
        return "BIGINT"
    if kind.startswith("float"):
        return "DOUBLE"
    return "VARCHAR"


def _literal(value: Any) -> str:
    if isinstance(value, str):
        return "'" + value.replace("'", "''") + "'"
    return repr(value)


def _check_sql(name: str, check: pa.Check) -> str | None:
    given = check.statistics or {}
    quoted = f'"{name}"'
    match check.name:
        case "greater_than_or_equal_to":
            return f"{quoted} >= {_literal(given['min_value'])}"
        case "greater_than":
            return f"{quoted} > {_literal(given['min_value'])}"
        case "in_range":
            return f"{quoted} BETWEEN {_literal(given['min_value'])} AND {_literal(given['max_value'])}"
        case "isin":
            return f"{quoted} IN ({', '.join(_literal(value) for value in sorted(given['allowed_values']))})"
        case "str_matches":
            return f"regexp_matches({quoted}, {_literal(given['pattern'])})"
        case "str_length":
            return f"length({quoted}) >= {_literal(given['min_value'])}"
    return None


def create_statements(table: str) -> list[str]:
    """CREATE TABLE with types, NOT NULL, CHECK and PRIMARY KEY, then the COMMENT statements."""
    model = TABLES[table]
    schema = model.to_schema()
    overrides = model.Config.metadata.get("sql", {})  # type: ignore[attr-defined]
    lines = []
    for name, column in schema.columns.items():
        parts = [f'"{name}"', _sql_type(column, overrides.get(name))]
        if not column.nullable:
            parts.append("NOT NULL")
        parts += [f"CHECK ({sql})" for check in column.checks if (sql := _check_sql(name, check))]
        lines.append(" ".join(parts))
    if table not in UNINDEXED_KEYS:
        lines.append(f"PRIMARY KEY ({', '.join(chr(34) + part + chr(34) for part in key_of(table))})")
    summary = (model.__doc__ or "").strip().splitlines()[0]
    statements = [f'CREATE TABLE "{table}" (\n    ' + ",\n    ".join(lines) + "\n)"]
    statements.append(f'COMMENT ON TABLE "{table}" IS {_literal(summary)}')
    statements += [
        f'COMMENT ON COLUMN "{table}"."{name}" IS {_literal(column.description)}'
        for name, column in schema.columns.items()
    ]
    return statements


def field_descriptions(table: str) -> list[dict[str, Any]]:
    """Name, type, description and constraints of each column, as Frictionless Table Schema fields."""
    frictionless = {"BIGINT": "integer", "DOUBLE": "number", "VARCHAR": "string", "DOUBLE[]": "any"}
    overrides = TABLES[table].Config.metadata.get("sql", {})  # type: ignore[attr-defined]
    fields = []
    for name, column in TABLES[table].to_schema().columns.items():
        field: dict[str, Any] = {
            "name": name,
            "type": frictionless[_sql_type(column, overrides.get(name))],
            "description": column.description,
        }
        constraints: dict[str, Any] = {} if column.nullable else {"required": True}
        for check in column.checks:
            if check.name == "isin":
                constraints["enum"] = sorted(check.statistics["allowed_values"])
            if check.name == "greater_than_or_equal_to" and not column.nullable:
                constraints["minimum"] = check.statistics["min_value"]
        if constraints:
            field["constraints"] = constraints
        fields.append(field)
    return fields

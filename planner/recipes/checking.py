"""A recipe against the declaration of its keys: every value read, every fault found with its line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from cutpoint.schema.errors import CutpointError, WrongRecipe

from .keys import KEYS, MEANINGS, NEEDED, ONE_OF, TABLES, TOP, Table, keys_of, place
from .places import Path as KeyPath
from .places import Place
from .recipe import NOT_VOLATILE
from .values import NotOfKind, shown

MOST_TOLD = 25
"""Faults that are told at once; a file with more is better begun anew."""

_NOT_VOLATILE = {"not volatile", "non volatile", "nonvolatile"}


@dataclass
class Checked:
    """The values of a recipe by table and key, and the faults found so far, each with its line or None."""

    file: str
    places: Mapping[KeyPath, Place]
    tables: dict[str, dict[str, Any]] = field(default_factory=dict)
    values: dict[tuple[str, str], Any] = field(default_factory=dict)
    meanings: dict[str, str] = field(default_factory=dict)
    faults: list[tuple[int | None, str, str]] = field(default_factory=list)

    def given(self, table: str, name: str) -> bool:
        """Whether the key stands in the recipe, rightly or wrongly."""
        return name in self.tables.get(table, {})

    def value(self, table: str, name: str, otherwise: Any = None) -> Any:
        """The value of a key in SI units, `otherwise` where it is left out or faulty."""
        return self.values.get((table, name), otherwise)

    def refuse(self, table: str, name: str, why: str) -> None:
        """Note a fault of a key, at its line, or at that of its table where the key is missing."""
        self.faults.append((self._line(table, name), place(_on_one_line(table), _on_one_line(name)), why))

    def raise_faults(self) -> None:
        """Raise WrongRecipe with all faults, one per line in the order of the file, if there are any."""
        told = sorted(self.faults, key=lambda fault: (fault[0] is None, fault[0] or 0))
        lines = [f"{self.file}{f', line {line}' if line else ''}, {where}: {why}" for line, where, why in told]
        if len(lines) > MOST_TOLD:
            lines[MOST_TOLD:] = [f"{self.file}: {len(lines) - MOST_TOLD} more like these."]
        if lines:
            raise WrongRecipe("\n".join(lines))

    def _line(self, table: str, name: str) -> int | None:
        above = (table,) if table else ()
        found = self.places.get((*above, name)) or self.places.get(above)
        return found.key_line if found else None


def check(document: dict[str, Any], file: str, places: Mapping[KeyPath, Place]) -> Checked:
    """Hold a parsed recipe against the declaration, key by key; what concerns several keys is not looked at."""
    checked = Checked(file, places)
    _part_tables(document, checked)
    for name in checked.tables:
        if name == MEANINGS:
            _check_meanings(checked)
        else:
            _check_table(name, checked)
    for table in TABLES:
        _find_missing(table, checked)
    return checked


def _part_tables(document: dict[str, Any], checked: Checked) -> None:
    """Sort what stands at the top into keys and tables; what is neither is a fault."""
    tables = [table.name for table in TABLES if table.name]
    checked.tables[TOP] = {}
    for name, content in document.items():
        if name in tables and isinstance(content, dict):
            checked.tables[name] = content
        elif name in tables:
            why = f"{name} is a table: write [{name}] on a line of its own and its keys below."
            checked.refuse(TOP, name, why)
        elif isinstance(content, dict) and name not in {key.name for key in keys_of(TOP)}:
            near = get_close_matches(name.casefold(), tables, n=1)
            meant = f"Is [{near[0]}] meant?" if near else f"The tables are {', '.join(tables)}."
            checked.refuse(name, "", f"there is no such table. {meant}")
        else:
            checked.tables[TOP][name] = content


def _check_table(table: str, checked: Checked) -> None:
    known = {key.name: key for key in keys_of(table)}
    for name, value in checked.tables[table].items():
        if name not in known:
            # What is meant is sought only where it will be told.
            meant = _nearest(table, name) if len(checked.faults) < MOST_TOLD else ""
            checked.refuse(table, name, f"there is no such key. {meant}")
            continue
        try:
            checked.values[table, name] = known[name].kind.read(value)
        except NotOfKind as error:
            checked.refuse(table, name, f"{error.message} {known[name].example_told}")
        except CutpointError as error:
            checked.refuse(table, name, error.message)


def _nearest(table: str, name: str) -> str:
    """Where an unknown key belongs, or which one is meant."""
    elsewhere = [key for key in KEYS if key.name == name.casefold()]
    if elsewhere and elsewhere[0].table == TOP:
        return "It belongs at the top, before the first table."
    if elsewhere:
        return f"It belongs in [{elsewhere[0].table}]."
    names = [key.name for key in keys_of(table)]
    near = get_close_matches(name.casefold(), names, n=1)
    return f"Is {near[0]} meant?" if near else f"The keys are {', '.join(names)}."


def _check_meanings(checked: Checked) -> None:
    own = {key.name for key in keys_of(TOP)}
    for name, meaning in checked.tables[MEANINGS].items():
        if name in own:
            checked.refuse(MEANINGS, name, "It belongs at the top, before the first table.")
        elif not isinstance(meaning, str) or not meaning.strip() or not name.strip():
            why = f'{shown(meaning)} is no meaning. For example: "printed name" = "141-78-6", or "{NOT_VOLATILE}".'
            checked.refuse(MEANINGS, name, why)
        else:
            words = " ".join(meaning.casefold().replace("-", " ").split())
            checked.meanings[name.strip()] = NOT_VOLATILE if words in _NOT_VOLATILE else meaning.strip()


def _find_missing(table: Table, checked: Checked) -> None:
    """Note needed keys that are missing from a table that is there, or a needed table that is not."""
    needed = [key for key in keys_of(table.name) if key.otherwise == NEEDED]
    if table.name in checked.tables:
        for key in needed:
            if key.name not in checked.tables[table.name]:
                checked.refuse(table.name, key.name, f"it is missing. {key.example_told}")
    elif table.needed and (table.name,) not in checked.places:
        keys = needed or [key for key in keys_of(table.name) if key.otherwise == ONE_OF][-1:]
        lines = ", ".join(key.line for key in keys)
        checked.refuse(table.name, "", f"the table is missing. For example: [{table.name}] with {lines}")


def _on_one_line(name: str) -> str:
    """A key as messages name it: what TOML lets stand in quotation marks may be long or hold line ends."""
    return name if not name or (name.isidentifier() and len(name) < 40) else shown(name)

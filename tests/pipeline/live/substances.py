"""Invented substances, each made from its number alone, so that any amount of them needs no memory; and ethanol."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from typing import Any

Binding = dict[str, dict[str, str]]

ENTITY = "http://www.wikidata.org/entity/"
FIRST = 10_000_001
"""Number of the first invented item; real items of so high a number are no substances."""
CELSIUS, KELVIN, KPA, UNHEARD = "Q25267", "Q11579", "Q21064807", "Q99999999"

ETHANOL = 153
"""The one real item: its identifiers are those of ethanol, its values are invented."""
ODD = {
    "unknown_value": FIRST + 10_000_000,
    "no_value": FIRST + 10_000_001,
    "unknown_pressure": FIRST + 10_000_002,
    "words": FIRST + 10_000_003,
    "unheard_unit": FIRST + 10_000_004,
    "false_precision": FIRST + 10_000_005,
    "two_pressures": FIRST + 10_000_006,
    "two_structures": FIRST + 10_000_007,
    "wrong_digit": FIRST + 10_000_008,
    "wild_unit": FIRST + 10_000_009,
}
"""Items with something to stumble over, by what that is."""


def uri(identifier: str) -> dict[str, str]:
    return {"type": "uri", "value": ENTITY + identifier}


def literal(text: str, language: str | None = None) -> dict[str, str]:
    return {"type": "literal", "value": text} | ({"xml:lang": language} if language else {})


def cas(number: int) -> str:
    """A well-formed CAS number for an item."""
    if number == ETHANOL:
        return "64-17-5"
    body = str(number % 100_000_000)
    check = sum(place * int(digit) for place, digit in enumerate(reversed(body), 1)) % 10
    wrong = number == ODD["wrong_digit"]
    return f"{body[:-2]}-{body[-2:]}-{(check + wrong) % 10}"


def inchikey(number: int, variant: str = "") -> str:
    """A key of the right layout that stands for no structure."""
    if number == ETHANOL:
        return "LFQSCWFLJHTTHZ-UHFFFAOYSA-N"
    letters = "".join(chr(65 + byte % 26) for byte in hashlib.sha256(f"{number}{variant}".encode()).digest())
    return f"{letters[:14]}-{letters[14:24]}-N"


def lacks_structure(number: int) -> bool:
    """Whether Wikidata has no InChIKey for the item."""
    return number % 20 == 0


def properties(number: int) -> list[str]:
    """The properties that an item has statements of."""
    steps = {"P2102": 1, "P2101": 2, "P2054": 3, "P2119": 5, "P2128": 4}
    return [name for name, step in steps.items() if number % step == 0]


def identity(number: int) -> list[Binding]:
    """Solutions for who an item is."""
    row = {"item": uri(f"Q{number}"), "cas": literal(cas(number)), "formula": literal("C₂H₆O")}
    if lacks_structure(number):
        return [row]
    rows = [row | {"inchikey": literal(inchikey(number)), "smiles": literal("CCO")}]
    if number == ODD["two_structures"]:
        rows.append(row | {"inchikey": literal(inchikey(number, "other"))})
    return rows


def values(number: int) -> list[Binding]:
    """Solutions for the statements of an item."""
    return [row for name in properties(number) for row in _statement(number, name)]


def _statement(number: int, name: str) -> list[Binding]:
    amount = f"+{20 + number % 400}.{number % 7}"
    quantity = {"value": literal(amount), "amount": literal(amount), "unit": uri(CELSIUS if number % 3 else KELVIN)}
    row = {
        "item": uri(f"Q{number}"),
        "statement": uri(f"statement/Q{number}-{name}"),
        "property": literal(name),
        "rank": {"type": "uri", "value": "http://wikiba.se/ontology#NormalRank"},
        "stated_in": uri("Q60998054"),
    }
    if name != "P2102":
        return [row | quantity]
    return _odd_boiling_point(number, row, quantity)


def _odd_boiling_point(number: int, row: Binding, quantity: Binding) -> list[Binding]:
    unknown = {"type": "bnode", "value": "t42"}
    pressures = [
        {"pressure": literal(amount), "pressure_amount": literal(amount), "pressure_unit": uri(KPA)}
        for amount in ("+101.325", "+2")
    ]
    source = {"reference_url": {"type": "uri", "value": "https://example.org/table"}}
    cases: dict[str, list[Binding]] = {
        "unknown_value": [row | {"value": unknown}],
        "no_value": [row],
        "unknown_pressure": [row | quantity | {"pressure": unknown}],
        "words": [row | quantity | {"amount": literal("about 80")}],
        "unheard_unit": [row | quantity | {"unit": uri(UNHEARD)}],
        "false_precision": [row | quantity | {"amount": literal("+78.370000000123")}],
        "two_pressures": [row | quantity | pressure | extra for pressure in pressures for extra in ({}, source)],
        "wild_unit": [row | quantity | {"unit": literal("degrees")}],
    }
    kind = next((kind for kind, odd in ODD.items() if odd == number), "")
    return cases.get(kind, [row | quantity])


def names(number: int) -> list[Binding]:
    """Solutions for labels and aliases of an item."""
    told = [("label", f"Demoan {number}", "en"), ("label", f"Demoän {number}", "de"), ("label", f"デモ{number}", "ja")]
    told.append(("alias", f"demo alcohol {number}", "en"))
    return [
        {"item": uri(f"Q{number}"), "kind": literal(kind), "text": literal(text, language)}
        for kind, text, language in told
    ]


class Substances:
    """Some number of invented substances, the odd ones among them if asked for, and ethanol."""

    def __init__(self, count: int, *, odd: bool = False) -> None:
        self.numbers = [ETHANOL, *range(FIRST, FIRST + count - 1), *(ODD.values() if odd else ())]
        self.by_cas = {cas(number): number for number in self.numbers}
        self.listing = lru_cache(self._listing)
        self.identity, self.values, self.names = identity, values, names

    def _listing(self, name: str) -> list[str]:
        """Items with a statement of a property, in the order of their IRIs as text."""
        return sorted(f"Q{number}" for number in self.numbers if name in properties(number))

    def compound(self, number: int) -> dict[str, Any]:
        """What PubChem says of an item: its CID is the item's number."""
        return {
            "CID": number,
            "MolecularFormula": "C2H6O",
            "MolecularWeight": "46.07",
            "SMILES": "CCO",
            "InChI": "InChI=1S/C2H6O/c1-2-3/h3H,2H2,1H3",
            "InChIKey": inchikey(number),
            "Title": f"Demoan {number}",
        }

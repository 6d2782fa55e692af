"""What is asked of Wikidata's query service, and its answers in SPARQL 1.1 JSON.

Recommendations: https://www.w3.org/TR/sparql11-query/ and https://www.w3.org/TR/sparql11-results-json/.
The names of statements, ranks, quantities and references are those of the RDF that Wikidata publishes:
https://www.mediawiki.org/wiki/Wikibase/Indexing/RDF_Dump_Format. Prefixes are written out, so that
a mirror on any SPARQL engine understands.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from cutpoint.pipeline.wikidata_terms import (
    CAS,
    FORMULA,
    INCHI,
    INCHIKEY,
    ISOMERIC_SMILES,
    PHASE,
    PRESSURE,
    PROPERTIES,
    SMILES,
    TEMPERATURE,
)
from cutpoint.schema.names import LANGUAGES

Binding = Mapping[str, Mapping[str, str]]
"""One solution: variable to `{"type": ..., "value": ..., "xml:lang": ...}`."""

ENTITY = "http://www.wikidata.org/entity/"
_PREFIXES = {
    "wd": ENTITY,
    "wdt": "http://www.wikidata.org/prop/direct/",
    "p": "http://www.wikidata.org/prop/",
    "ps": "http://www.wikidata.org/prop/statement/",
    "psv": "http://www.wikidata.org/prop/statement/value/",
    "pq": "http://www.wikidata.org/prop/qualifier/",
    "pqv": "http://www.wikidata.org/prop/qualifier/value/",
    "pr": "http://www.wikidata.org/prop/reference/",
    "prov": "http://www.w3.org/ns/prov#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "wikibase": "http://wikiba.se/ontology#",
}
_ITEM = re.compile(rf"{re.escape(ENTITY)}(Q\d+)")
STATED_IN, REFERENCE_URL = "P248", "P854"
"""Properties of a reference: the work that states the value, and a web page that does."""

_LISTING = f"""SELECT DISTINCT ?item WHERE {{
?item p:%(property)s ?statement .
?item wdt:{CAS} ?cas .
}} ORDER BY ?item LIMIT %(limit)d OFFSET %(offset)d"""

_BY_CAS = f"""SELECT ?item ?cas WHERE {{
VALUES ?cas {{ %(values)s }}
?item wdt:{CAS} ?cas .
}}"""

_IDENTITIES = f"""SELECT ?item ?cas ?inchikey ?inchi ?isomeric ?smiles ?formula WHERE {{
VALUES ?item {{ %(values)s }}
?item wdt:{CAS} ?cas .
OPTIONAL {{ ?item wdt:{INCHIKEY} ?inchikey }}
OPTIONAL {{ ?item wdt:{INCHI} ?inchi }}
OPTIONAL {{ ?item wdt:{ISOMERIC_SMILES} ?isomeric }}
OPTIONAL {{ ?item wdt:{SMILES} ?smiles }}
OPTIONAL {{ ?item wdt:{FORMULA} ?formula }}
}}"""

_VALUES = f"""SELECT ?item ?statement ?property ?rank ?value ?amount ?unit ?lower ?upper ?pressure ?pressure_amount \
?pressure_unit ?temperature ?temperature_amount ?temperature_unit ?phase ?stated_in ?reference_url WHERE {{
VALUES ?item {{ %(values)s }}
VALUES (?property ?p ?ps ?psv) {{ {" ".join(f'("{p}" p:{p} ps:{p} psv:{p})' for p in PROPERTIES)} }}
?item ?p ?statement .
?statement wikibase:rank ?rank .
OPTIONAL {{ ?statement ?ps ?value }}
OPTIONAL {{ ?statement ?psv ?node . ?node wikibase:quantityAmount ?amount ; wikibase:quantityUnit ?unit .
OPTIONAL {{ ?node wikibase:quantityLowerBound ?lower }}
OPTIONAL {{ ?node wikibase:quantityUpperBound ?upper }} }}
OPTIONAL {{ ?statement pq:{PRESSURE} ?pressure }}
OPTIONAL {{ ?statement pqv:{PRESSURE} ?pressure_node . ?pressure_node wikibase:quantityAmount ?pressure_amount ; \
wikibase:quantityUnit ?pressure_unit }}
OPTIONAL {{ ?statement pq:{TEMPERATURE} ?temperature }}
OPTIONAL {{ ?statement pqv:{TEMPERATURE} ?temperature_node . ?temperature_node \
wikibase:quantityAmount ?temperature_amount ; wikibase:quantityUnit ?temperature_unit }}
OPTIONAL {{ ?statement pq:{PHASE} ?phase }}
OPTIONAL {{ ?statement prov:wasDerivedFrom ?reference .
OPTIONAL {{ ?reference pr:{STATED_IN} ?stated_in }}
OPTIONAL {{ ?reference pr:{REFERENCE_URL} ?reference_url }} }}
}}"""

_NAMES = f"""SELECT ?item ?kind ?text WHERE {{
VALUES ?item {{ %(values)s }}
VALUES (?kind ?predicate) {{ ("label" rdfs:label) ("alias" skos:altLabel) }}
?item ?predicate ?text .
FILTER(LANG(?text) IN ({", ".join(f'"{language}"' for language in LANGUAGES)}))
}}"""

QUERIES = {"wikidata_items": _IDENTITIES, "wikidata_values": _VALUES, "wikidata_names": _NAMES}
"""What is asked about a batch of items, by the table of the snapshot that it fills."""


def listing(property: str, limit: int, offset: int) -> str:
    """The query for a page of the items that have a CAS number and a statement of a property."""
    return _with_prefixes(_LISTING % {"property": property, "limit": limit, "offset": offset})


def by_cas(numbers: Iterable[str]) -> str:
    """The query for the items that have one of the CAS numbers."""
    return _with_prefixes(_BY_CAS % {"values": " ".join(f'"{cas}"' for cas in numbers)})


def details(table: str, items: Iterable[str]) -> str:
    """The query for what a table of the snapshot holds of some items."""
    return _with_prefixes(QUERIES[table] % {"values": " ".join(f"wd:{item}" for item in items)})


def bindings(answer: Any) -> list[Binding]:
    """The solutions in an answer; raises ValueError if it is no result of a SELECT."""
    try:
        solutions = answer["results"]["bindings"]
    except (KeyError, TypeError) as missing:
        raise ValueError("it holds no results.bindings") from missing
    if not isinstance(solutions, list) or not all(_is_solution(solution) for solution in solutions):
        raise ValueError("its results.bindings is no list of solutions")
    return solutions


def text(solution: Binding, variable: str) -> str | None:
    """The value of a variable, None if it is unbound."""
    return solution[variable]["value"] if variable in solution else None


def entity(solution: Binding, variable: str) -> str | None:
    """The item that a variable stands for, such as `Q153`; None if it is none, or unbound."""
    found = _ITEM.fullmatch(text(solution, variable) or "")
    return found[1] if found else None


def is_literal(solution: Binding, variable: str) -> bool:
    """Whether a variable is unbound or a literal: an unknown value is a blank node or an IRI made from one."""
    return variable not in solution or solution[variable]["type"] in ("literal", "typed-literal")


def raw(solution: Binding) -> str:
    """A solution as text, the same each time: the labels of blank nodes are chance."""
    told = {name: "unknown value" if term["type"] == "bnode" else term["value"] for name, term in solution.items()}
    return json.dumps(told, ensure_ascii=False, sort_keys=True)


def _is_solution(solution: Any) -> bool:
    return isinstance(solution, dict) and all(
        isinstance(term, dict) and isinstance(term.get("type"), str) and isinstance(term.get("value"), str)
        for term in solution.values()
    )


def _with_prefixes(query: str) -> str:
    used = {name: iri for name, iri in _PREFIXES.items() if re.search(rf"(?<!\w){name}:", query)}
    return "".join(f"PREFIX {name}: <{iri}>\n" for name, iri in used.items()) + query

"""What Wikidata says of substances: which items there are, then who they are, their values and their names."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import partial

from cutpoint.pipeline.wikidata_terms import PROPERTIES
from cutpoint.schema.errors import LiveSourceFailed
from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.names import LANGUAGES

from . import statements
from .batches import stable_batches
from .session import LiveSession, Progress, failed
from .sparql import Binding, bindings, by_cas, details, entity, listing, raw, text
from .staging import Row, Rows, Staging
from .statements import SOURCE

Parse = Callable[[Sequence[Binding]], Rows]

LISTED_AT_ONCE, FEWEST_LISTED = 5_000, 100
"""Items of a page of a listing: how many are asked for at first, and how few when such pages fail."""
NUMBERS_AT_ONCE = 250
ITEMS_AT_ONCE = 200
"""A request by GET stays below 8 kB with that many CAS numbers or items in it."""
PROBE = by_cas(["64-17-5"])
"""A query that is no trouble to answer: the items with the CAS number of ethanol."""


class Wikidata:
    """A query service with Wikidata's data, and the staging into which a run reads it."""

    def __init__(self, session: LiveSession, address: str, staging: Staging) -> None:
        self._session, self._address, self._staging = session, address, staging

    def fetch(self, components: Sequence[str], tell: Progress) -> None:
        """Read every item that has a CAS number and one of the properties, or the CAS number of a component."""
        for number, property in enumerate(PROPERTIES):
            tell("list the substances in Wikidata", 0.1 * number / len(PROPERTIES))
            self._list(property)
        done = 0
        for numbers in stable_batches(components, NUMBERS_AT_ONCE):
            tell("look the components up in Wikidata", 0.1 + 0.1 * done / len(components))
            self._batch(numbers, by_cas, _items)
            done += len(numbers)
        wanted, done = self._staging.count("wanted"), 0
        for items in stable_batches(self._staging.column("SELECT DISTINCT item FROM wanted"), ITEMS_AT_ONCE):
            tell("read identities, values and names from Wikidata", 0.2 + 0.8 * done / wanted)
            for table, parse in PARSERS.items():
                self._batch(items, partial(details, table), parse)
            done += len(items)

    def _list(self, property: str) -> None:
        """List the items with a property, in smaller pages if they fail though the service works.

        The end is an empty page: a service may give less than was asked for.
        """
        offset, limit = 0, LISTED_AT_ONCE
        while True:
            try:
                found = self._page(listing(property, limit, offset), _items)
            except LiveSourceFailed:
                if limit // 2 < FEWEST_LISTED or not self._works():
                    raise
                limit //= 2
                continue
            if found == 0:
                return
            offset += found

    def _batch(self, keys: Sequence[str], ask: Callable[[Sequence[str]], str], parse: Parse) -> None:
        """Fetch what is asked of a batch; one that fails though the service works is halved, one key alone refused."""
        query = ask(keys)
        try:
            self._page(query, parse)
        except LiveSourceFailed as failure:
            if not self._works():
                raise
            rejected: list[Row] = []
            if len(keys) > 1:
                self._batch(keys[: len(keys) // 2], ask, parse)
                self._batch(keys[len(keys) // 2 :], ask, parse)
            else:
                rejected.append(_refuse(keys[0], str(failure.__cause__), "the service fails when it is asked for it"))
            self._staging.keep(_request(query), 0, {"rejected": rejected})

    def _works(self) -> bool:
        """Whether the service answers what is no trouble to answer."""
        probed = self._session.probe(self._address, query=PROBE)
        if probed is None:
            return False
        try:
            bindings(probed.body)
        except ValueError:
            return False
        return True

    def _page(self, query: str, parse: Parse) -> int:
        """Fetch a page unless the run has it already; give the number of its solutions."""
        request = _request(query)
        known = self._staging.found(request)
        if known is not None:
            return known
        answer = self._session.fetch(self._address, query=query)
        try:
            solutions = bindings(answer.body)
        except ValueError as fault:
            raise failed(self._address, f"its JSON is no SPARQL result: {fault}", 1) from fault
        self._staging.keep(request, len(solutions), parse(solutions))
        return len(solutions)


def _request(query: str) -> str:
    """The name of a page in the staging."""
    return hashlib.sha256(query.encode()).hexdigest()


def _items(solutions: Sequence[Binding]) -> Rows:
    """The items of a listing."""
    items = [entity(solution, "item") for solution in solutions]
    return {
        "wanted": [(item,) for item in items if item is not None],
        "rejected": [
            _refuse("", raw(solution), "it is no item of Wikidata")
            for item, solution in zip(items, solutions, strict=True)
            if item is None
        ],
    }


def _identities(solutions: Sequence[Binding]) -> Rows:
    """One row for each item and CAS number."""
    kept: list[Row] = []
    rejected: list[Row] = []
    of_item: dict[str, list[Binding]] = defaultdict(list)
    for solution in solutions:
        item = entity(solution, "item")
        if item is None or "cas" not in solution:
            rejected.append(_refuse(item or "", raw(solution), "it is no item of Wikidata with a CAS number"))
        else:
            of_item[item].append(solution)
    for item, told in of_item.items():
        numbers = sorted(_texts(told, "cas"))
        inchikey, inchi, isomeric, smiles, formula = (
            _single(item, told, variable, rejected)
            for variable in ("inchikey", "inchi", "isomeric", "smiles", "formula")
        )
        kept.extend((item, cas, inchikey, inchi, isomeric or smiles, formula) for cas in numbers if is_cas(cas))
        rejected.extend(_refuse(item, cas, "it is no CAS number") for cas in numbers if not is_cas(cas))
    return {"wikidata_items": kept, "rejected": rejected}


def _texts(solutions: Iterable[Binding], variable: str) -> set[str]:
    return {value for solution in solutions if (value := text(solution, variable))}


def _single(item: str, solutions: Sequence[Binding], variable: str, rejected: list[Row]) -> str | None:
    """The one value of a variable; several contradict each other, and none of them is kept."""
    values = sorted(_texts(solutions, variable))
    if len(values) > 1:
        rejected.append(_refuse(item, "; ".join(values), f"it has several values of {variable}"))
    return values[0] if len(values) == 1 else None


def _values(solutions: Sequence[Binding]) -> Rows:
    kept, rejected = statements.rows_of(solutions)
    return {"wikidata_values": kept, "rejected": rejected}


def _names(solutions: Sequence[Binding]) -> Rows:
    """Labels and aliases in the languages that are read."""
    kept: list[Row] = []
    rejected: list[Row] = []
    for solution in solutions:
        item, kind, name = entity(solution, "item"), text(solution, "kind"), (text(solution, "text") or "").strip()
        language = solution.get("text", {}).get("xml:lang")
        if item and name and kind in ("label", "alias") and language in LANGUAGES:
            kept.append((item, language, name, kind))
        else:
            rejected.append(_refuse(item or "", raw(solution), "it is no name in a language that is read"))
    return {"wikidata_names": kept, "rejected": rejected}


def _refuse(key: str, told: str, reason: str) -> Row:
    return (SOURCE, key, told, reason)


PARSERS: dict[str, Parse] = {"wikidata_items": _identities, "wikidata_values": _values, "wikidata_names": _names}
"""What makes rows of the answer about a batch of items, by the table that is asked about."""

"""What PubChem says of substances whose structure is lacking: identity by CAS number, then synonyms.

PUG REST: https://pubchem.ncbi.nlm.nih.gov/docs/pug-rest; Kim et al., Nucleic Acids Res. 43 (2015)
W605-W611, doi:10.1093/nar/gkv396.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from cutpoint.schema.errors import LiveSourceFailed

from .batches import stable_batches
from .session import KNOWN, UNKNOWN, Answer, LiveSession, Progress
from .staging import Row, Rows, Staging

SOURCE = "pubchem_live"
FIELDS = {
    "inchikey": "InChIKey",
    "inchi": "InChI",
    "smiles": "SMILES",
    "formula": "MolecularFormula",
    "molar_mass_g_mol": "MolecularWeight",
    "title": "Title",
}
"""PubChem's names of the properties that are asked for, by our column."""
COMPOUNDS_AT_ONCE = 100
WATER_CAS, WATER_CID = "7732-18-5", "962"
"""What the service knows whenever it works (https://pubchem.ncbi.nlm.nih.gov/compound/962)."""
LACKING = "SELECT DISTINCT cas FROM wikidata_items WHERE inchikey IS NULL"
IDENTIFIED = "SELECT DISTINCT cid FROM pubchem_identities ORDER BY CAST(cid AS INTEGER)"


class PubChem:
    """PUG REST, and the staging into which a run reads it."""

    def __init__(self, session: LiveSession, address: str, staging: Staging) -> None:
        self._session, self._address, self._staging = session, address, staging

    def fetch(self, components: Sequence[str], without_structure: Sequence[str], tell: Progress) -> None:
        """Read identity and synonyms of what lacks a structure.

        That are the components that are named so, and Wikidata's items without an InChIKey
        that are no components.
        """
        lacking = sorted({*without_structure, *(set(self._staging.column(LACKING)) - set(components))})
        for done, cas in enumerate(lacking):
            tell("ask PubChem for structures", 0.9 * done / len(lacking))
            self._page(cas, identity_path(cas), partial(_identity, cas), identity_path(WATER_CAS))
        compounds = list(self._staging.column(IDENTIFIED))
        numbers: dict[str, list[str]] = defaultdict(list)
        for cas, cid in self._staging.rows("SELECT cas, cid FROM pubchem_identities"):
            numbers[cid].append(cas)
        done = 0
        for batch in stable_batches(compounds, COMPOUNDS_AT_ONCE):
            tell("ask PubChem for synonyms", 0.9 + 0.1 * done / len(compounds))
            parse = partial(_synonyms, batch, numbers)
            self._page(" ".join(batch), synonyms_path(batch), parse, synonyms_path([WATER_CID]))
            done += len(batch)

    def _page(self, key: str, path: str, parse: Callable[[Answer], Rows], probe: str) -> None:
        """Fetch a page unless the run has it already; refuse it if it cannot be had though its like, `probe`, can."""
        if self._staging.found(path) is not None:
            return
        try:
            rows = parse(self._session.fetch(f"{self._address}/{path}"))
        except LiveSourceFailed as failure:
            if not self._works(probe):
                raise
            row = (SOURCE, key, str(failure.__cause__), "the service fails when it is asked for it")
            rows = {"rejected": [row]}
        self._staging.keep(path, 1, rows)

    def _works(self, path: str) -> bool:
        """Whether the service knows what it must know."""
        probed = self._session.probe(f"{self._address}/{path}")
        return probed is not None and probed.status == KNOWN and _fault(probed) is None


def identity_path(cas: str) -> str:
    """The path of the identity of what has a CAS number among its names."""
    return f"compound/name/{cas}/property/{','.join(FIELDS.values())}/JSON"


def synonyms_path(compounds: Sequence[str]) -> str:
    """The path of the synonyms of some compounds."""
    return f"compound/cid/{','.join(compounds)}/synonyms/JSON"


def _identity(cas: str, answer: Answer) -> Rows:
    """The row of a CAS number, if it means one structure."""
    if answer.status == UNKNOWN or _fault(answer) == "PUGREST.NotFound":
        return {"unknown": [(cas,)]}
    try:
        rows = [_identity_row(cas, told) for told in answer.body["PropertyTable"]["Properties"]]
    except (KeyError, TypeError, ValueError, AttributeError):
        return _rejected(cas, answer.body, _fault(answer) or "the answer holds no table of properties")
    if not rows:
        return {"unknown": [(cas,)]}
    if len(rows) > 1:
        return _rejected(cas, answer.body, "the CAS number stands for several structures")
    return {"pubchem_identities": rows}


def _identity_row(cas: str, told: dict[str, Any]) -> Row:
    values = (told.get(name) for name in FIELDS.values())
    return (cas, str(int(told["CID"])), *(None if value is None else str(value) for value in values))


def _synonyms(batch: Sequence[str], numbers: Mapping[str, Sequence[str]], answer: Answer) -> Rows:
    """A row for each synonym and CAS number of the compounds in a batch."""
    if answer.status == UNKNOWN:
        return {}
    try:
        told = answer.body["InformationList"]["Information"]
        synonyms = [(str(each["CID"]), str(name)) for each in told for name in each.get("Synonym", ())]
        rows: list[Row] = [(cas, cid, name) for cid, name in synonyms for cas in numbers[cid]]
    except (KeyError, TypeError, AttributeError):
        return _rejected(" ".join(batch), answer.body, _fault(answer) or "the answer holds no list of synonyms")
    return {"pubchem_synonyms": rows}


def _fault(answer: Answer) -> str | None:
    """The code of the fault that an answer tells of."""
    body = answer.body if isinstance(answer.body, dict) else {}
    fault = body.get("Fault")
    if answer.status == KNOWN and fault is None:
        return None
    return str(fault.get("Code", "a fault without a code")) if isinstance(fault, dict) else "a fault without a code"


def _rejected(key: str, body: Any, reason: str) -> Rows:
    return {"rejected": [(SOURCE, key, json.dumps(body, ensure_ascii=False, sort_keys=True), reason)]}

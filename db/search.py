"""From what a chemist types to components: CAS number, InChIKey, name, formula, SMILES, then spelling."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from cutpoint.schema.errors import NoSuchComponent, WrongCheckDigit, WrongUsage
from cutpoint.schema.identifiers import (
    cas_check_digit,
    cas_from_digits,
    hill_formula,
    is_cas,
    is_formula,
    is_inchikey,
    looks_like_cas,
    split_formula,
)

from .claims import (
    BOILING,
    FIELDS,
    ambiguous,
    by_name,
    by_spelling,
    candidates,
    is_charged,
    language_asked,
    once_each,
    strongest,
)
from .matches import Match, Matches

if TYPE_CHECKING:
    from .store import Store

SMILES_LETTERS = frozenset("BCNOPSFIHbcnopslr[]()=#@+-/\\.%:$0123456789")
"""Letters of SMILES without brackets' contents: the organic subset, bonds, branches, ring closures."""
SMILES_SIGNS = frozenset("[]()=#@/\\")

HOW_TO_READ_SMILES = (
    'Reading a SMILES other than the canonical one needs RDKit: install cutpoint with its extra "pipeline".'
)

_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d", "-"))
"""Hyphens, dashes and minus signs that stand for a hyphen once a text has been typeset."""
_CAS_LABEL = re.compile(r"\ACAS(?:RN)?(?:[\s-]*(?:RN|No|Nr|Number|Nummer))?[.:#\s]*(?=\d)", re.IGNORECASE)
_BARE_DIGITS = re.compile(r"[1-9][0-9]{4,9}")
_DIGITS_AND_HYPHENS = re.compile(r"[0-9-]+")

_FROM_COMPONENT = f"SELECT {FIELDS} FROM component c {BOILING}"
_BY_BOILING_POINT = "ORDER BY b.value NULLS LAST, c.cas"


def find(store: Store, text: str, limit: int, language: str | None) -> Matches:
    """Ranked matches; see `Store.find`."""
    query = _tidy(text)
    if limit < 1:
        raise WrongUsage(f"At least one match must be asked for; the limit was {limit}.")
    asked = language_asked(store, language)
    exact = _exact(store, query, asked) or by_structure(store, query)
    matches = exact or (by_spelling(store, query, limit, asked) if may_be_misspelt(query) else [])
    if not matches:
        raise NoSuchComponent(f"Nothing in the store is called {query!r}, or nearly so.{told_of_digits(query)}")
    return Matches(text, tuple(matches[:limit]), asked)


def identify(store: Store, text: str, language: str | None) -> tuple[str, str | None]:
    """CAS number of the one component that the text means, and a note where the name has other bearers.

    Raises as `Store.component` says.
    """
    query = _tidy(text)
    asked = language_asked(store, language)
    if cas := cas_meant(query):
        return by_cas(store, cas).cas, None
    if inchikey := inchikey_meant(query):
        return _only(by_inchikey(store, inchikey), query, "InChIKey"), None
    readings, matches = by_name(store, query, asked), by_formula(store, query)
    if readings:
        cas, note = strongest(readings, query)
        # "CO" is carbon monoxide to one reader and cobalt to a name key without
        # capitals: where the formula means another, neither is taken.
        if matches and cas not in {match.cas for match in matches}:
            named = [match for match in once_each(readings) if match.cas == cas]
            raise ambiguous(named + matches, f"{query!r} is the name of one component and the formula of another")
        return cas, note
    if matches:
        return _only(matches, query, "formula"), None
    matches = by_structure(store, query)
    if matches:
        return _only(matches, query, "structure"), None
    near = by_spelling(store, query, 5, asked) if may_be_misspelt(query) else []
    told = f" Nearest: {', '.join(f'{match.name} [{match.cas}]' for match in near)}." if near else ""
    told += told_of_digits(query)
    raise NoSuchComponent(f"Nothing in the store is called {query!r}.{told}", candidates(near))


def isomers(store: Store, text: str) -> Matches:
    """Components of a formula by boiling point; see `Store.isomers`."""
    query = _tidy(text)
    if not is_formula(query):
        raise WrongUsage(f"{query!r} is not a molecular formula; one looks like C4H8O2.")
    matches = by_formula(store, query)
    if not matches:
        raise NoSuchComponent(f"No component of the store has the formula {_hill(query)}.")
    return Matches(text, tuple(matches))


def cas_meant(text: str) -> str | None:
    """The CAS number that a text means as it was pasted: typeset dashes, spaces, "CAS-Nr." before it, or bare digits.

    Its check digit may be wrong where hyphens stand; bare digits need the right one. None if it means none.

    >>> cas_meant("CAS-Nr. 141– 78– 6"), cas_meant("141786"), cas_meant("141787")
    ('141-78-6', '141-78-6', None)
    """
    bare = _bare(text)
    if looks_like_cas(bare):
        return bare
    if _BARE_DIGITS.fullmatch(bare) and is_cas(cas_from_digits(bare)):
        return cas_from_digits(bare)
    return None


def inchikey_meant(text: str) -> str | None:
    """The InChIKey that a text is, or that RDKit makes of an InChI; None if it is neither.

    Raises WrongUsage for an InChI that cannot be read.
    """
    key = text.upper().removeprefix("INCHIKEY=")
    if is_inchikey(key):
        return key
    if not text.lower().startswith("inchi="):
        return None
    instead = "Give the InChIKey, which goes with every InChI, a SMILES, a CAS number or a name instead."
    try:
        # A large package that only the pipeline needs; here it is a convenience.
        from rdkit import Chem, rdBase
    except ImportError:
        raise WrongUsage(f'Reading an InChI needs RDKit, of the extra "pipeline". {instead}') from None
    with rdBase.BlockLogs():
        molecule = Chem.MolFromInchi(f"InChI={text[6:]}")  # type: ignore[no-untyped-call]
    if molecule is None:
        raise WrongUsage(f"{text!r} cannot be read as an InChI. {instead}")
    made: str = Chem.MolToInchiKey(molecule)  # type: ignore[no-untyped-call]
    return made


def _bare(text: str) -> str:
    """The text without a label before a CAS number, typeset dashes or spaces."""
    return re.sub(r"\s", "", _CAS_LABEL.sub("", text.translate(_DASHES), count=1))


def may_be_misspelt(query: str) -> bool:
    """Whether a near spelling can be an answer: digits are right or wrong, and so is the formula of an ion."""
    return not (_DIGITS_AND_HYPHENS.fullmatch(_bare(query)) or is_charged(query))


def told_of_digits(query: str) -> str:
    """A sentence for a text of digits that is no CAS number; empty for any other text."""
    if _DIGITS_AND_HYPHENS.fullmatch(_bare(query)):
        return " Digits alone can only be a CAS number, such as 141-78-6, and these are none: look for one mistyped."
    return ""


def by_cas(store: Store, cas: str) -> Match:
    """The component with a CAS number; raises WrongCheckDigit or NoSuchComponent."""
    if not is_cas(cas):
        right = f"{cas[:-1]}{cas_check_digit(cas[:-2])}"
        known = _matches(store.rows(f"{_FROM_COMPONENT} WHERE c.cas = $cas", cas=right), "cas")
        meant = f", which is {known[0].name}" if known else ", which the store does not hold either"
        raise WrongCheckDigit(
            f"{cas} is no CAS number: its check digit would have to be {right[-1]}. With it, it is {right}{meant}.",
            candidates(known),
        )
    rows = store.rows(f"{_FROM_COMPONENT} WHERE c.cas = $cas", cas=cas)
    if not rows:
        raise NoSuchComponent(f"{cas} is a well-formed CAS number, but no component of the store has it.")
    return _matches(rows, "cas")[0]


def by_inchikey(store: Store, inchikey: str) -> list[Match]:
    """Components with an InChIKey; raises NoSuchComponent with those of the same skeleton, stereochemistry aside."""
    matches = _matches(
        store.rows(f"{_FROM_COMPONENT} WHERE c.inchikey = $inchikey ORDER BY c.cas", inchikey=inchikey), "inchikey"
    )
    if not matches:
        skeleton = f"{_FROM_COMPONENT} WHERE starts_with(c.inchikey, $skeleton) {_BY_BOILING_POINT} LIMIT 5"
        alike = _matches(store.rows(skeleton, skeleton=inchikey[:15]), "inchikey")
        told = " Candidates share its skeleton but not its stereochemistry or isotopes." if alike else ""
        raise NoSuchComponent(f"No component of the store has the InChIKey {inchikey}.{told}", candidates(alike))
    return matches


def by_formula(store: Store, text: str) -> list[Match]:
    """Components of a molecular formula, lowest boiling point first; empty if the text is none."""
    if not is_formula(text):
        return []
    rows = store.rows(f"{_FROM_COMPONENT} WHERE c.formula = $formula {_BY_BOILING_POINT}", formula=_hill(text))
    return _matches(rows, "formula")


def by_structure(store: Store, text: str) -> list[Match]:
    """Components of a SMILES: the canonical text as it stands, else as RDKit reads it; empty if the text is none."""
    if not SMILES_LETTERS.issuperset(text) and "[" not in text:
        return []
    matches = _matches(store.rows(f"{_FROM_COMPONENT} WHERE c.smiles = $smiles ORDER BY c.cas", smiles=text), "smiles")
    if matches:
        return matches
    try:
        # A large package that only the pipeline needs; here it is a convenience.
        from rdkit import Chem, rdBase
    except ImportError:
        if SMILES_SIGNS.intersection(text):
            raise NoSuchComponent(
                f"No component of the store has the SMILES {text!r} as written. {HOW_TO_READ_SMILES}"
            ) from None
        return []
    with rdBase.BlockLogs():
        molecule = Chem.MolFromSmiles(text)
        inchikey: str = Chem.MolToInchiKey(molecule) if molecule is not None else ""  # type: ignore[no-untyped-call]
    if not inchikey:
        return []
    return _matches(
        store.rows(f"{_FROM_COMPONENT} WHERE c.inchikey = $inchikey ORDER BY c.cas", inchikey=inchikey), "smiles"
    )


def _exact(store: Store, query: str, language: str | None) -> list[Match]:
    if cas := cas_meant(query):
        return [by_cas(store, cas)]
    if inchikey := inchikey_meant(query):
        return by_inchikey(store, inchikey)
    named = once_each(by_name(store, query, language))
    seen = {match.cas for match in named}
    return named + [match for match in by_formula(store, query) if match.cas not in seen]


def _only(matches: list[Match], query: str, what: str) -> str:
    if len(matches) > 1:
        raise ambiguous(matches, f"{len(matches)} components have the {what} {query}")
    return matches[0].cas


def _matches(rows: Iterable[tuple[Any, ...]], matched_by: str) -> list[Match]:
    return [Match(*(*row, matched_by, 1.0)) for row in rows]


def _hill(text: str) -> str:
    return hill_formula(*split_formula(text))


def _tidy(text: str) -> str:
    query = text.strip()
    if not query:
        raise WrongUsage("Nothing was asked for; give a name, CAS number, formula, InChIKey or SMILES.")
    return query

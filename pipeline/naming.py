"""Names: which name belongs to which component, how strongly, and which is shown.

Claim. `house`: a hand table says so. `own`: the name stands in the systematic
or the common column of the component's identity row, or is the first name that
a property table gives a component without one. `alias`: all others. An own
name becomes an alias where a hand table gives the same name to another
component, and where an ordinary substance (neutral, closed-shell, unlabelled)
owns it too and this one is none: radicals, ions and isotopologues carry their
parent's name in the identity tables.

Names of live sources are aliases, and serve to show only where nothing else does.

Language. Identity rows, hand tables and property tables name in English unless
a table says otherwise. A name in another language is an alias, so it takes
nothing from an English `house` or `own` name, and is shown only where there is
no English one; a German one with ä, ö or ü stands under a second key as well,
spelled with ae, oe and ue.

Rank among the components that share a search key in a language: claim; ordinary
substances before others; place in the row's list of names (for hand tables, in
the table); number of open tables with an observation of the component; CAS
number.

A name whose usual meaning is a mixture, a cut, a solution or a polymer is taken
away from single compounds: those listed in `trade_names` under the rule `not`,
and those that say so themselves (`MIXTURE_NAME`). A component keeps them if no
formula of it is known; those of the second kind also if its own first names say
so, or its structure is in several parts: it may be the mixture or polymer.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import pandas as pd

from cutpoint.schema.identifiers import cas_sort_key, looks_like_cas
from cutpoint.schema.names import ANY_LANGUAGE, ENGLISH, search_key, search_keys

from .hand_tables import HouseTables
from .source import LIVE_SOURCES

OWN_COLUMNS = 2
"""Leading names of an identity row that are the component's own: the systematic and the common one."""

MIXTURE_NAME = re.compile(
    r"\bsolu(?:tions?|ci[oó]n(?:es)?|zion[ei])\b|\bsolns?\b|\bsol\. in\b|l(?:oe|ö)sung(?:en)?\b|oplossing(?:en)?\b"
    r"|\baqueous\b|^(?:ammonia|chlorine|bromine|iodine|chloroform|phenolated|carbonated|javell?e?|lime|baryta) water\b"
    r"|\bin (?:oil|solvent|hexanes?|water|[hd](?:2|\(2\))o|methanol|ethanol|isopropanol|2-propanol"
    r"|(?:diethyl )?ether|thf|tetrahydrofuran|dioxane|toluene|benzene|heptane|isooctane|dichloromethane|chloroform"
    r"|acetonitrile|ethyl acetate|acetic acid|dextrose|sodium chloride)\b"
    r"|\bmixtures?\b|\bmixed\b|\balcohol and water\b|\bpetroleum\b|\bcoal tar\b"
    r"|\bdenatured\b|\btallow|\bcoconut oil\b|\blard mono|\boils?, (?!soluble)|\bessential oils?\b"
    r"|\b(?:lemon|orange|citrus|limon\w*|petitgrain|spearmint|curcuma|turmeric|cedarwood|birch|wintergreen essential"
    r"|allium \w+|\w*garlic|bulb|peel|croton|fish|sesame|brassica|mustard seed|neroli|bergamot mint|soybean)"
    r" .*\boils?\b"
    r"|\b(?:cleaners?|sanitizers?|disinfectants?|shampoo)\b"
    r"|\b(?:homo|co)?polymers?\b|^poly\(|^poly(?:ethylene|propylene|styrene|acrylamide|isobutylene|butadiene|isoprene"
    r"|acrylonitrile|vinyl\w*|chloroprene|formaldehyde|tetrafluoroethylene)\b"
)
"""Words by which a name, in lower case, says that it is no single compound's."""

MIXTURE_WORD = re.compile(
    r"gemisch|wässrig|m[eé]lange|aqueu[sx]|mezcla|acuos|mistura|aquos|soluç|miscela|acquos|roztw[oó]r|mieszanin|mengsel"
    r"|waterig|溶液|混合|раствор|смес"
)
"""The same in other languages than English, for names in them."""

_MIXTURE_HINTS = (
    *("solu", "soln", "sol. ", "sung", "plossing", "aqueous", " water"),
    *("mix", "poly", "oil", "petrol", "coal tar", "denatured", "tallow", "lard", "in "),
    *("cleaner", "sanitizer", "disinfectant", "shampoo"),
)
"""One of these stands in every name that `MIXTURE_NAME` finds; looking for them first is ten times as fast."""

SAYS_MIXTURE = "the name says that it is a mixture's, a solution's or a polymer's"

SHOWN_AMONG = 10
"""How many of a row's first names are looked through for one to show."""

_CLAIM_ORDER = {"house": 0, "own": 1, "alias": 2}
_INDEX_NAME = re.compile(r", .*-(?:\s*\(\d?ci\))?$", re.IGNORECASE)
_SERIAL = re.compile(
    r"ac1[a-z0-9]{4,}|(?:ag-|agn-pc|ai3|akos|bdbm|brn|c\.?i\.? |ccris|cid |chebi|chembl|ctk\d|dsstox|dtxsid|einecs"
    r"|hsdb|icr|ls-"
    r"|mfcd|mls|nchem|ncgc|nci|nsc|oprea|q\d|sbb|schembl|smr|stk|surecn|timtec|tl[- ]?\d|unii|usaf|wln|zinc\d)"
    r"[ -]?[\w -]*\d|[a-z]{1,2}[ -]?\d+(?:-\d+)?[a-z]?|[a-z]{1,4}[ -]?\d{4,}[\w-]*",
    re.IGNORECASE,
)
_REMARK = re.compile(r"\[[a-z -]+\]$|\((?:\d?ci|usp|jp\d*|inn|iso|van|obs\.?)\)$|;|^\w+ \[un", re.IGNORECASE)
_CAPITALISED = re.compile(r"[^A-Z]*(?<![A-Za-z])[A-Z][a-z]{2}[^A-Z]*")


@dataclass(frozen=True)
class Bearer:
    """A component, with the names that the tables give it.

    `names` are those of its identity row `source_row` of `source`, in the order
    of the row; `further` are (source, source row, name, language) from property
    tables.
    `compound` says that its formula is known and it is no stream, `single` that
    its structure is in one part as well.
    """

    cas: str
    source: str
    source_row: int
    ordinary: bool
    compound: bool
    single: bool
    names: Sequence[str] = ()
    further: list[tuple[str, int, str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class Naming:
    """The name table, the name to show of each component, and the names taken away.

    `taken_away` has the columns of the table `rejected`, the field being
    `name:` and the name.
    """

    names: pd.DataFrame
    shown: dict[str, str]
    taken_away: pd.DataFrame


def is_index_name(name: str) -> bool:
    """Whether a name is inverted, as in "benzene, methyl-"."""
    return _INDEX_NAME.search(name) is not None


def says_mixture(name: str) -> bool:
    """Whether a name says that it is a mixture's, a solution's or a polymer's."""
    lowered = name.lower()
    return any(hint in lowered for hint in _MIXTURE_HINTS) and MIXTURE_NAME.search(lowered) is not None


def is_serial(name: str) -> bool:
    """Whether a name is a CAS number or the number of a catalogue or register, which tells a chemist nothing."""
    return looks_like_cas(name) or _SERIAL.fullmatch(name) is not None


def in_trade_case(name: str) -> str:
    """The name with its only capital letter, if that begins a word, in lower case."""
    return name.lower() if _CAPITALISED.fullmatch(name) else name


def name_to_show(systematic: str | None, others: Iterable[str]) -> str | None:
    """The name to show: the first that a chemist would use, else the systematic one; None if there is none.

    Index names are put straight when nothing better is there.
    """
    candidates = [name for name in others if not is_serial(name) and not _REMARK.search(name)]
    straight = [name for name in candidates if not is_index_name(name)]
    if straight:
        return in_trade_case(straight[0])
    if systematic is not None and not is_serial(systematic):
        return in_trade_case(systematic)
    if candidates:
        parent, _, substituents = _INDEX_NAME.sub(lambda found: found.group().rstrip(), candidates[0]).partition(", ")
        return in_trade_case(substituents.rstrip("-") + parent) if substituents.endswith("-") else candidates[0]
    return systematic


def name_all(bearers: Sequence[Bearer], house: HouseTables, n_sources: Mapping[str, int]) -> Naming:
    """Names, shown names and refusals of all components; `n_sources` counts the tables that observe each."""
    known = {bearer.cas: bearer for bearer in bearers}
    ledger = _Ledger(house)
    shown = {bearer.cas: ledger.enter(bearer) for bearer in bearers}
    shown |= {entry.cas: entry.name for entry in (*house.elements, *house.streams) if entry.cas in known}
    shown |= {cas: name for cas, name in (house.shown or {}).items() if cas in known}
    for place, entry in enumerate(house.names):
        if entry.cas in known:
            key = search_key(entry.name)
            ledger.add(key, entry.cas, entry.name, ENGLISH, entry.kind, "house", place, entry.source)
    ordinary = {bearer.cas: bearer.ordinary for bearer in bearers}
    return Naming(_ranked(ledger.frame(), ordinary, n_sources), shown, pd.DataFrame(ledger.refused))


class _Ledger:
    """Columns of the name table as they grow."""

    def __init__(self, house: HouseTables) -> None:
        self.house = house
        self.columns: dict[str, list[str | int]] = {
            column: [] for column in ("search_key", "cas", "name", "language", "kind", "claim", "position", "source")
        }
        self.refused: list[dict[str, str | int]] = []

    def enter(self, bearer: Bearer) -> str:
        """Enter a component's names; gives the name to show, which is the CAS number if there is no other."""
        why_not = self._rule(bearer)
        kept: list[str] = []
        systematic: str | None = None
        further = [(source, row, name) for source, row, name, language in bearer.further if language == ENGLISH]
        sourced = [(bearer.source, bearer.source_row, name) for name in bearer.names] + further
        seen: set[str] = set()
        for position, (source, source_row, name) in enumerate(sourced):
            key = search_key(name)
            if name == bearer.cas or not key:
                continue
            if reason := why_not(name, key):
                if name not in seen:
                    self._refuse(bearer, source, source_row, name, reason)
            else:
                of_row = position < len(bearer.names)
                own = position < OWN_COLUMNS if of_row else not bearer.names and not kept
                own = own and source not in LIVE_SOURCES
                claim = "own" if own else "alias"
                self.add(key, bearer.cas, name, ENGLISH, _kind(name, position, of_row), claim, position, source)
                kept.append(name)
                if position == 0 and of_row:
                    systematic = name
            seen.add(name)
        translated = self._enter_translations(bearer, why_not, seen)
        others = kept[1 if systematic is not None else 0 :]
        foreign = (name for name in translated if not is_serial(name))
        return name_to_show(systematic, others[:SHOWN_AMONG]) or next(foreign, bearer.cas)

    def _enter_translations(
        self, bearer: Bearer, why_not: Callable[[str, str], str | None], refused: set[str]
    ) -> list[str]:
        """Enter a component's names in other languages than English; gives them, those of all languages first.

        Those in `refused` are told of already.
        """
        entered: list[tuple[bool, str]] = []
        for position, (source, source_row, name, language) in enumerate(bearer.further):
            if language == ENGLISH or name == bearer.cas:
                continue
            keys = search_keys(name) if language == "de" else (search_key(name),)
            reasons = [reason for key in keys if (reason := why_not(name, key))]
            if bearer.compound and bearer.single and MIXTURE_WORD.search(name.lower()):
                reasons.append(SAYS_MIXTURE)
            if reasons and name not in refused:
                self._refuse(bearer, source, source_row, name, reasons[0])
                refused.add(name)
            for key in keys if keys[0] and not reasons else ():
                self.add(key, bearer.cas, name, language, _kind(name, position, False), "alias", position, source)
            if keys[0] and not reasons:
                entered.append((language != ANY_LANGUAGE, name))
        return [name for _, name in sorted(entered, key=lambda entry: entry[0])]

    def add(
        self, key: str, cas: str, name: str, language: str, kind: str, claim: str, position: int, source: str
    ) -> None:
        row: tuple[str | int, ...] = (key, cas, name, language, kind, claim, position, source)
        for column, value in zip(self.columns.values(), row, strict=True):
            column.append(value)

    def frame(self) -> pd.DataFrame:
        return pd.DataFrame(self.columns)

    def _rule(self, bearer: Bearer) -> Callable[[str, str], str | None]:
        """Why a name of this component is taken away: a function from name and key to a reason or None."""
        if not bearer.compound:
            return lambda name, key: None
        may_be_mixture = not bearer.single or any(says_mixture(name) for name in bearer.names[:OWN_COLUMNS])

        def why_not(name: str, key: str) -> str | None:
            if told := self.house.why_taken_away(key, bearer.cas):
                return f"this name is not this compound's: {told}"
            if not may_be_mixture and says_mixture(name):
                return SAYS_MIXTURE
            return None

        return why_not

    def _refuse(self, bearer: Bearer, source: str, source_row: int, name: str, reason: str) -> None:
        self.refused.append(
            {
                "source": source,
                "source_row": source_row,
                "field": f"name:{name}",
                "cas": bearer.cas,
                "raw": name,
                "reason": reason,
            }
        )


def _kind(name: str, position: int, of_row: bool) -> str:
    if is_index_name(name):
        return "index"
    return "systematic" if of_row and position == 0 else "common"


def _ranked(entries: pd.DataFrame, ordinary: Mapping[str, bool], n_sources: Mapping[str, int]) -> pd.DataFrame:
    """One row per (search key, CAS number, language), its strongest claim, with its rank within key and language."""
    entries["odd"] = ~entries["cas"].map(ordinary).astype("bool")
    entries["claim_order"] = entries["claim"].map(_CLAIM_ORDER)
    entries = entries.sort_values(["claim_order", "position"], kind="stable")
    entries = entries.drop_duplicates(["search_key", "cas", "language"])

    own = entries["claim"] == "own"
    with_house = entries["search_key"].isin(entries.loc[entries["claim"] == "house", "search_key"])
    with_ordinary_owner = entries["search_key"].isin(entries.loc[own & ~entries["odd"], "search_key"])
    demoted = own & (with_house | (with_ordinary_owner & entries["odd"]))
    entries = entries.assign(claim=entries["claim"].mask(demoted, "alias"))

    entries["claim_order"] = entries["claim"].map(_CLAIM_ORDER)
    entries["fewer_sources"] = -entries["cas"].map(n_sources).fillna(0)
    entries["cas_order"] = entries["cas"].map(cas_sort_key)
    order = ["search_key", "language", "claim_order", "odd", "position", "fewer_sources", "cas_order"]
    entries = entries.sort_values(order, kind="stable", ignore_index=True)
    return entries.assign(rank=entries.groupby(["search_key", "language"], sort=False).cumcount() + 1)

"""The five hand-entered tables: what others leave out or get wrong about names, which ethers to fear, what boils not.

`element_forms`      an element's everyday name means the form in which it is sold.
`trade_names`        bench abbreviations and trade names (rule `is`), names to show
                     (rule `show`), and names to take away (rule `not`; the number
                     `*` stands for every pure substance).
`streams`            petroleum and other cuts and technical mixtures sold under one number.
`peroxide_formers`   classes A (explosive without concentration), B (on concentration
                     by distillation) and C (may polymerise when peroxides form).
`on_heating`         what sublimes or decomposes at one atmosphere instead of boiling.

The table `cuts` gives its names here, so that a grade of a stream is found; its
rows are counted by the station of cuts.

These tables do not pass the station `normalise`: the first three are rules for
`resolve`, the fourth gives its observations here, and the last is handed on to
`evaluate`. Every frame that comes in here has text columns and the index
`source_row`, as `read` gives it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.identifiers import is_cas
from cutpoint.schema.names import search_key
from cutpoint.schema.tables import check, empty

NAMING_TABLES = ("element_forms", "trade_names", "streams")
"""Hand tables that are rules for `resolve`."""

HAND_TABLES = (*NAMING_TABLES, "peroxide_formers", "on_heating")
"""Sources that do not pass `normalise`."""

NO_BOILING = ("sublimes", "decomposes")
"""What the table `on_heating` may say."""

ANY_PURE = "*"
"""In place of a CAS number in a `not` rule: the name belongs to no pure substance."""


@dataclass(frozen=True)
class HouseName:
    """A name that a hand table gives to a CAS number."""

    source: str
    source_row: int
    cas: str
    name: str
    kind: str


@dataclass(frozen=True)
class Substance:
    """A component that a hand table declares: an element in the form sold, or a stream (without a formula)."""

    source: str
    source_row: int
    cas: str
    name: str
    formula: str


@dataclass(frozen=True)
class OnHeating:
    """What a hand table says a substance does at one atmosphere instead of boiling, and when, in words."""

    behaviour: str
    when: str


@dataclass(frozen=True)
class HouseTables:
    """The rules of the hand tables.

    `names` are in the order of the tables, which ranks names that several
    numbers share. `taken_away` maps (search key, CAS number or `*`) to the
    reason. `shown` maps a CAS number to the name to show, `on_heating` to what
    does not boil. `rows` are all rows that were read, as (source, row, CAS
    number, text).
    """

    names: tuple[HouseName, ...] = ()
    elements: tuple[Substance, ...] = ()
    streams: tuple[Substance, ...] = ()
    taken_away: Mapping[tuple[str, str], str] | None = None
    shown: Mapping[str, str] | None = None
    on_heating: Mapping[str, OnHeating] | None = None
    rows: tuple[tuple[str, int, str, str], ...] = ()

    def why_taken_away(self, key: str, cas: str) -> str | None:
        """Reason why the name with this key is none of this pure substance; None if nothing speaks against it."""
        rules = self.taken_away or {}
        return rules.get((key, cas)) or rules.get((key, ANY_PURE))


def house_tables(frames: Mapping[str, pd.DataFrame]) -> HouseTables:
    """The rules from the frames by source name; a table that was left out gives none.

    Raises BuildFailed if a row has a CAS number with a wrong check digit, an unknown rule, or an unknown behaviour.
    """
    names: list[HouseName] = []
    substances: dict[str, list[Substance]] = {"element_forms": [], "streams": []}
    for source, declared in substances.items():
        for row, cells in _rows(frames, source):
            declared.append(Substance(source, row, cells["cas"], cells["name"], cells.get("formula", "")))
            aliases = [alias for alias in cells["aliases"].split("|") if alias]
            names += [HouseName(source, row, cells["cas"], name, "trade") for name in (cells["name"], *aliases)]
    for row, cells in _rows(frames, "cuts"):
        aliases = [alias for alias in cells["aliases"].split("|") if alias]
        names += [HouseName("cuts", row, cells["cas"], name, "trade") for name in (cells["name"], *aliases)]
    taken_away: dict[tuple[str, str], str] = {}
    shown: dict[str, str] = {}
    for row, cells in _rows(frames, "trade_names"):
        match cells["rule"]:
            case "is":
                names.append(HouseName("trade_names", row, cells["cas"], cells["name"], "trade"))
            case "show":
                names.append(HouseName("trade_names", row, cells["cas"], cells["name"], "common"))
                shown[cells["cas"]] = cells["name"]
            case "not":
                taken_away[search_key(cells["name"]), cells["cas"]] = cells["meaning"]
            case unknown:
                raise BuildFailed(f"Row {row} of trade_names has the rule {unknown!r}; it must be is, show or not.")
    rows = tuple(
        (source, row, cells["cas"], "\t".join(cells.values()))
        for source in (*NAMING_TABLES, "on_heating")
        for row, cells in _rows(frames, source)
    )
    elements, streams = tuple(substances["element_forms"]), tuple(substances["streams"])
    return HouseTables(tuple(names), elements, streams, taken_away, shown, _on_heating(frames), rows)


def _on_heating(frames: Mapping[str, pd.DataFrame]) -> dict[str, OnHeating]:
    found: dict[str, OnHeating] = {}
    for row, cells in _rows(frames, "on_heating"):
        if cells["behaviour"] not in NO_BOILING:
            raise BuildFailed(f"Row {row} of on_heating has the behaviour {cells['behaviour']!r}; known: {NO_BOILING}.")
        if cells["cas"] in found:
            raise BuildFailed(f"Row {row} of on_heating is the second for {cells['cas']}.")
        found[cells["cas"]] = OnHeating(cells["behaviour"], cells["when"])
    return found


def _rows(frames: Mapping[str, pd.DataFrame], source: str) -> Iterator[tuple[int, dict[str, str]]]:
    if source not in frames:
        return
    frame = frames[source]
    for row, values in zip(frame.index, frame.itertuples(index=False, name=None), strict=True):
        cells = {str(column): value.strip() for column, value in zip(frame.columns, values, strict=True)}
        if not is_cas(cells["cas"]) and (cells["cas"] != ANY_PURE or cells.get("rule") != "not"):
            raise BuildFailed(f"Row {row} of {source} has {cells['cas']!r} for a CAS number; its digits are wrong.")
        yield int(row), cells


def peroxide_observations(frame: pd.DataFrame) -> pd.DataFrame:
    """Observations of `peroxide_former`: no value, the class letter in `raw`.

    Raises BuildFailed if a row has a wrong CAS number or a class other than A, B or C.
    """
    source = "peroxide_formers"
    found = list(_rows({source: frame}, source))
    strange = [row for row, cells in found if cells["class"] not in ("A", "B", "C")]
    if strange:
        raise BuildFailed(f"Rows {strange} of {source} have a class that is not A, B or C.")
    told = pd.DataFrame(
        {
            "source_row": [row for row, _ in found],
            "cas": [cells["cas"] for _, cells in found],
            "raw": [cells["class"] for _, cells in found],
        }
    )
    absent = [column for column in empty("observation").columns if column not in told.columns]
    observations = told.assign(**dict.fromkeys(absent)).assign(
        source=source,
        field="class",
        property="peroxide_former",
        value=np.nan,
        unit="class",
        basis="compiled",
        status="accepted",
    )
    return check("observation", observations, "hand_tables")

"""The station of mixtures: groups of every molecule, how groups interact, and what was measured of pairs.

A pair stands once, its CAS numbers in the order of text (`cas_a < cas_b`), so
that one look-up finds it; fractions are those of the first. Compositions are
read in percent by mass and turned into mole fractions with the components'
molar masses. A row that cannot be used is rejected whole, with the reason:
every row that was read is either kept or told.

Parameters are taken where they are published, one row for each direction;
where they are missing, they stay missing. No zero is put in their place.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import pandas as pd

from cutpoint.schema.errors import BuildFailed
from cutpoint.schema.mixture_tables import AZEOTROPE_KINDS, GROUP_SCHEMES
from cutpoint.schema.tables import check, empty

from .account import Account, Cells, Refused, number
from .resolve import WORKERS
from .unifac_groups import PATTERNS, group_counts_of_all

MIXTURE_TABLES = (
    "modified_unifac_groups",
    "modified_unifac_parameters",
    "measured_azeotropes",
    "zeotropic_pairs",
)
"""Sources that are read here and do not pass `normalise`."""

SCHEME = GROUP_SCHEMES[0]
ZERO_CELSIUS_K = 273.15
PA_PER_KPA = 1000.0


@dataclass(frozen=True)
class Mixtures:
    """The five tables of mixtures by name; `rejected` as in the schema; `rows_kept` counts rows per source."""

    tables: dict[str, pd.DataFrame]
    rejected: pd.DataFrame
    rows_kept: dict[str, int]


@dataclass(frozen=True)
class _Pair:
    """The two components of a row, in the order of text; `swapped` if the row has them the other way round."""

    cas_a: str
    cas_b: str
    swapped: bool


def mixtures(components: pd.DataFrame, frames: Mapping[str, pd.DataFrame], *, workers: int | None = None) -> Mixtures:
    """The tables of mixtures from the component table and the frames of text of `MIXTURE_TABLES`.

    A source that was left out gives no rows; without the group sizes there are
    neither counts nor parameters. `workers` are processes that count groups (by
    default one per processor, two at most).

    Raises BuildFailed if a table breaks its contract or a pattern has a group without a size.
    """
    account = Account("mixtures")
    sizes, main_groups = _group_sizes(account, frames)
    made = {
        "functional_group": _functional_groups(components, sizes, workers or min(WORKERS, os.cpu_count() or 1)),
        "group_size": sizes,
        "group_parameter": _group_parameters(account, frames, main_groups),
        "azeotrope": _azeotropes(account, frames, components),
        "zeotropic_pair": _zeotropic_pairs(account, frames, components),
    }
    tables = {table: check(table, frame, "mixtures") for table, frame in made.items()}
    return Mixtures(tables, account.rejected(), dict(account.kept))


def _frame(table: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    return pd.DataFrame(rows) if rows else empty(table)


def _group_sizes(account: Account, frames: Mapping[str, pd.DataFrame]) -> tuple[pd.DataFrame, dict[str, str]]:
    """Sizes of the groups, and the names of the main groups by number."""
    source = "modified_unifac_groups"
    rows: list[dict[str, object]] = []
    main_groups: dict[str, str] = {}
    for row, cells in account.rows(frames, source):
        name = main_groups.setdefault(cells["main_number"], cells["main_group"])
        if name != cells["main_group"]:
            raise BuildFailed(f"Row {row} of {source} calls main group {cells['main_number']} otherwise than {name}.")
        group = {"scheme": SCHEME, "group": cells["group"], "main_group": name}
        rows.append({**group, "R": float(cells["R"]), "Q": float(cells["Q"]), "source": source})
        account.kept[source] += 1
    if len(set(main_groups.values())) != len(main_groups):
        raise BuildFailed(f"Two main groups of {source} share a name.")
    unsized = {group for group, _, _ in PATTERNS} - {str(cells["group"]) for cells in rows}
    if rows and unsized:
        raise BuildFailed(f"The groups {sorted(unsized)} have patterns, but no size in {source}.")
    return _frame("group_size", rows), main_groups


def _functional_groups(components: pd.DataFrame, sizes: pd.DataFrame, workers: int) -> pd.DataFrame:
    if sizes.empty:
        return empty("functional_group")
    known = components[components["smiles"].notna() & (components["kind"] == "pure")]
    counted = group_counts_of_all(known["smiles"].astype("object").tolist(), workers)
    rows: list[dict[str, object]] = [
        {"cas": cas, "scheme": SCHEME, "group": group, "count": count}
        for cas, counts in zip(known["cas"], counted, strict=True)
        for group, count in (counts or {}).items()
    ]
    return _frame("functional_group", rows)


def _group_parameters(
    account: Account, frames: Mapping[str, pd.DataFrame], main_groups: dict[str, str]
) -> pd.DataFrame:
    source = "modified_unifac_parameters"
    rows: list[dict[str, object]] = []
    for row, cells in account.rows(frames, source):
        numbers = cells["main_number_a"], cells["main_number_b"]
        unsized = [number for number in numbers if number not in main_groups]
        if unsized:
            account.refuse(source, row, cells, f"main group {', '.join(unsized)}: no group of it has a size")
            continue
        pair = {"scheme": SCHEME, "group_a": main_groups[numbers[0]], "group_b": main_groups[numbers[1]]}
        rows.append({**pair, **{name: float(cells[name]) for name in ("a_K", "b", "c_per_K")}, "source": source})
        account.kept[source] += 1
    return _frame("group_parameter", rows)


def _azeotropes(account: Account, frames: Mapping[str, pd.DataFrame], components: pd.DataFrame) -> pd.DataFrame:
    molar_masses = _molar_masses(components)

    def made(cells: Cells) -> dict[str, object]:
        pair = _pair(cells, molar_masses)
        if cells["kind"] not in AZEOTROPE_KINDS:
            raise Refused(f"kind {cells['kind']!r}: must be one of {', '.join(AZEOTROPE_KINDS)}")
        ordinal = number(cells, "ordinal")
        if ordinal not in (1, 2):
            raise Refused(f"ordinal {cells['ordinal']!r}: must be 1 or 2")
        percent = number(cells, "mass_percent_a")
        if not 0 < percent < 100:
            raise Refused(f"mass_percent_a {cells['mass_percent_a']!r}: an azeotrope holds some of both")
        mass_fraction_a = round((100 - percent if pair.swapped else percent) / 100, 9)
        return _conditions(pair, cells) | {
            "basis": "measured",
            "ordinal": int(ordinal),
            "temperature_K": round(number(cells, "temperature_C") + ZERO_CELSIUS_K, 6),
            "mole_fraction_a": mole_fraction(mass_fraction_a, molar_masses[pair.cas_a], molar_masses[pair.cas_b]),
            "mass_fraction_a": mass_fraction_a,
            "kind": cells["kind"],
            "source": cells["citation"],
        }

    rows = _usable(account, frames, "measured_azeotropes", ("cas_a", "cas_b", "pressure_Pa", "ordinal"), made)
    return _frame("azeotrope", rows)


def _zeotropic_pairs(account: Account, frames: Mapping[str, pd.DataFrame], components: pd.DataFrame) -> pd.DataFrame:
    molar_masses = _molar_masses(components)

    def made(cells: Cells) -> dict[str, object]:
        return _conditions(_pair(cells, molar_masses), cells) | {"source": cells["citation"]}

    rows = _usable(account, frames, "zeotropic_pairs", ("cas_a", "cas_b", "pressure_Pa"), made)
    return _frame("zeotropic_pair", rows)


def mole_fraction(mass_fraction_a: float, M_a: float, M_b: float) -> float:
    """Mole fraction of the first of two components from its mass fraction and the molar masses (same unit)."""
    n_a, n_b = mass_fraction_a / M_a, (1 - mass_fraction_a) / M_b
    return n_a / (n_a + n_b)


def _molar_masses(components: pd.DataFrame) -> dict[str, float]:
    known = components[components["molar_mass_g_mol"].notna()]
    return {str(cas): float(mass) for cas, mass in zip(known["cas"], known["molar_mass_g_mol"], strict=True)}


def _usable(
    account: Account,
    frames: Mapping[str, pd.DataFrame],
    source: str,
    key: tuple[str, ...],
    made: Callable[[Cells], dict[str, object]],
) -> list[dict[str, object]]:
    """Rows that `made` accepts; of several with the same key the first."""
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for row, cells in account.rows(frames, source):
        try:
            one = made(cells)
            place = tuple(one[column] for column in key)
            if place in rows:
                raise Refused("an earlier row has the same pair at the same pressure")
        except Refused as refused:
            account.refuse(source, row, cells, str(refused))
            continue
        rows[place] = one
        account.kept[source] += 1
    return list(rows.values())


def _pair(cells: Cells, molar_masses: Mapping[str, float]) -> _Pair:
    """The components of a row; refuses one that is unknown, has no molar mass, or stands on both sides."""
    first, second = cells["cas_a"], cells["cas_b"]
    for side, cas in (("a", first), ("b", second)):
        if cas not in molar_masses:
            raise Refused(f"{cells[f'name_{side}']} ({cas}): no component with a molar mass has this CAS number")
    if first == second:
        raise Refused("a component with itself is no pair")
    return _Pair(min(first, second), max(first, second), first > second)


def _conditions(pair: _Pair, cells: Cells) -> dict[str, object]:
    pressure_Pa = round(number(cells, "pressure_kPa") * PA_PER_KPA, 3)
    if not pressure_Pa > 0:
        raise Refused(f"pressure_kPa {cells['pressure_kPa']!r}: must be above zero")
    return {"cas_a": pair.cas_a, "cas_b": pair.cas_b, "pressure_Pa": pressure_Pa}

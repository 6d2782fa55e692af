"""Opens a component store, read-only, and answers from it."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, NoReturn

import duckdb

from cutpoint.schema import SCHEMA_VERSION
from cutpoint.schema.errors import CutpointError, StoreDamaged, StoreMissing, StoreOutdated, WrongUsage
from cutpoint.schema.properties import ATMOSPHERE_PA

from . import search

if TYPE_CHECKING:
    from .component import Component
    from .curves import CurveBank
    from .cuts import Cut
    from .diagram_results import PairDiagram
    from .hard_neighbours import HardNeighbours
    from .matches import Matches
    from .mixtures import Mixture
    from .neighbours import BoilingTable
    from .pair_tables import PairTables
    from .results import Neighbours, Pair, Thresholds

# NumPy takes longer to import than a single look-up takes to answer, and the
# other results are a dozen dataclasses to build, so the modules behind a
# component, a curve or a pair are imported on first use.

_PLACE = re.compile(r"\$([a-z_]+)")

FILE_HEADER_BYTES = 3 * 4096
"""A DuckDB file is three header blocks of 4096 bytes, then blocks of one size."""

MOST_REMEMBERED = 4096
"""Queries whose components a store remembers; a component with its observations is some tens of kilobytes."""

_HAZARDS_OF = "SELECT cas, property FROM hazard WHERE list_contains(string_split($cas, ','), cas)"


def default_path() -> Path:
    """Where the store is kept: `CUTPOINT_DB` if set, else the user's data folder."""
    given = os.environ.get("CUTPOINT_DB")
    if given:
        return Path(given).expanduser()
    from platformdirs import user_data_path

    return user_data_path("cutpoint") / "components.duckdb"


def open(path: str | os.PathLike[str] | None = None) -> Store:
    """Open the store at `path`, else at `default_path()`; use it as a context manager.

    Raises StoreMissing, StoreOutdated or StoreDamaged.
    """
    return Store(Path(path).expanduser() if path is not None else default_path())


class Store:
    """An open component store. Read-only; not shared between threads.

    It answers from the file as it was when opened: one that is replaced by a
    rebuild meanwhile does not disturb it. Components are remembered.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._remembered: dict[tuple[str, str | None], Component] = {}
        self._boiling_table: BoilingTable | None = None
        self._pair_tables: PairTables | None = None
        self._cuts: tuple[Cut, ...] | None = None
        self._connection = _connect(path)
        try:
            self._check_version()
        except CutpointError:
            self.close()
            raise

    def __enter__(self) -> Store:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; components taken from the store can no longer look anything up."""
        self._connection.close()

    def rows(self, sql: str, **values: str | float) -> list[tuple[Any, ...]]:
        """Rows of one of the module's own queries, each `$name` in it standing for a value.

        Raises StoreDamaged if the file cannot give them, WrongUsage if the store has been closed.
        """
        try:
            return self._connection.execute(bind(sql, values)).fetchall()
        except duckdb.ConnectionException as error:
            raise WrongUsage(f"The store {self.path} has been closed; open it again to go on.") from error
        except duckdb.Error as error:
            _damaged(self.path, error)

    def sql(self, text: str) -> duckdb.DuckDBPyRelation:
        """One SELECT on the tables of the store, as a DuckDB relation.

        Raises WrongUsage for any other statement or several, and with DuckDB's
        own message for one that it cannot run.
        """
        return one_select(self._connection, text, "store")

    def find(self, text: str, limit: int = 10, language: str | None = None) -> Matches:
        """Ranked matches for a name, CAS number, formula, InChIKey or SMILES; spelling is forgiven and said so.

        `language` is the code of one of `cutpoint.schema.names.LANGUAGES`: if
        the name, or one spelled nearly so, is held in it, only its readings in
        that language count. Raises WrongUsage for an empty query or a language
        without names, WrongCheckDigit, and NoSuchComponent when nothing is near.
        """
        return search.find(self, text, limit, language)

    def component(self, query: str, language: str | None = None) -> Component:
        """The one component that a CAS number, InChIKey, SMILES, name or formula means.

        Names in all languages count unless `language` is given, as in `find`.
        Never a guess: raises AmbiguousComponent or NoSuchComponent with the
        candidates, WrongCheckDigit with the digit that would be right, and
        WrongUsage for an empty query or a language without names.
        """
        known = self._remembered.get((query, language))
        if known is None:
            from .component import Component

            cas, note = search.identify(self, query, language)
            known = self._remembered.get((cas, None)) if note is None else None
            known = known or Component.load(self, cas, note)
            self._remember((query, language), known)
            if note is None:
                self._remember((cas, None), known)
        return known

    def _remember(self, asked: tuple[str, str | None], component: Component) -> None:
        """Keep it for the next time, and let the oldest go."""
        self._remembered[asked] = component
        if len(self._remembered) > MOST_REMEMBERED:
            del self._remembered[next(iter(self._remembered))]

    def hazard_properties(self, cas: Iterable[str]) -> dict[str, set[str]]:
        """Which hazard figures are held of each of the components; those without any are left out."""
        held: dict[str, set[str]] = {}
        for bearer, property in self.rows(_HAZARDS_OF, cas=",".join(cas)):
            held.setdefault(bearer, set()).add(property)
        return held

    def isomers(self, formula: str) -> Matches:
        """Every component of a molecular formula, ordered by boiling point, those without one last.

        Raises WrongUsage if the text is no formula, NoSuchComponent if no component has it.
        """
        return search.isomers(self, formula)

    def near(self, query: str, within_K: float = 5.0, pressure_Pa: float = ATMOSPHERE_PA) -> Neighbours:
        """What else boils within `within_K` of the component at a pressure, nearest first.

        At 101 325 Pa from evaluated boiling points, elsewhere from the curves;
        what would be a solid there is left out.
        Raises as `component` and `Component.boiling_point` do, and WrongUsage
        for a window that is not positive.
        """
        component = self.component(query)
        return self._boiling().near(component, within_K, pressure_Pa)

    def pair(
        self,
        a: str,
        b: str,
        pressure_Pa: float = ATMOSPHERE_PA,
        *,
        purity_a: float = 0.95,
        purity_b: float = 0.95,
        basis: str | None = None,
        thresholds: Thresholds | None = None,
    ) -> Pair:
        """Whether distillation can part two components: volatility, azeotropes, plates, verdict, reasons.

        Predicted by modified UNIFAC (Dortmund) with an ideal vapour; a measured
        azeotrope wins over a predicted one, unless `basis="predicted"` leaves
        what was measured out. `purity_a` and `purity_b` are the mole fractions
        of a and b in their own products. Raises as `component` and
        `Component.boiling_point` do, and WrongUsage for a component with itself.
        """
        from .pairs import judge
        from .results import Thresholds

        return judge(
            self.pair_tables, self.component(a), self.component(b), pressure_Pa, purity_a, purity_b, basis,
            thresholds or Thresholds(),
        )  # fmt: skip

    def mixture(self, queries: Sequence[str]) -> Mixture:
        """A liquid mixture of any number of components, for bubble points, dew points and two liquids.

        Its mole fractions have the components in the order named. Activity
        coefficients by modified UNIFAC (Dortmund), the vapour ideal. Raises as
        `component` does, WrongUsage for a component named twice, NoValue for
        one without a vapour-pressure curve or whose molecule the groups do not
        cover, and for groups between which no parameters are published.
        """
        from .mixtures import mixture

        return mixture(self, queries)

    def pair_diagram(self, a: str, b: str, pressure_Pa: float = ATMOSPHERE_PA) -> PairDiagram:
        """Predicted boiling points and vapours of all mixtures of two components, with what was measured of them.

        Raises as `pair` does, and NoValue where how they mix cannot be predicted.
        """
        from .diagrams import pair_diagram

        return pair_diagram(self.pair_tables, self.component(a), self.component(b), pressure_Pa)

    def hard_neighbours(self, query: str, within_K: float = 30.0, pressure_Pa: float = ATMOSPHERE_PA) -> HardNeighbours:
        """Of everything that boils within `within_K` of the component, what cannot be parted from it.

        Raises as `near` does.
        """
        from .hard_search import hard_neighbours

        return hard_neighbours(self, query, within_K, pressure_Pa)

    def cuts(self) -> tuple[Cut, ...]:
        """Every cut of the store with its surrogates, lowest boiling first; loaded once."""
        if self._cuts is None:
            from .cuts import load

            self._cuts = load(self)
        return self._cuts

    def cut(self, query: str) -> Cut | None:
        """The cut that a text means: by its name, else by its CAS number or a name of its stream.

        None for a component that is no cut. Raises AmbiguousComponent with the
        grades where several are sold under the number, and as `component` does
        where nothing answers to the text.
        """
        from .cuts import meant

        return meant(self, query)

    @property
    def pair_tables(self) -> PairTables:
        """Groups, their interactions, and what was measured of pairs; loaded once."""
        if self._pair_tables is None:
            from .pair_tables import PairTables

            self._pair_tables = PairTables(self)
        return self._pair_tables

    @property
    def curve_bank(self) -> CurveBank:
        """Every vapour-pressure curve of the store, for many components at once."""
        return self._boiling().bank

    def curve_place(self, cas: str) -> int | None:
        """Where the curve of a component stands in `curve_bank`; None if it is not there."""
        return self._boiling().place.get(cas)

    def _boiling(self) -> BoilingTable:
        if self._boiling_table is None:
            from .neighbours import BoilingTable

            self._boiling_table = BoilingTable.load(self)
        return self._boiling_table

    def _check_version(self) -> None:
        told = self.rows("SELECT value FROM build WHERE item = 'schema_version'")
        if not told:
            raise StoreDamaged(
                f"The store {self.path} does not say by which schema it was built. Run `cutpoint rebuild`."
            )
        if told[0][0] != str(SCHEMA_VERSION):
            raise StoreOutdated(
                f"The store {self.path} has schema version {told[0][0]}; this cutpoint reads {SCHEMA_VERSION}. "
                "Run `cutpoint rebuild`."
            )


def one_select(connection: duckdb.DuckDBPyConnection, text: str, asked: str) -> duckdb.DuckDBPyRelation:
    """The relation of one SELECT; `asked` says what is asked, in the words of an error.

    Raises WrongUsage for any other statement or several, and for one that cannot be run.
    """
    try:
        kinds = [statement.type for statement in connection.extract_statements(text)]
        if kinds != [duckdb.StatementType.SELECT]:
            raise WrongUsage(f"The {asked} is read-only: it answers one SELECT at a time and no other statement.")
        return connection.sql(text)
    except duckdb.Error as error:
        raise WrongUsage(f"The query could not be run. {error}") from error


def bind(sql: str, values: Mapping[str, str | float]) -> str:
    """The query with its values; text goes in as hexadecimal digits, so nothing in it can be read as SQL.

    DuckDB's own parameters are not used: to see of what type they are it
    imports NumPy, pandas and PyArrow where they are installed, which takes ten
    times as long as the look-up.
    """

    def literal(place: re.Match[str]) -> str:
        value = values[place.group(1)]
        if isinstance(value, str):
            return f"decode(from_hex('{value.encode('utf-8', 'replace').hex()}'))"
        return repr(value)

    return _PLACE.sub(literal, sql)


def _damaged(path: Path, error: Exception) -> NoReturn:
    told = str(error).splitlines()[0] if str(error) else type(error).__name__
    raise StoreDamaged(
        f"{path} is damaged or no component store ({told}). Build it anew with `cutpoint rebuild`, or name another."
    ) from error


def _connect(path: Path) -> duckdb.DuckDBPyConnection:
    try:
        is_there = path.exists()
    except OSError as error:
        raise StoreMissing(f"No component store can be looked for at {path}: {error.strerror}.") from error
    if not is_there:
        raise StoreMissing(
            f"There is no component store at {path}. Build it with `cutpoint rebuild`, "
            "or name another file with the environment variable CUTPOINT_DB."
        )
    # Attached to a connection of its own: DuckDB hands a second direct
    # connection to the same path the already open file, even when a rebuild
    # has replaced it since.
    connection = duckdb.connect()
    try:
        quoted = str(path).replace("'", "''")
        connection.execute(f"ATTACH '{quoted}' AS store (READ_ONLY); USE store")
        # From here on no statement reaches another file or lifts this again.
        connection.execute("SET enable_external_access = false; SET lock_configuration = true")
        size = connection.execute(
            "SELECT block_size * used_blocks FROM pragma_database_size() WHERE database_name = 'store'"
        ).fetchone()
    except duckdb.Error as error:
        connection.close()
        _damaged(path, error)
    # The last blocks may hold values that this session never asks for, so a
    # file cut short is told by its length.
    if size is None or path.stat().st_size < FILE_HEADER_BYTES + size[0]:
        connection.close()
        raise StoreDamaged(f"{path} has been cut short. Build it anew with `cutpoint rebuild`.")
    return connection

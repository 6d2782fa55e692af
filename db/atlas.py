"""Opens an atlas, the verdicts of all pairs of a list, and answers from it."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

import duckdb

from cutpoint.schema.errors import AmbiguousComponent, AtlasMissing, NoSuchComponent, WrongUsage

from .store import bind, one_select

TABLES = {"run", "component", "skipped", "pair", "azeotrope", "block"}

_PAIR_COLUMNS = (
    "verdict, delta_boiling_point_K, delta_u95_K, alpha_a_lean, alpha_middle, alpha_a_rich, minimum_plates, "
    "equivalent_difference_K, predictable, problem"
)
_PAIR = f"SELECT {_PAIR_COLUMNS} FROM pair WHERE cas_a = $a AND cas_b = $b"
_AZEOTROPES = """
    SELECT ordinal, basis, kind, temperature_K, mass_fraction_a, mole_fraction_a, source
    FROM azeotrope WHERE cas_a = $a AND cas_b = $b ORDER BY ordinal
"""
_COMPONENT = """
    SELECT cas, name FROM component
    WHERE cas = $text OR lower(name) = lower($text) OR lower(text) = lower($text) ORDER BY cas
"""


@dataclass(frozen=True)
class AtlasAzeotrope:
    """An azeotrope of a pair at the pressure of the atlas; `basis` is `measured` or `predicted`."""

    ordinal: int
    basis: str
    kind: str
    temperature_K: float
    mass_fraction_a: float | None
    mole_fraction_a: float | None
    source: str | None


@dataclass(frozen=True)
class AtlasPair:
    """What an atlas holds of a pair, as `Pair` names it; None where nothing is known, and `problem` says why.

    `delta_boiling_point_K` is the boiling point of b minus that of a;
    `alpha_a_lean`, `alpha_middle` and `alpha_a_rich` are relative volatilities
    of a over b with a trace of a, in equal amounts, with a trace of b.
    """

    cas_a: str
    cas_b: str
    verdict: str | None
    delta_boiling_point_K: float | None
    delta_u95_K: float | None
    alpha_a_lean: float | None
    alpha_middle: float | None
    alpha_a_rich: float | None
    minimum_plates: float | None
    equivalent_difference_K: float | None
    predictable: bool | None
    problem: str | None
    azeotropes: tuple[AtlasAzeotrope, ...]


def open_atlas(path: str | os.PathLike[str]) -> Atlas:
    """Open the atlas at `path`, read-only, finished or not; use it as a context manager.

    Raises AtlasMissing.
    """
    return Atlas(Path(path).expanduser())


class Atlas:
    """An open atlas. `run` tells what was asked: store digest, pressure, purities, thresholds, versions."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._connection = _connect(path)
        self.run: dict[str, str] = dict(self._rows("FROM run"))

    def __enter__(self) -> Atlas:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @property
    def pressure_Pa(self) -> float:
        """The pressure at which all pairs were judged, Pa."""
        return float(self.run["pressure_Pa"])

    @property
    def is_finished(self) -> bool:
        """Whether every pair of the list has been judged."""
        [(judged,)] = self._rows("SELECT coalesce(sum(pairs), 0) FROM block WHERE problem IS NULL")
        return int(judged) == int(self.run["pairs"])

    def sql(self, text: str) -> duckdb.DuckDBPyRelation:
        """One SELECT on the tables of the atlas, as a DuckDB relation.

        Raises WrongUsage for any other statement or several, and with DuckDB's
        own message for one that it cannot run.
        """
        return one_select(self._connection, text, "atlas")

    def pair(self, a: str, b: str) -> AtlasPair:
        """What the atlas holds of two components of its list, named by CAS number, by name, or as the list does.

        The answer is in the order asked. Raises NoSuchComponent for what is
        not in the list or not judged yet, AmbiguousComponent for a name of
        several, WrongUsage for a component with itself.
        """
        cas_a, cas_b = self._cas(a), self._cas(b)
        if cas_a == cas_b:
            raise WrongUsage(f"{a!r} and {b!r} are one component, {cas_a}; a pair needs two different ones.")
        low, high = sorted((cas_a, cas_b))
        rows = self._rows(_PAIR, a=low, b=high)
        if not rows:
            raise NoSuchComponent(
                f"The pair of {cas_a} and {cas_b} has not been judged yet: the atlas {self.path} is unfinished. "
                "Give the command that began it again."
            )
        azeotropes = tuple(AtlasAzeotrope(*row) for row in self._rows(_AZEOTROPES, a=low, b=high))
        held = AtlasPair(*(low, high, *rows[0], azeotropes))
        return held if (cas_a, cas_b) == (low, high) else _mirrored(held)

    def _cas(self, text: str) -> str:
        rows = self._rows(_COMPONENT, text=text.strip())
        candidates = [{"cas": cas, "name": name} for cas, name in rows]
        if not rows:
            raise NoSuchComponent(f"{text!r} is not in the list of the atlas {self.path}; its table component is.")
        if len(rows) > 1:
            told = ", ".join(f"{cas} {name}" for cas, name in rows)
            raise AmbiguousComponent(f"{text!r} may be {told}; name one by its CAS number.", candidates)
        return str(rows[0][0])

    def _rows(self, sql: str, **values: str) -> list[tuple[Any, ...]]:
        try:
            return self._connection.execute(bind(sql, values)).fetchall()
        except duckdb.ConnectionException as error:
            raise WrongUsage(f"The atlas {self.path} has been closed; open it again to go on.") from error


def _mirrored(pair: AtlasPair) -> AtlasPair:
    """The same pair with its two components the other way round."""

    def inverse(alpha: float | None) -> float | None:
        return None if alpha is None else 1.0 / alpha

    def rest(fraction: float | None) -> float | None:
        return None if fraction is None else 1.0 - fraction

    azeotropes = tuple(
        AtlasAzeotrope(
            one.ordinal, one.basis, one.kind, one.temperature_K, rest(one.mass_fraction_a), rest(one.mole_fraction_a),
            one.source,
        )
        for one in pair.azeotropes
    )  # fmt: skip
    delta_K = None if pair.delta_boiling_point_K is None else -pair.delta_boiling_point_K
    return AtlasPair(
        pair.cas_b, pair.cas_a, pair.verdict, delta_K, pair.delta_u95_K, inverse(pair.alpha_a_rich),
        inverse(pair.alpha_middle), inverse(pair.alpha_a_lean), pair.minimum_plates, pair.equivalent_difference_K,
        pair.predictable, pair.problem, azeotropes,
    )  # fmt: skip


def _connect(path: Path) -> duckdb.DuckDBPyConnection:
    if not path.is_file():
        raise AtlasMissing(f"There is no atlas at {path}. Make it with `cutpoint atlas --components LIST`.")
    connection = duckdb.connect()
    try:
        quoted = str(path).replace("'", "''")
        connection.execute(f"ATTACH '{quoted}' AS atlas (READ_ONLY); USE atlas")
        connection.execute("SET enable_external_access = false; SET lock_configuration = true")
        tables = connection.execute("SELECT table_name FROM duckdb_tables() WHERE database_name = 'atlas'").fetchall()
    except duckdb.Error as error:
        connection.close()
        told = str(error).splitlines()[0]
        why = "it is being written just now" if "lock" in told else f"it is damaged or no database ({told})"
        raise AtlasMissing(f"The atlas {path} cannot be read: {why}.") from error
    if {row[0] for row in tables} != TABLES:
        connection.close()
        raise AtlasMissing(f"{path} is a database, but no atlas. Make one with `cutpoint atlas --components LIST`.")
    return connection

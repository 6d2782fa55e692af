"""A thousand common solvents of a store, the same ones for the same store."""

from __future__ import annotations

from cutpoint import db

N_SOLVENTS = 1000

_SOLVENTS = """
    SELECT b.cas
    FROM evaluation b
    JOIN component c ON c.cas = b.cas AND c.kind = 'pure'
    JOIN vapour_curve v ON v.cas = b.cas
    WHERE b.property = 'normal_boiling_point' AND b.value BETWEEN 300 AND 520 AND b.grade IN ('A', 'B', 'C')
      AND b.cas IN (SELECT cas FROM functional_group)
    ORDER BY b.n_sources DESC, b.cas LIMIT $most
"""


def solvents_1000(store: db.Store) -> list[str]:
    """CAS numbers of those that most sources speak of, with a boiling point from 300 to 520 K, a curve and groups."""
    return [cas for (cas,) in store.rows(_SOLVENTS, most=N_SOLVENTS)]

"""Every table of a sheet, made once for the terminal and for paper."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cutpoint.db.matches import celsius
from cutpoint.db.verdicts import AZEOTROPE, CLOSE, FRACTIONAL, SIMPLE, UNDECIDED
from cutpoint.schema.properties import ICE_POINT_K

from ..figures import rounded, significant
from ..page import Column, Grid
from ..render import GRADE, NONE_HELD
from ..stills.results import Fraction, IngredientRow, Opening, PairRow, Plan, Share
from .amounts import ML_PER_M3, bare_duration, duration, ends, energy, interval, mass, percent, temperature, volume

MOST_CONTENTS = 4
"""Shares named of a fraction; the rest are counted."""
LEAST_SHARE = 5e-4
"""Mass fraction that a share may reach at least to be named."""
HARDEST_FIRST = (AZEOTROPE, UNDECIDED, CLOSE, FRACTIONAL, SIMPLE)
HEAD_STEPS = 10
"""Head readings are told at every tenth of what distils."""

_YES_OR_NO = {True: "yes", False: "no", None: "not known"}

Row = tuple[str, str]
"""What, and its figure."""


def ingredients(plan: Plan) -> Grid:
    """What was understood of the label."""
    columns = [
        Column("printed", wraps=True),
        Column("meaning", wraps=True),
        Column("CAS", spare=True),
        Column("share, %", right=True),
        Column("boils here at, °C", right=True),
        GRADE,
    ]
    return Grid(columns, [_ingredient(one) for one in plan.ingredients])


def _ingredient(one: IngredientRow) -> list[str]:
    meaning = one.name if one.kind == "component" else f"{one.name} ({one.kind})"
    share = one.mass_fraction
    low, high = (f"{round(100.0 * end, 1):g}" for end in (share.low, share.high))
    shares = low if low == high else f"{low}–{high}"
    return [_one_line(one.printed), meaning, one.cas or NONE_HELD, shares, _boils(one), one.grade or NONE_HELD]


def _boils(one: IngredientRow) -> str:
    """A boiling point, or both ends of a boiling range, with the uncertainty where there is one."""
    if one.boiling_point_K is None:
        return NONE_HELD
    points = [T_K - ICE_POINT_K for T_K in (one.boiling_point_K, one.boiling_end_K) if T_K is not None]
    if one.boiling_u95_K is None:
        return " to ".join(f"{point:.1f}" for point in points)
    texts, spread = zip(*(rounded(point, one.boiling_u95_K) for point in points), strict=True)
    return f"{' to '.join(texts)} ± {spread[0]}"


def remarks(plan: Plan) -> list[str]:
    """What is to be said of single lines of the label, each remark once."""
    named: dict[str, list[str]] = {}
    for one in plan.ingredients:
        if one.remark:
            named.setdefault(one.remark.rstrip("."), []).append(_one_line(one.printed))
    return [f"{some(names)}: {remark}." for remark, names in named.items()]


def _one_line(printed: str) -> str:
    """A line of a label without the blanks that set its columns."""
    return " ".join(printed.split())


def some(names: Sequence[str], most: int = MOST_CONTENTS) -> str:
    """The first names, and how many more there are."""
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


def fractions(plan: Plan, *, with_contents: bool) -> Grid:
    """What comes over into which receiver, and what stays."""
    columns = [
        Column("fraction"),
        Column("until head reads, °C", right=True),
        Column("until mL over", right=True),
        Column("mL", right=True),
        Column("g", right=True),
        *([Column("holds, % by mass", wraps=True)] if with_contents else []),
    ]
    return Grid(columns, [_fraction(one, with_contents=with_contents) for one in plan.fractions])


def _fraction(one: Fraction, *, with_contents: bool) -> list[str]:
    stays = one.name == "residue"
    return [
        one.name,
        temperature(one.to_reading_K).removesuffix(" °C"),
        NONE_HELD if stays else interval(one.to_volume_m3, ML_PER_M3),
        interval(one.volume_m3, ML_PER_M3),
        mass(one.mass_kg).removesuffix(" g"),
        *([contents(one.contents)] if with_contents else []),
    ]


def contents(shares: Sequence[Share]) -> str:
    """What something is made of, the most first; traces are left out."""
    told = [share for share in shares if share.mass_fraction.high >= LEAST_SHARE] or shares
    ordered = sorted(told, key=lambda share: -share.mass_fraction.value)
    return some([f"{share.name} {percent(share.mass_fraction).removesuffix(' %')}" for share in ordered])


def head(plan: Plan) -> Grid:
    """Head reading at every tenth of what distils."""
    columns = [
        Column("% over", right=True),
        Column("mL", right=True),
        Column("reads, °C", right=True),
        Column("95 % in", right=True),
    ]
    return Grid(columns, [_head(plan, place / HEAD_STEPS) for place in range(HEAD_STEPS + 1)])


def _head(plan: Plan, share: float) -> list[str]:
    curve = plan.curve
    over_m3 = share * curve.volume_m3[-1]
    reading, low, high = (
        float(np.interp(over_m3, curve.volume_m3, line)) - ICE_POINT_K
        for line in (curve.reading_K, curve.low_K, curve.high_K)
    )
    shown = rounded(reading, 0.5 * (high - low))[0] if high > low else f"{reading:.1f}"
    return [f"{100.0 * share:.0f}", f"{ML_PER_M3 * over_m3:.0f}", shown, ends(low, high)]


def product(plan: Plan) -> Grid:
    """How much is had of the target, and how pure."""
    had = plan.product
    rows = [
        (f"purity of {had.target} wanted", _share(had.wanted_purity)),
        ("compositions of the label that reach it", _share(had.chance)),
        ("best purity that a tenth of it can have", _share(had.best_purity)),
    ]
    if any(one.name == "product" for one in plan.fractions):
        rows[1:1] = [
            ("purity had", percent(had.purity)),
            ("share of the target had", percent(had.recovery)),
            ("volume", volume(had.volume_m3)),
            ("mass", mass(had.mass_kg)),
        ]
    return _facts(rows)


def reflux(plan: Plan) -> Grid:
    """What other reflux ratios would give, for the middle of the label."""
    columns = [Column("reflux ratio", right=True), Column("share had, %", right=True), Column("time", right=True)]
    rows = [
        [
            significant(row.reflux_ratio) if row.reflux_ratio else "0",
            significant(100.0 * row.recovery, 2) if row.recovery else "not had",
            bare_duration(row.time_s),
        ]
        for row in plan.reflux_scan
    ]
    return Grid(columns, rows)


def pairs(plan: Plan, most: int) -> Grid:
    """Which ingredients distillation parts badly, hardest first; what simple distillation parts is left out."""
    columns = [
        Column("pair", wraps=True),
        Column("boil apart by, K", right=True),
        Column("verdict"),
        Column("because", wraps=True),
    ]
    hard = [row for row in hardest(plan.pairs) if row.verdict != SIMPLE]
    return Grid(columns, [_pair(row) for row in hard[:most]])


def hardest(rows: Sequence[PairRow]) -> list[PairRow]:
    """Pairs by their verdicts, in each as they came; a verdict of another kind comes first, to be seen."""
    order = {verdict: place for place, verdict in enumerate(HARDEST_FIRST)}
    return sorted(rows, key=lambda row: order.get(row.verdict, -1))


def _pair(row: PairRow) -> list[str]:
    delta_K, u95_K = row.delta_boiling_point_K, row.delta_u95_K
    apart = NONE_HELD if delta_K is None or u95_K is None else " ± ".join(rounded(abs(delta_K), u95_K))
    return [f"{row.a} / {row.b}", apart, row.verdict, row.reason]


def holding(plan: Plan) -> Grid:
    """Condenser and receiver."""
    held = plan.holding
    loss = [] if held.loss is None else [("product lost as vapour", percent(held.loss))]
    rows = [
        ("lowest dew point of the product's vapour", temperature(held.dew_point_K)),
        ("coolant", _or_none(held.coolant_K)),
        ("condenser holds the product", _YES_OR_NO[held.condenser_holds]),
        ("receiver in a bath of", _or_none(held.receiver_bath_K)),
        ("vapour pressure in the receiver", interval(held.receiver_pressure_Pa, 1e-3, "kPa")),
        ("receiver holds the product", _YES_OR_NO[held.receiver_holds]),
        *loss,
    ]
    return _facts([(what, figure) for what, figure in rows if figure != NONE_HELD])


def duty(plan: Plan) -> Grid:
    """Time, heat, coolant, ice and cost."""
    spent, cost = plan.duty, plan.cost
    money = f"{cost.currency} a litre".strip()
    rows = [
        ("time", duration(spent.time_s)),
        ("heat from the heater", energy(spent.heat_J)),
        ("heat that the condenser takes out", energy(spent.cooling_J)),
        ("ice that melts for it", interval(spent.ice_kg, 1.0, "kg")),
        ("boil-up", NONE_HELD if spent.boil_up_W is None else f"{significant(spent.boil_up_W, 3)} W"),
        ("product costs", interval(cost.per_litre, 1.0, money)),
        ("with energy and ice", interval(cost.per_litre_with_energy, 1.0, money)),
    ]
    return _facts([(what, "not known" if said == NONE_HELD else said) for what, said in rows])


def opening(found: Opening) -> Grid:
    """What leaves with the gas when a package of liquefied gas is opened."""
    columns = [Column("leaves, % by mass"), Column("of the whole", right=True), Column("of the target", right=True)]
    rows = [
        ["from an open flask", percent(found.leaves_bare), percent(found.target_lost_bare)],
        ["through the cooled column", percent(found.leaves_with_column), percent(found.target_lost_with_column)],
    ]
    return Grid(columns, [[cell.removesuffix(" %") for cell in row] for row in rows])


def _share(fraction: float) -> str:
    return f"{significant(100.0 * fraction)} %" if fraction else "0 %"


def _or_none(T_K: float | None) -> str:
    return NONE_HELD if T_K is None else celsius(T_K)


def _facts(rows: Sequence[Row]) -> Grid:
    """Figures under each other; only what is made of words may be broken."""
    return Grid([Column("what", wraps=True), Column("figure", right=True)], [list(row) for row in rows])

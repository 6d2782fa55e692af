"""A small store of hand-written rows, built through the declared schema.

Boiling points: handbook values, rounded; vapour-pressure constants (Antoine,
log10 of mmHg against °C), hazards and uncertainties: from memory; the two Wagner
curves: invented, of the usual size. They serve to test the read side, not the data.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path

import duckdb
import numpy as np
import pytest
from thermo import unifac

from cutpoint import db
from cutpoint.schema import SCHEMA_VERSION
from cutpoint.schema.ddl import create_statements
from cutpoint.schema.equations import ln_pressure_slope
from cutpoint.schema.names import search_key
from cutpoint.schema.properties import ATMOSPHERE_PA, grade
from cutpoint.schema.tables import TABLES

MMHG_PA = 133.322

# cas, name, formula, molar mass, SMILES, InChIKey, kind, phase behaviour
COMPONENTS = [
    ("7732-18-5", "water", "H2O", 18.015, "O", "XLYOFNOQVPJJNP-UHFFFAOYSA-N", "pure", "boils"),
    ("64-17-5", "ethanol", "C2H6O", 46.069, "CCO", "LFQSCWFLJHTTHZ-UHFFFAOYSA-N", "pure", "boils"),
    ("141-78-6", "ethyl acetate", "C4H8O2", 88.106, "CCOC(C)=O", "XEKOWRVHYACXOJ-UHFFFAOYSA-N", "pure", "boils"),
    ("123-91-1", "1,4-dioxane", "C4H8O2", 88.106, "C1COCCO1", "RYHBNJHYFVUHQT-UHFFFAOYSA-N", "pure", "boils"),
    ("107-92-6", "butanoic acid", "C4H8O2", 88.106, "CCCC(=O)O", "FERIUCNNQQJTOY-UHFFFAOYSA-N", "pure", "boils"),
    ("110-54-3", "hexane", "C6H14", 86.178, "CCCCCC", "VLKZOEOYAKHREP-UHFFFAOYSA-N", "pure", "boils"),
    ("67-64-1", "acetone", "C3H6O", 58.080, "CC(C)=O", "CSCPPACGZOOCGX-UHFFFAOYSA-N", "pure", "boils"),
    ("108-88-3", "toluene", "C7H8", 92.141, "Cc1ccccc1", "YXFVVABEGXRONW-UHFFFAOYSA-N", "pure", "boils"),
    ("71-43-2", "benzene", "C6H6", 78.114, "c1ccccc1", "UHOVQNZJYSORNB-UHFFFAOYSA-N", "pure", "boils"),
    ("110-82-7", "cyclohexane", "C6H12", 84.161, "C1CCCCC1", "XDTMQSROBMDMFD-UHFFFAOYSA-N", "pure", "boils"),
    ("60-29-7", "diethyl ether", "C4H10O", 74.123, "CCOCC", "RTZKZFJDLAIYFH-UHFFFAOYSA-N", "pure", "boils"),
    ("67-56-1", "methanol", "CH4O", 32.042, "CO", "OKKJLVBELUTLKV-UHFFFAOYSA-N", "pure", "boils"),
    ("95-47-6", "o-xylene", "C8H10", 106.168, "Cc1ccccc1C", "CTQNGGLPUBDAKN-UHFFFAOYSA-N", "pure", "boils"),
    ("106-42-3", "p-xylene", "C8H10", 106.168, "Cc1ccc(C)cc1", "URLKBWYHVLBVBO-UHFFFAOYSA-N", "pure", "boils"),
    ("56-81-5", "glycerol", "C3H8O3", 92.094, "OCC(O)CO", "PEDCQBHIVMGVHV-UHFFFAOYSA-N", "pure", "boils"),
    ("630-08-0", "carbon monoxide", "CO", 28.010, "[C-]#[O+]", "UGFAIRIUMAVXCW-UHFFFAOYSA-N", "pure", "boils"),
    ("7440-48-4", "cobalt", "Co", 58.933, "[Co]", "GUTLYIVDDKVIGB-UHFFFAOYSA-N", "pure", None),
    ("124-38-9", "carbon dioxide", "CO2", 44.010, "O=C=O", "CURLTUGMZLYLDI-UHFFFAOYSA-N", "pure", "sublimes"),
    ("67-72-1", "hexachloroethane", "C2Cl6", 236.74, None, None, "pure", "sublimes"),
    ("57-50-1", "sucrose", "C12H22O11", 342.30, None, None, "pure", "decomposes"),
    ("50-99-7", "glucose", "C6H12O6", 180.16, None, None, "pure", None),
    ("8032-32-4", "petroleum ether", None, None, None, None, "stream", None),
    ("12124-97-9", "ammonium bromide", "BrH4N", 97.942, None, None, "pure", None),
    ("589-34-4", "3-methylhexane", "C7H16", 100.205, None, None, "pure", "boils"),
    ("78918-91-9", "3-methylhexane", "C7H16", 100.205, None, None, "pure", "boils"),
    ("16331-64-9", "ethoxide", "C2H5O-", 45.061, None, None, "pure", None),
    ("108-20-3", "diisopropyl ether", "C6H14O", 102.177, None, None, "pure", "boils"),
    ("7782-92-5", "sodamide", "H2NNa", 39.013, None, None, "pure", None),
    ("100-42-5", "styrene", "C8H8", 104.152, None, None, "pure", "boils"),
    ("1305-62-0", "calcium hydroxide", "CaH2O2", 74.093, None, None, "pure", None),
]
# cas, boiling point K, expanded uncertainty K, independent sources
BOILING_POINTS = [
    ("7732-18-5", 373.124, 0.05, 4), ("64-17-5", 351.44, 0.2, 5), ("141-78-6", 350.25, 0.3, 5),
    ("123-91-1", 374.25, 0.4, 4), ("107-92-6", 436.9, 1.0, 3), ("110-54-3", 341.88, 0.2, 5),
    ("67-64-1", 329.23, 0.2, 5), ("108-88-3", 383.75, 0.2, 5), ("71-43-2", 353.24, 0.1, 5),
    ("110-82-7", 353.87, 0.15, 5), ("60-29-7", 307.6, 0.3, 4), ("67-56-1", 337.8, 0.2, 5),
    ("95-47-6", 417.6, 0.3, 4), ("106-42-3", 411.5, 0.3, 4), ("630-08-0", 81.6, 0.4, 3), ("56-81-5", 563.0, 2.0, 3),
    ("589-34-4", 365.0, 0.3, 3), ("78918-91-9", 365.2, 4.8, 1), ("108-20-3", 341.5, 0.4, 3),
    ("100-42-5", 418.3, 0.4, 3),
]  # fmt: skip
# cas, A, B, C (log10 mmHg, °C), range in °C
ANTOINE = [
    ("7732-18-5", 8.07131, 1730.63, 233.426, 1, 100), ("64-17-5", 8.20417, 1642.89, 230.300, -57, 80),
    ("141-78-6", 7.10179, 1244.951, 217.881, 16, 76), ("123-91-1", 7.43155, 1554.68, 240.337, 20, 105),
    ("110-54-3", 6.87776, 1171.53, 224.366, -25, 92), ("67-64-1", 7.11714, 1210.595, 229.664, -13, 55),
    ("108-88-3", 6.95464, 1344.8, 219.482, 6, 137), ("71-43-2", 6.90565, 1211.033, 220.790, 8, 103),
    ("110-82-7", 6.84498, 1203.526, 222.863, 20, 81), ("60-29-7", 6.92032, 1064.07, 228.8, -61, 20),
    ("67-56-1", 8.08097, 1582.271, 239.726, 15, 84), ("95-47-6", 6.99891, 1474.679, 213.686, 32, 172),
    ("106-42-3", 6.99052, 1453.43, 215.307, 27, 166),
    ("12124-97-9", 9.355, 3947.0, 227.0, 198, 396),  # of a solid: its boiling point is refused
    ("589-34-4", 6.86754, 1240.196, 219.22, -20, 114), ("78918-91-9", 6.86754, 1240.196, 219.22, -20, 114),
]  # fmt: skip
# cas, rule, B, C, D of the Wagner equation in its 2.5, 5 form, T_c K, p_c Pa, lowest temperatures K
WAGNER = [
    ("124-38-9", "chosen", 1.54, -2.28, -2.35, 304.13, 7.377e6, 195.0, 216.6),
    ("56-81-5", "corresponding states", 4.0, -6.0, -5.0, 850.0, 7.5e6, 380.0, 400.0),
]
CRITICAL = [  # cas, T_c K, p_c Pa
    ("124-38-9", 304.13, 7.377e6),
    ("7732-18-5", 647.096, 22.064e6), ("64-17-5", 513.9, 6.14e6), ("141-78-6", 523.2, 3.83e6),
    ("108-88-3", 591.8, 4.11e6), ("71-43-2", 562.0, 4.90e6), ("110-54-3", 507.6, 3.02e6),
]  # fmt: skip
# cas, melting point K, expanded uncertainty K, independent sources; rounded handbook values
MELTING = [
    ("123-91-1", 284.9, 0.4, 4), ("106-42-3", 286.4, 0.4, 1), ("12124-97-9", 725.0, 5.0, 3),
    ("124-38-9", 216.6, 0.4, 4), ("67-72-1", 460.0, 1.0, 3),
]  # fmt: skip
# cas, boiling point K as a source prints it; none can be, and all are refused
REFUSED_BOILING_POINTS = [("12124-97-9", 508.0), ("124-38-9", 194.7), ("67-72-1", 457.6)]
REFUSED = "boils below its melting point: sublimes, or a boiling point at reduced pressure"
# name, cas, claim; every component also owns its own name
NAMES = [
    ("ethyl alcohol", "64-17-5", "own"), ("acetic ester", "141-78-6", "own"), ("EtOAc", "141-78-6", "own"),
    ("ether", "60-29-7", "house"), ("ether", "8032-32-4", "alias"),
    ("xylene", "95-47-6", "alias"), ("xylene", "106-42-3", "alias"),
    ("Co", "7440-48-4", "own"), ("carbonic oxide", "630-08-0", "own"), ("benzene, methyl-", "108-88-3", "own"),
    ("benzine", "8032-32-4", "alias"), ("C2H5O", "64-17-5", "alias"), ("1080", "67-64-1", "alias"),
    ("O'Neill's wash; DROP TABLE name; --", "67-64-1", "alias"),
]  # fmt: skip
# cas, property, limit kind, value, conservative, unit, text
HAZARDS = [
    ("60-29-7", "flash_point", "value", 228.15, 226.15, "K", None),
    ("60-29-7", "autoignition_temperature", "value", 453.15, 433.15, "K", None),
    ("60-29-7", "lower_flammability_limit", "value", 0.019, 0.017, "1", None),
    ("60-29-7", "exposure_limit", "TWA", 1.2e-3, 1.2e-3, "kg_m3", None),
    ("60-29-7", "peroxide_former", "class", None, None, "class", "B"),
    ("108-88-3", "flash_point", "value", 279.15, 277.15, "K", None),
    ("108-88-3", "autoignition_temperature", "value", 803.15, 753.15, "K", None),
    ("630-08-0", "exposure_limit", "TWA", 2.3e-5, 2.3e-5, "kg_m3", None),
    ("107-92-6", "flash_point", "value", 345.15, 342.15, "K", None),
    ("95-47-6", "flash_point", "value", 305.15, 303.15, "K", None),
    ("108-20-3", "flash_point", "value", 245.15, 245.15, "K", None),
    ("108-20-3", "peroxide_former", "class", None, None, "class", "A"),
    ("7782-92-5", "peroxide_former", "class", None, None, "class", "A"),
    ("100-42-5", "flash_point", "value", 303.15, 303.15, "K", None),
    ("100-42-5", "exposure_limit", "STEL", 4.26e-4, 4.26e-4, "kg_m3", None),
    ("100-42-5", "peroxide_former", "class", None, None, "class", "C"),
    ("1305-62-0", "exposure_limit", "TWA", 5e-6, 5e-6, "kg_m3", None),
    ("8032-32-4", "flash_point", "value", 233.15, 233.15, "K", None),
    ("8032-32-4", "exposure_limit", "TWA", 3e-4, 3e-4, "1", None),
]

SCHEME = "modified UNIFAC (Dortmund)"
# cas, numbers of subgroups as the papers of the scheme count them, with how often each occurs; assigned by hand
GROUPS: dict[str, dict[int, int]] = {
    "7732-18-5": {16: 1}, "64-17-5": {1: 1, 2: 1, 14: 1}, "141-78-6": {1: 1, 2: 1, 21: 1}, "110-54-3": {1: 2, 2: 4},
    "67-64-1": {1: 1, 18: 1}, "108-88-3": {9: 5, 11: 1}, "71-43-2": {9: 6}, "110-82-7": {78: 6},
    "60-29-7": {1: 2, 2: 1, 25: 1}, "67-56-1": {15: 1}, "95-47-6": {9: 4, 11: 2}, "106-42-3": {9: 4, 11: 2},
    "56-81-5": {2: 2, 3: 1, 14: 2, 81: 1},
    "107-92-6": {1: 1, 2: 2, 42: 1}, "589-34-4": {1: 3, 2: 3, 3: 1}, "78918-91-9": {1: 3, 2: 3, 3: 1},
}  # fmt: skip
# cas of both, kind, K, mole fraction of the first; rounded handbook values, from memory
AZEOTROPES = [("64-17-5", "7732-18-5", "minimum", 351.3, 0.895), ("110-54-3", "141-78-6", "minimum", 338.3, 0.62)]
ZEOTROPIC = [("67-64-1", "7732-18-5")]


def group_rows() -> dict[str, list[tuple[object, ...]]]:
    """Sizes and interactions of all groups, as the library thermo carries them, under their numbers."""
    unifac.load_unifac_ip()
    sizes = [
        (SCHEME, str(number), str(group.main_group_id), group.R, group.Q, "thermo")
        for number, group in unifac.DOUFSG.items()
    ]
    mains = {row[2] for row in sizes}
    parameters = [
        (SCHEME, str(one), str(other), *abc, "thermo")
        for one, row in unifac.DOUFIP2016.items()
        for other, abc in row.items()
        if one != other and {str(one), str(other)} <= mains
    ]
    counts = [(cas, SCHEME, str(number), count) for cas, groups in GROUPS.items() for number, count in groups.items()]
    return {"group_size": sizes, "group_parameter": parameters, "functional_group": counts}


def padded(*coefficients: float) -> list[float | None]:
    return [*coefficients, *[None] * (8 - len(coefficients))]


def si_antoine(a: float, b: float, c: float) -> tuple[float, float, float]:
    return a * math.log(10) + math.log(MMHG_PA), b * math.log(10), c - 273.15


def curve_row(
    cas: str, equation: str, coefficients: list[float | None], ends_K: tuple[float, ...], rule: str
) -> tuple[object, ...]:
    """A row of the table `vapour_curve`; at one atmosphere the band is the evaluated boiling point's uncertainty."""
    boiling = {row[0]: row[1:3] for row in BOILING_POINTS}.get(cas)
    band = [0.06, 0.05, 0.04, 0.03, 0.02, 0.01, 0.03, 0.05]
    if boiling is not None:
        numbers = np.array([math.nan if number is None else number for number in coefficients])
        band[5] = float(ln_pressure_slope(equation, numbers, boiling[0])) * boiling[1]
    estimate = rule == "corresponding states"
    told = ("estimated", "D", 0, "demo_a, demo_b") if estimate else ("correlated", "B", 2, "demo_curves")
    residual = None if estimate else 0.004
    T_min, T_max, T_lowest, T_highest = ends_K
    return (cas, equation, coefficients, T_min, T_max, T_lowest, T_highest, residual, 0.02, band, rule, *told)


def antoine_row(cas: str, a: float, b: float, c: float, low_C: float, high_C: float) -> tuple[object, ...]:
    """A correlation, its temperatures stretched so that it passes through the evaluated boiling point."""
    ln_a, ln_b, c_K = si_antoine(a, b, c)
    boiling = {row[0]: row[1] for row in BOILING_POINTS}.get(cas)
    stretch = 1.0 if boiling is None else boiling / (ln_b / (ln_a - math.log(ATMOSPHERE_PA)) - c_K)
    T_min, T_max = low_C + 273.15, high_C + 273.15
    ends_K = (T_min, T_max, 0.9 * T_min, 1.1 * T_max)
    return curve_row(cas, "antoine", padded(ln_a, stretch * ln_b, stretch * c_K), ends_K, "chosen")


def wagner_row(
    cas: str, rule: str, b: float, c: float, d: float, T_c: float, p_c: float, T_lowest: float, T_min: float
) -> tuple[object, ...]:
    """A curve whose first coefficient takes it through the boiling point; that of carbon dioxide is from memory."""
    boiling = {row[0]: row[1] for row in BOILING_POINTS}.get(cas)
    first = -7.03
    if boiling is not None:
        tau = 1.0 - boiling / T_c
        first = (boiling / T_c * math.log(ATMOSPHERE_PA / p_c) - b * tau**1.5 - c * tau**2.5 - d * tau**5) / tau
    ends_K = (T_min, T_c, T_lowest, T_c)
    return curve_row(cas, "wagner_2.5_5", padded(first, b, c, d, T_c, p_c), ends_K, rule)


def _rows() -> dict[str, list[tuple[object, ...]]]:
    rows: dict[str, list[tuple[object, ...]]] = {table: [] for table in TABLES}
    rows["component"] = [(*row, "demo_identity", None) for row in COMPONENTS]
    claims = [(row[1], row[0], "own") for row in COMPONENTS] + NAMES
    order = {"house": 0, "own": 1, "alias": 2}
    keyed = sorted((search_key(name), order[claim], cas, name, claim) for name, cas, claim in claims)
    ranks: dict[str, int] = {}
    for key, _, cas, name, claim in keyed:
        ranks[key] = ranks.get(key, 0) + 1
        rows["name"].append((key, cas, name, "en", "common", claim, ranks[key], "demo_names"))

    def evaluation(cas: str, prop: str, value: float, u95: float, unit: str, n: int) -> None:
        letter = grade(prop, value, u95, n)
        rows["evaluation"].append((cas, prop, value, u95, unit, None, letter, n, value, value, "consensus"))

    for place, (cas, value, u95, n) in enumerate(BOILING_POINTS, 1):
        evaluation(cas, "normal_boiling_point", value, u95, "K", n)
        for source, status, shift in (
            ("demo_a", "accepted", 0.0),
            ("demo_b", "accepted", 0.1),
            ("demo_c", "outlier", -40.0),
        ):
            reason = "reduced pressure" if status == "outlier" else None
            rows["observation"].append(
                (source, place, "Tb", cas, "normal_boiling_point", value + shift, "K", None, 101325.0, None, None,
                 None, None, "compiled", str(value), status, reason)
            )  # fmt: skip
    for cas, T_c, p_c in CRITICAL:
        evaluation(cas, "critical_temperature", T_c, 1.0, "K", 3)
        evaluation(cas, "critical_pressure", p_c, p_c * 0.01, "Pa", 3)
    for cas, value, u95, n in MELTING:
        evaluation(cas, "melting_point", value, u95, "K", n)
    for place, (cas, value) in enumerate(REFUSED_BOILING_POINTS, 99):
        rows["observation"].append(
            ("demo_a", place, "Tb", cas, "normal_boiling_point", value, "K", None, 101325.0, None, None, None, None,
             "compiled", str(value), "outlier", REFUSED)
        )  # fmt: skip
    rows["observation"].append(
        ("demo_solids", 1, "A", "67-72-1", "sublimation_pressure", None, "Pa", None, None, "antoine",
         padded(21.0, 5000.0, -50.0), 300.0, 455.0, "compiled", "21 5000 -50", "accepted", None)
    )  # fmt: skip
    rows["vapour_curve"] = [antoine_row(*row) for row in ANTOINE] + [wagner_row(*row) for row in WAGNER]
    rows["hazard"] = [(*row, "demo_hazards") for row in HAZARDS]
    rows |= group_rows()
    masses = {row[0]: float(row[3]) for row in COMPONENTS if row[3] is not None}
    for cas_a, cas_b, kind, T_K, x in AZEOTROPES:
        w = x * masses[cas_a] / (x * masses[cas_a] + (1.0 - x) * masses[cas_b])
        rows["azeotrope"].append((cas_a, cas_b, 101325.0, "measured", 1, T_K, x, w, kind, "demo_azeotropes"))
    rows["zeotropic_pair"] = [(*pair, 101325.0, "demo_zeotropic") for pair in ZEOTROPIC]
    rows["build"] = [("schema_version", str(SCHEMA_VERSION))]
    return rows


def build_small_store(path: Path, rows: dict[str, list[tuple[object, ...]]] | None = None) -> Path:
    with duckdb.connect(str(path)) as connection:
        connection.begin()  # each row would otherwise be a transaction of its own
        for table, content in (rows or _rows()).items():
            for statement in create_statements(table):
                connection.execute(statement)
            if content:
                places = ", ".join("?" * len(content[0]))
                connection.executemany(f'INSERT INTO "{table}" VALUES ({places})', content)
        connection.commit()
        connection.execute("CHECKPOINT")
    return path


@pytest.fixture(scope="session")
def small_store_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_small_store(tmp_path_factory.mktemp("store") / "components.duckdb")


@pytest.fixture(scope="session")
def store(small_store_path: Path) -> Iterator[db.Store]:
    with db.open(small_store_path) as opened:
        yield opened


def plain(text: object) -> str:
    return re.sub(r"\s+", " ", str(text))

"""Every source module: complete, unique, allowed; and its conversions against the printed equations.

Each printed equation stands here once more, as it is published and in the units of
the file; it shares nothing with the project but the numbers.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping
from importlib import metadata
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from cutpoint.pipeline.correlations import value_at
from cutpoint.pipeline.mixtures import MIXTURE_TABLES
from cutpoint.pipeline.normalise import normalise
from cutpoint.pipeline.read import locate, read
from cutpoint.pipeline.source import Source
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.equations import ln_pressure
from cutpoint.schema.properties import PROPERTIES

SOURCES = {source.name: source for source in all_sources()}
SHIPPED = [source for source in SOURCES.values() if source.distribution != "cutpoint"]

LEFT_OUT = {
    "0272b8a77de09d1a4eabf6009b12d99e218be7b2930c7735c2048e6d959a9a70",
    "1deebc94df89b5953c73c8d254a9edfda45e4d6d545b70071c24253e0c8accc0",
    "21b37838e42cbecbc7ba14faf2e3f8dbb28b4d2fbe118e456b52b9c581a46bc7",
    "309c339469d02281bd1d910af1b17a2d63b62caa455aace2cc796126877b4c17",
    "55fdbe25a03a87e40e680042f7d9bc76bad814c97096e32f3f100d489c4dfbe9",
    "660fb5934e26a08919df60c14f0a282ab5eb62fad77d33075c885132f60895e1",
    "6ecd06117456f0ca7ec68db8e918c794ebc40c165b1fa0d3dedf2d758f9bbfdf",
    "7311351efdd97f62704b50260a20d3f438c89f8433c78ecf3b192fb92c08f6a5",
    "991ee8b204ced935c90393309300927cbd036ea7546352e6777c6e802728bd23",
    "d025f68fe39d3013e5e0a5ec0a3fe0cf7b46cb642780cffff0278ab593e8374b",
    "d261f12680fb47da379c5483cc10ef2f9afbcef2f7363c95e8f2a24a7c5dc5d1",
    "d78ff8cda69ebaa8717ff7d94c5212182f71b264c8d624fb75ddc6100e0c38e7",
    "dc7689cca42f47b5742702af6a30ce9635cf54b8358abbf1e1eb635c5cfb9257",
}
"""SHA-256 of tables of the distribution that may not be read: predictions, judges' constants, unclear licences."""


def test_sources_are_sorted_and_named_once() -> None:
    names = [source.name for source in all_sources()]
    assert names == sorted(set(names))
    assert len(SHIPPED) == 41


@pytest.mark.parametrize("source", SHIPPED, ids=lambda source: source.name)
def test_a_source_says_where_it_comes_from(source: Source) -> None:
    assert len(source.citation) > 40
    assert "MIT" in source.licence
    assert source.title
    assert re.fullmatch(r"[0-9a-f]{64}", source.sha256)


@pytest.mark.parametrize("source", SHIPPED, ids=lambda source: source.name)
def test_a_source_is_no_table_of_predictions(source: Source) -> None:
    content = locate(source).read_bytes()
    assert hashlib.sha256(content).hexdigest() == source.sha256
    assert source.sha256 not in LEFT_OUT
    assert source.basis in ("measured", "compiled", "correlated")


def test_what_is_left_out_is_shipped() -> None:
    files = metadata.distribution("chemicals").files or []
    tables = [file.locate() for file in files if file.suffix in (".tsv", ".csv")]
    assert {hashlib.sha256(Path(table).read_bytes()).hexdigest() for table in tables} >= LEFT_OUT


def test_a_file_is_read_by_one_source_only() -> None:
    files = [source.file for source in SHIPPED]
    assert len(files) == len(set(files))


@pytest.mark.parametrize("source", SHIPPED, ids=lambda source: source.name)
def test_fields_and_properties_are_declared_once_and_known(source: Source) -> None:
    fields = [value.column for value in source.values] + [part.field for part in source.correlations]
    assert len(fields) == len(set(fields))
    assert {value.property for value in source.values} <= set(PROPERTIES)
    assert source.layout == "identity" or source.name in MIXTURE_TABLES or fields


@pytest.mark.parametrize("source", [part for part in SHIPPED if part.repairs], ids=lambda source: source.name)
def test_a_repair_names_the_cell_as_it_is_written(source: Source) -> None:
    frame = read(source).frame
    for repair in source.repairs:
        assert frame.at[repair.source_row, repair.column] == repair.written


Row = Mapping[str, float]
Reference = Callable[[Row, float], float]

R_J_mol_K = 8.31446261815324
"""Molar gas constant, exact in the SI of 2019 (CODATA 2018)."""


def antoine(a: str, b: str, c: str, base: float) -> Reference:
    """C. Antoine, C. R. Acad. Sci. 107 (1888) 681: log p = A - B / (T + C)."""
    return lambda row, T: base ** (row[a] - row[b] / (T + row[c]))


def antoine_extended(row: Row, T: float) -> float:
    """Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, 5th edition, 2001, appendix A."""
    x = max((T - row["to"] - 273.15) / row["Tc"], 0.0)
    log10_p = row["A"] - row["B"] / (T + row["C"]) + 0.43429 * x ** row["n"] + row["E"] * x**8 + row["F"] * x**12
    return 10.0**log10_p


def wagner(*exponents: float) -> Reference:
    """W. Wagner, Cryogenics 13 (1973) 470-482: T_r ln(p/p_c) is a sum of powers of 1 - T_r."""

    def pressure(row: Row, T: float) -> float:
        tau = 1.0 - T / row["Tc"]
        body = sum(row[name] * tau**power for name, power in zip("ABCD", exponents, strict=True))
        return row["Pc"] * float(np.exp(body * row["Tc"] / T))

    return pressure


def rankine_kirchhoff(*names: str) -> Reference:
    """Perry's Chemical Engineers' Handbook, 8th edition, 2008, table 2-8: ln p = C1 + C2/T + C3 ln T + C4 T^C5."""

    def pressure(row: Row, T: float) -> float:
        c1, c2, c3, c4, c5 = (row[name] for name in names)
        return float(np.exp(c1 + c2 / T + c3 * np.log(T) + c4 * T**c5))

    return pressure


def rackett(row: Row, T: float) -> float:
    """Perry's Chemical Engineers' Handbook, 8th edition, 2008, table 2-32: C1 / C2^(1 + (1 - T/C3)^C4)."""
    return row["C1"] / row["C2"] ** (1.0 + (1.0 - T / row["C3"]) ** row["C4"])


def density_vdi(row: Row, T: float) -> float:
    """VDI Heat Atlas, 2nd edition, 2010, section D3.1: a sum of powers of 1 - T_r on the critical density."""
    tau = 1.0 - T / row["Tc"]
    powers = zip("ABCD", (0.35, 2 / 3, 1.0, 4 / 3), strict=True)
    return row["rhoc"] + sum(row[name] * tau**power for name, power in powers)


def density_molten(row: Row, T: float) -> float:
    """CRC Handbook of Chemistry and Physics, 95th edition, section 4: rho_m - k (T - T_m)."""
    return row["rho"] - row["k"] * (T - row["Tm"])


def enthalpy_perry(row: Row, T: float) -> float:
    """Perry's Chemical Engineers' Handbook, 8th edition, table 2-150: C1 (1 - T_r)^(C2 + C3 T_r + C4 T_r^2)."""
    T_r = T / row["Tc"]
    return row["C1"] * (1.0 - T_r) ** (row["C2"] + row["C3"] * T_r + row["C4"] * T_r**2)


def enthalpy_vdi(row: Row, T: float) -> float:
    """VDI Heat Atlas, 2nd edition, 2010, section D3.1: R T_c times a sum of powers of 1 - T_r."""
    tau = 1.0 - T / row["Tc"]
    powers = zip("ABCDE", (1 / 3, 2 / 3, 1.0, 2.0, 6.0), strict=True)
    return R_J_mol_K * row["Tc"] * sum(row[name] * tau**power for name, power in powers)


REFERENCES: dict[str, Reference] = {
    "poling_antoine": antoine("A", "B", "C", 10.0),
    "landolt_vapour_pressures": antoine("A", "B", "C", np.e),
    "landolt_sublimation_pressures": antoine("A", "B", "C", np.e),
    "webbook_constants": antoine("AntoineA", "AntoineB", "AntoineC", np.e),
    "poling_antoine_extended": antoine_extended,
    "mcgarry_wagner": wagner(1.0, 1.5, 3.0, 6.0),
    "poling_wagner": wagner(1.0, 1.5, 2.5, 5.0),
    "vdi_vapour_pressures": wagner(1.0, 1.5, 2.5, 5.0),
    "perry_vapour_pressures": rankine_kirchhoff("C1", "C2", "C3", "C4", "C5"),
    "alcock_vapour_pressures": rankine_kirchhoff("A", "B", "C", "D", "E"),
    "alcock_sublimation_pressures": rankine_kirchhoff("A", "B", "C", "D", "E"),
    "perry_densities": rackett,
    "vdi_densities": density_vdi,
    "crc_molten_densities": density_molten,
    "perry_enthalpies": enthalpy_perry,
    "vdi_enthalpies": enthalpy_vdi,
}

NUMBER = r"[-+]?[0-9]+\.?[0-9]*([eE][-+]?[0-9]+)?"


def test_every_correlation_has_a_reference() -> None:
    assert set(REFERENCES) == {source.name for source in SHIPPED if source.correlations}


@pytest.mark.parametrize("name", sorted(REFERENCES))
def test_a_converted_correlation_gives_what_the_original_gives(name: str) -> None:
    raw = read(SOURCES[name])
    observations = normalise(raw).observations
    curves = observations[observations["equation"].notna()]
    sample = curves.iloc[:: max(1, len(curves) // 40)]
    for curve in sample.itertuples():
        cells = raw.frame.loc[curve.source_row]
        row = {column: float(text) for column, text in cells.items() if re.fullmatch(NUMBER, text)}
        low_K = curve.T_min_K if pd.notna(curve.T_min_K) else 0.6 * curve.T_max_K
        coefficients = np.asarray(curve.coefficients, dtype=float)
        for T_K in np.linspace(low_K, curve.T_max_K, 7)[:-1]:
            theirs = REFERENCES[name](row, float(T_K))
            if curve.property.endswith("pressure"):
                assert ln_pressure(curve.equation, coefficients, T_K) == pytest.approx(np.log(theirs), abs=1e-9)
            else:
                assert value_at(curve.equation, coefficients, T_K) == pytest.approx(theirs, rel=1e-9)


BOILING_POINTS_K = {"64-17-5": 351.44, "67-64-1": 329.20, "71-43-2": 353.24, "110-54-3": 341.88, "108-88-3": 383.78}
"""Ethanol, acetone, benzene, hexane, toluene; CRC Handbook of Chemistry and Physics, 95th edition, section 3."""


VAPOUR_PRESSURE_SOURCES = [
    source.name for source in SHIPPED if any(part.property == "vapour_pressure" for part in source.correlations)
]


@pytest.mark.parametrize("name", VAPOUR_PRESSURE_SOURCES)
def test_vapour_pressure_tables_put_common_solvents_at_one_atmosphere(name: str) -> None:
    observations = normalise(read(SOURCES[name])).observations
    curves = observations[(observations["property"] == "vapour_pressure") & observations["equation"].notna()]
    for cas, T_b_K in BOILING_POINTS_K.items():
        at_boiling = curves[(curves["cas"] == cas) & (curves["T_min_K"] < T_b_K) & (curves["T_max_K"] > T_b_K)]
        for curve in at_boiling.itertuples():
            p_Pa = np.exp(ln_pressure(curve.equation, np.asarray(curve.coefficients, dtype=float), T_b_K))
            assert p_Pa == pytest.approx(101_325.0, rel=0.02)


def test_an_exposure_limit_stands_once_in_the_unit_of_the_regulation() -> None:
    limits = normalise(read(SOURCES["ontario_exposure_limits"])).observations
    one = limits[limits["cas"] == "106-94-5"]
    assert list(zip(one["field"], one["unit"], strict=True)) == [("TWA (ppm)", "1")]
    assert one["value"].item() == pytest.approx(10e-6)
    calcium_sulfate = limits[limits["cas"] == "7778-18-9"]
    assert list(calcium_sulfate["unit"]) == ["kg_m3"]
    both = limits.assign(limit=limits["field"].str.split(" ").str[0]).duplicated(["source_row", "limit"])
    assert not both.any()

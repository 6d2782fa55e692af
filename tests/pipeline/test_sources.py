"""Every source module: complete, unique, allowed; and its conversions against the distribution's own equations.

The reference functions are those of the package that ships the tables,
release 1.5.2; they share nothing with this project but the files.
"""

from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from chemicals.dippr import EQ101, EQ105, EQ106
from chemicals.phase_change import PPDS12
from chemicals.vapor_pressure import Antoine, TRC_Antoine_extended, Wagner, Wagner_original
from chemicals.volume import CRC_inorganic, volume_VDI_PPDS

from cutpoint.pipeline.correlations import value_at
from cutpoint.pipeline.normalise import normalise
from cutpoint.pipeline.read import read
from cutpoint.pipeline.source import Source
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.equations import ln_pressure
from cutpoint.schema.properties import PROPERTIES

SOURCES = {source.name: source for source in all_sources()}
SHIPPED = [source for source in SOURCES.values() if source.distribution == "chemicals"]

EXCLUDED = (
    "ChemSep",
    "DIPPR T_flash",
    "DIPPRPinaMartines",
    "dippr_2014",
    "heos_constants",
    "joback",
    "fedors",
    "wilson_jasperson",
    "omega_Psat",
    "Alibakhshi",
    "Travis_Kessler",
)
"""Parts of the names of files that are exports of programs or data banks, predictions, or reference equations."""


def test_sources_are_sorted_and_named_once() -> None:
    names = [source.name for source in all_sources()]
    assert names == sorted(set(names))
    assert len(SHIPPED) == 40


@pytest.mark.parametrize("source", SHIPPED, ids=lambda source: source.name)
def test_a_source_says_where_it_comes_from(source: Source) -> None:
    assert len(source.citation) > 40
    assert "MIT" in source.licence
    assert source.title
    assert re.fullmatch(r"[0-9a-f]{64}", source.sha256)
    assert not any(part in source.file for part in EXCLUDED)


def test_a_file_is_read_by_one_source_only() -> None:
    files = [source.file for source in SHIPPED]
    assert len(files) == len(set(files))


@pytest.mark.parametrize("source", SHIPPED, ids=lambda source: source.name)
def test_fields_and_properties_are_declared_once_and_known(source: Source) -> None:
    fields = [value.column for value in source.values] + [part.field for part in source.correlations]
    assert len(fields) == len(set(fields))
    assert {value.property for value in source.values} <= set(PROPERTIES)
    assert source.layout == "identity" or fields


@pytest.mark.parametrize("source", [part for part in SHIPPED if part.repairs], ids=lambda source: source.name)
def test_a_repair_names_the_cell_as_it_is_written(source: Source) -> None:
    frame = read(source).frame
    for repair in source.repairs:
        assert frame.at[repair.source_row, repair.column] == repair.written


REFERENCES = {
    "poling_antoine": lambda row, T: Antoine(T, row["A"], row["B"], row["C"], base=10.0),
    "landolt_vapour_pressures": lambda row, T: Antoine(T, row["A"], row["B"], row["C"], base=np.e),
    "landolt_sublimation_pressures": lambda row, T: Antoine(T, row["A"], row["B"], row["C"], base=np.e),
    "webbook_constants": lambda row, T: Antoine(T, row["AntoineA"], row["AntoineB"], row["AntoineC"], base=np.e),
    "poling_antoine_extended": lambda row, T: TRC_Antoine_extended(
        T, row["Tc"], row["to"], row["A"], row["B"], row["C"], row["n"], row["E"], row["F"]
    ),
    "mcgarry_wagner": lambda row, T: Wagner_original(T, row["Tc"], row["Pc"], row["A"], row["B"], row["C"], row["D"]),
    "poling_wagner": lambda row, T: Wagner(T, row["Tc"], row["Pc"], row["A"], row["B"], row["C"], row["D"]),
    "vdi_vapour_pressures": lambda row, T: Wagner(T, row["Tc"], row["Pc"], row["A"], row["B"], row["C"], row["D"]),
    "perry_vapour_pressures": lambda row, T: EQ101(T, row["C1"], row["C2"], row["C3"], row["C4"], row["C5"]),
    "alcock_vapour_pressures": lambda row, T: EQ101(T, row["A"], row["B"], row["C"], row["D"], row["E"]),
    "alcock_sublimation_pressures": lambda row, T: EQ101(T, row["A"], row["B"], row["C"], row["D"], row["E"]),
    "perry_densities": lambda row, T: EQ105(T, row["C1"], row["C2"], row["C3"], row["C4"]),
    "vdi_densities": lambda row, T: volume_VDI_PPDS(T, row["Tc"], row["rhoc"], row["A"], row["B"], row["C"], row["D"]),
    "crc_molten_densities": lambda row, T: CRC_inorganic(T, row["rho"], row["k"], row["Tm"]),
    "perry_enthalpies": lambda row, T: EQ106(T, row["Tc"], row["C1"], row["C2"], row["C3"], row["C4"]),
    "vdi_enthalpies": lambda row, T: PPDS12(T, row["Tc"], row["A"], row["B"], row["C"], row["D"], row["E"]),
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

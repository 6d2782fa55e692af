"""The second station: nothing is lost, nothing impossible passes, and the numbers are the text's."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.pipeline.normalise import WHOLE_ROW, Normalised, normalise
from cutpoint.pipeline.read import IDENTITY_COLUMNS, RawTable, read
from cutpoint.pipeline.source import Coefficient, Correlation, Repair, Source, Value
from cutpoint.pipeline.sources import all_sources
from cutpoint.schema.identifiers import looks_like_cas
from cutpoint.schema.properties import PROPERTIES
from cutpoint.schema.tables import check

SOURCES = {source.name: source for source in all_sources() if source.distribution == "chemicals"}
"""The hand-entered tables are rules for the next station and do not pass this one."""

INVENTED = Source(
    name="invented",
    title="invented",
    citation="invented",
    licence="invented",
    distribution="cutpoint",
    file="invented.tsv",
    sha256="0" * 64,
    name_column="name",
    values=(
        Value("Tb_C", "normal_boiling_point", offset=273.15),
        Value("rho", "liquid_density", scale=1000.0, temperature_K="T"),
    ),
    correlations=(
        Correlation(
            field="Antoine",
            property="vapour_pressure",
            equation="antoine",
            coefficients=(Coefficient("A"), Coefficient("B"), Coefficient("C", offset=-273.15)),
            T_min_K="Tmin",
            T_max_K="Tmax",
        ),
    ),
)
COLUMNS = ("CAS", "name", "Tb_C", "rho", "T", "A", "B", "C", "Tmin", "Tmax")
ETHANOL = {"CAS": "64-17-5", "name": "ethanol"}
CURVE = {"A": "23.6", "B": "3674.5", "C": "226.45", "Tmin": "270", "Tmax": "370"}
"""Invented, near ethanol."""


def table(*rows: dict[str, str], source: Source = INVENTED) -> RawTable:
    frame = pd.DataFrame([{column: row.get(column, "") for column in COLUMNS} for row in rows], dtype="str")
    frame.index = pd.RangeIndex(1, len(rows) + 1, name="source_row")
    return RawTable(source, frame, source.sha256)


def refusals(normalised: Normalised) -> dict[str, str]:
    return dict(zip(normalised.rejected["field"], normalised.rejected["reason"], strict=True))


@dataclass(frozen=True)
class Account:
    """Rows of one file: read = kept + rejected; `values_rejected` counts single values in kept rows."""

    read: int
    kept: int
    rejected: int
    values_rejected: int


def account(raw: RawTable, normalised: Normalised) -> Account:
    whole = normalised.rejected["field"] == WHOLE_ROW
    refused_rows = set(normalised.rejected.loc[whole, "source_row"])
    single = normalised.rejected.loc[~whole, "source_row"]
    return Account(
        read=len(raw.frame),
        kept=len(set(normalised.observations["source_row"]) | set(normalised.identities["source_row"])),
        rejected=len(refused_rows),
        values_rejected=int((~single.isin(refused_rows)).sum()),
    )


def test_a_good_row() -> None:
    done = normalise(table(ETHANOL | CURVE | {"Tb_C": "78.29", "rho": "0.7893", "T": "293.15"}))
    seen = done.observations.set_index("field")
    assert seen.at["Tb_C", "value"] == 78.29 * 1.0 + 273.15
    assert seen.at["Tb_C", "raw"] == "78.29"
    assert seen.at["rho", "value"] == 0.7893 * 1000.0
    assert seen.at["rho", "temperature_K"] == 293.15
    assert seen.at["Antoine", "coefficients"][:3] == [23.6, 3674.5, 226.45 - 273.15]
    assert np.isnan(seen.at["Antoine", "coefficients"][3:]).all()
    assert seen.at["Antoine", "basis"] == "correlated"
    assert seen.at["Antoine", "raw"] == "A=23.6; B=3674.5; C=226.45; Tmin=270; Tmax=370"
    assert done.names["name"].tolist() == ["ethanol"]
    assert done.rejected.empty
    assert done.identities.empty


@pytest.mark.parametrize(
    ("cells", "field", "reason"),
    [
        ({"Tb_C": "78,3"}, "Tb_C", "not a number"),
        ({"Tb_C": "nan"}, "Tb_C", "not a number"),
        ({"Tb_C": "1_0"}, "Tb_C", "not a number"),
        ({"Tb_C": "٧٨"}, "Tb_C", "not a number"),
        ({"Tb_C": "1e999"}, "Tb_C", "not a finite number"),
        ({"Tb_C": "-300"}, "Tb_C", "outside the plausible range 3 to 6500 K"),
        ({"rho": "789"}, "rho", "outside the plausible range 50 to 25000 kg_m3"),
        ({"rho": "0.789", "T": "cold"}, "rho", "its temperature is not a positive number"),
        ({"rho": "0.789", "T": "-5"}, "rho", "its temperature is not a positive number"),
        (CURVE | {"B": ""}, "Antoine", "a coefficient or an end of its range is missing"),
        (CURVE | {"Tmin": ""}, "Antoine", "a coefficient or an end of its range is missing"),
        (CURVE | {"B": "x"}, "Antoine", "a coefficient is not a finite number"),
        (CURVE | {"Tmin": "0"}, "Antoine", "an end of its range is not a positive number"),
        (CURVE | {"Tmax": "270"}, "Antoine", "its range is a single temperature"),
        (CURVE | {"Tmax": "200"}, "Antoine", "the lower end of its range is above the upper end"),
        (CURVE | {"Tmin": "1"}, "Antoine", "the lower end of its range is too far below the upper end"),
        (CURVE | {"B": "-3674.5"}, "Antoine", "the pressure does not rise with temperature over its range"),
        (CURVE | {"C": "0"}, "Antoine", "the pressure does not rise with temperature over its range"),
        (CURVE | {"A": "99"}, "Antoine", "the pressure at the upper end of its range is outside 1e-12 to 3e+08 Pa"),
    ],
)
def test_what_is_refused_and_why(cells: dict[str, str], field: str, reason: str) -> None:
    raw = table(ETHANOL | cells)
    done = normalise(raw)
    assert refusals(done) == {field: reason, WHOLE_ROW: reason}
    assert done.observations.empty
    assert done.names.empty
    assert done.rejected["cas"].tolist() == ["64-17-5", "64-17-5"]
    assert "64-17-5\tethanol" in done.rejected.set_index("field").at[WHOLE_ROW, "raw"]
    assert (account(raw, done).read, account(raw, done).rejected) == (1, 1)


def test_a_refused_value_leaves_the_rest_of_its_row() -> None:
    raw = table(ETHANOL | {"Tb_C": "78.29", "rho": "liquid"})
    done = normalise(raw)
    assert done.observations["field"].tolist() == ["Tb_C"]
    assert refusals(done) == {"rho": "not a number"}
    told = account(raw, done)
    assert (told.kept, told.rejected, told.values_rejected) == (1, 0, 1)


@pytest.mark.parametrize("cas", ["", "ethanol", "64-17-", "064-17-5", "64175", "64-17-5)"])
def test_a_row_without_a_cas_number_is_refused_whole(cas: str) -> None:
    done = normalise(table({"CAS": cas, "Tb_C": "78.29"}))
    assert refusals(done) == {WHOLE_ROW: "its CAS number is missing or has not the layout of one"}


def test_a_wrong_check_digit_is_left_to_the_next_station() -> None:
    assert normalise(table({"CAS": "64-17-4", "Tb_C": "78.29"})).observations["cas"].tolist() == ["64-17-4"]


def test_a_row_that_holds_nothing_is_refused() -> None:
    assert refusals(normalise(table(ETHANOL))) == {WHOLE_ROW: "holds no property that is kept"}


def test_bare_digits_become_cas_numbers() -> None:
    source = replace(INVENTED, cas_is_digits=True)
    numbers = ("64175", "6", "64-17-5", "٦٤١٧٥")
    done = normalise(table(*({"CAS": cas, "Tb_C": "78.29"} for cas in numbers), source=source))
    assert done.observations["cas"].tolist() == ["64-17-5", "64-17-5"]
    assert done.rejected["source_row"].tolist() == [2, 4]
    assert done.rejected["cas"].tolist() == ["6", "٦٤١٧٥"]


def test_a_stated_repair_is_told_and_only_the_stated_cell_is_repaired() -> None:
    source = replace(
        INVENTED,
        repairs=(
            Repair(1, "Tb_C", "-78.29", "78.29", "sign"),
            Repair(2, "CAS", "64-17-05", "64-17-5", "zero"),
            Repair(3, "Tb_C", "1", "2", "another text"),
        ),
    )
    rows = [ETHANOL | {"Tb_C": "-78.29"}, {"CAS": "64-17-05", "Tb_C": "78.29"}, ETHANOL | {"Tb_C": "-78.29"}]
    seen = normalise(table(*rows, source=source)).observations
    assert seen["value"].tolist() == [78.29 + 273.15, 78.29 + 273.15, -78.29 + 273.15]
    assert seen["raw"].tolist() == ["-78.29", "78.29", "-78.29"]
    assert seen["reason"].tolist()[:2] == ["sign", "zero"]
    assert pd.isna(seen["reason"].tolist()[2])


def test_identities() -> None:
    cells = [
        ["4", "78-96-6", "C3H9NO", "75.10966", "CC(CN)O", "C3H9NO/c1", "HXKKHQJGJAFBHI-UHFFFAOYSA-N", "a\tb\t a \t\tc"],
        ["-1", "64-17-5", "C2H6O", "heavy", "", "", "", ""],
        ["-1", "none", "", "", "", "", "", ""],
        ["5", "78-96-6", "", "", "", "", "", "a\ta\tc\ta\tc"],
    ]
    frame = pd.DataFrame(cells, columns=list(IDENTITY_COLUMNS), index=pd.RangeIndex(1, 5), dtype="str")
    raw = RawTable(replace(INVENTED, layout="identity", values=(), correlations=()), frame, "0" * 64)
    done = normalise(raw)
    assert done.identities["names"].tolist() == [["a", "b", "c"], [], ["a", "a", "c"]]
    assert done.identities["molar_mass_g_mol"].tolist()[0] == 75.10966
    assert pd.isna(done.identities["molar_mass_g_mol"].tolist()[1])
    assert pd.isna(done.identities["smiles"].tolist()[1])
    assert refusals(done) == {"molar_mass": "not a positive number",
                              WHOLE_ROW: "its CAS number is missing or has not the layout of one"}  # fmt: skip
    assert account(raw, done).kept == 3


@pytest.mark.parametrize("name", sorted(SOURCES))
def test_the_sum_holds_for_every_real_source(name: str) -> None:
    raw = read(SOURCES[name])
    done = normalise(raw)
    told = account(raw, done)
    assert told.read == told.kept + told.rejected
    assert told.kept > 0
    kept = set(done.observations["source_row"]) | set(done.identities["source_row"])
    refused = set(done.rejected.loc[done.rejected["field"] == WHOLE_ROW, "source_row"])
    assert not kept & refused
    assert kept | refused == set(raw.frame.index)
    again = normalise(raw)
    pd.testing.assert_frame_equal(done.observations, again.observations)
    finite = done.observations["value"].dropna()
    assert np.isfinite(finite).all()
    assert done.observations["cas"].map(looks_like_cas).all()


NUMBERS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(repr),
    st.floats(1.0, 1000.0).map(repr),
    st.decimals(0, 1000, places=2).map(str),
    st.sampled_from(["", "", "NA", "-", "1e400", " 12 ", "0"]),
)
CAS_NUMBERS = st.one_of(st.from_regex(r"[1-9][0-9]{1,6}-[0-9]{2}-[0-9]", fullmatch=True), st.text(max_size=6))
TEXT = st.text(st.characters(blacklist_characters="\t\n\r", blacklist_categories=("Cs",)), max_size=12)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.fixed_dictionaries(
            {"CAS": CAS_NUMBERS, "name": TEXT}
            | {column: NUMBERS for column in COLUMNS if column not in ("CAS", "name")}
        ),
        max_size=8,
    )
)
def test_any_text_survives_and_is_accounted_for(rows: list[dict[str, str]]) -> None:
    raw = table(*rows) if rows else RawTable(INVENTED, pd.DataFrame(columns=list(COLUMNS), dtype="str"), "0" * 64)
    done = normalise(raw)
    told = account(raw, done)
    assert told.read == told.kept + told.rejected
    check("observation", done.observations, "test")
    check("rejected", done.rejected, "test")
    for row in done.observations.dropna(subset="value").itertuples():
        low, high = PROPERTIES[row.property].plausible
        assert low <= row.value <= high

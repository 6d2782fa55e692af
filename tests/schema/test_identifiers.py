"""CAS numbers, InChIKeys and formulas."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutpoint.schema.identifiers import (
    cas_check_digit,
    cas_from_digits,
    cas_sort_key,
    hill_formula,
    is_cas,
    is_formula,
    is_inchikey,
    looks_like_cas,
    split_formula,
)

BODIES = st.tuples(st.integers(10, 9_999_999), st.integers(0, 99)).map(lambda part: f"{part[0]}-{part[1]:02d}")
COUNTS = st.dictionaries(st.sampled_from(["C", "H", "D", "N", "O", "Cl", "Si", "Na"]), st.integers(1, 60), min_size=1)


@given(BODIES, st.integers(0, 9))
def test_exactly_one_check_digit_is_right(body: str, digit: int) -> None:
    assert looks_like_cas(f"{body}-{digit}")
    assert is_cas(f"{body}-{digit}") == (digit == cas_check_digit(body))


@given(BODIES)
def test_a_number_without_its_hyphens_comes_back(body: str) -> None:
    cas = f"{body}-{cas_check_digit(body)}"
    assert cas_from_digits(cas.replace("-", "")) == cas
    assert cas_sort_key(cas) == int(cas.replace("-", ""))


# Chemical Abstracts Service, "Check Digit Verification of CAS Registry Numbers", gives 107-07-3 as its example.
@pytest.mark.parametrize("cas", ["107-07-3", "141-78-6", "7732-18-5", "64-17-5"])
def test_published_numbers_pass(cas: str) -> None:
    assert is_cas(cas)


@pytest.mark.parametrize(
    "text",
    ["141-78-5", "141-786", "1-78-6", "0141-78-6", "141-78-6 ", "64-17-5\n", "\n64-17-5", "٦٤-١٧-٥", "ethanol", ""],
)
def test_other_texts_do_not_pass(text: str) -> None:
    assert not is_cas(text)


@given(COUNTS, st.integers(-4, 4))
def test_formula_written_and_read_gives_the_same_atoms(counts: dict[str, int], charge: int) -> None:
    written = hill_formula(counts, charge)
    assert is_formula(written)
    assert split_formula(written) == (counts, charge)


@pytest.mark.parametrize(
    ("counts", "charge", "formula"),
    [
        ({"O": 2, "H": 8, "C": 4}, 0, "C4H8O2"),
        ({"H": 2, "Ca": 1, "I": 2, "O": 1}, 0, "CaH2I2O"),  # no carbon: hydrogen takes its place in the alphabet
        ({"Cl": 1, "H": 1}, 0, "ClH"),
        ({"C": 1, "Cl": 3, "D": 1}, 0, "CCl3D"),
        ({"Ca": 1}, 2, "Ca+2"),
        ({"C": 2, "H": 3, "O": 2}, -1, "C2H3O2-"),
    ],
)
def test_hill_order(counts: dict[str, int], charge: int, formula: str) -> None:
    assert hill_formula(counts, charge) == formula


@pytest.mark.parametrize("text", ["", "c6h6", "C6H6 ", "C6H6\n", "C6H6.", "[13C]H4", "C2H3O2-x"])
def test_what_is_no_formula_is_refused(text: str) -> None:
    assert not is_formula(text)
    with pytest.raises(ValueError, match="not a molecular formula"):
        split_formula(text)


def test_inchikey_layout() -> None:
    assert is_inchikey("XEKOWRVHYACXOJ-UHFFFAOYSA-N")
    assert not is_inchikey("XEKOWRVHYACXOJ-UHFFFAOYSA")
    assert not is_inchikey("XEKOWRVHYACXOJ-UHFFFAOYSA-N\n")
    assert not is_inchikey("xekowrvhyacxoj-uhfffaoysa-n")

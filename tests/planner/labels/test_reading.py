"""Whole labels: headings, several ingredients on a line, bases, line numbers, encodings; invented products."""

from __future__ import annotations

import codecs
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cutpoint.planner.labels.reading import decode, read_label
from cutpoint.schema.errors import WrongLabel

WASH_UP = """\
SECTION 3: Composition/information on ingredients
3.2 Mixtures
| Chemical name | CAS No. | EC No. | % w/w | Classification |
|---------------|---------|--------|-------|----------------|
# what the print workshop buys
| Naphtha (petroleum), hydrotreated light | 64742-49-0 | 265-151-9 | 30 - <50 | Flam. Liq. 2; H225, Asp. Tox. 1; H304 |
| propan-2-ol | 67-63-0 | 200-661-7 | 20 - 30 | Flam. Liq. 2; H225 |

| 1-methoxy-2-propanol | 107-98-2 | 203-539-1 | ≥ 10 - < 20 | Flam. Liq. 3; H226, STOT SE 3; H336 |
| water | 7732-18-5 | 231-791-2 | balance | |
Total: 100 %
"""

ELUENT = """\
Zusammensetzung
Bezeichnung\tCAS-Nr.\tGehalt (Vol.-%)
n-Hexan\t110-54-3\t60 - 80
Ethylacetat\t141-78-6\t20 - 40
"""


def shares(text: str, basis: str = "mass") -> list[tuple[str, float, float]]:
    return [(line.name, line.lower, line.upper) for line in read_label(text, basis=basis).lines]


def test_a_table_of_a_safety_data_sheet() -> None:
    label = read_label(WASH_UP, first_line=5)
    assert [(line.number, line.name, line.cas, line.lower, line.upper) for line in label.lines] == [
        (10, "Naphtha (petroleum), hydrotreated light", "64742-49-0", 0.3, 0.5),
        (11, "propan-2-ol", "67-63-0", 0.2, 0.3),
        (13, "1-methoxy-2-propanol", "107-98-2", 0.1, 0.2),
        (14, "water", "7732-18-5", 0.0, 1.0),
    ]
    assert label.lines[0].text.startswith("| Naphtha") and label.lines[3].is_balance
    assert label.basis == "mass"


def test_a_heading_tells_the_basis() -> None:
    assert shares(ELUENT, "volume") == [("n-Hexan", 0.6, 0.8), ("Ethylacetat", 0.2, 0.4)]
    with pytest.raises(WrongLabel, match="Line 2: the label prints percent by volume, and the recipe"):
        read_label(ELUENT)


@pytest.mark.parametrize("head", ["Stoff | Volumenanteil", "Name   volume fraction", "Substance | Fraction volumique"])
def test_a_heading_tells_the_basis_without_a_percent_sign(head: str) -> None:
    with pytest.raises(WrongLabel, match="Line 1: the label prints percent by volume"):
        read_label(f"{head}\nacetone | 20")


def test_mixed_bases_are_refused() -> None:
    with pytest.raises(WrongLabel, match="line 1 is by mass and line 3 is by volume"):
        read_label("acetone 10 % w/w\nwater 20 %\nethanol 5 vol%")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Aceton 30-50%, Toluol 25 %", [("Aceton", 0.3, 0.5), ("Toluol", 0.25, 0.25)]),
        ("Aceton 2,5-10 %; Toluol 25 %", [("Aceton", 0.025, 0.1), ("Toluol", 0.25, 0.25)]),
        ("Ingredients: Butane, propane, isobutane.", [("Butane", 0, 1), ("propane", 0, 1), ("isobutane", 0, 1)]),
        ("Contains acetone 10 %, water q.s.", [("acetone", 0.1, 0.1), ("water", 0, 1)]),
        ("Enthält: benzene, methyl- 5 %, 2-propanol 10,5 %, Wasser",
         [("benzene, methyl-", 0.05, 0.05), ("2-propanol", 0.105, 0.105), ("Wasser", 0, 1)]),
        ("hydrocarbons, C9-C11, isoalkanes 30-50 %, 1,2-dichloroethane 5 %",
         [("hydrocarbons, C9-C11, isoalkanes", 0.3, 0.5), ("1,2-dichloroethane", 0.05, 0.05)]),
        ("30-50 % acetone, 20 % hydrocarbons, C9-C11, 10 % toluene",
         [("acetone", 0.3, 0.5), ("hydrocarbons, C9-C11", 0.2, 0.2), ("toluene", 0.1, 0.1)]),
        ("Acetone 30 %; H225; toluene 20 %; water", [("Acetone", 0.3, 0.3), ("toluene", 0.2, 0.2), ("water", 0, 1)]),
        ("butane; propane; isobutane", [("butane", 0, 1), ("propane", 0, 1), ("isobutane", 0, 1)]),
        ("acetone; 67-64-1; 30 %", [("acetone", 0.3, 0.3)]),
        ("benzene, methyl-", [("benzene, methyl-", 0, 1)]),
    ],
)  # fmt: skip
def test_several_ingredients_on_one_line(text: str, expected: list[tuple[str, float, float]]) -> None:
    assert shares(text) == [(name, pytest.approx(lower), pytest.approx(upper)) for name, lower, upper in expected]


@pytest.mark.parametrize("text", ["", "\n \n", "# nothing\n", "Ingredients:\n", "Inhaltsstoffe | CAS-Nr. | %\n-----"])
def test_an_empty_label_is_refused(text: str) -> None:
    with pytest.raises(WrongLabel, match="line 3 is empty"):
        read_label(text, first_line=3)


def test_limits_name_the_line() -> None:
    with pytest.raises(WrongLabel, match="Line 210: a label has at most 200 lines, and this one has 201"):
        read_label("acetone 1 %\n" * 201, first_line=10)
    with pytest.raises(WrongLabel, match="Line 2: it has 2001 characters"):
        read_label(f"acetone\n{'a' * 2001}")
    with pytest.raises(WrongLabel, match="Line 1: a label has at most 200 ingredients"):
        read_label("; ".join(["a 1 %"] * 201))


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x7f", "\x85", "\ud800"])
def test_control_characters_are_refused(sign: str) -> None:
    with pytest.raises(WrongLabel, match=f"Line 2: character 4 is the control character U\\+{ord(sign):04X}"):
        read_label(f"acetone 5 %\nwat{sign}er 5 %")


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_every_kind_of_line_end_counts_once(newline: str) -> None:
    assert [line.number for line in read_label(f"water 5 %{newline}{newline}acetone 5 %{newline}").lines] == [1, 3]


@pytest.mark.parametrize(
    "content",
    [
        "Éthanol 5 %".encode(),
        codecs.BOM_UTF8 + "Éthanol 5 %".encode(),
        "\ufeffÉthanol 5 %".encode("utf-16-le"),
        "\ufeffÉthanol 5 %".encode("utf-16-be"),
        "Éthanol 5 %".encode("cp1252"),
        "Éth\ufeffanol 5 %".encode(),
    ],
)
def test_text_of_any_usual_encoding(content: bytes) -> None:
    assert decode(content) == "Éthanol 5 %"


def test_bytes_of_no_code_page_are_kept_for_the_reader_to_refuse() -> None:
    assert decode(b"\x81 5 %") == "\x81 5 %"
    with pytest.raises(WrongLabel, match="broken UTF-16"):
        decode(codecs.BOM_UTF16_LE + b"a")


@given(st.binary())
def test_decode_raises_nothing_else(content: bytes) -> None:
    try:
        decode(content)
    except WrongLabel:
        assert content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))


def check(text: str) -> bool:
    """Whether a text is read; it must be read soundly, or refused as a label."""
    try:
        lines = read_label(text).lines
    except WrongLabel as refusal:
        assert "ine " in refusal.message or "mixes" in refusal.message
        return False
    assert lines and all(0.0 <= line.lower <= line.upper <= 1.0 and line.name.strip() for line in lines)
    return True


@settings(max_examples=150)
@given(st.text(max_size=80))
def test_arbitrary_text_is_read_or_refused(text: str) -> None:
    check(text)


SIGNS = "0123456789%.,-–<>≤≥;|\t\n ()/~±+:°aCnbez#\x00\ufeff\u2028é²٣"


def mutated(text: str, lot: random.Random) -> str:
    """The text with a few signs put in, left out or doubled."""
    signs = list(text)
    for _ in range(lot.randint(1, 6)):
        place = lot.randrange(len(signs) + 1)
        match lot.randrange(3):
            case 0:
                signs.insert(place, lot.choice(SIGNS))
            case 1:
                del signs[place : place + 1]
            case _:
                signs[place:place] = signs[place : place + lot.randint(1, 12)]
    return "".join(signs)


def test_eight_thousand_mutated_labels_are_read_or_refused() -> None:
    lot = random.Random(8000)
    printed = [line for line in (WASH_UP + ELUENT).splitlines() if line] + [
        "Aceton 30-50%, Toluol 25 %", "ethanol approx. 40 % (v/v)", "toluene min. 10 max. 20 %", "Wasser ad 100 %",
        "C9-C11 isoalkanes, <2% aromatics 30-50 %", "benzene 20 mg/kg", "Harz (Betriebsgeheimnis)", "dye 1,000 ppm",
    ]  # fmt: skip
    read = sum(check(mutated("\n".join(lot.sample(printed, 1 + lot.randrange(8) // 7)), lot)) for _ in range(8000))
    assert 1000 < read < 7500


@pytest.mark.parametrize(
    "unit",
    ["9", "1,", "(", "<", "(1", "(1%", "aroma(1%", "10 - ", "9 ", "1-", "a, ", "naphtha ", "CAS ", "min ", "12-34-"],
)
def test_the_longest_line_of_nonsense_comes_to_an_end(unit: str) -> None:
    check((unit * 2000)[:2000])

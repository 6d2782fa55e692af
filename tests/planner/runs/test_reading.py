"""Notes as people write them: headers, units, clocks, receivers, and what cannot be read."""

from __future__ import annotations

import codecs
from pathlib import Path

import pytest

from cutpoint.planner.runs.reading import MOST_ROWS, parse_run, read_run
from cutpoint.planner.runs.run import Run
from cutpoint.schema.errors import WrongRun

PLAIN = "time,head temperature,volume\n0,20,0\n10,78.2,5\n20,78.4,40\n30,79.0,80\n"


def parsed(text: str) -> Run:
    """The run in a text file."""
    return parse_run(text.encode(), "notes.csv")


def refused(text: str | bytes) -> str:
    """Why notes are refused."""
    with pytest.raises(WrongRun) as caught:
        parse_run(text.encode() if isinstance(text, str) else text, "notes.csv")
    return caught.value.message


def test_plain_notes() -> None:
    run = parsed(PLAIN)
    assert [row.line for row in run.rows] == [2, 3, 4, 5]
    assert [row.time_s for row in run.rows] == [0.0, 600.0, 1200.0, 1800.0]
    assert [row.reading_K for row in run.rows] == pytest.approx([293.15, 351.35, 351.55, 352.15])
    assert [row.volume_m3 for row in run.rows] == pytest.approx([0.0, 5e-6, 4e-5, 8e-5])
    assert len(run.compared) == 3
    assert any("before the first drop" in remark for remark in run.remarks)


@pytest.mark.parametrize(
    "header",
    [
        "t/min;T/°C;V/mL",
        "t (min);T_head [°C];volume (mL)",
        "clock;head °C;mL",
        "Time;Temp;ml collected",
        "elapsed min;T_head;total mL",
        "minutes;head temperature, C;distilled, cm3",
        "t;T;V",
        "TIME;TEMPERATURE;VOLUME",
        '"time";"head (degC)";"vol. / ml"',
        "time;thermometer reading;distillate",
    ],
)
def test_headers_in_the_usual_spellings(header: str) -> None:
    run = parsed(f"{header}\n1;78,2;5\n2;78,4;40\n3;79,0;80\n")
    assert [row.reading_K for row in run.rows] == pytest.approx([351.35, 351.55, 352.15])
    assert [row.volume_m3 for row in run.rows] == pytest.approx([5e-6, 4e-5, 8e-5])
    assert [row.time_s for row in run.rows] == [0.0, 60.0, 120.0]


def test_other_columns_are_left_out_and_said() -> None:
    run = parsed(
        "t/min\tpot °C\thead °C\tmL/min\tmL\treceiver\tnote\n"
        "1\t90\t78\t4\t5\tA\tcloudy\n2\t91\t78\t4\t9\t\t\n3\t92\t78\t4\t15\tB\t\n"
    )
    assert [row.reading_K for row in run.rows] == pytest.approx([351.15] * 3)
    assert [row.receiver for row in run.rows] == ["A", "A", "B"]
    assert [row.remark for row in run.rows] == ["cloudy", None, None]
    assert sum("left out" in remark for remark in run.remarks) == 2


@pytest.mark.parametrize(
    ("unit", "cells"),
    [
        ("°F", ("172.76", "173.12", "174.2")),
        ("F", ("172.76", "173.12", "174.2")),
        ("K", ("351.35", "351.55", "352.15")),
    ],
)
def test_units_of_temperature(unit: str, cells: tuple[str, ...]) -> None:
    run = parsed(f"T ({unit}),volume/L\n{cells[0]},0.005\n{cells[1]},0.04\n{cells[2]},0.08\n")
    assert [row.reading_K for row in run.rows] == pytest.approx([351.35, 351.55, 352.15])
    assert [row.volume_m3 for row in run.rows] == pytest.approx([5e-6, 4e-5, 8e-5])


@pytest.mark.parametrize(
    ("header", "times", "seconds"),
    [
        ("t/min", ("12.5", "13", "14"), (0.0, 30.0, 90.0)),
        ("time", ("0:05", "0:10", "1:10"), (0.0, 300.0, 3900.0)),
        ("time h:mm", ("0:05", "0:10", "1:10"), (0.0, 300.0, 3900.0)),
        ("time", ("00:00:30", "00:01:00", "01:00:00"), (0.0, 30.0, 3570.0)),
        ("time mm:ss", ("0:30", "1:00", "75:00"), (0.0, 30.0, 4470.0)),
        ("clock", ("14:05", "14:10", "15:00"), (0.0, 300.0, 3300.0)),
        ("clock", ("11:50 am", "12:10 pm", "1:00 pm"), (0.0, 1200.0, 4200.0)),
        ("clock", ("23:50", "0:10", "1:00"), (0.0, 1200.0, 4200.0)),
        ("time", ("2031-05-03 23:50", "2031-05-04 00:10", "2031-05-04T01:00"), (0.0, 1200.0, 4200.0)),
        ("t/h", ("0.5", "1", "1.5"), (0.0, 1800.0, 3600.0)),
        ("t/s", ("10", "", "70"), (0.0, None, 60.0)),
    ],
)
def test_times(header: str, times: tuple[str, ...], seconds: tuple[float | None, ...]) -> None:
    rows = "".join(f"{time},{78 + place},{5 + place}\n" for place, time in enumerate(times))
    run = parsed(f"{header},T,mL\n{rows}")
    assert tuple(row.time_s for row in run.rows) == pytest.approx(seconds)


def test_units_in_a_row_of_their_own() -> None:
    run = parsed("time,temperature,volume\nmin,(K),mL\n1,351,5\n2,351,6\n3,351,7\n")
    assert [row.reading_K for row in run.rows] == [351.0] * 3
    assert run.remarks == ()


def test_midnight_is_said() -> None:
    run = parsed("clock,T,mL\n23:50,78,5\n0:10,78,6\n1:00,78,7\n")
    assert "Between lines 2 and 3 the clock passed midnight." in run.remarks


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding: str, ends: str) -> None:
    text = "# batch of Monday\n\nt/min;T/°C;mL;note\n1;78,2;5;\n\n2;78,4;40;café\n;;;\n3;79;80;\n".replace("\n", ends)
    run = parse_run(text.encode(encoding), "notes.csv")
    assert [row.line for row in run.rows] == [4, 6, 8]
    assert run.rows[1].remark == "café"


def test_missing_values_are_kept_and_counted() -> None:
    run = parsed("t,T,V,note\n1,78,5,\n2,-,6,phone rang\n3,78,n/a,\n4,79,8,\n5,80,9,\n")
    assert len(run.rows) == 5
    assert len(run.compared) == 3
    assert "1 of 5 rows hold no head temperature and are not compared (line 3)." in run.remarks
    assert "1 of 5 rows hold no volume and are not compared (line 4)." in run.remarks


def test_a_remark_may_hold_commas() -> None:
    run = parsed("t,T,V,note\n1,78,5,cloudy, then clear\n2,78,6,\n3,79,7,\n")
    assert run.rows[0].remark == "cloudy, then clear"


def test_units_in_cells() -> None:
    run = parsed("t,T,V\n1 min,78.2 °C,5 mL\n2 min,172.76 F,6 mL\n3 min,~79 C,1 000 mL\n")
    assert [row.reading_K for row in run.rows] == pytest.approx([351.35, 351.35, 352.15])
    assert run.rows[2].volume_m3 == pytest.approx(1e-3)


def test_a_new_receiver_without_a_column() -> None:
    run = parsed("T,mL\n78,40\n78,95\n79,5\n80,60\n")
    assert [row.volume_m3 for row in run.rows] == pytest.approx([4e-5, 9.5e-5, 1e-4, 1.55e-4])
    assert [row.receiver for row in run.rows] == ["1", "1", "2", "2"]
    assert any("line 4" in remark for remark in run.remarks)


def test_every_receiver_began_at_zero_if_one_did() -> None:
    run = parsed("T,mL,receiver\n70,5,A\n78,20,B\n78,90,\n79,80,C\n")
    assert [row.volume_m3 for row in run.rows] == pytest.approx([5e-6, 2.5e-5, 9.5e-5, 1.75e-4])


def test_receivers_under_a_running_total() -> None:
    run = parsed("T,mL,receiver\n70,5,A\n78,20,B\n78,90,B\n79,95,C\n")
    assert [row.volume_m3 for row in run.rows] == pytest.approx([5e-6, 2e-5, 9e-5, 9.5e-5])


REFUSED = [
    ("", "empty"),
    (" \n\n", "empty"),
    ("# nothing\n\n", "only comments"),
    ("PK\x03\x04 sheet\n", "line 1 holds the control character 3"),
    ("1,78,5\n2,78,6\n3,79,7\n", "should name the columns"),
    ("time,volume\n1,5\n", "none of them is the head temperature"),
    ("time,T\n1,78\n", "none of them is the volume"),
    ("T,temp,V\n78,78,5\n", "Rename one"),
    ("T,collected (g)\n78,5\n", "mass"),
    ("t,T,V\n1,78,5\n2,78,6\n", "at least 3"),
    ("t,T,V\n1,78,5\n2,warm,6\n3,78,7\n", "Line 3: the head temperature 'warm' is no number"),
    ("t,T,V\n1,78,5\n2,780,6\n3,78,7\n", "Line 3: a head temperature of '780'"),
    ("t,T,V\n1,78,5\n2,-101,6\n3,78,7\n", "Line 3"),
    ("t,T,V\n1,78,-5\n2,78,6\n3,78,7\n", "Line 2: the volume '-5' is negative"),
    ("t,T,V\n1,78,5e9\n", "Line 2"),
    ("t,T,V\n1,78,5000000\n", "more than 1000 L"),
    ("t,T,V\n10,78,5\n5,78,6\n11,78,7\n", "backwards between lines 2 and 3"),
    ("t,T,V\n14:05,78,5\n13:05,78,6\n14:30,78,7\n", "midnight"),
    ("clock,T,V\n203:40,78,5\n0:10,78,6\n0:20,78,7\n", "backwards between lines 2 and 3"),
    ("t,T,V\n14:05,78,5\n20,78,6\n", "Line 2 tells the time with a colon and line 3 as a number"),
    ("t,T,V\n1:75,78,5\n", "end at 59"),
    ("t,T,V\n1,78,50\n2,78,40\n3,78,60\n", "falls from 50 mL in line 2 to 40 mL in line 3"),
    ("t,T,V\n1,78,50\n2,78,5\n3,78,60\n", "falls from 50 mL in line 2 to 5 mL in line 3"),
    ("t;T;V\n1;78;1,250\n", "thousands"),
    ("t,T,V\n1,78,2,5,3\n", "decimal sign"),
    ("t,T,V,note\n1,78,2,5,3\n", "decimal sign"),
    (codecs.BOM_UTF16_LE + b"a", "none of them"),
    (b"\xff\xd8\xff\xe0\x00\x10JFIF", "control character"),
]


@pytest.mark.parametrize(("text", "told"), REFUSED)
def test_what_cannot_be_read_is_said(text: str | bytes, told: str) -> None:
    assert told in refused(text)


def test_too_many_rows() -> None:
    assert str(MOST_ROWS) in refused("T,V\n" + "78,5\n" * (MOST_ROWS + 1))


def test_files_that_are_not_there(tmp_path: Path) -> None:
    with pytest.raises(WrongRun, match="no file"):
        read_run(tmp_path / "none.csv")
    with pytest.raises(WrongRun, match="folder"):
        read_run(tmp_path)
    with pytest.raises(WrongRun, match="cannot be read"):
        read_run(Path("a\0b"))
    path = tmp_path / "notes.csv"
    path.write_text(PLAIN, encoding="utf-8")
    assert len(read_run(path).rows) == 4

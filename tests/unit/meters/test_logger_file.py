"""Files of meters' loggers: what they say, and every mistake with its line."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.errors import FileAccessError, ReadingError
from lugwright.meters.logger_file import LoggedValue, logged_values, values_of_text, with_points

GOOD = """\
time,value,unit,function,point,step
10:00:01,203.1,V,DC V,V1 pin 1,all tubes
10:00:02,6.31,V,AC V,V2 pin 2 to pin 7,
10:00:03,OL,MOhm,,R14,ohms

10:00:05,+9.9E+37,Ohm,,R14,ohms
10:00:06,331.2,k\u2126,,V1 pin 1,ohms
10:00:07,-12.10,mVDC,,V2.5,
"""


def test_every_line_is_a_value_with_its_unit_point_and_step() -> None:
    assert [(v.line, v.value, v.point, v.step) for v in values_of_text(GOOD, "m.csv")] == [
        (2, "203.1 V dc", "V1 pin 1", "all tubes"),
        (3, "6.31 V ac", "V2 pin 2 to pin 7", ""),
        (4, "OL", "R14", "ohms"),
        (6, "OL", "R14", "ohms"),
        (7, "331.2 k\u2126", "V1 pin 1", "ohms"),
        (8, "-12.10 mVDC", "V2.5", ""),
    ]
    assert values_of_text(GOOD, "m.csv")[0].time == "10:00:01"


def test_a_comma_is_the_decimal_point_where_semicolons_part_the_cells() -> None:
    text = "\ufefftime;value;unit;point\r\n12:00;345,2;V;B+1\r\n12:01;-1,5E-3;V;R3, R4\r\n".removeprefix("\ufeff")
    assert [(v.value, v.point) for v in values_of_text(text, "m.csv")] == [("345.2 V", "B+1"), ("-1.5E-3 V", "R3, R4")]
    tabs = text.replace(";", "\t")  # 1,234 may be a thousand and more there
    assert [v.value for v in values_of_text(tabs, "m.csv")] == ["345,2 V", "-1,5E-3 V"]


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_other_delimiters_and_names_of_columns_are_understood(delimiter: str) -> None:
    text = "Timestamp,Reading,Units\r\n1,281,V\r\n".replace(",", delimiter)
    assert values_of_text(text, "m.csv") == (LoggedValue(2, "1", "281 V", "", ""),)


def test_files_are_read_in_both_usual_encodings(tmp_path: Path) -> None:
    path = tmp_path / "m.csv"
    for encoding in ("utf-8-sig", "cp1252"):
        path.write_bytes("value,unit\n12,\u00b5F\n".encode(encoding))
        assert [v.value for v in logged_values(path)] == ["12 \u00b5F"]


FIRST = "a first line that names the columns: time,value,unit and perhaps function,point,step"
TOP = "put that line at the top; take out what the logger writes above it"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", ("m.csv, line 1: this is no reading", "no column value or unit in nothing", FIRST, TOP)),
        ("Meter 5\nvalue,unit\n3,V\n",
         ("m.csv, line 1: this is no reading", "no column value or unit in meter 5", FIRST, TOP)),
        ("time,value\n1,3\n", ("m.csv, line 1: this is no reading", "no column unit in time, value", FIRST, TOP)),
        ("value,unit\n", ("m.csv: this is no reading", "no line with a value", "at least one reading",
                          "export it again")),
        ("value,reading,unit\n1,2,V\n",
         ("m.csv, line 1: this is no reading", "2 columns for value", "one", "take the others out")),
        ("value,unit\n3\n", ("m.csv, line 2: this is no reading", "1 cell", "as many as the first line names: 2",
                             "correct it")),
        ("value,unit\n,V\n", ("m.csv, line 2: this is no reading", "no value",
                              "what the meter showed, OL for over range", "take the line out")),
        ('value,unit\n"3,V\n', ("m.csv, line 2: this is no reading", "unexpected end of data",
                                "comma-separated values", "export it again")),
    ],
)  # fmt: skip
def test_what_is_no_such_file_is_refused(text: str, words: tuple[str, ...]) -> None:
    with pytest.raises(ReadingError) as caught:
        values_of_text(text, "m.csv")
    error = caught.value
    assert (error.what, error.found, error.wanted, error.do) == words


def test_all_mistakes_are_told_with_their_lines() -> None:
    with pytest.raises(ReadingError) as caught:
        values_of_text("value,unit\n3\n4,V\n,V\n5\n", "m.csv")
    told = [caught.value, *caught.value.others]
    assert [error.what for error in told] == [f"m.csv, line {n}: this is no reading" for n in (2, 4, 5)]


def test_points_of_the_command_line_go_with_the_lines_in_their_order() -> None:
    values = values_of_text("value,unit\n3,V\n4,V\n", "m.csv")
    assert [(v.value, point) for v, point in with_points(values, ["B+1", "B+2"])] == [("3 V", "B+1"), ("4 V", "B+2")]
    with pytest.raises(ReadingError) as caught:
        list(with_points(values, ["B+1"]))
    assert (caught.value.what, caught.value.found, caught.value.wanted, caught.value.do) == (
        "points and lines do not go together",
        "points on the command line: 1, lines: 2",
        "one point for each line, in its order, and no column point",
        "leave points out, or take lines out",
    )
    with pytest.raises(ReadingError) as caught:
        list(with_points(values, []))
    assert (caught.value.what, caught.value.found, caught.value.wanted, caught.value.do) == (
        "nobody says where these were read",
        "no point in line 2, 3",
        "a column point, or the points on the command line in the order of the lines",
        'add them: lugwright read FILE --from METER.csv "V1 pin 1" "V1 pin 6"',
    )
    own = values_of_text("value,unit,point\n3,V,B+1\n", "m.csv")
    with pytest.raises(ReadingError) as caught:
        list(with_points(own, ["B+1"]))
    assert caught.value.found == "points on the command line: 1, lines: 1, with points of their own"


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    for path, found in ((tmp_path / "gone.csv", "No such file or directory"), (tmp_path, "Is a directory")):
        with pytest.raises(FileAccessError) as caught:
            logged_values(path)
        assert (caught.value.what, caught.value.found) == (f"{path} cannot be read", found)
        assert caught.value.wanted == "the file of a meter's logger, as comma-separated values"
        assert caught.value.do == "check the name and the folder"


@settings(deadline=None, derandomize=True, max_examples=300)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    for whole in (text, f"value,unit\n{text}"):
        try:
            values_of_text(whole, "m.csv")
        except ReadingError as error:
            assert error.what.startswith("m.csv")  # noqa: PT017

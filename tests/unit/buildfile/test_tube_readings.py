"""Readings of tubes from a CSV file: what is read, and every mistake word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.tube_readings import TubeReading, read_tube_readings, tube_readings
from lugwright.errors import FileAccessError

HEAD = "tube,grid_v,plate_v,screen_v,plate_ma,screen_ma\n"


def told(text: str | bytes, *, screened: bool = True) -> list[str]:
    """Return what is said of a file, one line for each mistake."""
    raw = text.encode() if isinstance(text, str) else text
    result = tube_readings(raw, "six.csv", screened=screened)
    assert not result.readings
    return [f"{f.place}: {f.what} | {f.found} | {f.wanted} | {f.do}" for f in result.findings]


def test_volts_and_milliamperes_are_read_and_what_was_not_read_is_none() -> None:
    result = tube_readings(f"# Tuesday\n{HEAD}\na,-41,405,400,35.2,\n".encode(), "six.csv", screened=True)
    assert result.findings == ()
    assert result.readings == (TubeReading(4, "a", -41.0, 405.0, 400.0, pytest.approx(0.0352), None, None),)


def test_semicolons_with_decimal_commas_are_read_and_columns_come_in_any_order() -> None:
    text = "\ufeffcathode_ma;Plate_V;grid_v;screen_v\n38,1;405;-41,5;400\n"
    (reading,) = tube_readings(text.encode(), "six.csv", screened=True).readings
    assert (reading.tube, reading.grid_v, reading.plate_v) == ("tube", -41.5, 405.0)
    assert (reading.plate_a, reading.cathode_a) == (None, pytest.approx(0.0381))


def test_a_misspelled_column_is_told_with_the_nearest_and_what_is_missing() -> None:
    assert told("tube,grid_v,plate_v,scren_v,plate_ma,plate_ma\n") == [
        "six.csv:1: unknown column 'scren_v' | scren_v | one of tube, grid_v, plate_v, screen_v, plate_ma, "
        "cathode_ma, screen_ma | write 'screen_v'",
        "six.csv:1: column 'plate_ma' stands there twice | tube, grid_v, plate_v, scren_v, plate_ma, plate_ma | "
        "each name once | take one out",
        "six.csv:1: no column screen_v | tube, grid_v, plate_v, scren_v, plate_ma, plate_ma | the columns grid_v, "
        "plate_v, screen_v, plate_ma (or cathode_ma); as you like tube, screen_ma | add screen_v",
    ]


def test_a_screen_column_for_a_triode_is_a_mistake() -> None:
    assert told("grid_v,plate_v,screen_v\n-1,100,4\n", screened=False) == [
        "six.csv:1: no column plate_ma | grid_v, plate_v, screen_v | the columns grid_v, plate_v, plate_ma; as you "
        "like tube | add plate_ma",
        "six.csv:1: column 'screen_v' for a tube without a screen | screen_v | the columns grid_v, plate_v, plate_ma; "
        "as you like tube | take it out, or name another type",
    ]


def test_every_bad_cell_is_told_at_once_with_its_line() -> None:
    rows = "a,41,x,400,35,\na,-41,405,400\nb,-41,405,4000,35,2\nb,,405,400,nan,2\nb,-41,405,400,,2\n"
    assert told(HEAD + rows) == [
        "six.csv:2: grid_v is positive | 41 | grid against cathode, zero or negative, such as -41.0 | "
        "write the minus sign",
        "six.csv:2: plate_v is no number | x | plate against cathode, such as 405 | write digits and a point",
        "six.csv:3: the line does not fit the columns | 4 cells | 6: tube, grid_v, plate_v, screen_v, plate_ma, "
        "screen_ma | give every column a cell, an empty one where nothing was read",
        "six.csv:4: screen_v is out of range | 4000 | screen against cathode, such as 400; 0 to 1000 | "
        "check the column and the unit",
        "six.csv:5: grid_v is empty | an empty cell | grid against cathode, zero or negative, such as -41.0 | "
        "write the volts",
        "six.csv:5: plate_ma is no number | nan | plate current in mA, such as 35.2 | write digits and a point",
        "six.csv:6: no current was read | an empty cell | plate_ma or cathode_ma | "
        "write the current, or take the line out",
    ]


def test_an_empty_file_a_head_alone_and_other_bytes_are_told() -> None:
    assert told("\n\n") == [
        "six.csv:1: the file holds no readings | nothing | the columns grid_v, plate_v, screen_v, plate_ma (or "
        "cathode_ma); as you like tube, screen_ma | write the names of the columns, then one line for each reading"
    ]
    assert told(HEAD) == [
        "six.csv:1: no reading below the names of the columns | nothing | one line for each reading | "
        "write the readings below"
    ]
    assert told(b"tube\n\xff") == [
        "six.csv:2: the file is not UTF-8 text | byte 0xff | UTF-8 | save it as CSV in UTF-8"
    ]
    assert told(b"a" * 1_000_001) == ["six.csv:1: the file is too large | more than 1 MB | at most 1 MB | split it"]
    many = HEAD + "a,-41,405,400,35,\n" * 5001
    assert told(many) == ["six.csv:1: too many readings | 5001 | at most 5000 | split the file"]


def test_control_characters_reach_no_terminal() -> None:
    assert "\x1b" not in told("grid_v\x1b[2J,plate_v\n")[0]


def test_a_file_that_is_not_there_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(FileAccessError) as caught:
        read_tube_readings(tmp_path / "none.csv", screened=True)
    assert str(caught.value).splitlines() == [
        "none.csv cannot be read",
        "  found:  No such file or directory",
        "  wanted: a CSV file of readings",
        "  do:     check the path",
    ]

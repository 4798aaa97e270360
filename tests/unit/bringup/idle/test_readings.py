from __future__ import annotations

import pytest

from lugwright.bringup.idle.measured import Bench
from lugwright.errors import NoSuchPoint, ReadingError

from .conftest import bench_at, reader_of


@pytest.mark.parametrize(
    ("text", "what", "value", "unit", "step"),
    [
        ("V5 = 34.2 mV", "cathode", 0.0342, "V", 1e-4),
        ("v5=0.0342 V", "cathode", 0.0342, "V", 1e-4),
        ("  V5   plate =405 V ", "plate", 405.0, "V", 1.0),
        ("V5 plate-to-cathode = 404.5V", "plate to cathode", 404.5, "V", 0.1),
        ("V5 Screen = 398 V", "screen", 398.0, "V", 1.0),
        ("V5 grid = -41.3 V", "grid", -41.3, "V", 0.1),
        ("V5 b+ = 408 V", "B+", 408.0, "V", 1.0),
        ("V5 primary = 2.87 V", "primary", 2.87, "V", 0.01),
        ("V5 screen resistor = 1.2 V", "screen resistor", 1.2, "V", 0.1),
        ("V5 = 36 mA", "adapter", 0.036, "A", 1e-3),
        ("V5 shunt = 36.5 mA", "shunt", 0.0365, "A", 1e-4),
        ("V5 primary ohms = 67.9 ohm", "primary ohms", 67.9, "ohm", 0.1),
        ("V5 resistor ohms = 1.02 Ω", "cathode resistor ohms", 1.02, "ohm", 0.01),
        ("V5 pin 8 = 34.2 mV", "cathode", 0.0342, "V", 1e-4),
        ("V5.plate = 405 V", "plate", 405.0, "V", 1.0),
        ("V5 pin 3 to pin 8 = 404 V", "plate to cathode", 404.0, "V", 1.0),
        ("across R43 = 1.05 V", "screen resistor", 1.05, "V", 0.01),
        ("V5.plate to B+1 = -2.87 V", "primary", 2.87, "V", 0.01),
        ("B+1 = 408 V", "B+", 408.0, "V", 1.0),
    ],
)
def test_a_reading_says_tube_place_value_and_last_digit(
    godwit_bench: Bench, text: str, what: str, value: float, unit: str, step: float
) -> None:
    reading = reader_of(godwit_bench).of(text)
    assert (reading.tube, reading.what, reading.unit) == ("V5", what, unit)
    assert (reading.value, reading.step) == (pytest.approx(value), pytest.approx(step))


def test_tips_of_the_meter_stand_on_the_joints_that_the_words_name(godwit_bench: Bench) -> None:
    def ends(text: str) -> tuple[str, str]:
        reading = reader_of(godwit_bench).of(text)
        return reading.red, reading.black

    assert ends("V5 = 40 mV") == ("V5.cathode", "ground")
    assert ends("V5 plate to cathode = 400 V") == ("V5.plate", "V5.cathode")
    assert ends("V5 primary = 2.8 V") == ("B+1", "V5.plate")
    assert ends("V6 primary = 2.6 V") == ("B+1", "V6.plate")
    assert ends("V5 screen resistor = 1.1 V") == ("B+2", "V5.screen")


def test_the_last_reading_of_a_place_counts(godwit_bench: Bench) -> None:
    first, second = "V5 = 30 mV", "V5 pin 8 = 34.2 mV"
    (reading,) = reader_of(godwit_bench).of_all([first, second])
    assert reading.said == second


WHATS = (
    "cathode, cathode to ground, plate, plate to cathode, screen, grid, B+, primary, screen resistor, adapter, shunt, "
    "cathode resistor ohms, primary ohms, screen resistor ohms"
)
FORM = "a tube, what is read, and a value with its unit: 'V5 = 34.2 mV', 'V5 plate = 405 V'"
VALUE = "a value with its unit: 34.2 mV, 405 V, 62 ohm"
DIRECT = "an idle is read in direct volts, milliamperes or ohms"
RANGE = "set the meter to DC and to a range that holds the value"


@pytest.mark.parametrize(
    ("text", "what", "found", "wanted", "do"),
    [
        ("V5 34 mV", "this is no reading", "'V5 34 mV'", FORM, "write it so, in quotes"),
        ("", "this is no reading", "''", FORM, "write it so, in quotes"),
        ("V1 pin 3 = 1.4 V", "V1 pin 3 tells nothing of the idle", "'V1 pin 3 = 1.4 V'", f"a point of V5, V6: {WHATS}",
         "read the output tubes; other points go into the log with lugwright read"),
        ("V5 = 34", DIRECT, "'34'", VALUE, RANGE),
        ("V5 = OL", DIRECT, "'OL'", VALUE, RANGE),
        ("V5 = 6.3 Vac", DIRECT, "'6.3 Vac'", VALUE, RANGE),
        ("V5 plate = 4050 V", "no meter shows that at an output tube", "'V5 plate = 4050 V'", "at most 2000 V",
         "check the digits and the unit"),
        ("V5 plate = 40 mA", "plate is not read in amperes (mA, A)", "'V5 plate = 40 mA'", "a value in volts (V, mV)",
         f"check the unit, or name what was read: {WHATS}"),
        ("V5 = 47 nF", "cathode is not read in that unit", "'V5 = 47 nF'", "a value in volts (V, mV)",
         f"check the unit, or name what was read: {WHATS}"),
        ("V5 plate = -405 V", "V5 plate cannot be negative", "'V5 plate = -405 V'", "a value above zero",
         "black lead to ground, red to the point; turn the leads and read again"),
        ("V5 primary ohms = 0 ohm", "V5 primary ohms cannot be zero", "'V5 primary ohms = 0 ohm'",
         "the ohms of a resistor or a winding", "zero the leads and read again"),
    ],
)  # fmt: skip
def test_what_is_no_reading_is_refused_in_words(
    godwit_bench: Bench, text: str, what: str, found: str, wanted: str, do: str
) -> None:
    with pytest.raises(ReadingError) as refused:
        reader_of(godwit_bench).of(text)
    error = refused.value
    assert (error.what, error.found, error.wanted, error.do) == (what, found, wanted, do)


@pytest.mark.parametrize("text", ["V5 = 34,2 mV", "V5 = nan V", "V5 = 1e9 V", "V5 = ", "V5 = -3 ohm"])
def test_what_no_meter_shows_is_refused(godwit_bench: Bench, text: str) -> None:
    with pytest.raises(ReadingError):
        reader_of(godwit_bench).of(text)


@pytest.mark.parametrize("text", ["V5 plaet = 400 V", "V9 = 34 mV", "V5 pin 44 = 1 V"])
def test_a_point_that_is_not_there_is_refused(godwit_bench: Bench, text: str) -> None:
    with pytest.raises(NoSuchPoint):
        reader_of(godwit_bench).of(text)


def test_a_part_the_tube_does_not_have_cannot_be_read() -> None:
    wired = bench_at("godwit_40", ('R43 = { value = "470", watts = 2, ends = ["B+2", "V5.screen"] }\n', ""),
                     ("[stage.output]\n", '[stage.output]\njoined = [["B+2", "V5.screen"]]\n'))  # fmt: skip
    with pytest.raises(ReadingError) as refused:
        reader_of(wired).of("V5 screen resistor = 1 V")
    error = refused.value
    assert (error.what, error.found, error.wanted, error.do) == (
        "V5 has no screen resistor", "nothing of it in the build file", "something of that tube that can be read",
        "read the volts over its cathode resistor",
    )  # fmt: skip


def test_a_flood_of_readings_is_refused(godwit_bench: Bench) -> None:
    with pytest.raises(ReadingError) as refused:
        reader_of(godwit_bench).of_all(["V5 = 30 mV"] * 100_000)
    error = refused.value
    assert (error.what, error.found, error.wanted, error.do) == (
        "too many readings for one idle", "100000", "at most 200", "give the last one of each point",
    )  # fmt: skip

"""What a meter showed is read strictly: the value, its unit and the last place of the display; or it is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.bringup.meter_value import Shown, shown
from lugwright.errors import ReadingError


@pytest.mark.parametrize(
    ("text", "value", "unit", "alternating", "digit"),
    [
        ("203", 203.0, "", None, 1.0),
        ("203 V", 203.0, "V", None, 1.0),
        ("203V", 203.0, "V", None, 1.0),
        ("-38.5 V", -38.5, "V", None, 0.1),
        ("\u221238.50 Vdc", -38.5, "V", False, 0.01),
        ("6.28 Vac", 6.28, "V", True, 0.01),
        ("6.28 V~", 6.28, "V", True, 0.01),
        ("12 mV", 0.012, "V", None, 0.001),
        ("34.2 mA", 0.0342, "A", None, 1e-4),
        ("98k2", 98200.0, "ohm", None, 100.0),
        ("98.20k", 98200.0, "ohm", None, 10.0),
        ("98.2 k", 98200.0, "ohm", None, 100.0),
        ("4.7 kohm", 4700.0, "ohm", None, 100.0),
        ("1.02 M\u2126", 1.02e6, "ohm", None, 1e4),
        ("4R7", 4.7, "ohm", None, 0.1),
        ("22.1 nF", 22.1e-9, "F", None, 1e-10),
        ("47 \u00b5F", 47e-6, "F", None, 1e-6),
        ("+1.2345E+02 V", 123.45, "V", None, 0.01),
    ],
)
def test_a_value_is_read_with_its_unit_and_its_last_place(
    text: str, value: float, unit: str, alternating: bool | None, digit: float
) -> None:
    found = shown(text)
    assert (found.unit, found.alternating) == (unit, alternating)
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.digit == pytest.approx(digit, rel=1e-9)


@pytest.mark.parametrize("text", ["OL", "O.L", "0L", "ol", "over range", "overload", "open"])
def test_over_range_has_many_names(text: str) -> None:
    assert shown(text) == Shown(math.inf, "", None, 0.0)
    assert shown("OL Mohm").unit == "ohm"


def refusal(text: str) -> tuple[str, str, str, str]:
    with pytest.raises(ReadingError) as caught:
        shown(text)
    return caught.value.what, caught.value.found, caught.value.wanted, caught.value.do


WANTED = 'a number with its unit as the meter shows it: "203 V", "98k2", "-38.5 V", "6.28 Vac", "12 mV", or "OL"'


@pytest.mark.parametrize(
    ("text", "found", "wanted", "do"),
    [
        ("about 200", "about 200", WANTED, "correct that value"),
        ("1,5", "1,5", WANTED, "write a point, not a comma"),
        ("12m", "12m", WANTED, "correct that value"),
        ("", "", WANTED, "correct that value"),
        ("nan", "nan", WANTED, "correct that value"),
        ("\u00b2", "\u00b2", WANTED, "correct that value"),
        ("1" * 50, "50 letters", WANTED, "write one value"),
        ("1e9 V", "1e+09 V", "at most 5000 V: no meter at a bench shows more",
         "check the letter before the unit: m is small, k and M are large"),
        ("1e400", "inf", "at most 1e9: no meter at a bench shows more",
         "check the letter before the unit: m is small, k and M are large"),
        ("-3 ohm", "-3 ohm", "ohms that are not negative",
         "negative ohms mean that volts stand there: plug out, every filter capacitor below 60 V, then read again"),
        ("-5 Vac", "-5 V ac", "volts of alternating current without a sign", "take the sign out"),
    ],
)  # fmt: skip
def test_what_no_meter_shows_is_refused(text: str, found: str, wanted: str, do: str) -> None:
    assert refusal(text) == (f"{text[:40]!r} is not what a meter shows", found, wanted, do)


@settings(deadline=None, derandomize=True, max_examples=400)
@given(st.text(max_size=45))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = shown(text)
    except ReadingError:
        return
    assert not math.isnan(found.value)


@settings(deadline=None, derandomize=True, max_examples=200)
@given(st.decimals(min_value=-5000, max_value=5000, places=3, allow_nan=False))
def test_every_number_of_volts_comes_back(number: object) -> None:
    assert shown(f"{number} V").value == float(f"{number}")

"""The limiter lamp as a reading: words or volts, held against the lamp of its step."""

from __future__ import annotations

import pytest

from lugwright.bringup.lamp_reading import BEND, judged_lamp, lamp_volts, looks_words
from lugwright.bringup.results import LampWindow
from lugwright.errors import ReadingError

WINDOW = LampWindow(40.0, 120.0, 14.6, 12.0, 18.0)


@pytest.mark.parametrize(
    ("text", "volts", "width"), [("14 V", 14.0, 1.0), ("14.5", 14.5, 0.1), ("120", 120.0, 1.0), ("0 V", 0.0, 1.0)]
)
def test_volts_are_taken_as_they_are(text: str, volts: float, width: float) -> None:
    assert lamp_volts(text, 120.0) == pytest.approx((volts, width))


@pytest.mark.parametrize(
    ("text", "looks"),
    [
        ("Dark", "dark"), ("a dull red glow", "a dull red glow"), ("orange", "a dim orange glow"),
        ("clearly lit", "clearly lit"), ("BRIGHT", "full brightness"),
    ],
)  # fmt: skip
def test_a_word_is_the_middle_of_what_is_called_so(text: str, looks: str) -> None:
    volts, width = lamp_volts(text, 120.0)
    assert looks_words((volts / 120.0) ** BEND) == looks
    inside = (volts + 0.49 * width) / 120.0, max((volts - 0.49 * width) / 120.0, 0.0)
    assert {looks_words(share**BEND) for share in inside} == {looks}


def test_words_that_no_lamp_is_are_refused() -> None:
    with pytest.raises(ReadingError) as error:
        lamp_volts("dul", 120.0)
    assert str(error.value).splitlines() == [
        "'dul' is not how a lamp looks",
        "  found:  dul",
        '  wanted: "dark", "dull", "dim", "lit" or "full", or the volts across it: "14 V"',
        "  do:     write 'dull'",
    ]
    with pytest.raises(ReadingError) as blue:
        lamp_volts("blue", 120.0)
    assert blue.value.do == "write one of these words"


@pytest.mark.parametrize("text", ["400 V", "4k7", "-3 V"])
def test_volts_that_cannot_stand_on_it_are_refused(text: str) -> None:
    with pytest.raises(ReadingError) as error:
        lamp_volts(text, 120.0)
    assert str(error.value).splitlines() == [
        f"{text!r} cannot stand on the lamp",
        f"  found:  {text}",
        '  wanted: "dark", "dull", "dim", "lit" or "full", or the volts across it: "14 V", at most the 120 V of the '
        "mains",
        "  do:     say how it looks",
    ]


@pytest.mark.parametrize(
    ("text", "verdict", "shown"),
    [
        ("14 V", "ok", "a dull red glow, 14 V"),
        ("dull", "ok", "a dull red glow, 18 V"),
        ("dark", "low", "dark, 5 V"),
        ("lit", "high", "clearly lit, 78 V"),
        ("18.6 V", "high", "a dull red glow, 19 V"),
    ],
)
def test_the_lamp_is_held_against_its_window(text: str, verdict: str, shown: str) -> None:
    found = judged_lamp("no tubes, lamp", "step 5", *lamp_volts(text, 120.0), WINDOW)
    assert (found.verdict, found.shown, found.window) == (verdict, shown, "12 V to 18 V")
    assert found.low == pytest.approx(0.1)
    assert found.high == pytest.approx(0.15)
    assert found.quantity == "lamp"


def test_without_a_window_nothing_is_judged() -> None:
    assert judged_lamp("old, lamp", "old, lamp", 0.25, 0.1, None).verdict == "not charted"

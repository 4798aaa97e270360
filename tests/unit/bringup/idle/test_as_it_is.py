"""A cathode resistor that may stay is said to."""

from __future__ import annotations

from dataclasses import replace

from lugwright.bringup.idle_results import Advice, ResistorRow, Target

TARGET = Target("cathode bias", 0.8, 1.0, 0.9, "80 to 100 percent")
NOW = ResistorRow(390.0, ("R12",), True, False, 16.5, 39.4e-3, 0.87, 0.70)
BEST = ResistorRow(360.0, ("R12",), False, True, 15.9, 41.0e-3, 0.89, 0.70)
ADVICE = Advice(TARGET, (), (), (BEST, NOW), None, ())


def test_a_resistor_inside_the_band_need_not_be_the_nearest_to_the_aim() -> None:
    assert ADVICE.as_it_is == (
        "As it is, the hottest tube takes 87% of its limit: inside 80% to 100%. Nothing has to be changed."
    )


def test_outside_the_band_nothing_is_said_to_be_right() -> None:
    for share in (0.79, 1.01):
        assert replace(ADVICE, resistors=(BEST, replace(NOW, share=share))).as_it_is == ""


def test_where_there_is_no_resistor_to_change_nothing_is_said() -> None:
    assert replace(ADVICE, resistors=()).as_it_is == ""

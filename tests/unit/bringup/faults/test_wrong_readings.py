"""Readings taken wrongly: what the meter shows then, and the words for it."""

from __future__ import annotations

import pytest

from lugwright.bringup.faults.wrong_readings import WrongReading, wrong_readings

from .bench import case_of

VOLTS = {("V1.1", "V dc"): 200.0, ("V1.1", "V ac"): 0.01, ("V1.2", "V dc"): -0.2, ("V1.3", "V dc"): 1.5}


def readings() -> dict[str, WrongReading]:
    case = case_of()
    found = wrong_readings("V1.2", "V dc", beside=case.neighbors, labels=case.label)
    return {wrong.key: wrong for wrong in found}


def value(key: str, quantity: str) -> float:
    return VOLTS[key, quantity]


def test_a_tip_on_the_next_pin_shows_what_that_pin_has() -> None:
    assert readings()["tip on V1.3"].shown(value) == 1.5
    assert readings()["tip on V1.1"].shown(value) == 200.0


def test_pins_are_counted_again_at_a_socket_and_lugs_on_a_strip() -> None:
    case = case_of()
    assert readings()["tip on V1.3"].do == "read it again, and count the pins from below"
    lug = next(key for key, t in case.plan.terminals.items() if t.kind == "lug" and case.neighbors.get(key))
    ways = wrong_readings(lug, "V dc", beside=case.neighbors, labels=case.label)
    assert next(way for way in ways if way.key.startswith("tip on")).do == "read it again, and count the lugs"


def test_a_joint_by_its_own_name_has_no_neighbors_and_no_words_of_a_place() -> None:
    case = case_of()
    assert "B+1" not in case.plan.terminals
    keys = {way.key for way in wrong_readings("B+1", "V dc", beside=case.neighbors, labels=case.label)}
    assert "range 10" in keys
    assert not any(key.startswith("tip on") for key in keys)


def test_a_misread_range_is_off_by_decades() -> None:
    assert readings()["range 10"].shown(value) == pytest.approx(-2.0)
    assert readings()["range 0.001"].shown(value) == pytest.approx(-2e-4)


def test_the_wrong_kind_of_volts_is_read_at_the_same_pin() -> None:
    wrong = readings()["set to V ac"]
    assert (wrong.red, wrong.quantity) == ("V1.2", "V ac")
    assert not any(key.startswith("set to") for key in _keys("ohm"))


def _keys(quantity: str) -> list[str]:
    return [w.key for w in wrong_readings("V1.2", quantity, beside=case_of().neighbors, labels=case_of().label)]


def test_wrong_readings_are_said_in_a_builders_words() -> None:
    said = {key: (wrong.what, wrong.do) for key, wrong in readings().items()}
    assert said == {
        "tip on V1.1": (
            "the tip was on V1 pin 1 (plate a) instead of V1 pin 2 (grid a)",
            "read it again, and count the pins from below",
        ),
        "tip on V1.3": (
            "the tip was on V1 pin 3 (cathode a) instead of V1 pin 2 (grid a)",
            "read it again, and count the pins from below",
        ),
        "range 0.1": (
            "the reading is ten times too low: the range, or the k or m beside it, was misread",
            "read it again on a range chosen by hand",
        ),
        "range 10": (
            "the reading is ten times too high: the range, or the k or m beside it, was misread",
            "read it again on a range chosen by hand",
        ),
        "range 0.001": (
            "the reading is a thousand times too low: the range, or the k or m beside it, was misread",
            "read it again on a range chosen by hand",
        ),
        "range 1000": (
            "the reading is a thousand times too high: the range, or the k or m beside it, was misread",
            "read it again on a range chosen by hand",
        ),
        "set to V ac": ("the meter was set to V ac instead of V dc", "look at the dial and read it again"),
    }

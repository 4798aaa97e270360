"""Electrolytics in series: their resistors, word for word."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Capacitor, Part
from lugwright.circuit.rules.stacked_capacitors import equalizing_ohm, leakage_a

from .rating_bench import BODY, build_of, idle_of, part, resistor, told

RULES = ("stacked-capacitors",)


def electrolytic(name: str, plus: str, minus: str) -> Part:
    return part(name, "capacitor", Capacitor(100e-6, 0.2, 350.0, "electrolytic", BODY), _1=plus, _2=minus)


def words(*more: Part, volts: float = 400.0) -> list[str]:
    build = build_of(electrolytic("C1", "B+", "middle"), electrolytic("C2", "middle", "ground"), *more)
    return told(build, idle_of(build, volts={"B+": volts, "middle": 0.5 * volts}), rules=RULES)


def test_a_stack_with_its_resistors() -> None:
    found = words(resistor("R1", 220e3, "B+", "middle"), resistor("R2", 220e3, "ground", "middle"))
    assert found == [
        "C1: resistor across it, in a stack: 220 kΩ of 463 kΩ",
        "C2: resistor across it, in a stack: 220 kΩ of 463 kΩ",
    ]


def test_a_stack_without() -> None:
    assert words()[:4] == [
        "amp.toml:7: fault: nothing makes C1 take its share of the volts [stacked-capacitors]",
        "found:  no resistor across it, 440 V over both on high mains, rated 350 V each",
        "wanted: at most 463 kΩ across each",
        "do:     put equal resistors across both",
    ]


def test_a_resistor_that_is_too_large() -> None:
    found = words(resistor("R1", 220e3, "B+", "middle"), resistor("R2", 1e6, "middle", "ground"))
    assert found[2:] == [
        "amp.toml:7: fault: the resistor across C2 is too large to share out the volts [stacked-capacitors]",
        "found:  1.00 MΩ across it, 440 V over both on high mains, rated 350 V each",
        "wanted: at most 463 kΩ across each",
        "do:     put equal resistors across both",
    ]


def test_two_that_are_not_enough_together() -> None:
    assert words(volts=700.0)[2:4] == ["wanted: more rated volts", "do:     use capacitors of a higher rating"]


def test_capacitors_that_only_share_ground_are_no_stack() -> None:
    build = build_of(electrolytic("C1", "B+", "ground"), electrolytic("C2", "ground", "bias"))
    assert told(build, idle_of(build, volts={"B+": 400.0, "bias": -50.0}), rules=RULES) == []


def test_arithmetic_of_the_resistor() -> None:
    assert equalizing_ohm(rated_v=350.0, total_v=600.0, leak_a=0.5e-3) == pytest.approx(200e3)
    assert leakage_a(farad=100e-6, volts=400.0) == pytest.approx(0.6e-3)

"""What a builder is told of each kind of fault, word for word."""

from __future__ import annotations

import pytest

from .bench import faults
from .one_stage import number_of

SAID = {
    f"missing W{number_of('V1.1', 'A.3')}": (
        "F52",
        "wire W18, blue, from V1 pin 1 (a plate) to strip A lug 3, is missing",
        "solder it in",
        "",
    ),
    f"missing W{number_of('T1.hv.1', 'B.1')}": (
        "F20",
        "lead W10, red, from T1 hv.1 lead to strip B lug 1, is missing",
        "solder its end in at strip B lug 1",
        "",
    ),
    f"missing W{number_of('P1.earth', 'chassis.1')}": (
        "F01",
        "wire W1, green-yellow, from P1 earth to earth bolt, is missing",
        "fit it, and measure under 0.1 ohm from one end to the other",
        "without its protective earth the metal goes live when insulation fails inside: pull the plug",
    ),
    f"missing W{number_of('ground.2', 'chassis.2')}": (
        "F92",
        "wire W2, black, from ground point 2 to bond bolt, is missing",
        "fit it, and measure under 0.1 ohm from one end to the other",
        "the metal and the circuit are not tied together: either may stand at any voltage",
    ),
    "open R3": ("F40", "R3 (100 kΩ) is open", "lift one lead and measure it; put in a new one", ""),
    "open R9": (
        "F27",
        "R9 (220 kΩ) is open",
        "lift one lead and measure it; put in a new one",
        "the filter capacitors stay charged after switch-off: measure each one before a hand goes in",
    ),
    "shorted R4": (
        "F44",
        "R4 (1.5 kΩ) is shorted",
        "look for a blob or a strand across it; lift one lead and measure it",
        "",
    ),
    "decade R4 150": ("F45", "R4 is 150 Ω instead of 1.5 kΩ", "read it again; put in 1.5 kΩ", ""),
    "misread R6 2e+04": ("F58", "R6 is 20 kΩ instead of 10 kΩ", "read it again; put in 10 kΩ", ""),
}


@pytest.mark.parametrize("key", SAID)
def test_each_kind_is_said_in_a_builders_words(key: str) -> None:
    fault = faults()[key]
    assert (fault.code, fault.what, fault.do, fault.danger) == SAID[key]

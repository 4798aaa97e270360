"""What is asked for over the counter."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import (
    Can,
    Capacitor,
    Choke,
    Fitted,
    Fuse,
    Jack,
    Pot,
    Resistor,
    Speaker,
    Switch,
    Transformer,
    Winding,
)  # fmt: skip
from lugwright.buildfile.buying_words import buying_words, drawer
from lugwright.catalogue.records import Body
from lugwright.sources import Source

BODY = Body(6.0, 16.0, 0.7, 1.0, Source("made up for this test"))


def winding(name: str, turns: tuple[float, ...], amps: float | None = None, ohms: tuple[float, ...] = ()) -> Winding:
    return Winding(name, (), turns, (), amps, (), ohms)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (
            Resistor(100e3, 0.05, 1.0, 350.0, BODY, "carbon composition"),
            "100 kΩ 5 % 1 W carbon composition (brown black yellow gold)",
        ),
        (Resistor(1234.0, 0.02, 0.5, 350.0, BODY), "1.23 kΩ 2 % 0.5 W metal film"),
        (Pot(1e6, 0.2, "audio", 0.5, 0.25, "Volume"), "pot 1 MΩ audio"),
        (Pot(1e6, 0.2, "audio", 0.5, 0.25, "Volume", True), "pot 1 MΩ audio with switch"),
        (Switch(2, ("off", "on"), "on", "Mains", 250.0, 3.0), "switch 2 poles, 2 positions, 250 V 3 A"),
        (Switch(1, ("a", "b", "c"), "a", "Voice", 250.0, 3.0), "switch 1 pole, 3 positions, 250 V 3 A"),
        (Jack(True, True, False, "In"), "isolated jack with switch"),
        (Fuse(2.0, "slow", 250.0, 0.1), "fuse 2 A slow 250 V, with holder"),
        (Choke(5.0, 110.0, 0.1), "choke 5 H 110 Ω 0.1 A"),
        (Speaker(8.0, 60.0), "speaker 8 Ω 60 W"),
        (
            Transformer("power", (winding("primary", (120.0,)), winding("hv", (315.0, 315.0), 0.25),
                                  winding("tapped", (40.0, 15.0), 0.05)), 3.0, 0.1),
            "power transformer, volts without load; primary 120 V; hv 315-0-315 V 0.25 A; tapped 40 + 15 V 0.05 A",
        ),
        (
            Transformer("output", (winding("primary", (10.0, 10.0)), winding("speaker", (0.5, 0.5))), 60.0, 0.05),
            "output transformer, turns 40, 20 to 1 (shows 8 Ω as 12.8 kΩ, 3.2 kΩ)",
        ),
        (
            Transformer("output", (winding("primary", (), None, (6600.0,)), winding("speaker", (), None, (8.0,))),
                        60.0, 0.05),
            "output transformer 6.6 kΩ to 8 Ω",
        ),
    ],
)  # fmt: skip
def test_words(values: Fitted, words: str) -> None:
    assert buying_words(values) == words


def test_drawers_are_sorted_by_value_then_rating() -> None:
    small, big = Resistor(470.0, 0.05, 2.0, 350.0, BODY), Resistor(1e3, 0.05, 0.5, 350.0, BODY)
    assert drawer(small) < drawer(big)
    assert drawer(Capacitor(1e-9, 0.1, 400.0, "film", BODY)) < drawer(Capacitor(1e-9, 0.1, 630.0, "film", BODY))
    assert drawer(Can((20e-6, 20e-6), 0.2, 500.0, BODY)) < drawer(Can((50e-6, 20e-6), 0.2, 350.0, BODY))

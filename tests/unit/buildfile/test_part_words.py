"""Parts in the words of the bench, and their color bands."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import (
    Bond,
    Bridge,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Speaker,
    Switch,
    Tank,
    Thermistor,
    Transformer,
    Winding,
)  # fmt: skip
from lugwright.buildfile.color_bands import color_bands
from lugwright.buildfile.part_words import part_words, value_words
from lugwright.catalogue.records import Body
from lugwright.findings import Place
from lugwright.sources import Source

BODY = Body(6.0, 16.0, 0.7, 1.0, Source("made up for this test"))


# IEC 60062 color code; the values are worked by hand from the table of colors.
@pytest.mark.parametrize(
    ("ohm", "tolerance", "bands"),
    [
        (4700.0, 0.05, "yellow violet red gold"), (1.0, 0.05, "brown black gold gold"),
        (0.47, 0.1, "yellow violet silver silver"), (10e6, 0.05, "brown black blue gold"),
        (68e3, 0.01, "blue gray black red brown"), (1.0, 0.01, "brown black black silver brown"),
        (220e3, 0.02, "red red black orange red"),
    ],
)  # fmt: skip
def test_color_bands(ohm: float, tolerance: float, bands: str) -> None:
    assert " ".join(color_bands(resistance_ohm=ohm, tolerance=tolerance)) == bands


@pytest.mark.parametrize(("ohm", "tolerance"), [(0.0, 0.05), (123.4, 0.05), (1e15, 0.05), (100.0, 0.03)])
def test_a_value_that_has_no_bands_gets_none(ohm: float, tolerance: float) -> None:
    assert color_bands(resistance_ohm=ohm, tolerance=tolerance) == ()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (Resistor(1.5e3, 0.05, 0.5, 350.0, BODY), "1.5 kΩ 0.5 W (brown green red gold)"),
        (Resistor(1234.0, 0.05, 0.5, 350.0, BODY), "1.23 kΩ 0.5 W"),
        (Capacitor(22e-9, 0.1, 630.0, "film", BODY), "22 nF 630 V film"),
        (Can((32e-6, 32e-6), 0.2, 500.0, BODY), "can 32 µF + 32 µF 500 V"),
        (Pot(250e3, 0.2, "audio", 0.5, 0.25, "Bass"), 'pot 250 kΩ audio "Bass"'),
        (Choke(5.0, 110.0, 0.1), "choke 5 H 110 Ω"),
        (Transformer("power", (), 3.0, 0.1), "power transformer"),
        (
            Transformer(
                "output",
                (
                    Winding("primary", (), (), (), None, (), (1650.0, 6600.0)),
                    Winding("speaker", (), (), (), None, (), (4.0, 8.0, 16.0)),
                ),
                60.0,
                0.05,
            ),
            "output transformer 6.6 kΩ to 4, 8, 16 Ω",
        ),
        (Diode(1000.0, 1.0, None, 0.0, BODY), "diode 1000 V 1 A"),
        (Diode(0.0, 0.0, 12.0, 5.0, BODY), "Zener 12 V 5 W"),
        (Bridge(600.0, 4.0), "bridge rectifier 600 V 4 A"),
        (Jack(True, False, False, "In"), 'isolated jack "In"'),
        (Switch(1, ("off", "on"), "on", "Standby", 250.0, 3.0), 'switch "Standby"'),
        (Fuse(2.0, "slow", 250.0, 0.1), "fuse holder (2 A slow)"),
        (Lamp(6.3, 0.15), "pilot lamp 6.3 V"),
        (Thermistor(50.0, 1.0, 2.0), "inrush limiter 50 Ω cold"),
        (Inlet(False), "mains inlet"),
        (Speaker(8.0, 60.0), "speaker 8 Ω 60 W"),
        (Tank(8.0, 2250.0), "reverb tank 8 Ω in, 2.25 kΩ out"),
        (Bond("earth to the metal"), "earth to the metal"),
    ],
)
def test_value_words(values: Fitted, words: str) -> None:
    assert value_words(values) == words
    assert part_words(Part("X1", "x", "s", values, (), Place("amp.toml", 1))) == f"X1 {words}"

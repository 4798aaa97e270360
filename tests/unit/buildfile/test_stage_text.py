"""Stages written out part by part are TOML, and say what the parts are."""

from __future__ import annotations

import tomllib

import pytest

from lugwright.buildfile.build import (
    Bond,
    Bridge,
    Build,
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
    Stage,
    Switch,
    Tank,
    Terminal,
    Thermistor,
    Transformer,
    Winding,
)  # fmt: skip
from lugwright.buildfile.stage_text import stages_text
from lugwright.catalogue.records import Body
from lugwright.findings import Place
from lugwright.sources import Source

BODY = Body(6.0, 16.0, 0.7, 1.0, Source("made up for this test"))


def written(kind: str, values: Fitted, joints: dict[str, str]) -> dict:
    """Return what a part is once it has been written out and read back as TOML."""
    terminals = tuple(Terminal("X1", name, joint) for name, joint in joints.items())
    part = Part("X1", kind, "one", values, terminals, Place("amp.toml", 1))
    stage = Stage("one", 'The "first"', "gain", ("X1",))
    build = Build("Title", "amp.toml", 120.0, 60.0, (part,), (stage,), {}, None, {}, (), ())
    read = tomllib.loads(stages_text(build))["stage"]["one"]
    assert (read["title"], read["duty"]) == ('The "first"', "gain")
    return read["X1"]


@pytest.mark.parametrize(
    ("kind", "values", "joints", "wanted"),
    [
        ("resistor", Resistor(4700.0, 0.05, 0.5, 350.0, BODY), {"1": "B+3", "2": "V1a.plate"},
         {"value": "4k7", "watts": 0.5, "tolerance": 5, "ends": ["B+3", "V1a.plate"]}),
        ("capacitor", Capacitor(22e-9, 0.1, 630.0, "film", BODY), {"1": "a", "2": "b"},
         {"value": "22n", "volts": 630, "style": "film", "ends": ["a", "b"]}),
        ("can", Can((33e-6, 33e-6), 0.2, 450.0, BODY), {"a": "B+1", "b": "B+2", "minus": "ground"},
         {"values": ["33u", "33u"], "volts": 450, "ends": ["B+1", "B+2", "ground"]}),
        ("pot", Pot(250e3, 0.2, "audio", 0.5, 0.25, "Bass"), {"1": "a", "2": "b", "3": "c"},
         {"label": "Bass", "value": "250k", "taper": "audio", "ends": ["a", "b", "c"]}),
        ("choke", Choke(5.0, 110.0, 0.1), {"1": "B+1", "2": "B+2"},
         {"value": "5H", "ohm": 110, "amps": 0.1, "ends": ["B+1", "B+2"]}),
        ("diode", Diode(1000.0, 1.0, None, 0.0, BODY), {"anode": "a", "cathode": "b"},
         {"volts": 1000, "amps": 1, "ends": ["a", "b"]}),
        ("diode", Diode(0.0, 0.0, 12.0, 5.0, BODY), {"anode": "a", "cathode": "b"}, {"zener": 12, "ends": ["a", "b"]}),
        ("bridge", Bridge(600.0, 4.0), {"ac1": "a", "ac2": "b", "plus": "c", "minus": "d"},
         {"volts": 600, "amps": 4, "ends": ["a", "b", "c", "d"]}),
        ("jack", Jack(True, False, False, "In"), {"tip": "in", "sleeve": "ground"},
         {"label": "In", "isolated": True, "switched": False, "tip": "in", "sleeve": "ground"}),
        ("switch", Switch(2, ("off", "on"), "on", "Mains", 250.0, 3.0),
         {"1.common": "a", "1.2": "b", "2.common": "c", "2.2": "d"},
         {"label": "Mains", "positions": ["off", "on"], "poles": [["a", "", "b"], ["c", "", "d"]]}),
        ("fuse", Fuse(0.5, "slow", 250.0, 0.1), {"1": "a", "2": "b"},
         {"amps": 0.5, "speed": "slow", "ends": ["a", "b"]}),
        ("lamp", Lamp(6.3, 0.15), {"1": "a", "2": "b"}, {"volts": 6.3, "amps": 0.15, "ends": ["a", "b"]}),
        ("thermistor", Thermistor(50.0, 1.0, 2.0), {"1": "a", "2": "b"},
         {"cold": 50, "hot": 1, "amps": 2, "ends": ["a", "b"]}),
        ("inlet", Inlet(False), {"line": "a", "neutral": "b", "earth": "earth"},
         {"cord": False, "line": "a", "neutral": "b", "earth": "earth"}),
        ("speaker", Speaker(8.0, 15.0), {"plus": "a", "minus": "b"}, {"ohm": 8, "watts": 15, "ends": ["a", "b"]}),
        ("tank", Tank(8.0, 2250.0), {"in": "a", "in_ground": "b", "out": "c", "out_ground": "d"},
         {"input": 8, "output": 2250, "ends": ["a", "b", "c", "d"]}),
        ("bond", Bond("earth to metal"), {"1": "earth", "2": "chassis"},
         {"purpose": "earth to metal", "ends": ["earth", "chassis"]}),
    ],
)  # fmt: skip
def test_a_part_is_written_with_values_and_ends(
    kind: str, values: Fitted, joints: dict[str, str], wanted: dict
) -> None:
    assert written(kind, values, joints) == {"kind": kind, **wanted}


def test_a_transformer_is_written_winding_by_winding() -> None:
    power = Transformer("power", (Winding("hv", ("1", "2", "3"), (220.0, 220.0), (80.0, 84.0), 0.12, ()),), 3.0, 0.05)
    assert written("power transformer", power, {"hv.1": "a", "hv.2": "ground", "hv.3": "b"}) == {
        "kind": "power transformer", "magnetizing": 3, "leakage": 0.05,
        "windings": {"hv": {"volts": [220, 220], "ohms": [80, 84], "amps": 0.12, "ends": ["a", "ground", "b"]}},
    }  # fmt: skip

"""Stages written out part by part are TOML, and say what the parts are."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from lugwright.buildfile.build import (
    Build,
    Diode,
    Fitted,
    Inlet,
    Part,
    Pot,
    Resistor,
    Stage,
    Switch,
    Terminal,
    Transformer,
    Tube,
    Winding,
)  # fmt: skip
from lugwright.buildfile.read import read_text
from lugwright.buildfile.stage_text import stages_text
from lugwright.catalogue.records import Body
from lugwright.findings import Place
from lugwright.sources import Source

EXAMPLES = Path(__file__).parents[3] / "examples"
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
         {"kind": "resistor", "value": "4k7", "watts": 0.5, "tolerance": 5,
          "ends": ["B+3", "V1a.plate"]}),
        ("resistor", Resistor(4700.0, 0.05, 0.5, 700.0, BODY), {"1": "B+3", "2": "V1a.plate"},
         {"kind": "resistor", "value": "4k7", "watts": 0.5, "tolerance": 5, "volts": 700,
          "ends": ["B+3", "V1a.plate"]}),
        ("resistor", Resistor(10.0, 0.05, 5.0, 300.0, BODY, "wirewound"), {"1": "a", "2": "b"},
         {"kind": "resistor", "value": "10R", "watts": 5, "tolerance": 5, "volts": 300, "style": "wirewound",
          "ends": ["a", "b"]}),
        ("pot", Pot(250e3, 0.2, "audio", 0.5, 0.25, "Bass", True), {"1": "a", "2": "b", "3": "c", "s1": "d", "s2": "e"},
         {"kind": "pot", "label": "Bass", "value": "250k", "taper": "audio", "setting": 0.5, "watts": 0.25,
          "tolerance": 20, "ends": ["a", "b", "c"], "switch": ["d", "e"]}),
        ("diode", Diode(12.0, 0.4, 12.0, 5.0, BODY), {"anode": "a", "cathode": "b"},
         {"kind": "Zener diode", "zener_volts": 12, "watts": 5, "ends": ["a", "b"]}),
        ("switch", Switch(2, ("off", "on"), "on", "Mains", 250.0, 3.0),
         {"1.common": "a", "1.2": "b", "2.common": "c", "2.2": "d"},
         {"kind": "switch", "label": "Mains", "positions": ["off", "on"], "position": "on", "volts": 250, "amps": 3,
          "poles": [["a", "", "b"], ["c", "", "d"]]}),
        ("inlet", Inlet(False), {"line": "a", "neutral": "b", "earth": "earth"},
         {"kind": "mains inlet", "cord": False, "line": "a", "neutral": "b", "earth": "earth"}),
    ],
)  # fmt: skip
def test_a_part_is_written_with_kind_values_and_ends(
    kind: str, values: Fitted, joints: dict[str, str], wanted: dict
) -> None:
    assert written(kind, values, joints) == wanted


def test_a_transformer_is_written_winding_by_winding() -> None:
    power = Transformer(
        "power", (Winding("hv", ("hv.1", "hv.2", "hv.3"), (220.0, 220.0), (80.0, 84.0), 0.12, ()),), 3.0, 0.05
    )
    assert written("power transformer", power, {"hv.1": "a", "hv.2": "ground", "hv.3": "b"}) == {
        "kind": "power transformer", "magnetizing": 3, "leakage": 0.05,
        "windings": {"hv": {"volts": [220, 220], "ohms": [80, 84], "amps": 0.12, "ends": ["a", "ground", "b"]}},
    }  # fmt: skip


def test_a_transformer_of_known_impedances_is_written_with_them() -> None:
    windings = (
        Winding("primary", ("primary.1", "primary.2", "primary.3"), (40.0, 40.0), (140.0, 150.0), None, (),
                (1600.0, 6400.0)),
        Winding("speaker", ("speaker.1", "speaker.2"), (2.0, 2.0), (0.2, 0.2), None, (), (4.0, 16.0)),
    )  # fmt: skip
    output = Transformer("output", windings, 60.0, 0.05)
    joints = {"primary.1": "a", "primary.2": "B+1", "primary.3": "b", "speaker.1": "ground", "speaker.2": "s"}
    assert written("output transformer", output, joints)["windings"] == {
        "primary": {"impedance": [1600, 6400], "ohms": [140, 150], "ends": ["a", "B+1", "b"]},
        "speaker": {"impedance": [4, 16], "ohms": [0.2, 0.2], "ends": ["ground", "s"]},
    }


PAGE = Path(__file__).parents[3] / "docs/reference/build_file.md"
KINDS = re.search(r"```toml\n(\[stage.every_kind\].*?)```", PAGE.read_text(), re.DOTALL)[1]
EVERY_KIND = f"""
format = 1
[build]
title = "Every kind"
mains = {{ volts = 120, hertz = 60 }}
[tubes]
V1 = "12AX7"
{KINDS}
R9 = {{ value = "1M", taper = "audio", ends = ["in", "in", "x"], switch = ["y", "send"], note = "with switch" }}
R8 = {{ value = "1M", ends = ["return", "screen foot"] }}
R7 = {{ value = "33.25k", tolerance = 1, style = "wirewound", watts = 5, ends = ["dc plus", "ac 1"] }}
R6 = {{ value = "1k", volts = 900, ends = ["ac 2", "B+3"] }}
R10 = {{ value = "10k", ends = ["a 1", "a 2"] }}
J2 = {{ tip = "J2.tip", sleeve = "chassis" }}
joined = [["V1a.cathode", "V1b.cathode"], ["heater 1", "V1.heater1", "V1.heater2"], ["heater 2", "V1.heater_tap"],
  ["B+3", "V1b.plate"], ["V1b.grid", "ground"]]
[stage.every_kind.T1]
kind = "power transformer"
note = "as measured"
windings.primary = {{ volts = [120], ohms = [8], ends = ["S1.1.2", "S1.2.2"], colors = ["black", "white"] }}
windings.hv = {{ volts = [220.125, 220], ohms = [80, 84], amps = 0.12, ends = ["CR1.anode", "ground", "ac 1"] }}
[stage.every_kind.T2]
kind = "output transformer"
windings.primary = {{ impedance = 6600, ohms = [150, 160], ends = ["a 1", "B+1", "a 2"] }}
windings.speaker = {{ impedance = [4, 8, 16], ohms = [0.2, 0.1, 0.1], ends = ["ground", "", "J2.tip", ""] }}
"""


def circuit_of(build: Build) -> dict[str, tuple[object, ...]]:
    """Return what a build says of each part, apart from where it stands in a file."""
    return {p.name: (p.kind, p.stage, p.values, p.note, frozenset(p.terminals)) for p in build.parts}


@pytest.mark.parametrize("name", ["every kind", *(path.name for path in sorted(EXAMPLES.glob("*.toml")))])
def test_what_is_written_out_reads_as_the_same_circuit(name: str) -> None:
    first = read_text(EVERY_KIND if name == "every kind" else (EXAMPLES / name).read_text())
    assert first.build is not None, "\n".join(map(str, first.findings))
    tubes = "".join(f'{p.name} = "{p.values.type.name}"\n' for p in first.build.parts if isinstance(p.values, Tube))
    mains = f"{{ volts = {first.build.mains_v:g}, hertz = {first.build.mains_hz:g} }}"
    head = f'format = 1\n[build]\ntitle = "Again"\nmains = {mains}\n[tubes]\n{tubes}\n'
    again = read_text(head + stages_text(first.build))
    assert again.build is not None, "\n".join(map(str, again.findings))
    assert circuit_of(again.build) == circuit_of(first.build)
    # A transformer is a table of its own in TOML, so it stands last in its stage.
    assert [sorted(stage.parts) for stage in again.build.stages] == [sorted(s.parts) for s in first.build.stages]
    assert [(s.name, s.title, s.duty) for s in again.build.stages] == [
        (s.name, s.title, s.duty) for s in first.build.stages
    ]


def test_a_tube_is_at_home_where_joined_names_it_first() -> None:
    build = read_text(
        'format = 1\n[build]\ntitle = "T"\nmains = { volts = 120, hertz = 60 }\n[tubes]\nV1 = "12AX7"\n'
        '[stage.send]\njoined = [["send", "V1a.cathode"], ["B+1", "V1a.plate"], ["drive", "V1a.grid"]]\n'
        'R1 = { value = "100k", ends = ["send", "ground"] }\n'
        '[stage.return]\nR2 = { value = "1M", ends = ["V1b.grid", "ground"] }\n'
    ).build
    assert build is not None
    assert {p.name: p.stage for p in build.parts}["V1"] == "send"

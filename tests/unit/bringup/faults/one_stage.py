"""One tube stage with its supply, wired by hand: small enough to follow every wire with a finger."""

from __future__ import annotations

import functools
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.results import Plan, SeatedPart, Wire

TEXT = """
format = 1
[build]
title = "One stage"
mains = { volts = 120, hertz = 60 }
[tubes]
V1 = "12AX7"
[stage.first]
title = "First"
duty = "input"
J1 = { label = "In", switched = true, isolated = true, tip = "in", sleeve = "ground", tip_switch = "ground" }
R1 = { value = "1M", ends = ["in", "ground"] }
R2 = { value = "68k", ends = ["in", "V1a.grid"] }
R3 = { value = "100k", ends = ["B+1", "V1a.plate"] }
R4 = { value = "1k5", ends = ["V1a.cathode", "ground"] }
C1 = { value = "22u", volts = 25, ends = ["V1a.cathode", "ground"] }
C2 = { value = "22n", volts = 630, ends = ["V1a.plate", "R5.3"] }
R5 = { kind = "pot", label = "Volume", value = "1M", taper = "audio", ends = ["ground", "V1b.grid", "C2.2"] }
R7 = { value = "100k", ends = ["B+1", "V1b.plate"] }
R8 = { value = "1k5", ends = ["V1b.cathode", "ground"] }
[stage.supply]
title = "Supply"
duty = "supply"
P1 = { line = "F1.1", neutral = "T1.primary.2", earth = "earth" }
F1 = { amps = 0.5, speed = "slow", ends = ["P1.line", "T1.primary.1"] }
CR1 = { volts = 1000, amps = 1, ends = ["T1.hv.1", "B+0"] }
CR2 = { volts = 1000, amps = 1, ends = ["T1.hv.3", "B+0"] }
C3 = { value = "22u", volts = 450, ends = ["B+0", "ground"] }
R6 = { value = "10k", watts = 2, ends = ["B+0", "B+1"] }
C4 = { value = "22u", volts = 450, ends = ["B+1", "ground"] }
R9 = { value = "220k", watts = 2, ends = ["B+0", "ground"] }
W1 = { purpose = "earth", ends = ["earth", "chassis"] }
W2 = { purpose = "ground", ends = ["ground", "chassis"] }
joined = [["h1", "V1.heater1", "V1.heater2"], ["h2", "V1.heater_tap"]]
[stage.supply.T1]
kind = "power transformer"
windings.primary = { volts = [120], ohms = [10], ends = ["F1.2", "P1.neutral"] }
windings.hv = { volts = [220, 220], ohms = [150, 150], amps = 0.05, ends = ["CR1.anode", "ground", "CR2.anode"] }
windings.heater = { volts = [3.15, 3.15], ohms = [0.1, 0.1], amps = 1, ends = ["h1", "ground", "h2"] }
[chassis]
inside = [240, 140, 60]
[place]
V1 = { at = [70, 40], turn = 180 }
T1 = { at = [190, 60], turn = 90 }
J1 = { panel = "front", at = [22, 32] }
R5 = { panel = "front", at = [60, 32] }
F1 = { panel = "rear", at = [150, 32] }
P1 = { panel = "rear", at = [200, 32] }
[strips]
A = { lugs = 10, feet = [5], at = [30, 90] }
B = { lugs = 8, feet = [], at = [130, 90] }
[bus]
ground = { points = [[20, 110], [60, 110]], height = 14 }
"""
SEATS = {
    "R1": ("A.1", "ground.1"), "R2": ("A.1", "V1.2"), "R3": ("A.2", "V1.1"), "R4": ("V1.3", "ground.3"),
    "C1": ("V1.3", "ground.3"), "C2": ("A.3", "A.4"), "R7": ("A.2", "V1.6"), "R8": ("V1.8", "ground.4"),
    "CR1": ("B.1", "B.2"), "CR2": ("B.3", "B.2"), "C3": ("B.2", "B.4"), "R6": ("B.2", "B.5"), "C4": ("B.5", "B.4"),
    "R9": ("B.2", "B.4"),
}  # fmt: skip
WIRES = (  # joint, ends, kind, color, bond
    ("earth", "P1.earth", "chassis.1", "earth", "green-yellow", "W1"),
    ("ground", "ground.2", "chassis.2", "ground", "black", "W2"),
    ("F1.1", "P1.line", "F1.1", "mains", "gray", ""),
    ("T1.primary.1", "T1.primary.1", "F1.2", "mains", "gray", ""),
    ("T1.primary.2", "T1.primary.2", "P1.neutral", "mains", "gray", ""),
    ("h1", "T1.heater.1", "V1.4", "heater", "brown", ""),
    ("h1", "V1.4", "V1.5", "heater", "brown", ""),
    ("h2", "T1.heater.3", "V1.9", "heater", "brown", ""),
    ("ground", "T1.heater.2", "ground.5", "ground", "black", ""),
    ("T1.hv.1", "T1.hv.1", "B.1", "B+", "red", ""),
    ("ground", "T1.hv.2", "B.4", "B+", "black", ""),
    ("T1.hv.3", "T1.hv.3", "B.3", "B+", "red", ""),
    ("B+1", "B.5", "A.2", "B+", "red", ""),
    ("ground", "B.4", "ground.5", "ground", "black", ""),
    ("in", "J1.tip", "A.1", "signal", "white", ""),
    ("ground", "J1.sleeve", "ground.1", "ground", "black", ""),
    ("ground", "J1.sleeve", "J1.tip_switch", "ground", "black", ""),
    ("V1a.plate", "V1.1", "A.3", "plate", "blue", ""),
    ("R5.3", "A.4", "R5.3", "signal", "white", ""),
    ("V1b.grid", "R5.2", "V1.7", "grid", "green", ""),
    ("ground", "R5.1", "ground.2", "ground", "black", ""),
)  # fmt: skip
NUMBERS = {ends: number for number, (_, *ends_, _, _, _) in enumerate(WIRES, start=1) for ends in (tuple(ends_),)}


@functools.cache
def one_stage() -> tuple[Build, Circuit, Plan]:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "one.toml"
        path.write_text(TEXT, encoding="utf-8")
        build = read_build(path).build
    assert build is not None
    return build, circuit_from_build(build), _plan(build)


def number_of(one: str, other: str) -> int:
    """Return the number of the wire between two terminals."""
    return NUMBERS[one, other]


def _plan(build: Build) -> Plan:
    terminals = fixed_terminals(build)
    leads = {part: tuple(t.name for t in build.part(part).terminals) for part in SEATS}
    for part, keys in SEATS.items():
        for key, name in zip(keys, leads[part], strict=True):
            terminals[key] = replace(terminals[key], joint=build.part(part).terminal(name).joint)
    for joint, *keys, _, _, bond in WIRES:
        for key in keys[: 1 if bond else 2]:
            assert terminals[key].joint in ("", joint), (key, terminals[key].joint, joint)
            terminals[key] = replace(terminals[key], joint=joint)
    seats = tuple(SeatedPart(part, keys, leads[part], 1, 16.0, 6.0, 8.0, 30.0) for part, keys in SEATS.items())
    wires = tuple(
        Wire(n, joint, (one, two), kind, "lead" if one.startswith("T1.") else "22 AWG solid 600 V", color, (), 80.0,
             (7.0, 7.0), "", (), bond, "J1.sleeve" if one == "J1.tip" else "")
        for n, (joint, one, two, kind, color, bond) in enumerate(WIRES, start=1)
    )  # fmt: skip
    return Plan(build.title, terminals, seats, wires, (), {})

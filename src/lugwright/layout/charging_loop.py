"""The loop of charging current: rectifier, reservoir, center tap. It must close on itself, off the ground bus."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.buildfile.build import GROUND, Build, Can, Capacitor, Diode, Part, Transformer, Tube
from lugwright.layout.heater_chain import ChainWire
from lugwright.layout.joint_classes import contact_poles
from lugwright.layout.results import PlanTerminal

HIGH_WINDING_V = 100.0
RESERVOIR_FROM_F = 1e-6  # less takes the edge off a switching spike, and carries no charging current


def center_taps(build: Build) -> list[tuple[str, set[str]]]:
    """Return (key of the terminal where a center tap reaches ground, joints of the winding's two outer ends)."""
    found = []
    for part in build.parts:
        if not isinstance(part.values, Transformer) or part.values.role != "power":
            continue
        joints = {t.name: t.joint for t in part.terminals}
        for winding in part.values.windings:
            names = list(winding.ends)
            keys = [(f"{part.name}.{name}", joints.get(name, "")) for name in names[1:-1]]
            inner = [ground_end for key, joint in keys if (ground_end := _ground_end(build, key, joint))]
            if sum(winding.turns) > HIGH_WINDING_V and inner:
                found.append((inner[0], {joints.get(names[0], ""), joints.get(names[-1], "")}))
    return found


def _ground_end(build: Build, key: str, joint: str) -> str:
    """Return the terminal where a lead reaches ground: itself, or the last of the fuses and switches behind it."""
    seen = {key}
    while joint and joint != GROUND:
        steps = [
            (f"{part.name}.{here.name}", f"{part.name}.{there.name}", there.joint)
            for part in build.parts
            for pole in contact_poles(part)
            for here in pole
            for there in pole
            if here.joint == joint and there.joint and there is not here
        ]
        fresh = [(there, on) for here, there, on in steps if not {here, there} & seen]
        if not fresh:
            return ""
        seen |= {end for here, there, _ in steps for end in (here, there)}
        key, joint = fresh[0]
    return key if joint else ""


def reservoirs(build: Build, ends: set[str]) -> list[Part]:
    """Return the capacitors that a rectifier on these winding ends charges."""
    charged: set[str] = set()
    for part in build.parts:
        if isinstance(part.values, Diode) and part.terminal("anode").joint in ends:
            charged.add(part.terminal("cathode").joint)
        elif isinstance(part.values, Tube) and any(
            t.name.startswith("plate") and t.joint in ends for t in part.terminals
        ):
            charged |= {t.joint for t in part.terminals if t.name.startswith(("cathode", "heater")) and t.joint}
    return [
        part
        for part in build.parts
        if (
            isinstance(part.values, Can)
            or (isinstance(part.values, Capacitor) and part.values.farad >= RESERVOIR_FROM_F)
        )
        and {t.joint for t in part.terminals} & charged
        and GROUND in {t.joint for t in part.terminals}
    ]


def charging_wires(build: Build, terminals: Mapping[str, PlanTerminal]) -> list[ChainWire]:
    """Return the wire from each center tap to its reservoir can, where the reservoir is a can."""
    wires = []
    for key, ends in center_taps(build):
        minus = [f"{p.name}.minus" for p in reservoirs(build, ends) if isinstance(p.values, Can)]
        if minus and minus[0] in terminals and terminals[minus[0]].capacity > 1:
            wires.append(ChainWire(GROUND, (key, minus[0]), ""))
    return wires

"""The loop of charging current: rectifier, reservoir, center tap. It must close on itself, off the ground bus."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.buildfile.build import GROUND, Build, Can, Capacitor, Diode, Part, Transformer, Tube
from lugwright.layout.heater_chain import ChainWire
from lugwright.layout.results import PlanTerminal

HIGH_WINDING_V = 100.0


def center_taps(build: Build) -> list[tuple[str, set[str]]]:
    """Return (terminal key of a grounded center tap, joints of the winding's two outer ends)."""
    found = []
    for part in build.parts:
        if not isinstance(part.values, Transformer) or part.values.role != "power":
            continue
        joints = {t.name: t.joint for t in part.terminals}
        for winding in part.values.windings:
            names = list(winding.ends)
            inner = [name for name in names[1:-1] if joints.get(name) == GROUND]
            if sum(winding.turns) > HIGH_WINDING_V and inner:
                found.append((f"{part.name}.{inner[0]}", {joints.get(names[0], ""), joints.get(names[-1], "")}))
    return found


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
        if isinstance(part.values, Can | Capacitor)
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

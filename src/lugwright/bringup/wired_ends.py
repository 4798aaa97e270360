"""Which ends of the circuit's elements are which terminals of the parts.

The circuit knows joints only. It is made a second time with a joint for every terminal of every part: there each end
says which terminal it is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Inlet, Jack, Part, Terminal
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import ends_of


def ends_by_terminal(build: Build, circuit: Circuit) -> Mapping[str, tuple[tuple[str, str], ...]]:
    """Return (element, end) of every end by its terminal as it is written (``V1a.plate``).

    Ends that are no terminal's, such as what a jack has on the metal, stand under their joint (``chassis``).
    """
    there = {(element, end) for element, end, _ in ends_of(circuit.elements)}
    earth = next((str(t) for p in build.parts if isinstance(p.values, Inlet) for t in p.terminals if _stays(p, t)), "")
    found: dict[str, list[tuple[str, str]]] = {CHASSIS: [], GROUND: []}
    for element, end, joint in ends_of(circuit_from_build(_taken_apart(build)).elements):
        if (element, end) in there:
            found.setdefault(earth if joint == EARTH and earth else joint, []).append((element, end))
    return {name: tuple(ends) for name, ends in found.items()}


def _taken_apart(build: Build) -> Build:
    """Return the build with every terminal on a joint of its own; spare sections stay spare."""
    parts = tuple(replace(part, terminals=tuple(_alone(part, t) for t in part.terminals)) for part in build.parts)
    joints = dict(build.joints)
    for part in build.parts:
        for terminal in part.terminals:
            joints[_alone(part, terminal).joint] = build.joints.get(terminal.joint, (terminal,))
    return replace(build, parts=parts, joints=joints)


def _alone(part: Part, terminal: Terminal) -> Terminal:
    return terminal if _stays(part, terminal) else replace(terminal, joint=str(terminal))


def _stays(part: Part, terminal: Terminal) -> bool:
    """Return whether a terminal keeps its joint: where the circuit has an element only off the earth or the metal."""
    at_earth = isinstance(part.values, Inlet) and terminal.name == "earth" and terminal.joint == EARTH
    at_metal = isinstance(part.values, Jack) and terminal.name == "sleeve" and terminal.joint == CHASSIS
    return at_earth or at_metal

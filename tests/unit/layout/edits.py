"""Builds with a part more or less, and what that moved."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build, Part, Terminal
from lugwright.findings import Place
from lugwright.layout.results import Plan


def with_resistor(build: Build, name: str, a: str, b: str) -> Build:
    """Return the build with a resistor like R2 between two joints."""
    like = build.part("R2").values
    part = Part(
        name, "resistor", "gain 1", like, (Terminal(name, "1", a), Terminal(name, "2", b)), Place("amp.toml", 9)
    )
    joints = {joint: list(terminals) for joint, terminals in build.joints.items()}
    for terminal in part.terminals:
        joints.setdefault(terminal.joint, []).append(terminal)
    stages = tuple(replace(s, parts=(*s.parts, name)) if s.name == "gain 1" else s for s in build.stages)
    return replace(build, parts=(*build.parts, part), stages=stages, joints={j: tuple(t) for j, t in joints.items()})


def moved(before: Plan, after: Plan) -> set[str]:
    """Return the parts of both plans that hang elsewhere in the second."""
    old = {seat.part: seat.terminals for seat in before.seats}
    return {seat.part for seat in after.seats if seat.part in old and old[seat.part] != seat.terminals}


def without(build: Build, names: set[str]) -> Build:
    """Return the build without some parts."""
    joints = {j: tuple(t for t in ts if t.part not in names) for j, ts in build.joints.items()}
    stages = tuple(replace(s, parts=tuple(p for p in s.parts if p not in names)) for s in build.stages)
    parts = tuple(p for p in build.parts if p.name not in names)
    return replace(build, parts=parts, stages=stages, joints={j: ts for j, ts in joints.items() if ts})

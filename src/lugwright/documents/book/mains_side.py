"""Which joints the mains reaches: whatever voltage was computed there, nobody may take it for harmless."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Build, Fuse, Inlet, Lamp, Part, Pot, Switch, Thermistor, Transformer

METAL = ("ground", "chassis", "earth")


def mains_joints(build: Build) -> frozenset[str]:
    """Return the joints from the inlet through fuse, lamp, thermistor and switch to both ends of the primary."""
    inlets = [part for part in build.parts if isinstance(part.values, Inlet)]
    reached = {t.joint for part in inlets for t in part.terminals if t.name != "earth"} - {"", *METAL}
    groups = [group - {"", *METAL} for part in build.parts for group in _passed_on(part)]
    grown = True
    while grown:
        before = len(reached)
        for group in groups:
            reached |= group if group & reached else set()
        grown = len(reached) > before
    return frozenset(reached)


def _passed_on(part: Part) -> Iterator[set[str]]:
    """Return the joints of a part that may come to lie on one another; a switch counts in every position."""
    joints = {t.name: t.joint for t in part.terminals}
    if isinstance(part.values, Fuse | Lamp | Thermistor):
        yield set(joints.values())
    elif isinstance(part.values, Pot):
        yield {joint for name, joint in joints.items() if name in ("s1", "s2")}
    elif isinstance(part.values, Switch):
        for pole in sorted({name.partition(".")[0] for name in joints}):
            yield {joint for name, joint in joints.items() if name.partition(".")[0] == pole}
    elif isinstance(part.values, Transformer) and part.values.role == "power":
        for winding in part.values.windings:
            yield {joints[end] for end in winding.ends if end in joints}

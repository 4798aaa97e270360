"""Which tubes an amplifier's power comes from: the others only carry the signal to them."""

from __future__ import annotations

from lugwright.buildfile.build import Build, Part, Transformer, Tube
from lugwright.catalogue.records import PentodeLaw

LARGE_FROM_W = 9.0  # plate limit: a pentode or beam tetrode this large drives a load wherever it stands


def power_tubes(build: Build) -> tuple[Part, ...]:
    """Return the tubes whose plate ends on an output transformer, and every pentode of 9 W or more."""
    loads = {
        terminal.joint
        for part in build.parts
        if isinstance(part.values, Transformer) and part.values.role == "output"
        for terminal in part.terminals
    }
    return tuple(
        part
        for part in build.parts
        if isinstance(part.values, Tube)
        and (_is_large(part.values) or any(t.name == "plate" and t.joint in loads for t in part.terminals))
    )


def _is_large(tube: Tube) -> bool:
    limit = tube.type.limits.get("plate_w")
    return isinstance(tube.type.law, PentodeLaw) and limit is not None and limit.value >= LARGE_FROM_W

"""Whether every braid of a plan is soldered at one end and within reach. Shares no code with the planner.

That it lies on ground is seen to with the joints: a braid counts as a point of ground.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.findings import Finding
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan, Wire

REACH_MM = 45.0


def check_shields(plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield shielded wires whose braid hangs free, does not reach, or comes too near its core."""
    shielded = {row.name for row in hardware.wires if row.kind == "shielded"}
    for wire in plan.wires:
        if bool(wire.shield) != (wire.type in shielded):
            yield fault("shield-open", f"W{wire.number}", f"the braid of W{wire.number} and its type do not agree",
                        f"{wire.type}, braid soldered {f'to {wire.shield}' if wire.shield else 'nowhere'}",
                        "a shielded wire with its braid soldered at one end", "plan again")  # fmt: skip
        if wire.shield and wire.shield in plan.terminals:
            yield from _braid(plan, wire)
        elif wire.shield:
            yield fault("terminal-unknown", f"W{wire.number}", f"the braid of W{wire.number} is soldered to nothing",
                        f"no terminal {wire.shield}", "a terminal of this build", "plan again")  # fmt: skip


def _braid(plan: Plan, wire: Wire) -> Iterator[Finding]:
    at = plan.terminals[wire.shield]
    ends = [plan.terminals[key] for key in wire.terminals if key in plan.terminals]
    apart = [math.dist((at.x_mm, at.y_mm, at.z_mm), (t.x_mm, t.y_mm, t.z_mm)) for t in ends]
    if apart and min(apart) > REACH_MM:
        yield fault("shield-reach", f"W{wire.number}", f"the braid of W{wire.number} does not reach {at.label}",
                    f"{min(apart):.0f} mm from the nearer end", f"{REACH_MM:.0f} mm or less",
                    "solder it to a nearer ground")  # fmt: skip
    short = [j for j, s in zip(wire.jacket_mm, wire.strip_mm, strict=True) if j <= s]
    if short:
        yield fault("shield-jacket", f"W{wire.number}", f"the braid of W{wire.number} would touch its core",
                    f"{short[0]:.0f} mm of jacket off", "more jacket off than insulation", "plan again")  # fmt: skip

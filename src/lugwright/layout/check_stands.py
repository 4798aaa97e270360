"""Whether every terminal of a plan stands where its part stands in the build. Shares no code with the planner."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from lugwright.buildfile.build import Bridge, Build, Can, Part, Placement, Tube
from lugwright.catalogue.records import PanelPart
from lugwright.findings import Finding
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan, PlanTerminal

ROUNDING_MM = 0.2
EXIT_REACH_MM = 60.0  # no transformer lead leaves its grommet farther from the core's center; from memory
# Direction into the chassis from each panel; x runs to the right, y toward the front.
INWARD = {"front": (0.0, -1.0), "rear": (0.0, 1.0), "left": (1.0, 0.0), "right": (-1.0, 0.0)}

Where = tuple[float, float, float]


def check_stands(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield terminals of panel parts, cans, buses and transformers that the plan has elsewhere, and wrong heights."""
    parts = build.part_by_name
    for t in plan.terminals.values():
        wanted = None
        if t.owner in hardware.panel and t.owner in build.placements:
            wanted = _on_panel(build, parts[t.owner], t, hardware.panel[t.owner])
        elif t.owner in parts and t.owner in build.placements:
            wanted = _on_plate(build, parts[t.owner], t, hardware)
        elif t.kind == "bus":
            wanted = _on_bus(build, t)
        elif t.kind in ("lug", "foot"):
            wanted = _height_of_lug(build, t, hardware)
        if wanted is not None and math.dist(wanted, (t.x_mm, t.y_mm, t.z_mm)) > ROUNDING_MM:
            yield fault("terminal-place", t.owner, f"{t.key} stands elsewhere in the build",
                        f"at {t.x_mm:.1f}, {t.y_mm:.1f} mm, {t.z_mm:.1f} mm high",
                        f"at {wanted[0]:.1f}, {wanted[1]:.1f} mm, {wanted[2]:.1f} mm high",
                        "plan again: the build file has changed")  # fmt: skip


def _on_panel(build: Build, part: Part, t: PlanTerminal, row: PanelPart) -> Where | None:
    """Return where a lug stands: seen from inside, its first figure counts to the right of the hole."""
    lug, placement = row.lugs.get(t.key.removeprefix(f"{part.name}.")), build.placements[part.name]
    chassis = build.chassis
    if lug is None or chassis is None or placement.panel not in INWARD:
        return None
    inward = INWARD[placement.panel]
    right = (inward[1], -inward[0])
    hole = {
        "front": (placement.at[0], chassis.depth_mm), "rear": (placement.at[0], 0.0),
        "left": (0.0, placement.at[0]), "right": (chassis.width_mm, placement.at[0]),
    }[placement.panel]  # fmt: skip
    x, y = (hole[k] + lug[0] * right[k] + lug[1] * inward[k] for k in (0, 1))
    return x, y, placement.at[1] + lug[2]


def _on_plate(build: Build, part: Part, t: PlanTerminal, hardware: Hardware) -> Where | None:
    """Return the terminal's own place where it may be so, else the nearest that may."""
    placement = build.placements[part.name]
    if isinstance(part.values, Tube):
        return t.x_mm, t.y_mm, hardware.sockets[part.values.socket].lug_height_mm
    if isinstance(part.values, Can):
        return _within(t, placement, part.values.body.diameter_mm / 2.0)
    return None if isinstance(part.values, Bridge) else _within(t, placement, EXIT_REACH_MM)


def _within(t: PlanTerminal, placement: Placement, reach_mm: float) -> Where:
    apart = math.dist(placement.at, (t.x_mm, t.y_mm))
    share = min(1.0, reach_mm / max(apart, 1e-9))
    x, y = (placement.at[k] + share * ((t.x_mm, t.y_mm)[k] - placement.at[k]) for k in (0, 1))
    return x, y, t.z_mm


def _on_bus(build: Build, t: PlanTerminal) -> Where | None:
    bus = next((bus for bus in build.buses if bus.name == t.owner), None)
    if bus is None:
        return None
    near = [_foot_of(a, b, (t.x_mm, t.y_mm)) for a, b in itertools.pairwise(bus.points)]
    x, y = min(near, key=lambda p: math.dist(p, (t.x_mm, t.y_mm)))
    return x, y, bus.height_mm


def _height_of_lug(build: Build, t: PlanTerminal, hardware: Hardware) -> Where | None:
    strip = next((strip for strip in build.strips if strip.name == t.owner), None)
    return None if strip is None else (t.x_mm, t.y_mm, hardware.strips[strip.type].lug_height_mm)


def _foot_of(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> tuple[float, float]:
    """Return the point of a straight piece nearest to a point."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0.0 else min(1.0, max(0.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square))
    return a[0] + along * dx, a[1] + along * dy

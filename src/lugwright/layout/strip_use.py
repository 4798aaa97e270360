"""What a plan makes of each strip and bus: lugs used and left, the joints on it."""

from __future__ import annotations

from lugwright.buildfile.build import Build
from lugwright.layout.results import BusUse, Plan, StripUse


def strip_uses(build: Build, plan: Plan) -> tuple[StripUse, ...]:
    """Return every strip of a build with its use, in the order of the build."""
    proposed = {strip.name for strip in plan.strips}
    found = []
    for strip in build.strips:
        lugs = [t for t in plan.terminals.values() if t.owner == strip.name and t.kind == "lug"]
        used = [t for t in lugs if t.joint]
        found.append(
            StripUse(
                strip.name,
                strip.lugs,
                strip.feet,
                strip.at,
                strip.turn,
                strip.type,
                strip.name in proposed,
                len(used),
                len(lugs) - len(used),
                tuple(dict.fromkeys(t.joint for t in used)),
            )
        )
    return tuple(found)


def bus_uses(build: Build, plan: Plan) -> tuple[BusUse, ...]:
    """Return every bus of a build with the leads and wires that end on it."""
    proposed = {bus.name for bus in plan.buses}
    found = []
    for bus in build.buses:
        points = [t.key for t in plan.terminals.values() if t.owner == bus.name]
        leads = sum(len(plan.leads_at(key)) for key in points)
        found.append(BusUse(bus.name, bus.joint, bus.points, bus.height_mm, bus.name in proposed, leads))
    return tuple(found)

"""Whether wires can be cut and laid as a plan says: numbers, colors, slack, rings, twins. No planner code."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator

from lugwright.buildfile.build import CHASSIS, EARTH, Bond, Build
from lugwright.findings import Finding, Grade
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan, Wire

EARTH_COLOR = "green-yellow"
# Room to remake a joint: a twentieth of the way and 10 mm; a twist of one turn a centimeter takes up more.
SLACK_SHARE, SLACK_MM, TURN_MM = 0.05, 10.0, 10.0
LEAD_OUTSIDE_MM = 1.5  # a transformer's own lead is at least so thick over its insulation; from memory
ROUNDING_MM = 0.5
TWINS_MM, LOOSE_END_MM, STEP_MM = 12.0, 40.0, 5.0  # a pair may part so far from its terminals

Point = tuple[float, float]


def check_routes(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield wires that no reel has, that are numbered twice, too short to remake, in rings, or part from their twin."""
    yield from _numbers(plan)
    yield from _types(plan, hardware)
    yield from _colors(build, plan)
    yield from _slack(plan, hardware)
    yield from _rings(build, plan)
    yield from _twins(plan)


def _numbers(plan: Plan) -> Iterator[Finding]:
    for number, count in sorted(Counter(wire.number for wire in plan.wires).items()):
        if count > 1:
            ends = [" to ".join(wire.terminals) for wire in plan.wires if wire.number == number]
            yield fault("wire-number", f"W{number}", f"{count} wires are called W{number}", ", ".join(ends),
                        "each number once", "plan again")  # fmt: skip


def _types(plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    known = {row.name for row in hardware.wires} | {"lead"}
    for wire in plan.wires:
        if wire.type not in known:
            yield fault("wire-unknown", f"W{wire.number}", f"W{wire.number} is of a type no reel has", wire.type,
                        "a wire type of the catalogue", "plan again")  # fmt: skip


def _colors(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield green-yellow wires that are not the protective earth, and a protective earth of another color."""
    earth = {p.name for p in build.parts if isinstance(p.values, Bond) and EARTH in {t.joint for t in p.terminals}}
    for wire in plan.wires:
        is_earth = wire.bond in earth or (not wire.bond and wire.joint == EARTH)
        if wire.type != "lead" and is_earth != (wire.color == EARTH_COLOR):
            yield Finding(
                rule="earth-color", grade=Grade.DANGER, part=f"W{wire.number}",
                what=f"W{wire.number} ({wire.joint}) has the wrong color", found=wire.color,
                wanted=EARTH_COLOR if is_earth else f"any color but {EARTH_COLOR}", do="plan again",
                source="IEC 60445: green-and-yellow is for the protective conductor alone; from memory",
            )  # fmt: skip


def _slack(plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    outside = {row.name: row.outside_mm for row in hardware.wires}
    pairs = {wire.number for pair in _pairs(plan) for wire in pair}
    for wire in plan.wires:
        needed = _way_mm(wire) * (1.0 + SLACK_SHARE) + SLACK_MM
        if wire.number in pairs:
            needed *= math.hypot(1.0, math.pi * outside.get(wire.type, LEAD_OUTSIDE_MM) / TURN_MM)
        if wire.length_mm < needed - ROUNDING_MM:
            yield fault("wire-slack", f"W{wire.number}", f"W{wire.number} is cut too short to be remade",
                        f"{wire.length_mm:.0f} mm for a way of {_way_mm(wire):.0f} mm",
                        f"{needed:.0f} mm or more{', twist included' if wire.number in pairs else ''}",
                        "plan again")  # fmt: skip


def _way_mm(wire: Wire) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(wire.route))


def _rings(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield wires whose two ends were joined without them: a ring picks up hum, and hides a bad joint."""
    root: dict[str, str] = {}

    def top(key: str) -> str:
        while root.setdefault(key, key) != key:
            key = root[key]
        return key

    for t in plan.terminals.values():
        if t.kind == "bus":
            root[top(t.key)] = top(f"bus {t.owner}")
        elif t.kind in ("foot", "bolt"):
            root[top(t.key)] = top(CHASSIS)
    for part in build.parts:
        for terminal in part.terminals:
            for pin in terminal.pins[1:]:
                root[top(f"{part.name}.{pin}")] = top(f"{part.name}.{terminal.pins[0]}")
    for wire in plan.wires:
        if wire.bond:
            continue
        one, two = (top(key) for key in wire.terminals)
        if one == two:
            yield fault("wire-ring", f"W{wire.number}", f"W{wire.number} closes a ring of wires",
                        f"{' to '.join(wire.terminals)}, joined already", "one way between any two points",
                        "leave the wire out")  # fmt: skip
        root[one] = two


def _pairs(plan: Plan) -> list[tuple[Wire, Wire]]:
    """Return the wires that are twisted from end to end: two of one name, between the same two owners."""
    named: dict[str, list[Wire]] = {}
    for wire in plan.wires:
        if wire.twist:
            named.setdefault(wire.twist, []).append(wire)
    found = []
    for _, wires in sorted(named.items()):
        owners = {frozenset(plan.terminals[key].owner for key in w.terminals if key in plan.terminals) for w in wires}
        if len(wires) == 2 and len(owners) == 1:
            found.append((wires[0], wires[1]))
    return found


def _twins(plan: Plan) -> Iterator[Finding]:
    """Yield twisted wires that run elsewhere than their twin."""
    for one, two in _pairs(plan):
        apart = max(_apart_mm(one, two), _apart_mm(two, one))
        if apart > TWINS_MM:
            yield fault("twins-part", f"W{one.number}", f"the two wires of twist {one.twist} run apart",
                        f"{apart:.0f} mm", f"at most {TWINS_MM:.0f} mm, but at their ends", "plan again")  # fmt: skip


def _apart_mm(one: Wire, two: Wire) -> float:
    """Return how far one wire strays from another, ends left out."""
    ends = (one.route[0][:2], one.route[-1][:2])
    middle = [p for p in _samples(one) if min(math.dist(p, end) for end in ends) > LOOSE_END_MM]
    return max((_to_wire_mm(p, two) for p in middle), default=0.0)


def _samples(wire: Wire) -> Iterator[Point]:
    for a, b in itertools.pairwise(wire.route):
        count = int(math.dist(a[:2], b[:2]) // STEP_MM) + 1
        yield from ((a[0] + (b[0] - a[0]) * k / count, a[1] + (b[1] - a[1]) * k / count) for k in range(count))


def _to_wire_mm(point: Point, wire: Wire) -> float:
    return min(_to_line_mm(point, a[:2], b[:2]) for a, b in itertools.pairwise(wire.route))


def _to_line_mm(point: Point, a: Point, b: Point) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0.0 else min(1.0, max(0.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square))
    return math.hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy)

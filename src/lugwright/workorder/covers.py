"""What lies over what: bodies over bodies, wires over parts, anything over a lug that is still needed."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from lugwright.buildfile.build import Build, Bus
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.workorder.units import Unit

Point = tuple[float, float]
Segment = tuple[Point, Point]
Legs = list[tuple[Segment, float]]  # in plan, each with the height of its higher end

LUG_ROOM_MM = 1.5  # an iron's tip beside a lug that lies under a body
WIRE_ROOM_MM = 1.0
BUS_RADIUS_MM = 1.0
LEAD_END_MM = 3.0  # next to its own lug a lead covers nothing

# What giving up a precedence costs; the cheapest of a ring is given up.
BODY_OVER_BODY, BODY_OVER_LUG, BODY_OVER_WIRE, WIRE_OVER, UNDER_BUS, WIRE_OVER_LUG = 10.0, 8.0, 6.0, 5.0, 3.0, 1.0
# Up to here what lies above is bent aside, or what lies below is slid in: dearer ones hide a part or a lug.
CHEAP = BODY_OVER_WIRE


@dataclass(frozen=True)
class Precedence:
    """``first`` has to go in before ``then``. A cost of math.inf is never given up."""

    first: str
    then: str
    cost: float
    why: str  # "R9 lies over strip A lug 3"
    covered: str = ""  # "strip A lug 3"
    upper: str = ""  # ``then`` in words, where its name alone would not do: "the bus ground"
    bends: bool = False  # ``then`` is a wire that is pushed aside, or crossed over by the later one: no words needed


def precedences(build: Build, plan: Plan, all_units: tuple[Unit, ...]) -> tuple[Precedence, ...]:
    """Return every precedence between two units, each pair once with its dearest reason."""
    unit_of = {name: unit.name for unit in all_units for name in (*unit.parts, *(f"W{n}" for n in unit.wires))}
    lugs = {key for key, terminal in plan.terminals.items() if terminal.kind != "exit"}  # a lead has its exit already
    users: dict[str, list[str]] = defaultdict(list)
    for unit in all_units:
        for key in sorted(unit.terminals & lugs):
            users[key].append(unit.name)
    best: dict[tuple[str, str], Precedence] = {}
    for found in _all(build, plan, unit_of, users):
        pair = (found.first, found.then)
        if found.first != found.then and (pair not in best or best[pair].cost < found.cost):
            best[pair] = found
    return tuple(best[pair] for pair in sorted(best))


def _all(build: Build, plan: Plan, unit_of: Mapping[str, str], users: Mapping[str, list[str]]) -> Iterator[Precedence]:
    yield from _bodies(plan)
    yield from _wires(plan, unit_of)
    yield from _lugs_under_bodies(plan, users)
    yield from _lugs_under_wires(plan, unit_of, users)
    yield from _buses(build, plan, unit_of, users)


def _bodies(plan: Plan) -> Iterator[Precedence]:
    for lower in plan.seats:
        for upper in plan.seats:
            if lower.layer >= upper.layer:
                continue
            room = (lower.body_diameter_mm + upper.body_diameter_mm) / 2.0
            if closer_than_mm(_span(plan, lower), _span(plan, upper), room):
                yield Precedence(
                    lower.part, upper.part, BODY_OVER_BODY, f"{upper.part} lies over {lower.part}", lower.part
                )


def _wires(plan: Plan, unit_of: Mapping[str, str]) -> Iterator[Precedence]:
    wires = {f"W{wire.number}" for wire in plan.wires}
    bodies = [(seat, _body(plan, seat)) for seat in plan.seats]
    for wire in plan.wires:
        name, legs = f"W{wire.number}", _legs(wire)
        for lower in wire.lies_over:
            if lower in unit_of:
                why = f"{name} lies over {lower}"
                yield Precedence(unit_of[lower], unit_of[name], WIRE_OVER, why, lower, bends=lower in wires)
        for seat, body in bodies:
            if seat.part not in wire.lies_over and _runs_under(legs, seat, body):
                yield Precedence(unit_of[name], seat.part, BODY_OVER_WIRE, f"{seat.part} lies over {name}", name)


def _runs_under(legs: Legs, seat: SeatedPart, body: Segment) -> bool:
    room = seat.body_diameter_mm / 2.0
    return any(height < seat.z_mm and closer_than_mm(leg, body, room) for leg, height in legs)


def _lugs_under_bodies(plan: Plan, users: Mapping[str, list[str]]) -> Iterator[Precedence]:
    for seat in plan.seats:
        for terminal in buried_by_body(plan, seat, users):
            for user in users[terminal.key]:
                yield Precedence(
                    user, seat.part, BODY_OVER_LUG, f"{seat.part} lies over {terminal.label}", terminal.label
                )


def buried_by_body(plan: Plan, seat: SeatedPart, users: Mapping[str, list[str]]) -> list[PlanTerminal]:
    """Return the used terminals that a seated body hides from the iron."""
    body, room = _body(plan, seat), seat.body_diameter_mm / 2.0 + LUG_ROOM_MM
    found = []
    for key in sorted(users):
        terminal = plan.terminals[key]
        at = (terminal.x_mm, terminal.y_mm)
        if key not in seat.terminals and terminal.z_mm < seat.z_mm and closer_than_mm((at, at), body, room):
            found.append(terminal)
    return found


def _lugs_under_wires(plan: Plan, unit_of: Mapping[str, str], users: Mapping[str, list[str]]) -> Iterator[Precedence]:
    for wire in plan.wires:
        name, legs = f"W{wire.number}", _legs(wire)
        for key in sorted(users):
            terminal = plan.terminals[key]
            if key in wire.terminals or not _passes_over(legs, terminal):
                continue
            for user in users[key]:
                why = f"{name} passes over {terminal.label}"
                yield Precedence(user, unit_of[name], WIRE_OVER_LUG, why, terminal.label, bends=True)


def _passes_over(legs: Legs, terminal: PlanTerminal) -> bool:
    at = (terminal.x_mm, terminal.y_mm)
    return any(height > terminal.z_mm and closer_than_mm((at, at), leg, WIRE_ROOM_MM) for leg, height in legs)


def _buses(
    build: Build, plan: Plan, unit_of: Mapping[str, str], users: Mapping[str, list[str]]
) -> Iterator[Precedence]:
    for bus in build.buses:
        own = {key for key, terminal in plan.terminals.items() if terminal.owner == bus.name}
        for key in sorted(own & set(users)):
            for user in users[key]:
                yield Precedence(bus.name, user, math.inf, f"{user} is soldered to {bus.name}")
        for name in _under_bus(plan, bus, own):
            why, upper = f"{bus.name} lies over {name}", f"the bus {bus.name}"
            yield Precedence(unit_of[name], bus.name, UNDER_BUS, why, name, upper)


def _under_bus(plan: Plan, bus: Bus, own: set[str]) -> Iterator[str]:
    """Yield the wires and parts that cross below a bus and do not end on it."""
    bars = list(pairwise(bus.points))
    for wire in plan.wires:
        if own & set(wire.terminals):
            continue
        low = [leg for leg, height in _legs(wire) if height < bus.height_mm]
        if any(closer_than_mm(leg, bar, BUS_RADIUS_MM) for leg in low for bar in bars):
            yield f"W{wire.number}"
    for seat in plan.seats:
        if own & set(seat.terminals) or seat.z_mm >= bus.height_mm:
            continue
        if any(closer_than_mm(_body(plan, seat), bar, seat.body_diameter_mm / 2.0) for bar in bars):
            yield seat.part


def _ends(plan: Plan, seat: SeatedPart) -> Segment:
    a, b = (plan.terminals[key] for key in seat.terminals)
    return (a.x_mm, a.y_mm), (b.x_mm, b.y_mm)


def _span(plan: Plan, seat: SeatedPart) -> Segment:
    a, b = _ends(plan, seat)
    return _middle_part(a, b, max(math.dist(a, b) - 2.0 * LEAD_END_MM, min(math.dist(a, b), seat.body_length_mm)))


def _body(plan: Plan, seat: SeatedPart) -> Segment:
    a, b = _ends(plan, seat)
    return _middle_part(a, b, min(math.dist(a, b), seat.body_length_mm))


def _middle_part(a: Point, b: Point, length: float) -> Segment:
    whole = math.dist(a, b)
    share = 0.5 * (1.0 - length / whole) if whole > 0.0 else 0.0
    dx, dy = (b[0] - a[0]) * share, (b[1] - a[1]) * share
    return (a[0] + dx, a[1] + dy), (b[0] - dx, b[1] - dy)


def _legs(wire: Wire) -> Legs:
    """Return the legs of a wire."""
    return [(((x0, y0), (x1, y1)), max(z0, z1)) for (x0, y0, z0), (x1, y1, z1) in pairwise(wire.route)]


def closer_than_mm(one: Segment, other: Segment, room_mm: float) -> bool:
    """Return whether two straight pieces come closer than that, in plan; most pairs are told apart by their extent.

    Parameters
    ----------
    one, other : pair of points
        The pieces. [mm]
    room_mm : float
        The distance in question. [mm]

    Returns
    -------
    bool
        True when they are nearer to each other. [-]

    Source
    ------
    Plane geometry, as `gap_mm`.
    """
    for p, q, r, s in zip(*one, *other, strict=True):  # across, then along
        (low, high), (least, most) = (p, q) if p < q else (q, p), (r, s) if r < s else (s, r)
        if high + room_mm < least or most + room_mm < low:
            return False
    return gap_mm(one, other) < room_mm


def gap_mm(one: Segment, other: Segment) -> float:
    """Return the distance between two straight pieces in plan.

    Parameters
    ----------
    one : pair of points
        From (x, y) to (x, y). [mm]
    other : pair of points
        The same of the second piece. [mm]

    Returns
    -------
    float
        Zero when they cross. [mm]

    Source
    ------
    Derived below: pieces that do not cross come nearest at an end of one of them.
    """
    if _cross(one, other):
        return 0.0
    return min(
        *(_point_gap_mm(point, other) for point in one),
        *(_point_gap_mm(point, one) for point in other),
    )


def _cross(one: Segment, other: Segment) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(*one, other[0]) * side(*one, other[1]) < 0.0 and side(*other, one[0]) * side(*other, one[1]) < 0.0


def _point_gap_mm(point: Point, piece: Segment) -> float:
    (x0, y0), (x1, y1) = piece
    dx, dy = x1 - x0, y1 - y0
    square = dx * dx + dy * dy
    share = 0.0 if square == 0.0 else ((point[0] - x0) * dx + (point[1] - y0) * dy) / square
    share = min(1.0, max(0.0, share))
    return math.dist(point, (x0 + share * dx, y0 + share * dy))

"""Where the lugs of a strip, its feet and a bus may stand: clear of metal, hands and iron. Millimeters throughout."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Can, Choke, Placement, Transformer, Tube
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import PlanTerminal

# Every distance of the free area, with its reason; all from memory of benches and makers' drawings.
WALL_MM = 10.0  # lug to a wall: the iron comes down between them
FOOT_WALL_MM = 9.0  # foot screw to a wall: an M3 nut is 5.5 mm wide, its driver 9 mm, half of it and the bend radius
SOCKET_MM = 11.0  # lug to the edge of a socket's hole: the saddle, and an iron that reaches the pins
CAN_MM = 5.0  # lug to a can: its clamp
EXIT_MM = 8.0  # lug to a grommet: the bundle bends over there
BOLT_MM = 10.0  # lug to a bolt: its nut, a tag under it, a driver
PANEL_MM = 6.0  # lug to the back of a pot, jack or switch: the iron at that part's own lugs
PANEL_SIDE_MM = 2.0  # lug to the side of such a part, which overhangs it
CORE_MM = 4.0  # foot screw to the core of a transformer or choke outside: half a screw head
FOOT_SOCKET_MM = 9.0  # foot screw to a socket's hole: the saddle outside, half a nut inside
FOOT_SCREW_MM = 8.0  # foot screw to any other screw: two nuts side by side
CORE_SHARE = 1.15  # a core is as much longer across its leads as along them: common lamination shapes
CORE_EDGE_MM = 5.0  # the grommet's middle stands this far from the core's edge: half a 9.5 mm hole
ROW_MM = 22.0  # row of lugs to row of lugs: the shortest body and its leads, or an iron with a hand behind it
STRIP_END_MM = 9.0  # last lug of a strip to the first of the next in line: the two boards do not touch
BUS_MM = 9.0  # lug to a bus: a lead can be wrapped round either
BUS_END_MM = 14.0  # end of a bus to a wall: the bolt it is bonded with


@dataclass(frozen=True)
class Rect:
    """An upright rectangle nothing may stand in."""

    x0: float
    y0: float
    x1: float
    y1: float

    def holds(self, x: float, y: float) -> bool:
        """Return whether a point lies inside."""
        return self.x0 < x < self.x1 and self.y0 < y < self.y1


@dataclass(frozen=True)
class Disc:
    """A circle nothing may stand in."""

    x: float
    y: float
    radius: float

    def holds(self, x: float, y: float) -> bool:
        """Return whether a point lies inside."""
        return math.hypot(x - self.x, y - self.y) < self.radius


Shape = Rect | Disc


@dataclass(frozen=True)
class Space:
    """What keeps lugs away, and what keeps feet away besides."""

    width: float
    depth: float
    for_lugs: tuple[Shape, ...]
    for_feet: tuple[Shape, ...]

    def lug_may_stand(self, x: float, y: float) -> bool:
        """Return whether a lug can be soldered to there."""
        if not (WALL_MM <= x <= self.width - WALL_MM and WALL_MM <= y <= self.depth - WALL_MM):
            return False
        return not any(shape.holds(x, y) for shape in self.for_lugs)

    def foot_may_stand(self, x: float, y: float) -> bool:
        """Return whether a foot can be screwed down there."""
        if not (FOOT_WALL_MM <= x <= self.width - FOOT_WALL_MM and FOOT_WALL_MM <= y <= self.depth - FOOT_WALL_MM):
            return False
        return self.lug_may_stand(x, y) and not any(shape.holds(x, y) for shape in self.for_feet)

    def without(self, shapes: Iterable[Shape]) -> Space:
        """Return the space with more in it that keeps lugs away."""
        return Space(self.width, self.depth, (*self.for_lugs, *shapes), self.for_feet)


def free_space(build: Build, hardware: Hardware, terminals: Mapping[str, PlanTerminal]) -> Space:
    """Return the space a build's chassis leaves for strips, its stated strips and buses standing in it."""
    chassis = build.chassis
    width, depth = (chassis.width_mm, chassis.depth_mm) if chassis else (0.0, 0.0)
    points = terminals.values()
    lugs: list[Shape] = [Disc(t.x_mm, t.y_mm, EXIT_MM) for t in points if t.kind == "exit"]
    lugs += [Disc(t.x_mm, t.y_mm, BOLT_MM) for t in points if t.kind == "bolt"]
    lugs += _panel_backs(build, hardware)
    feet: list[Shape] = [Disc(t.x_mm, t.y_mm, FOOT_SCREW_MM + 4.0) for t in points if t.kind in ("exit", "bolt")]
    for name, placement in build.placements.items():
        part = build.part_by_name.get(name)
        if part is None or placement.panel != "plate":
            continue
        x, y = placement.at
        if isinstance(part.values, Tube):
            hole = hardware.sockets[part.values.socket].hole_mm / 2.0
            lugs.append(Disc(x, y, hole + SOCKET_MM))
            feet.append(Disc(x, y, hole + FOOT_SOCKET_MM))
        elif isinstance(part.values, Can):
            lugs.append(Disc(x, y, part.values.body.diameter_mm / 2.0 + CAN_MM))
        elif isinstance(part.values, Transformer | Choke):
            feet.append(_core(placement, name, terminals))
    for strip in build.strips:
        own = [t for t in points if t.owner == strip.name]
        lugs += list(around_row([(t.x_mm, t.y_mm) for t in own]))
    for bus in build.buses:
        lugs += list(along_bus(bus.points))
    return Space(width, depth, tuple(lugs), tuple(feet))


def _panel_backs(build: Build, hardware: Hardware) -> Iterator[Rect]:
    """Yield what lies under and just behind each pot, jack, switch, fuse holder, lamp and inlet."""
    chassis = build.chassis
    if chassis is None:
        return
    for name, row in hardware.panel.items():
        placement = build.placements.get(name)
        if placement is None:
            continue
        deep, half, at = row.depth_mm + PANEL_MM, row.width_mm / 2.0 + PANEL_SIDE_MM, placement.at
        if placement.panel == "front":
            yield Rect(at[0] - half, chassis.depth_mm - deep, at[0] + half, chassis.depth_mm)
        elif placement.panel == "rear":
            yield Rect(at[0] - half, 0.0, at[0] + half, deep)
        elif placement.panel == "left":
            yield Rect(0.0, at[0] - half, deep, at[0] + half)
        elif placement.panel == "right":
            yield Rect(chassis.width_mm - deep, at[0] - half, chassis.width_mm, at[0] + half)
        else:
            yield Rect(at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _core(placement: Placement, name: str, terminals: Mapping[str, PlanTerminal]) -> Shape:
    """Return the outline of a transformer's core outside, as far as its grommet tells it."""
    exits = [t for t in terminals.values() if t.owner == name and t.kind == "exit"]
    (x, y), turn = placement.at, placement.turn % 180.0
    if not exits:
        return Disc(x, y, CORE_MM)
    away = math.hypot(sum(t.x_mm for t in exits) / len(exits) - x, sum(t.y_mm for t in exits) / len(exits) - y)
    half = max(12.0, away - CORE_EDGE_MM)
    across, along = half * CORE_SHARE + CORE_MM, half + CORE_MM
    if turn not in (0.0, 90.0):
        return Disc(x, y, math.hypot(across, along))
    dx, dy = (across, along) if turn == 0.0 else (along, across)
    return Rect(x - dx, y - dy, x + dx, y + dy)


def around_row(lugs: list[tuple[float, float]]) -> Iterator[Shape]:
    """Yield what keeps other lugs away from a row of lugs: room for bodies beside it, an end's width before it."""
    if not lugs:
        return
    (x0, y0), (x1, y1) = lugs[0], lugs[-1]
    if abs(y1 - y0) < 0.5 or abs(x1 - x0) < 0.5:
        level = abs(y1 - y0) <= abs(x1 - x0)
        dx, dy = (STRIP_END_MM, ROW_MM) if level else (ROW_MM, STRIP_END_MM)
        yield Rect(min(x0, x1) - dx, min(y0, y1) - dy, max(x0, x1) + dx, max(y0, y1) + dy)
    else:
        yield from (Disc(x, y, ROW_MM) for x, y in lugs)


def along_bus(points: Iterable[tuple[float, float]]) -> Iterator[Shape]:
    """Yield what keeps lugs away from a bare bus."""
    corners = list(points)
    for (x0, y0), (x1, y1) in zip(corners, corners[1:], strict=False):
        steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / BUS_MM))
        yield from (
            Disc(x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps, BUS_MM) for k in range(steps + 1)
        )

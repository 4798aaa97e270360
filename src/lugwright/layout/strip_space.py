"""Where the lugs of a strip, its feet and a bus may stand: clear of metal, hands and iron. Millimeters throughout."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

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
PANEL_SIDE_MM = 5.0  # lug to the side of such a part, which stands higher than the lug: the iron between them
CORE_MM = 4.0  # foot screw to the core of a transformer or choke outside: half a screw head
FOOT_SOCKET_MM = 9.0  # foot screw to a socket's hole: the saddle outside, half a nut inside
FOOT_SCREW_MM = 8.0  # foot screw to any other screw: two nuts side by side
CORE_SHARE = 1.15  # a core is as much longer across its leads as along them: common lamination shapes
CORE_EDGE_MM = 5.0  # the grommet's middle stands this far from the core's edge: half a 9.5 mm hole
ROW_MM = 22.0  # row of lugs to row of lugs: the shortest body and its leads, or an iron with a hand behind it
STRIP_END_MM = 9.0  # last lug of a strip to the first of the next in line: the two boards do not touch
BUS_MM = 9.0  # lug to a bus: a lead can be wrapped round either
FINEST_MM, MOST_POINTS = 0.5, 2e6  # grid of the free area: as fine as that, unless the plate is very large
BUS_END_MM = 14.0  # end of a bus to a wall: the bolt it is bonded with

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Rect:
    """An upright rectangle nothing may stand in."""

    x0: float
    y0: float
    x1: float
    y1: float

    def holds(self, x: Floats, y: Floats) -> Bools:
        """Return which points lie inside."""
        return (self.x0 < x) & (x < self.x1) & (self.y0 < y) & (y < self.y1)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return its bounds: least x and y, largest x and y."""
        return self.x0, self.y0, self.x1, self.y1


@dataclass(frozen=True)
class Disc:
    """A circle nothing may stand in."""

    x: float
    y: float
    radius: float

    def holds(self, x: Floats, y: Floats) -> Bools:
        """Return which points lie inside."""
        inside: Bools = (x - self.x) ** 2 + (y - self.y) ** 2 < self.radius**2
        return inside

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return its bounds: least x and y, largest x and y."""
        return self.x - self.radius, self.y - self.radius, self.x + self.radius, self.y + self.radius


Shape = Rect | Disc


@dataclass(frozen=True)
class Space:
    """The points of the plate, on a grid, where lugs may stand and where feet may."""

    width: float
    depth: float
    step: float  # of the grid
    lugs: Bools  # (y, x)
    feet: Bools

    def lug_may_stand(self, x: float, y: float) -> bool:
        """Return whether a lug can be soldered to there."""
        return self._free(self.lugs, x, y)

    def foot_may_stand(self, x: float, y: float) -> bool:
        """Return whether a foot can be screwed down there."""
        return self._free(self.lugs, x, y) and self._free(self.feet, x, y)

    def _free(self, grid: Bools, x: float, y: float) -> bool:
        if not (0.0 <= x <= self.width and 0.0 <= y <= self.depth):
            return False
        return bool(grid[int(y / self.step + 0.5), int(x / self.step + 0.5)])

    def without(self, shapes: Iterable[Shape]) -> Space:
        """Return the space with more in it that keeps lugs away."""
        lugs = self.lugs.copy()
        for shape in shapes:
            _take_out(lugs, shape, self.step)
        return replace(self, lugs=lugs)


def _empty(width: float, depth: float) -> Space:
    """Return a plate with nothing on it but its walls."""
    step = max(FINEST_MM, math.sqrt(width * depth / MOST_POINTS))
    x, y = np.arange(int(width / step + 0.5) + 1) * step, np.arange(int(depth / step + 0.5) + 1) * step
    grids = []
    for wall in (WALL_MM, FOOT_WALL_MM):
        free = (x >= wall) & (x <= width - wall), (y >= wall) & (y <= depth - wall)
        grids.append(free[1][:, None] & free[0][None, :])
    return Space(width, depth, step, grids[0], grids[1])


def _take_out(grid: Bools, shape: Shape, step: float) -> None:
    """Mark the points inside a shape as taken."""
    x0, y0, x1, y1 = (int(edge / step) for edge in shape.box)
    rows, columns = slice(max(y0 - 1, 0), max(y1 + 2, 0)), slice(max(x0 - 1, 0), max(x1 + 2, 0))
    part = grid[rows, columns]
    y: Floats = (np.arange(part.shape[0], dtype=np.float64) + rows.start)[:, None] * step
    x: Floats = (np.arange(part.shape[1], dtype=np.float64) + columns.start)[None, :] * step
    part &= ~shape.holds(x, y)


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
    space = _empty(width, depth).without(lugs)
    for shape in feet:
        _take_out(space.feet, shape, space.step)
    return space


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
    for (x0, y0), (x1, y1) in itertools.pairwise(corners):
        steps = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / BUS_MM))
        yield from (Disc(x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps, BUS_MM) for k in range(steps + 1))

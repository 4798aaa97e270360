"""The empty plate as a grid: what it costs a wire to pass each node, along x and along y, by what stands there.

An expert's lanes follow from it: along the walls, between the parts, square over a strip and never along
under its lugs, not through a socket, over a screw or over a grommet.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build, Can, Placement, Strip, Tube
from lugwright.catalogue.records import SocketType, StripType
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import PlanTerminal, SeatedPart

STEP_MM = 2.5  # from lane to lane: a hook-up wire with its insulation, and a little air
MOST_NODES = 40_000  # beyond that, on a huge plate, lanes lie farther apart
BASE = 8  # half of what a step over a free node costs
WALL_MM = 12.5  # a lane along the walls
EDGE_CLASSES = ("heater", "mains", "earth")
EDGE_BASE = 5
# Added to a free node, as a multiple of it.
SOCKET, CAN, SCREW, FOOT, GROMMET = 30.0, 20.0, 12.0, 8.0, 4.0
LUG, ALONG_STRIP, ALONG_BUS, ACROSS, BODY, PANEL, SKIRT, WALL = 3.0, 3.0, 3.0, 0.3, 0.6, 1.5, 0.6, 6.0
LUG_MM, SCREW_MM, BOLT_MM, BUS_MM, GROMMET_MM, SKIRT_MM = 2.2, 3.2, 5.0, 2.5, 4.0, 2.0

Point = tuple[float, float]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass
class Plate:
    """Nodes stand ``step_mm`` apart from the rear left corner; ``more_x``, ``more_y`` are multiples of a free node."""

    width_mm: float
    depth_mm: float
    step_mm: float
    x: Floats
    y: Floats
    more_x: Floats = field(init=False)
    more_y: Floats = field(init=False)
    barred: Bools = field(init=False)  # no wire goes straight over it through the air

    def __post_init__(self) -> None:
        shape = (self.x.shape[0], self.y.shape[1])
        self.more_x, self.more_y = np.zeros(shape), np.zeros(shape)
        self.barred = np.zeros(shape, dtype=np.bool_)

    @property
    def edge(self) -> Bools:
        """Return the nodes of the lane along the walls."""
        near_x = (self.x < WALL_MM) | (self.x > self.width_mm - WALL_MM)
        return np.asarray(near_x | (self.y < WALL_MM) | (self.y > self.depth_mm - WALL_MM))

    def to_wall_mm(self, at: Point) -> float:
        """Return the distance of a point to the nearest wall.

        Parameters
        ----------
        at : (x, y)
            The point. [mm]

        Returns
        -------
        float
            Seen from above. [mm]

        Source
        ------
        Plane geometry.
        """
        return min(at[0], at[1], self.width_mm - at[0], self.depth_mm - at[1])

    def node(self, point: Point) -> tuple[int, int]:
        """Return the node nearest to a point."""
        shape = self.more_x.shape
        return (
            min(max(round(point[0] / self.step_mm), 0), shape[0] - 1),
            min(max(round(point[1] / self.step_mm), 0), shape[1] - 1),
        )

    def disc(self, at: Point, radius_mm: float) -> Bools:
        """Return the nodes within a radius of a point."""
        return np.asarray((self.x - at[0]) ** 2 + (self.y - at[1]) ** 2 < radius_mm**2)

    def line(self, a: Point, b: Point, radius_mm: float) -> Bools:
        """Return the nodes nearer than a radius to a straight line between two points."""
        dx, dy = b[0] - a[0], b[1] - a[1]
        share = ((self.x - a[0]) * dx + (self.y - a[1]) * dy) / max(dx * dx + dy * dy, 1e-9)
        share = np.clip(share, 0.0, 1.0)
        apart = (self.x - a[0] - share * dx) ** 2 + (self.y - a[1] - share * dy) ** 2
        return np.asarray(apart < radius_mm**2)

    def add(self, where: Bools, along_x: float, along_y: float | None = None) -> None:
        """Make nodes dearer by multiples of a free node."""
        self.more_x[where] += along_x
        self.more_y[where] += along_x if along_y is None else along_y


def make_plate(
    build: Build, hardware: Hardware, terminals: Mapping[str, PlanTerminal], seats: Sequence[SeatedPart]
) -> Plate:
    """Return the plate of a build with everything that stands on it or lies over it."""
    chassis = build.chassis
    width = chassis.width_mm if chassis else max(t.x_mm for t in terminals.values()) + 20.0
    depth = chassis.depth_mm if chassis else max(t.y_mm for t in terminals.values()) + 20.0
    step = STEP_MM * max(1, math.ceil(math.sqrt(width * depth / MOST_NODES) / STEP_MM))
    count_x, count_y = int(width / step) + 1, int(depth / step) + 1
    plate = Plate(
        width, depth, step,
        (np.arange(count_x, dtype=np.float64) * step)[:, None], (np.arange(count_y, dtype=np.float64) * step)[None, :],
    )  # fmt: skip
    _parts(plate, build, hardware)
    for strip in build.strips:
        _strip(plate, strip, hardware.strips[strip.type])
    for bus in build.buses:
        for a, b in pairwise(bus.points):
            _along(plate, plate.line(a, b, BUS_MM), a, b, ALONG_BUS)
    for star in build.stars:
        screw = plate.disc(star.at, BOLT_MM)
        plate.add(screw, SCREW)
        plate.barred |= screw
    _terminals(plate, terminals)
    for seat in seats:
        one, two = ((terminals[key].x_mm, terminals[key].y_mm) for key in seat.terminals)
        plate.add(plate.line(one, two, max(seat.body_diameter_mm / 2.0, 1.0)), BODY)
    least = step / 2.0
    wall = (plate.x < least) | (plate.x > width - least) | (plate.y < least) | (plate.y > depth - least)
    plate.add(np.asarray(wall), WALL)
    return plate


def _parts(plate: Plate, build: Build, hardware: Hardware) -> None:
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is None:
            continue
        if isinstance(part.values, Tube):
            _socket(plate, placement, hardware.sockets[part.values.socket])
        elif isinstance(part.values, Can):
            inside = plate.disc(placement.at, min(9.0, part.values.body.diameter_mm / 2.0))
            plate.add(inside, CAN)
            plate.barred |= inside
        elif part.name in hardware.panel and placement.panel != "plate":
            row = hardware.panel[part.name]
            plate.add(_under_panel(plate, placement, row.width_mm / 2.0, row.depth_mm), PANEL)


def _socket(plate: Plate, placement: Placement, row: SocketType) -> None:
    inside = plate.disc(placement.at, row.pin_circle_mm / 2.0 - 1.0)
    plate.add(inside, SOCKET)
    plate.add(plate.disc(placement.at, row.hole_mm / 2.0 + SKIRT_MM), SKIRT)
    turn = math.radians(placement.turn)
    for side in (-1.0, 1.0):
        off = side * row.fixing_centers_mm / 2.0
        ear = plate.disc((placement.at[0] + off * math.cos(turn), placement.at[1] + off * math.sin(turn)), SCREW_MM)
        plate.add(ear, SCREW)
        plate.barred |= ear
    plate.barred |= inside


def _strip(plate: Plate, strip: Strip, row: StripType) -> None:
    turn = math.radians(strip.turn)
    step = (row.pitch_mm * math.cos(turn), row.pitch_mm * math.sin(turn))
    end = (strip.at[0] + (strip.lugs - 1) * step[0], strip.at[1] + (strip.lugs - 1) * step[1])
    _along(plate, plate.line(strip.at, end, row.board_width_mm / 2.0), strip.at, end, ALONG_STRIP)
    for foot in strip.feet:
        at = (strip.at[0] + (foot - 1) * step[0], strip.at[1] + (foot - 1) * step[1])
        under = plate.disc(at, SCREW_MM)
        plate.add(under, FOOT)
        plate.barred |= under


def _along(plate: Plate, where: Bools, a: Point, b: Point, cost: float) -> None:
    """Make it dear to run along a line, and nearly free to cross it."""
    level = abs(b[0] - a[0]) >= abs(b[1] - a[1])
    plate.add(where, cost if level else ACROSS, ACROSS if level else cost)


def _terminals(plate: Plate, terminals: Mapping[str, PlanTerminal]) -> None:
    mouths: dict[str, list[Point]] = {}
    for t in terminals.values():
        at = (t.x_mm, t.y_mm)
        if t.kind == "exit":
            mouths.setdefault(t.owner, []).append(at)
        elif t.kind == "bolt":
            bolt = plate.disc(at, BOLT_MM)
            plate.add(bolt, SCREW)
            plate.barred |= bolt
        elif t.kind != "bus":
            plate.add(plate.disc(at, LUG_MM), LUG)
    for points in mouths.values():
        plate.add(plate.line(points[0], points[-1], GROMMET_MM), GROMMET)


def _under_panel(plate: Plate, placement: Placement, half_mm: float, deep_mm: float) -> Bools:
    """Return the nodes below a part on a panel."""
    x, y, at = plate.x, plate.y, placement.at[0]
    along, out = {
        "front": (x, plate.depth_mm - y), "rear": (x, y), "left": (y, x), "right": (y, plate.width_mm - x),
    }[placement.panel]  # fmt: skip
    return np.asarray((np.abs(along - at) < half_mm) & (out < deep_mm))

"""Plane geometry of drawings: turned boxes, segments, what touches what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

Point = tuple[float, float]


@dataclass(frozen=True)
class Box:
    """A rectangle about its center, turned clockwise on the drawing (y down). [mm, degrees]"""

    x: float
    y: float
    width: float
    height: float
    turn: float = 0.0

    def corners(self) -> tuple[Point, ...]:
        """Return the four corners in order."""
        ux, uy = unit(self.turn)
        half_w, half_h = self.width / 2.0, self.height / 2.0
        return tuple(
            (self.x + a * half_w * ux - b * half_h * uy, self.y + a * half_w * uy + b * half_h * ux)
            for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        )

    def bounds(self) -> tuple[float, float, float, float]:
        """Return least x, least y, greatest x, greatest y."""
        return self._bounds

    @cached_property
    def _bounds(self) -> tuple[float, float, float, float]:
        ux, uy = unit(self.turn)
        ux, uy = abs(ux), abs(uy)
        half_w = (self.width * ux + self.height * uy) / 2.0
        half_h = (self.width * uy + self.height * ux) / 2.0
        return self.x - half_w, self.y - half_h, self.x + half_w, self.y + half_h

    def grown(self, by: float) -> Box:
        """Return the box with that much added on every side."""
        return Box(self.x, self.y, self.width + 2.0 * by, self.height + 2.0 * by, self.turn)


@lru_cache(maxsize=4096)
def unit(turn: float) -> Point:
    """Return the direction of an angle; exact for quarter turns."""
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return exact.get(turn % 360.0) or (math.cos(math.radians(turn)), math.sin(math.radians(turn)))


def boxes_overlap(a: Box, b: Box) -> bool:
    """Return whether two boxes share more than an edge (separating axes)."""
    if a.turn == b.turn == 0.0:
        return abs(b.x - a.x) < (a.width + b.width) / 2.0 - 1e-9 and abs(b.y - a.y) < (a.height + b.height) / 2.0 - 1e-9
    reach = (math.hypot(a.width, a.height) + math.hypot(b.width, b.height)) / 2.0
    dx, dy = b.x - a.x, b.y - a.y
    if dx * dx + dy * dy > reach * reach:
        return False
    axes_a, axes_b = _axes(a), _axes(b)
    for ux, uy in (*axes_a, *axes_b):
        apart = abs(dx * ux + dy * uy)
        if apart >= _shadow(a, axes_a, ux, uy) + _shadow(b, axes_b, ux, uy) - 1e-9:
            return False
    return True


def _axes(box: Box) -> tuple[Point, Point]:
    ux, uy = unit(box.turn)
    return (ux, uy), (-uy, ux)


def _shadow(box: Box, axes: tuple[Point, Point], ux: float, uy: float) -> float:
    (ax, ay), (bx, by) = axes
    return abs(ax * ux + ay * uy) * box.width / 2.0 + abs(bx * ux + by * uy) * box.height / 2.0


def segment_hits_box(a: Point, b: Point, box: Box) -> bool:
    """Return whether a straight line from a to b passes through the inside of a box."""
    reach = (box.width + box.height) / 2.0
    for p, q, middle in ((a[0], b[0], box.x), (a[1], b[1], box.y)):
        if (middle <= p - reach and middle <= q - reach) or (middle >= p + reach and middle >= q + reach):
            return False
    ux, uy = unit(box.turn)
    start = ((a[0] - box.x) * ux + (a[1] - box.y) * uy, -(a[0] - box.x) * uy + (a[1] - box.y) * ux)
    end = ((b[0] - box.x) * ux + (b[1] - box.y) * uy, -(b[0] - box.x) * uy + (b[1] - box.y) * ux)
    low, high = 0.0, 1.0
    for p, q, half in ((start[0], end[0], box.width / 2.0), (start[1], end[1], box.height / 2.0)):
        step = q - p
        if abs(step) < 1e-12:
            if abs(p) >= half:
                return False
            continue
        one, two = (-half - p) / step, (half - p) / step
        low, high = max(low, min(one, two)), min(high, max(one, two))
    return low < high - 1e-9


def point_in_box(p: Point, box: Box) -> bool:
    """Return whether a point lies inside a box."""
    dx, dy = p[0] - box.x, p[1] - box.y
    if abs(dx) + abs(dy) > box.width + box.height:
        return False
    ux, uy = unit(box.turn)
    return abs(dx * ux + dy * uy) < box.width / 2.0 and abs(-dx * uy + dy * ux) < box.height / 2.0


def edge_toward(box: Box, point: Point) -> Point:
    """Return where a straight line from the middle of a box to a point outside leaves the box."""
    ux, uy = unit(box.turn)
    dx, dy = point[0] - box.x, point[1] - box.y
    across, down = abs(dx * ux + dy * uy), abs(-dx * uy + dy * ux)
    share = min(
        box.width / 2.0 / across if across > 1e-9 else math.inf,
        box.height / 2.0 / down if down > 1e-9 else math.inf,
        1.0,
    )
    return box.x + dx * share, box.y + dy * share


def segments_cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Return whether two segments cross in their insides."""

    if (a[0] < c[0] > b[0] and a[0] < d[0] > b[0]) or (a[0] > c[0] < b[0] and a[0] > d[0] < b[0]):
        return False  # one lies wholly to the right of the other

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < -1e-9 and side(c, d, a) * side(c, d, b) < -1e-9


def along(points: Sequence[Point], step: float) -> list[tuple[Point, float]]:
    """Return points about every ``step`` along a line, each with its direction in degrees."""
    found: list[tuple[Point, float]] = []
    for (x0, y0), (x1, y1) in pairwise(points):
        length = math.hypot(x1 - x0, y1 - y0)
        if length < 1e-9:
            continue
        count = max(1, round(length / step))
        turn = math.degrees(math.atan2(y1 - y0, x1 - x0))
        found += [
            ((x0 + (x1 - x0) * (k + 0.5) / count, y0 + (y1 - y0) * (k + 0.5) / count), turn) for k in range(count)
        ]
    return found


def upright(turn: float) -> float:
    """Return the same line's angle so that text along it reads from below or from the right: -90 up to 90."""
    turn = (turn + 90.0) % 180.0 - 90.0
    return -90.0 if abs(turn - 90.0) < 0.5 or abs(turn + 90.0) < 0.5 else (0.0 if abs(turn) < 0.5 else turn)

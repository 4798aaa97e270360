"""Whether two lying parts get in each other's way, seen from above."""

from __future__ import annotations

import math
from typing import NamedTuple

from lugwright.layout.objective import BODY_AIR_MM, LEAD_AIR_MM

Line = tuple[float, float, float, float]


class Lying(NamedTuple):
    """A part as it lies: the line its leads run, the axis of its body, its radius, its two terminals."""

    full: Line
    body: Line
    radius_mm: float
    ends: tuple[int, int]


def in_the_way(a: Lying, b: Lying) -> bool:
    """Return whether bodies touch, a bare lead touches a body, or bare leads cross (same layer)."""
    reach = a.radius_mm + b.radius_mm + LEAD_AIR_MM
    if (
        max(a.full[0], a.full[2]) + reach < min(b.full[0], b.full[2])
        or max(b.full[0], b.full[2]) + reach < min(a.full[0], a.full[2])
        or max(a.full[1], a.full[3]) + reach < min(b.full[1], b.full[3])
        or max(b.full[1], b.full[3]) + reach < min(a.full[1], a.full[3])
    ):
        return False
    if line_distance_mm(a.body, b.body) < a.radius_mm + b.radius_mm + BODY_AIR_MM:
        return True
    shared = not set(a.ends).isdisjoint(b.ends)
    if line_distance_mm(a.full, b.body) < b.radius_mm + (0.0 if shared else LEAD_AIR_MM):
        return True
    if line_distance_mm(b.full, a.body) < a.radius_mm + (0.0 if shared else LEAD_AIR_MM):
        return True
    return not shared and line_distance_mm(a.full, b.full) == 0.0


def line_distance_mm(a: Line, b: Line) -> float:
    """Return the least distance of two straight lines in the plane, 0 where they cross.

    Parameters
    ----------
    a, b : Line
        Ends x0, y0, x1, y1. [mm]

    Returns
    -------
    float
        The distance. [mm]

    Source
    ------
    Plane geometry: lines that do not cross are nearest at an end of one of them.
    """
    if _cross(a, b):
        return 0.0
    return min(
        _point_distance(a[0], a[1], b), _point_distance(a[2], a[3], b),
        _point_distance(b[0], b[1], a), _point_distance(b[2], b[3], a),
    )  # fmt: skip


def _side(line: Line, x: float, y: float) -> float:
    return (line[2] - line[0]) * (y - line[1]) - (line[3] - line[1]) * (x - line[0])


def _cross(a: Line, b: Line) -> bool:
    return _side(a, b[0], b[1]) * _side(a, b[2], b[3]) < 0.0 and _side(b, a[0], a[1]) * _side(b, a[2], a[3]) < 0.0


def _point_distance(x: float, y: float, line: Line) -> float:
    dx, dy = line[2] - line[0], line[3] - line[1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0.0 else min(1.0, max(0.0, ((x - line[0]) * dx + (y - line[1]) * dy) / square))
    return math.hypot(x - line[0] - along * dx, y - line[1] - along * dy)

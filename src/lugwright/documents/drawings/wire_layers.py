"""Which wire is drawn over which: as they are laid, and where one passes over a part, over that part."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from lugwright.documents.drawings.geometry import Box, Point, point_in_box
from lugwright.documents.drawings.svg import Markup, group
from lugwright.documents.drawings.wires import wire_strokes
from lugwright.layout.results import Plan, Wire
from lugwright.workorder.results import WorkOrder

END_MM = 1.2  # nearer to an end than this two wires meet in a lug and do not cross
PATCH_MM = 2.4  # of the upper wire to either side of a crossing


@dataclass(frozen=True)
class Laying:
    """The order in which wires come to lie on one another. ``high`` ones pass over a part."""

    turn: Mapping[int, int]
    high: frozenset[int]

    def drawn(self, number: int) -> tuple[bool, int]:
        """Return what wires are sorted by for drawing."""
        return number in self.high, self.turn[number]


@dataclass(frozen=True)
class Crossing:
    """Two wires that cross on the drawing; ``upper`` lies over ``lower``."""

    at: Point
    upper: int
    lower: int
    along: Point  # direction of the upper wire


def laying(plan: Plan, order: WorkOrder | None) -> Laying:
    """Return the order of laying from the job cards; without them from the heights of the planned routes."""
    heights = sorted(plan.wires, key=lambda w: (max(z for _, _, z in w.route[1:-1] or w.route), w.number))
    laid = [number for job in order.jobs for number in job.wires] if order else []
    turn = {number: k for k, number in enumerate(dict.fromkeys([*laid, *(w.number for w in heights)]))}
    over = order.over if order else {}
    names = {f"W{wire.number}" for wire in plan.wires}
    high = frozenset(w.number for w in plan.wires if any(n not in names for n in over.get(w.number, w.lies_over)))
    return Laying(turn, high)


def crossings(routes: Mapping[int, Sequence[Point]], laid: Laying) -> list[Crossing]:
    """Return every place where two wires cross on the drawing, the later laid one over the other."""
    legs = sorted(
        (min(a[0], b[0]), max(a[0], b[0]), number, a, b)
        for number, points in routes.items()
        for a, b in pairwise(points)
    )
    found = []
    open_legs: list[tuple[float, float, int, Point, Point]] = []
    for leg in legs:
        open_legs = [other for other in open_legs if other[1] >= leg[0]]
        for other in open_legs:
            at = _meeting(leg[3], leg[4], other[3], other[4]) if leg[2] != other[2] else None
            if at is None or any(_near_end(routes[k[2]], at) for k in (leg, other)):
                continue
            up, low = (leg, other) if laid.turn[leg[2]] > laid.turn[other[2]] else (other, leg)
            found.append(Crossing(at, up[2], low[2], _direction(up[3], up[4])))
        open_legs.append(leg)
    return found


def _meeting(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    (px, py), (rx, ry) = a, (b[0] - a[0], b[1] - a[1])
    sx, sy = d[0] - c[0], d[1] - c[1]
    cross = rx * sy - ry * sx
    if abs(cross) < 1e-9:
        return None
    t = ((c[0] - px) * sy - (c[1] - py) * sx) / cross
    u = ((c[0] - px) * ry - (c[1] - py) * rx) / cross
    return (px + t * rx, py + t * ry) if 0.0 < t < 1.0 and 0.0 < u < 1.0 else None


def _near_end(points: Sequence[Point], at: Point) -> bool:
    return min(math.dist(points[0], at), math.dist(points[-1], at)) < END_MM


def _direction(a: Point, b: Point) -> Point:
    length = math.dist(a, b)
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def class_groups(wires: Sequence[Wire], laid: Laying, layer: str, drawn: Mapping[int, Markup]) -> list[Markup]:
    """Return the wires of a layer, lowest first, in groups of one class; a class that comes again is counted on."""
    found = []
    seen: dict[str, int] = {}
    order = sorted(wires, key=lambda w: laid.drawn(w.number))
    for kind, some in groupby(order, key=lambda w: w.kind):
        seen[kind] = seen.get(kind, 0) + 1
        name = f"{layer}-{kind.replace('+', '-plus')}" + (f"-{seen[kind]}" if seen[kind] > 1 else "")
        found.append(group([drawn[w.number] for w in some], id=name, class_="wires", data_kind=kind))
    return found


def bridges(found: Sequence[Crossing], wires: Mapping[int, Wire], laid: Laying, bodies: Sequence[Box]) -> list[Markup]:
    """Return a short piece of each upper wire that the layers would draw below the wire it passes over."""
    return [
        group(wire_strokes(wires[c.upper], _piece(c)), class_="over", data_over=f"W{c.upper}", data_under=f"W{c.lower}")
        for c in found
        if laid.drawn(c.upper) < laid.drawn(c.lower) and not any(point_in_box(c.at, box) for box in bodies)
    ]


def _piece(c: Crossing) -> tuple[Point, Point]:
    (x, y), (ux, uy) = c.at, c.along
    return (x - PATCH_MM * ux, y - PATCH_MM * uy), (x + PATCH_MM * ux, y + PATCH_MM * uy)

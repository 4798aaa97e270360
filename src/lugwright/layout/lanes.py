"""Lanes over the plate: what it costs a wire of a class to run there, beside and across the wires that lie there.

Whole numbers throughout, so that a wire taken up leaves nothing behind and every machine finds the same ways.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import pairwise

import numpy as np

from lugwright.layout.lane_search import Ints, Node, cheapest_way
from lugwright.layout.objective import CROSSING, CROSSING_UNFRIENDLY, run_penalty
from lugwright.layout.plate import BASE, EDGE_BASE, EDGE_CLASSES, Plate, Point
from lugwright.layout.side_by_side import REACH_MM, run_share

TURN_MM = 8.0  # what a bend costs, in millimeters of lane
ON_ONE_ANOTHER = 24  # added per node where two wires lie in one lane; grows from round to round
COMPANY = 1  # taken off beside wires that run along: lanes stay together
MOST_COMPANY = 2
FOLLOWED = 3  # cost of a node where a wire runs along with the one it is twisted with
PIN_REACH_MM = 15.0  # about a grid pin or lug an unfriendly wire costs more, the nearer the more
MARGIN_MM, EDGE_MARGIN_MM = 45.0, 90.0  # how far out of its box a wire is looked a way for
_NEXT = np.array([1, 0, 1], dtype=np.int32)


class Lanes:
    """The plate with the wires routed so far."""

    def __init__(
        self,
        plate: Plate,
        classes: Iterable[str],
        quiet: Iterable[tuple[Point, str]],
        dislikes: Mapping[str, float] | None = None,
    ) -> None:
        self.plate = plate
        factors = dislikes or {}
        self._coupling, self._crossings = factors.get("coupling", 1.0), factors.get("crossings", 1.0)
        self.per_mm = 2.0 * BASE / plate.step_mm
        self._turn = round(TURN_MM * self.per_mm)
        names = sorted(set(classes))
        shape = plate.more_x.shape
        self._base = {name: self._ground(name) for name in names}
        # What the wires that lie there add for a class: along x, along y.
        self._near = {name: (np.zeros(shape, np.int32), np.zeros(shape, np.int32)) for name in names}
        self._laid = (np.zeros(shape, np.int32), np.zeros(shape, np.int32))  # wires in each lane
        self._beside = (np.zeros(shape, np.int32), np.zeros(shape, np.int32))  # wires in the lanes next to it
        self._unfriendly = {name: self._unfriendly_to(name, names) for name in names}
        self._crossing = self._per_node(CROSSING * self._crossings)
        for at, name in quiet:
            self._keep_off(at, name)

    def _ground(self, name: str) -> tuple[Ints, Ints]:
        base = np.full(self.plate.more_x.shape, float(BASE))
        if name in EDGE_CLASSES:
            base[self.plate.edge] = EDGE_BASE
        more = (self.plate.more_x, self.plate.more_y)
        along_x, along_y = (np.rint(base + BASE * extra).astype(np.int32) for extra in more)
        return along_x, along_y

    def _per_node(self, cost_mm: float) -> int:
        """Return a cost in millimeters of lane as that of one node."""
        return round(BASE / self.plate.step_mm * cost_mm)

    def _unfriendly_to(self, name: str, names: Iterable[str]) -> list[tuple[str, int, Ints]]:
        """Return the classes a wire should keep off: what crossing one costs, and running beside it by distance."""
        reach = int(REACH_MM / self.plate.step_mm)
        share = np.array([run_share(abs(step) * self.plate.step_mm) for step in range(-reach, reach + 1)])
        return [
            (
                other,
                self._per_node(CROSSING_UNFRIENDLY * penalty * self._crossings),
                np.rint(BASE * penalty * self._coupling * share).astype(np.int32),
            )
            for other in names
            if (penalty := run_penalty(name, other))
        ]

    def _keep_off(self, at: Point, name: str) -> None:
        """Make the surroundings of a terminal dear for wires unfriendly to its class."""
        share = np.clip(1.0 - np.hypot(self.plate.x - at[0], self.plate.y - at[1]) / PIN_REACH_MM, 0.0, 1.0)
        for other, (along_x, along_y) in self._base.items():
            if run_penalty(name, other):
                more = np.rint(BASE * run_penalty(name, other) * self._coupling * share).astype(np.int32)
                along_x += more
                along_y += more

    def way(self, a: Point, b: Point, name: str, *, crowd: int = 1, along: Iterable[list[Node]] = ()) -> list[Node]:
        """Return the cheapest way between two points; ``along`` are wires that it is twisted with."""
        box = self._box(a, b, name, along)
        low = (box[0].start, box[1].start)
        costs = [self._cost(name, level, box, crowd) for level in (0, 1)]
        for nodes in along:
            for one, two in pairwise(nodes):
                if one[0] != two[0] and one[1] != two[1]:
                    continue
                level, (where_x, where_y) = _slices(one, two)
                inside = (_moved(where_x, low[0]), _moved(where_y, low[1]))
                costs[level][inside] = FOLLOWED
        (x0, y0), (x1, y1) = self.plate.node(a), self.plate.node(b)
        start, goal = (x0 - low[0], y0 - low[1]), (x1 - low[0], y1 - low[1])
        found = cheapest_way(costs[0], costs[1], start, goal, turn=self._turn)
        return [(x + low[0], y + low[1]) for x, y in found]

    def _box(self, a: Point, b: Point, name: str, along: Iterable[list[Node]]) -> tuple[slice, slice]:
        margin = int((EDGE_MARGIN_MM if name in EDGE_CLASSES else MARGIN_MM) / self.plate.step_mm)
        nodes = [self.plate.node(a), self.plate.node(b), *(node for way in along for node in way)]
        shape = self.plate.more_x.shape
        spans = [sorted(node[axis] for node in nodes) for axis in (0, 1)]
        one, two = (
            slice(max(0, span[0] - margin), min(size, span[-1] + margin + 1))
            for span, size in zip(spans, shape, strict=True)
        )
        return one, two

    def _cost(self, name: str, level: int, box: tuple[slice, slice], crowd: int) -> Ints:
        found = self._base[name][level][box] + self._near[name][level][box]
        found += self._laid[level][box] * (ON_ONE_ANOTHER * crowd)
        found += self._laid[1 - level][box] * self._crossing
        found -= np.minimum(self._beside[level][box], MOST_COMPANY) * COMPANY
        return found

    def lay(self, nodes: list[Node], name: str, times: int = 1) -> None:
        """Mark a wire's way; with ``times`` -1 take it up again."""
        for one, two in pairwise(nodes):
            level, where = _slices(one, two)
            self._laid[level][where] += times
            self._spread(self._beside[level], level, where, times * _NEXT)
            for other, crossing, profile in self._unfriendly[name]:
                near = self._near[other]
                near[1 - level][where] += times * crossing
                self._spread(near[level], level, where, times * profile)

    def is_undisturbed(self, nodes: list[Node], name: str) -> bool:
        """Return whether nothing that lies on the plate costs this way anything; its own wire is taken up."""
        for one, two in pairwise(nodes):
            level, where = _slices(one, two)
            if self._laid[level][where].any() or self._near[name][level][where].any():
                return False
            if self._laid[1 - level][where].any():
                return False
        return True

    def _spread(self, into: Ints, level: int, where: tuple[slice, slice], profile: Ints) -> None:
        """Add a profile across a straight piece."""
        lane, reach = where[1 - level].start, len(profile) // 2
        low, high = max(0, lane - reach), min(into.shape[1 - level], lane + reach + 1)
        part = profile[low - lane + reach : high - lane + reach]
        if level == 0:
            into[where[0], low:high] += part[None, :]
        else:
            into[low:high, where[1]] += part[:, None]

    def is_free(self, a: Point, b: Point) -> bool:
        """Return whether a wire may go straight from one point to another through the air."""
        steps = max(2, int(np.hypot(a[0] - b[0], a[1] - b[1])))
        for k in range(1, steps):
            at = (a[0] + (b[0] - a[0]) * k / steps, a[1] + (b[1] - a[1]) * k / steps)
            if self.plate.barred[self.plate.node(at)]:
                return False
        return True

    def points(self, nodes: list[Node], a: Point, b: Point) -> list[Point]:
        """Return the corners of a way in millimeters, its first and last piece meeting the two points."""
        step = self.plate.step_mm
        corners = [(x * step, y * step) for x, y in nodes]
        if len(corners) < 3:
            return []
        corners = _meeting(corners, a)
        return _meeting(corners[::-1], b)[::-1][1:-1]


def _meeting(corners: list[Point], end: Point) -> list[Point]:
    """Return the corners with the first piece moved into line with a point near its end."""
    (x0, _), (x1, y1), *rest = corners
    return [end, (x1, end[1]) if x0 != x1 else (end[0], y1), *rest]


def _slices(one: Node, two: Node) -> tuple[int, tuple[slice, slice]]:
    """Return 0 for a piece along x, 1 along y, and its nodes."""
    level = 0 if one[1] == two[1] else 1
    x0, x1 = sorted((one[0], two[0]))
    y0, y1 = sorted((one[1], two[1]))
    return level, (slice(x0, x1 + 1), slice(y0, y1 + 1))


def _moved(part: slice, by: int) -> slice:
    return slice(part.start - by, part.stop - by)

"""The plate as a grid of cells with a cost, and the cheapest rectilinear way over it."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build, Can, Placement, Tube
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import PlanTerminal

CELL_MM = 5.0
EDGE_MM = 12.0  # a lane along the walls
EDGE_CLASSES = ("heater", "mains", "earth")
EDGE_SHARE = 0.6  # cost of such a wire in the edge lane, per mm
CLEAN, DIRTY = ("grid", "signal"), ("heater", "mains", "output plate", "speaker")
DIRTY_COST = 3.0  # added per mm where a clean wire runs within a cell of a dirty one
CROWD_COST = 0.25  # added per mm and wire already in the cell
BLOCKED_COST = 12.0  # added per mm under sockets, cans, pots and jacks
TURN_COST = 3.0

Point = tuple[float, float]
Grid = NDArray[np.float64]


@dataclass
class Floor:
    """Costs of the cells; the ways already found change it. Indices are (x, y)."""

    width_mm: float
    depth_mm: float
    blocked: Grid
    edge: NDArray[np.bool_]
    crowd: Grid = field(init=False)
    dirt: Grid = field(init=False)

    def __post_init__(self) -> None:
        self.crowd, self.dirt = np.zeros_like(self.blocked), np.zeros_like(self.blocked)

    def way(self, a: Point, b: Point, name: str) -> list[Point]:
        """Return the corners of a way from one point to another, both left out when they are corners."""
        cost = self._cost(name)
        corners, blocked = self._pattern(a, b, cost)
        if blocked > 2.0 * CELL_MM:
            corners = self._search(a, b, cost) or corners
        self._mark([a, *corners, b], name)
        return [(round(x, 1), round(y, 1)) for x, y in corners] or [((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)]

    def _cost(self, name: str) -> Grid:
        cost = 1.0 + BLOCKED_COST * self.blocked + CROWD_COST * self.crowd
        if name in EDGE_CLASSES:
            cost = np.where(self.edge, cost * EDGE_SHARE, cost)
        return cost + DIRTY_COST * self.dirt if name in CLEAN else cost

    def _pattern(self, a: Point, b: Point, cost: Grid) -> tuple[list[Point], float]:
        """Return the cheapest way with at most two corners in between, and how far it runs over blocked cells."""
        xs = [a[0], b[0], *((i + 0.5) * CELL_MM for i in range(cost.shape[0]))]
        ys = [a[1], b[1], *((k + 0.5) * CELL_MM for k in range(cost.shape[1]))]
        ways = [[(x, a[1]), (x, b[1])] for x in xs] + [[(a[0], y), (b[0], y)] for y in ys]
        along_x, along_y = _sums(cost)
        best = min(ways, key=lambda way: (_price(along_x, along_y, [a, *way, b]), way))
        free_x, free_y = _sums(self.blocked)
        return _tidy(a, best, b), _price(free_x, free_y, [a, *best, b]) - 2.0 * TURN_COST

    def _search(self, a: Point, b: Point, cost: Grid) -> list[Point] | None:
        """Return the cheapest way over cells (Dijkstra with a price on turns)."""
        start, goal = _cell(a, cost.shape), _cell(b, cost.shape)
        table = (cost * CELL_MM).tolist()
        done: dict[tuple[int, int, int], tuple[int, int, int] | None] = {}
        queue: list[tuple[float, tuple[int, int, int], tuple[int, int, int] | None]] = [(0.0, (*start, 0), None)]
        while queue:
            price, here, before = heapq.heappop(queue)
            if here in done:
                continue
            done[here] = before
            if here[:2] == goal:
                return _corners(a, _trail(done, here), b)
            for turn, (dx, dy) in enumerate(((1, 0), (-1, 0), (0, 1), (0, -1)), start=1):
                x, y = here[0] + dx, here[1] + dy
                if 0 <= x < cost.shape[0] and 0 <= y < cost.shape[1] and (x, y, turn) not in done:
                    bend = TURN_COST if here[2] not in (0, turn) else 0.0
                    heapq.heappush(queue, (price + table[x][y] + bend, (x, y, turn), here))
        return None

    def _mark(self, points: list[Point], name: str) -> None:
        for a, b in itertools.pairwise(points):
            (i, k), (m, n) = _cell(a, self.blocked.shape), _cell(b, self.blocked.shape)
            x0, x1, y0, y1 = min(i, m), max(i, m) + 1, min(k, n), max(k, n) + 1
            self.crowd[x0:x1, y0:y1] += 1.0
            if name in DIRTY:
                self.dirt[max(0, x0 - 1) : x1 + 1, max(0, y0 - 1) : y1 + 1] = 1.0


def make_floor(build: Build, hardware: Hardware, terminals: Mapping[str, PlanTerminal]) -> Floor:
    """Return the empty plate of a build, with what stands on it marked."""
    chassis = build.chassis
    width = chassis.width_mm if chassis else max(t.x_mm for t in terminals.values()) + 20.0
    depth = chassis.depth_mm if chassis else max(t.y_mm for t in terminals.values()) + 20.0
    shape = (max(2, int(np.ceil(width / CELL_MM))), max(2, int(np.ceil(depth / CELL_MM))))
    x: Grid = ((np.arange(shape[0], dtype=np.float64) + 0.5) * CELL_MM)[:, None]
    y: Grid = ((np.arange(shape[1], dtype=np.float64) + 0.5) * CELL_MM)[None, :]
    blocked = np.zeros(shape)
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is None:
            continue
        if isinstance(part.values, Tube):
            radius = hardware.sockets[part.values.socket].pin_circle_mm / 2.0 - 1.0
            blocked[np.hypot(x - placement.at[0], y - placement.at[1]) < radius] = 1.0
        elif isinstance(part.values, Can):
            blocked[np.hypot(x - placement.at[0], y - placement.at[1]) < part.values.body.diameter_mm / 2.0] = 1.0
        elif part.name in hardware.panel and placement.panel != "plate":
            row = hardware.panel[part.name]
            blocked[_box(placement, row.width_mm, row.depth_mm, width, depth, x, y)] = 0.3
    edge = (x < EDGE_MM) | (x > width - EDGE_MM) | (y < EDGE_MM) | (y > depth - EDGE_MM)
    return Floor(width, depth, blocked, np.broadcast_to(edge, shape))


def _box(
    placement: Placement, wide_mm: float, deep_mm: float, width_mm: float, depth_mm: float, x: Grid, y: Grid
) -> NDArray[np.bool_]:
    """Return the cells below a part on a panel."""
    at, half = placement.at[0], wide_mm / 2.0
    along, out = {
        "front": (x, depth_mm - y), "rear": (x, y), "left": (y, x), "right": (y, width_mm - x),
    }[placement.panel]  # fmt: skip
    inside: NDArray[np.bool_] = (np.abs(along - at) < half) & (out < deep_mm)
    return inside


def _cell(point: Point, shape: tuple[int, ...]) -> tuple[int, int]:
    return (
        min(max(int(point[0] / CELL_MM), 0), shape[0] - 1),
        min(max(int(point[1] / CELL_MM), 0), shape[1] - 1),
    )


def _sums(cost: Grid) -> tuple[list[list[float]], list[list[float]]]:
    """Return running sums along x and along y, so that a straight piece is priced by one difference."""
    along_x = np.vstack([np.zeros((1, cost.shape[1])), np.cumsum(cost, axis=0)]) * CELL_MM
    along_y = np.hstack([np.zeros((cost.shape[0], 1)), np.cumsum(cost, axis=1)]) * CELL_MM
    return along_x.tolist(), along_y.tolist()


def _price(along_x: list[list[float]], along_y: list[list[float]], points: list[Point]) -> float:
    total = 0.0
    shape = (len(along_y), len(along_x[0]))
    for a, b in itertools.pairwise(points):
        if a == b:
            continue
        (i, k), (m, n) = _cell(a, shape), _cell(b, shape)
        run = along_x[max(i, m) + 1][k] - along_x[min(i, m)][k] if k == n else 0.0
        run = run if k == n else along_y[i][max(k, n) + 1] - along_y[i][min(k, n)]
        total += run + TURN_COST
    return total - TURN_COST


def _tidy(a: Point, way: list[Point], b: Point) -> list[Point]:
    """Return the corners without repeats and without points in the middle of a straight piece."""
    points = [a]
    for point in (*way, b):
        if point == points[-1]:
            continue
        if len(points) > 1 and (
            points[-2][0] == points[-1][0] == point[0] or points[-2][1] == points[-1][1] == point[1]
        ):
            points.pop()
        points.append(point)
    return points[1:-1]


def _trail(
    done: Mapping[tuple[int, int, int], tuple[int, int, int] | None], last: tuple[int, int, int]
) -> list[tuple[int, int]]:
    trail: list[tuple[int, int]] = []
    here: tuple[int, int, int] | None = last
    while here is not None:
        trail.append(here[:2])
        here = done[here]
    return trail[::-1]


def _corners(a: Point, trail: list[tuple[int, int]], b: Point) -> list[Point]:
    """Return the corners of a cell trail, moved so that the first and last piece meet the two points."""
    middle = [((i + 0.5) * CELL_MM, (k + 0.5) * CELL_MM) for i, k in trail]
    if len(middle) < 2:
        return [(b[0], a[1])]
    first_along_x = trail[0][1] == trail[1][1]
    last_along_x = trail[-1][1] == trail[-2][1]
    head = [(middle[0][0], a[1]), middle[0]] if not first_along_x else [(a[0], middle[0][1]), middle[0]]
    tail = [middle[-1], (middle[-1][0], b[1])] if not last_along_x else [middle[-1], (b[0], middle[-1][1])]
    return _tidy(a, [*head, *middle[1:-1], *tail], b)

"""Wires side by side: runs that lie on one another in the plan are drawn in tracks next to one another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lugwright.documents.drawings.geometry import Point
from lugwright.layout.results import Plan, Wire

TRACK_MM = 2.1  # between the middles of two wires: a number tag on one leaves the other free
REACH_TRACKS = 9  # farthest a run is moved, in tracks
LUG_CLEAR_MM = 2.6  # a run keeps this far from lugs that are not its own
LUG_COST_MM = 9.0
LEVEL_MM = 0.35  # a piece that climbs less than this across is level


@dataclass(frozen=True)
class Track:
    """One straight run: at height (or place) ``at``, from ``low`` to ``high``."""

    level: bool  # along x
    at: float
    low: float
    high: float

    def meets(self, other: Track) -> bool:
        """Return whether the two runs would be drawn on one another."""
        return (
            self.level == other.level
            and abs(self.at - other.at) < TRACK_MM - 1e-6
            and self.low < other.high + 1.0
            and other.low < self.high + 1.0
        )


def drawn_routes(plan: Plan, points: Mapping[str, Point]) -> dict[int, tuple[Point, ...]]:
    """Return the line each wire is drawn along, by wire number; twisted pairs lie side by side.

    ``points`` is where each terminal is drawn.
    """
    corners = {wire.number: flat_route(wire, plan, points) for wire in plan.wires}
    runs = sorted(
        ((number, index) for number, points in corners.items() for index in range(len(points) - 1) if len(points) > 2),
        key=lambda run: (-_run_length(corners[run[0]], run[1]), run),
    )
    lugs = sorted(set(points.values()))
    placed: list[Track] = []
    moved: dict[tuple[int, int], Track] = {}
    for number, index in runs:
        track = _track(corners[number][index], corners[number][index + 1])
        if track is None:
            continue
        ends = (corners[number][0], corners[number][-1])
        chosen = _free_track(track, placed, [lug for lug in lugs if lug not in ends])
        placed.append(chosen)
        moved[number, index] = chosen
    return {number: _joined(points, number, moved) for number, points in corners.items()}


def flat_route(wire: Wire, plan: Plan, drawn: Mapping[str, Point]) -> tuple[Point, ...]:
    """Return a wire's route seen from above, without repeated points and points in the middle of a straight run."""
    ends = {(plan.terminals[key].x_mm, plan.terminals[key].y_mm): drawn[key] for key in wire.terminals}
    points: list[Point] = []
    for x, y in (ends.get((x, y), (x, y)) for x, y, _ in wire.route):
        if points and abs(points[-1][0] - x) + abs(points[-1][1] - y) < 0.05:
            continue
        while len(points) > 1 and _straight(points[-2], points[-1], (x, y)):
            points.pop()
        points.append((x, y))
    return tuple(points)


def _straight(a: Point, b: Point, c: Point) -> bool:
    return abs((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])) < 0.05


def _run_length(points: Sequence[Point], index: int) -> float:
    (x0, y0), (x1, y1) = points[index], points[index + 1]
    return abs(x1 - x0) + abs(y1 - y0)


def _track(a: Point, b: Point) -> Track | None:
    if abs(a[1] - b[1]) < LEVEL_MM:
        return Track(True, (a[1] + b[1]) / 2.0, min(a[0], b[0]), max(a[0], b[0]))
    if abs(a[0] - b[0]) < LEVEL_MM:
        return Track(False, (a[0] + b[0]) / 2.0, min(a[1], b[1]), max(a[1], b[1]))
    return None


def _free_track(track: Track, placed: Iterable[Track], lugs: Iterable[Point]) -> Track:
    """Return the cheapest track near the planned one that meets no other run and passes few lugs."""
    near = [t for t in placed if t.level == track.level and abs(t.at - track.at) < TRACK_MM * (REACH_TRACKS + 2)]
    foreign = [(y, x) if track.level else (x, y) for x, y in lugs]
    passed = [place for place, ahead in foreign if track.low - 1.0 < ahead < track.high + 1.0]
    steps = range(-4 * REACH_TRACKS, 4 * REACH_TRACKS + 1)
    options = [Track(track.level, track.at + k * TRACK_MM / 4.0, track.low, track.high) for k in steps]
    free = [option for option in options if not any(option.meets(t) for t in near)] or [track]

    def price(option: Track) -> tuple[float, float]:
        close = sum(1 for place in passed if abs(place - option.at) < LUG_CLEAR_MM)
        return round(abs(option.at - track.at) + LUG_COST_MM * close, 3), option.at

    return min(free, key=price)


def _joined(points: tuple[Point, ...], number: int, moved: dict[tuple[int, int], Track]) -> tuple[Point, ...]:
    if len(points) < 3:
        return points
    tracks = [moved.get((number, index)) for index in range(len(points) - 1)]
    inner = [_corner(points[i], tracks[i - 1], tracks[i]) for i in range(1, len(points) - 1)]
    first = _jog(points[0], tracks[0], inner[0])
    last = _jog(points[-1], tracks[-1], inner[-1])
    found: list[Point] = []
    for point in (points[0], *first, *inner, *last, points[-1]):
        if not found or abs(found[-1][0] - point[0]) + abs(found[-1][1] - point[1]) > 0.05:
            found.append(point)
    return tuple(found)


def _corner(point: Point, before: Track | None, after: Track | None) -> Point:
    x, y = point
    for track in (before, after):
        if track is not None and track.level:
            y = track.at
        elif track is not None:
            x = track.at
    return x, y


def _jog(end: Point, track: Track | None, corner: Point) -> tuple[Point, ...]:
    """Return the point where the slanting piece from a lug meets the moved run."""
    if track is None:
        return ()
    off = track.at - (end[1] if track.level else end[0])
    if abs(off) < 0.05:
        return ()
    ahead = (corner[0] - end[0]) if track.level else (corner[1] - end[1])
    step = min(abs(off), abs(ahead)) * (1.0 if ahead >= 0 else -1.0)
    return ((end[0] + step, track.at),) if track.level else ((track.at, end[1] + step),)

"""Wires side by side: runs that lie on one another in the plan are drawn in tracks next to one another."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lugwright.documents.drawings.geometry import Point
from lugwright.layout.results import Plan, Wire

TRACK_MM = 2.1  # between the middles of two wires: a number tag on one leaves the other free
REACH_TRACKS = 9  # farthest a run is moved, in tracks
TWIN_MM = 6.0  # pieces of a twisted pair nearer than this run together
LUG_CLEAR_MM = 2.6  # a run keeps this far from lugs that are not its own
LUG_COST_MM = 9.0
SLANT_MM = 16.0  # a longer slanting piece is drawn as a straight run and a short slant
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
        return self.level == other.level and abs(self.at - other.at) < TRACK_MM - 1e-6 and self.meets_span(other)

    def meets_span(self, other: Track) -> bool:
        """Return whether the two runs pass by one another."""
        return self.low < other.high + 1.0 and other.low < self.high + 1.0


def drawn_routes(plan: Plan, points: Mapping[str, Point]) -> dict[int, tuple[Point, ...]]:
    """Return the line each wire is drawn along, by wire number; twisted pairs lie side by side.

    ``points`` is where each terminal is drawn.
    """
    corners = {wire.number: flat_route(wire, plan, points) for wire in plan.wires}
    lugs = sorted(set(points.values()))
    placed: list[Track] = []
    moved: dict[tuple[int, int], Track] = {}
    for number, index, twin in _runs(plan, corners):
        line = corners[number]
        track = _track(line[index], line[index + 1])
        foreign = [lug for lug in lugs if lug not in (line[0], line[-1])]
        if track is None or (len(line) == 2 and not _passes(track, foreign)):
            continue
        wanted = moved[twin].at if twin in moved else track.at
        chosen = _free_track(track, wanted, placed, foreign)
        placed.append(chosen)
        moved[number, index] = chosen
    return {number: _joined(line, number, moved) for number, line in corners.items()}


def _runs(plan: Plan, corners: Mapping[int, tuple[Point, ...]]) -> list[tuple[int, int, tuple[int, int] | None]]:
    """Return every piece of every wire, longest first; a twisted wire's pieces right after its twin's."""
    found: list[tuple[float, tuple[int, int], int, int, tuple[int, int] | None]] = []
    by_twist: dict[str, list[int]] = {}
    for wire in plan.wires:
        if wire.twist:
            by_twist.setdefault(wire.twist, []).append(wire.number)
    for number, line in corners.items():
        wire_twins = next((pair for pair in by_twist.values() if number in pair), [number])
        first = wire_twins[0]
        for index in range(len(line) - 1):
            length = _run_length(line, index)
            twin = None if number == first else _twin(line, index, corners[first])
            if twin is not None:
                found.append((-_run_length(corners[first], twin), (first, twin), number, index, (first, twin)))
            else:
                found.append((-length, (number, index), number, index, None))
    return [(number, index, twin) for _, _, number, index, twin in sorted(found, key=lambda run: run[:4])]


def _twin(line: Sequence[Point], index: int, other: Sequence[Point]) -> int | None:
    """Return the piece of the other wire of a pair that this piece runs along."""
    mine = _track(line[index], line[index + 1])
    for k in range(len(other) - 1):
        track = _track(other[k], other[k + 1])
        if (
            mine
            and track
            and mine.level == track.level
            and abs(mine.at - track.at) < TWIN_MM
            and mine.meets_span(track)
        ):
            return k
    return None


def _passes(track: Track, lugs: Iterable[Point]) -> bool:
    """Return whether a run would be drawn over lugs."""
    turned = [(y, x) if track.level else (x, y) for x, y in lugs]
    return any(abs(at - track.at) < LUG_CLEAR_MM and track.low < ahead < track.high for at, ahead in turned)


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
    if len(points) < 3:
        return tuple(points)
    ahead = _no_overshoot(points)
    return _squared(_no_overshoot(ahead[::-1])[::-1])


def _no_overshoot(points: list[Point]) -> list[Point]:
    """Return the route without a first piece that runs past its end and comes back along the second."""
    (x0, y0), (x1, y1), (x2, y2), *rest = points
    if abs(y1 - y2) < LEVEL_MM and min(x1, x2) < x0 < max(x1, x2):
        return [(x0, y0), (x0, y1), (x2, y2), *rest]
    if abs(x1 - x2) < LEVEL_MM and min(y1, y2) < y0 < max(y1, y2):
        return [(x0, y0), (x1, y0), (x2, y2), *rest]
    return points


def _squared(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the route with each long slanting piece made of a straight run and a short slant."""
    found = [points[0]]
    for index, (a, b) in enumerate(pairwise(points)):
        dx, dy = b[0] - a[0], b[1] - a[1]
        short = min(abs(dx), abs(dy))
        if short >= LEVEL_MM and abs(dx) + abs(dy) > SLANT_MM:
            flat, sign_x, sign_y = abs(dx) >= abs(dy), (1 if dx > 0 else -1), (1 if dy > 0 else -1)
            run = (sign_x * (abs(dx) - short), 0.0) if flat else (0.0, sign_y * (abs(dy) - short))
            first = index == 0
            found.append((b[0] - run[0], b[1] - run[1]) if first else (a[0] + run[0], a[1] + run[1]))
        found.append(b)
    return tuple(p for i, p in enumerate(found) if i == 0 or math.dist(p, found[i - 1]) > 0.05)


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


def _free_track(track: Track, wanted: float, placed: Iterable[Track], lugs: Iterable[Point]) -> Track:
    """Return the cheapest track near the planned one that meets no other run and passes few lugs."""
    reach = TRACK_MM * (REACH_TRACKS + 2)
    near = (t for t in placed if t.level == track.level and abs(t.at - wanted) < reach)
    taken = [t.at for t in near if t.meets_span(track)]
    foreign = [(y, x) if track.level else (x, y) for x, y in lugs]
    passed = sorted(place for place, ahead in foreign if track.low - 1.0 < ahead < track.high + 1.0)
    steps = range(-4 * REACH_TRACKS, 4 * REACH_TRACKS + 1)
    options = [wanted + k * TRACK_MM / 4.0 for k in steps]
    free = [at for at in options if all(abs(at - other) >= TRACK_MM - 1e-6 for other in taken)]

    def price(at: float) -> tuple[float, float]:
        near = passed[bisect(passed, at - 2.0 * LUG_CLEAR_MM) : bisect(passed, at + 2.0 * LUG_CLEAR_MM)]
        close = sum(1 for place in near if abs(place - at) < LUG_CLEAR_MM)
        return round(abs(at - wanted) + LUG_COST_MM * close, 3), at

    return replace(track, at=min(free, key=price)) if free else track


def _joined(points: tuple[Point, ...], number: int, moved: dict[tuple[int, int], Track]) -> tuple[Point, ...]:
    tracks = [moved.get((number, index)) for index in range(len(points) - 1)]
    inner = [_corner(points[i], tracks[i - 1], tracks[i]) for i in range(1, len(points) - 1)]
    first = _jog(points[0], tracks[0], inner[0] if inner else points[-1])
    last = _jog(points[-1], tracks[-1], inner[-1] if inner else points[0])
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

"""Twisted wires drawn as such: where they run side by side they change sides, but not under a number tag."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations, pairwise

from lugwright.documents.drawings.geometry import Box, Point
from lugwright.layout.results import Plan

HALF_TURN_MM = 5.0
SIDE_BY_SIDE_MM = 2.6  # neighbors farther apart are not drawn twisted
END_MM = 2.5  # left straight at each corner
LEAST_MM = 9.0
TAG_AIR_MM = 0.8

Route = tuple[Point, ...]


def twisted_routes(plan: Plan, routes: Mapping[int, Route], tags: Sequence[Box]) -> dict[int, Route]:
    """Return the lines as drawn: those of twisted pairs weave round one another."""
    found = dict(routes)
    twisted: dict[str, list[int]] = {}
    for wire in plan.wires:
        if wire.twist:
            twisted.setdefault(wire.twist, []).append(wire.number)
    for numbers in twisted.values():
        reach = SIDE_BY_SIDE_MM * (len(numbers) - 1)
        best: dict[int, Route] = {}
        for one, two in combinations(numbers, 2):  # of three the outer two change sides, across the middle one
            woven = {
                one: _woven(routes[one], routes[two], tags, reach),
                two: _woven(routes[two], routes[one], tags, reach),
            }
            if _gained(woven, routes) > _gained(best, routes):
                best = woven
        found |= best
    return found


def _gained(woven: Mapping[int, Route], routes: Mapping[int, Route]) -> float:
    """Return how much longer wires are drawn than they were: more for those that lie farther apart."""
    return sum(_length(route) - _length(routes[number]) for number, route in woven.items())


def _length(route: Route) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(route))


def _woven(route: Route, other: Route, tags: Sequence[Box], reach: float) -> Route:
    points: list[Point] = [route[0]]
    for a, b in pairwise(route):
        points += _piece(a, b, other, tags, reach)
        points.append(b)
    return tuple(points)


def _piece(a: Point, b: Point, other: Route, tags: Sequence[Box], reach: float) -> list[Point]:
    """Return the points where this piece changes sides with the other wire's piece next to it."""
    level = abs(a[1] - b[1]) < 0.01
    if not level and abs(a[0] - b[0]) > 0.01:
        return []
    start, end, own = (a[0], b[0], a[1]) if level else (a[1], b[1], a[0])
    found: list[tuple[float, float]] = []
    for c, d in pairwise(other):
        span = (c[0], d[0], c[1], d[1]) if level else (c[1], d[1], c[0], d[0])
        if abs(span[2] - span[3]) > 0.01 or not 0.01 < abs(span[2] - own) <= reach:
            continue
        low = max(min(start, end), min(span[:2])) + END_MM
        high = min(max(start, end), max(span[:2])) - END_MM
        for free in _free((low, high), _covered(tags, own, span[2], level=level)):
            found += _turns(free, own, span[2])
    found.sort(reverse=end < start)
    return [(p, q) if level else (q, p) for p, q in found]


def _covered(tags: Iterable[Box], own: float, other: float, *, level: bool) -> list[tuple[float, float]]:
    """Return the stretches that number tags lie on."""
    found = []
    for tag in tags:
        low_x, low_y, high_x, high_y = tag.bounds()
        low, high, left, right = (low_y, high_y, low_x, high_x) if level else (low_x, high_x, low_y, high_y)
        if low < max(own, other) and high > min(own, other):
            found.append((left - TAG_AIR_MM, right + TAG_AIR_MM))
    return sorted(found)


def _free(span: tuple[float, float], covered: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    found, at = [], span[0]
    for low, high in covered:
        if min(low, span[1]) - at >= LEAST_MM:
            found.append((at, min(low, span[1])))
        at = max(at, high)
    return [*found, (at, span[1])] if span[1] - at >= LEAST_MM else found


def _turns(span: tuple[float, float], own: float, other: float) -> list[tuple[float, float]]:
    """Return the zigzag over a stretch: whole turns, so that it ends on the side where it began."""
    count = 2 * max(1, round((span[1] - span[0]) / (2.0 * HALF_TURN_MM)))
    step = (span[1] - span[0]) / count
    return [(round(span[0] + k * step, 3), other if k % 2 else own) for k in range(count + 1)]

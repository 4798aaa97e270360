"""What a body between two terminals lies over: other terminals, a bare bus."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build
from lugwright.layout.objective import COVERED_CAN_LUG, COVERED_LUG, LEAD_CLEAR_MM, MAX_LEAD_MM, MIN_LEAD_MM, PASSED_LUG
from lugwright.layout.results import PlanTerminal

TERMINAL_AIR_MM = 2.0  # between a body and a lug it passes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Size = tuple[float, float]  # length, diameter of a body


def body_lines(full: Floats, span: Floats, length_mm: float) -> Floats:
    """Return the ends of bodies that lie in the middle of their leads' lines."""
    share = np.where(span > 0, np.minimum(1.0, length_mm / np.maximum(span, 1e-9)), 0.0)[:, None]
    middle, half = (full[:, :2] + full[:, 2:]) / 2.0, (full[:, 2:] - full[:, :2]) / 2.0
    return np.hstack([middle - half * share, middle + half * share])


def covers(
    build: Build,
    pairs: Mapping[Size, Collection[tuple[int, int]]],
    points: tuple[PlanTerminal, ...],
    joint_at: Ints,
) -> dict[Size, tuple[Ints, Floats]]:
    """Return per body size, for each two terminals, the lowest layer and the cost of what is covered.

    ``pairs`` are the joints that bodies of a size lie between; terminals of no use to them are left out.
    The layer is 2 where the body passes over a third terminal or the leads over a bus.
    """
    xyz = np.array([(t.x_mm, t.y_mm, t.z_mm) for t in points])
    usable = np.array([bool(t.capacity) and t.kind != "exit" for t in points])
    found = {}
    for size, joints in pairs.items():
        layers = np.ones((len(points), len(points)), dtype=np.int64)
        cost = np.zeros((len(points), len(points)))
        ends = np.flatnonzero(usable & ((joint_at < 0) | np.isin(joint_at, sorted({j for two in joints for j in two}))))
        first, second = (ends[k] for k in np.triu_indices(len(ends), 1))
        span = spans_mm(xyz, first, second)
        fits = (span >= size[0] + 2.0 * MIN_LEAD_MM) & (span <= size[0] + 2.0 * MAX_LEAD_MM)
        a, b = first[fits], second[fits]
        covered = _covered(points, a, b, span[fits], size)
        layers[a, b] = layers[b, a] = np.where((covered > 0) | _over_bus(build, points, a, b), 2, 1)
        cost[a, b] = cost[b, a] = covered + PASSED_LUG * _passed(points, a, b, span[fits], size)
        found[size] = layers, cost
    return found


def spans_mm(xyz: Floats, first: Ints, second: Ints) -> Floats:
    """Return the straight distances between terminals.

    Parameters
    ----------
    xyz : array
        Places of all terminals. [mm], (terminal, axis)
    first, second : array of int
        Numbers of the terminals of each pair.

    Returns
    -------
    array
        One distance a pair. [mm]

    Source
    ------
    Pythagoras, heights included.
    """
    spans: Floats = np.sqrt(((xyz[first] - xyz[second]) ** 2).sum(axis=1))
    return spans


def _covered(points: tuple[PlanTerminal, ...], first: Ints, second: Ints, span: Floats, size: Size) -> Floats:
    """Return what the other terminals cost that a body of a size between two terminals lies over."""
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    body = body_lines(np.hstack([xy[first], xy[second]]), span, size[0])
    everything = np.arange(len(points))  # grommets of leads too: a body there would be in the way of them
    price = np.array([COVERED_CAN_LUG if t.kind == "can" else COVERED_LUG for t in points])
    return _near_lines(points, everything, price, first, second, body, size[1] / 2.0 + TERMINAL_AIR_MM)


def _passed(points: tuple[PlanTerminal, ...], first: Ints, second: Ints, span: Floats, size: Size) -> Floats:
    """Return how many other terminals the bare leads of a body between two terminals pass close by."""
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    body = body_lines(np.hstack([xy[first], xy[second]]), span, size[0])
    leads = (np.hstack([xy[first], body[:, :2]]), np.hstack([body[:, 2:], xy[second]]))
    lugs = np.array([i for i, t in enumerate(points) if t.kind != "exit"], dtype=np.int64)
    each = np.ones(len(points))
    one, two = (_near_lines(points, lugs, each, first, second, lead, LEAD_CLEAR_MM) for lead in leads)
    return np.asarray(one + two)


def _near_lines(
    points: tuple[PlanTerminal, ...],
    others: Ints,
    price: Floats,
    first: Ints,
    second: Ints,
    lines: Floats,
    reach: float,
) -> Floats:
    """Return what those terminals cost, but its own two, that each line comes nearer to than a distance, from above."""
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    found = np.zeros(len(first))
    d = lines[:, 2:] - lines[:, :2]
    square = np.maximum((d * d).sum(axis=1), 1e-9)
    low, high = np.minimum(lines[:, :2], lines[:, 2:]) - reach, np.maximum(lines[:, :2], lines[:, 2:]) + reach
    order = np.argsort(low[:, 0], kind="stable")  # from left to right, so that only lines about x are looked at
    left, longest = low[order, 0], float((high[:, 0] - low[:, 0]).max(initial=0.0))
    for other in others:
        x, y = xy[other]
        near = order[np.searchsorted(left, x - longest) : np.searchsorted(left, x)]
        near = near[(x < high[near, 0]) & (low[near, 1] < y) & (y < high[near, 1])]
        ax, ay, dx, dy = x - lines[near, 0], y - lines[near, 1], d[near, 0], d[near, 1]
        along = np.clip((ax * dx + ay * dy) / square[near], 0.0, 1.0)
        gap = np.hypot(ax - along * dx, ay - along * dy)
        found[near] += price[other] * ((gap < reach) & (first[near] != other) & (second[near] != other))
    return found


def _over_bus(build: Build, points: tuple[PlanTerminal, ...], first: Ints, second: Ints) -> NDArray[np.bool_]:
    """Return whether the line between two terminals crosses a bare bus that neither of them is on."""
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    a, b = xy[first], xy[second]
    crosses = np.zeros(len(first), dtype=bool)
    for bus in build.buses:
        own = np.array([t.owner == bus.name for t in points])
        apart = ~(own[first] | own[second])
        for p, q in itertools.pairwise(np.array(bus.points)):
            sides = _turn(p, q, a) * _turn(p, q, b) <= 0.0
            sides &= _turn(a, b, p) * _turn(a, b, q) <= 0.0
            crosses |= apart & sides
    return crosses


def _turn(a: Floats, b: Floats, c: Floats) -> Floats:
    """Return which side of the line from a to b the point c lies on, as a signed area."""
    area: Floats = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1]) - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0])
    return area

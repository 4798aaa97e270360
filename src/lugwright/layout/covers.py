"""What a body between two terminals lies over: other terminals, a bare bus."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build
from lugwright.layout.objective import COVERED_LUG, MAX_LEAD_MM, MIN_LEAD_MM
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


def covers(build: Build, sizes: Iterable[Size], points: tuple[PlanTerminal, ...]) -> dict[Size, tuple[Ints, Floats]]:
    """Return per body size, for each two terminals, the lowest layer and the cost of what is covered.

    The layer is 2 where the body passes over a third terminal or the leads over a bus.
    """
    usable = np.array([i for i, t in enumerate(points) if t.capacity and t.kind != "exit"], dtype=np.int64)
    first, second = (usable[k] for k in np.triu_indices(len(usable), 1))
    over_bus = _over_bus(build, points, first, second)
    found = {}
    for size in sizes:
        layers = np.ones((len(points), len(points)), dtype=np.int64)
        cost = np.zeros((len(points), len(points)))
        span = spans_mm(points, first, second)
        fits = (span >= size[0] + 2.0 * MIN_LEAD_MM) & (span <= size[0] + 2.0 * MAX_LEAD_MM)
        a, b = first[fits], second[fits]
        covered = _covered(points, a, b, span[fits], size)
        layers[a, b] = layers[b, a] = np.where((covered > 0) | over_bus[fits], 2, 1)
        cost[a, b] = cost[b, a] = COVERED_LUG * covered
        found[size] = layers, cost
    return found


def spans_mm(points: tuple[PlanTerminal, ...], first: Ints, second: Ints) -> Floats:
    """Return the straight distances between terminals.

    Parameters
    ----------
    points : tuple of PlanTerminal
        All terminals.
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
    xyz = np.array([(t.x_mm, t.y_mm, t.z_mm) for t in points])
    spans: Floats = np.sqrt(((xyz[first] - xyz[second]) ** 2).sum(axis=1))
    return spans


def _covered(points: tuple[PlanTerminal, ...], first: Ints, second: Ints, span: Floats, size: Size) -> Ints:
    """Return how many other terminals a body of a size between two terminals lies over."""
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    body = body_lines(np.hstack([xy[first], xy[second]]), span, size[0])
    others = np.array([i for i, t in enumerate(points) if t.kind != "exit"], dtype=np.int64)
    covered = np.zeros(len(first), dtype=np.int64)
    d = body[:, 2:] - body[:, :2]
    square = np.maximum((d * d).sum(axis=1), 1e-9)
    for other in others:
        ax, ay = xy[other, 0] - body[:, 0], xy[other, 1] - body[:, 1]
        along = np.clip((ax * d[:, 0] + ay * d[:, 1]) / square, 0.0, 1.0)
        gap = np.hypot(ax - along * d[:, 0], ay - along * d[:, 1])
        covered += (gap < size[1] / 2.0 + TERMINAL_AIR_MM) & (first != other) & (second != other)
    return covered


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

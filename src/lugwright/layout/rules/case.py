"""What every layout rule looks at: the build, its plan, the class of each joint."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.layout.results import Plan, PlanTerminal, Wire

SAMPLE_MM = 2.5


@dataclass(frozen=True)
class Case:
    """One plan to be judged."""

    build: Build
    plan: Plan
    classes: Mapping[str, str]  # joint -> class

    def neighbors(self) -> Iterator[tuple[PlanTerminal, PlanTerminal]]:
        """Yield the pairs of lugs that stand beside each other on one strip, both in use."""
        lugs = [t for t in self.plan.terminals.values() if t.kind in ("lug", "foot")]
        for one, two in itertools.pairwise(lugs):
            if one.owner == two.owner and one.joint and two.joint and one.joint != two.joint:
                yield one, two

    def class_of(self, wire: Wire) -> str:
        """Return the class of a wire's joint."""
        return self.classes.get(wire.joint, wire.kind)


def run_beside_mm(one: Wire, two: Wire, *, within_mm: float) -> float:
    """Return how far the first wire runs nearer to the second than a distance, seen from above.

    Parameters
    ----------
    one, two : Wire
        Two wires.
    within_mm : float
        The distance. [mm]

    Returns
    -------
    float
        Length, in steps of 2.5 mm. [mm]

    Source
    ------
    Plane geometry, sampled; a crossing at a right angle counts twice the distance.
    """
    points = list(_samples(one))
    return SAMPLE_MM * sum(1 for p in points if _distance(p, two) < within_mm)


def _samples(wire: Wire) -> Iterator[tuple[float, float]]:
    for a, b in zip(wire.route, wire.route[1:], strict=False):
        length = math.dist(a[:2], b[:2])
        for k in range(int(length // SAMPLE_MM)):
            share = (k + 0.5) * SAMPLE_MM / length
            yield a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _distance(point: tuple[float, float], wire: Wire) -> float:
    least = math.inf
    for a, b in zip(wire.route, wire.route[1:], strict=False):
        dx, dy = b[0] - a[0], b[1] - a[1]
        square = dx * dx + dy * dy
        along = 0.0 if square == 0.0 else ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square
        along = min(1.0, max(0.0, along))
        least = min(least, math.hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy))
    return least

"""Which pieces of the chassis a job card shows: all it touches, in as few and as small windows as will do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from lugwright.documents.drawings.geometry import Point

Bounds = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y; mm on the chassis

MOST_WIDE_MM, MOST_HIGH_MM = 158.0, 60.0  # of one window, on paper
MARGIN_MM = 9.0  # round what is shown, on paper
WASTE = 2.0  # windows are made one as long as that takes at most this many times the paper
SMALL_MM2 = 3500.0  # or leaves a window no larger than this, on paper


def windows(wanted: Iterable[Bounds], scale: float) -> list[Bounds]:
    """Return windows that hold everything wanted, left to right; ``scale`` is the size on paper."""
    margin = MARGIN_MM / scale
    most = MOST_WIDE_MM / scale, MOST_HIGH_MM / scale
    found = sorted({_rounded((x0 - margin, y0 - margin, x1 + margin, y1 + margin)) for x0, y0, x1, y1 in wanted})
    while pair := _best_pair(found, most, SMALL_MM2 / scale**2):
        one, two = pair
        found = sorted([*(b for b in found if b not in pair), both(one, two)])
    return found


def _best_pair(found: list[Bounds], most: tuple[float, float], small: float) -> tuple[Bounds, Bounds] | None:
    """Return the two windows that are made one with the least waste, None where none should be."""
    best: tuple[float, Bounds, Bounds] | None = None
    for index, one in enumerate(found):
        for two in found[index + 1 :]:
            union = both(one, two)
            if union[2] - union[0] > most[0] or union[3] - union[1] > most[1]:
                continue
            waste = _area(union) / (_area(one) + _area(two))
            if (waste <= WASTE or _area(union) <= small) and (best is None or waste < best[0]):
                best = (waste, one, two)
    return best and best[1:]


def both(one: Bounds, two: Bounds) -> Bounds:
    """Return the least bounds that hold both."""
    return min(one[0], two[0]), min(one[1], two[1]), max(one[2], two[2]), max(one[3], two[3])


def inside(inner: Bounds, outer: Bounds) -> bool:
    """Return whether bounds lie wholly within others."""
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def meet(one: Bounds, two: Bounds) -> bool:
    """Return whether two bounds share more than an edge."""
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def _area(b: Bounds) -> float:
    return (b[2] - b[0]) * (b[3] - b[1])


def _rounded(b: Bounds) -> Bounds:
    return round(b[0], 1), round(b[1], 1), round(b[2], 1), round(b[3], 1)


def legs(points: Sequence[Point]) -> tuple[Bounds, ...]:
    """Return the bounds of each straight piece of a line."""
    return tuple((min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])) for a, b in pairwise(points))

"""Whether two lying parts get in each other's way. Squares are compared, so that no root is rounded differently."""

from __future__ import annotations

from typing import cast

import numpy as np

from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.tables import FIRST, LENGTH, RADIUS, SECOND, SPAN, Real, Tables
from lugwright.layout.objective import BODY_AIR_MM, LEAD_AIR_MM

LEADS, BODY = cast(int, np.int64(0)), cast(int, np.int64(4))  # where each begins in a line


@compiled
def end_of(w: Tables, row: int, side: int) -> int:
    """Return the terminal at one end of a row, as wide a number as all others."""
    return int(w.row[row, FIRST + side] + LEADS)


@compiled
def lay(w: Tables, row: int, line: Real) -> None:
    """Write the line of the leads (0 to 3) and the axis of the body (4 to 7) of a part on a row."""
    first, second = w.row[row, FIRST], w.row[row, SECOND]
    span = w.row[row, SPAN] / 10.0
    share = min(1.0, line[LENGTH] / span) if span > 0.0 else 0.0
    for axis in range(2):
        one, two = w.line[len(w.part) + 1 + first, axis], w.line[len(w.part) + 1 + second, axis]
        middle, half = (one + two) / 2.0, (two - one) / 2.0 * share
        line[axis], line[2 + axis] = one, two
        line[4 + axis], line[6 + axis] = middle - half, middle + half


@compiled
def in_the_way(a: Real, c: Real, shared: bool) -> bool:
    """Return whether bodies touch, a bare lead touches a body, or bare leads cross, on one layer."""
    r, q = a[RADIUS], c[RADIUS]
    reach = r + q + LEAD_AIR_MM
    for k in range(2):
        if max(a[k], a[k + 2]) + reach < min(c[k], c[k + 2]) or max(c[k], c[k + 2]) + reach < min(a[k], a[k + 2]):
            return False
    if square_apart(a, BODY, c, BODY) < (r + q + BODY_AIR_MM) ** 2:
        return True
    air = 0.0 if shared else LEAD_AIR_MM
    if square_apart(a, LEADS, c, BODY) < (q + air) ** 2 or square_apart(c, LEADS, a, BODY) < (r + air) ** 2:
        return True
    return not shared and crossed(a, LEADS, c, LEADS)


@compiled
def square_apart(a: Real, i: int, c: Real, k: int) -> float:
    """Return the square of the least distance of two lines, each given by its offset in a table row. [mm2]"""
    if crossed(a, i, c, k):
        return 0.0
    return float(
        min(
            min(_square_off(a[i], a[i + 1], c, k), _square_off(a[i + 2], a[i + 3], c, k)),
            min(_square_off(c[k], c[k + 1], a, i), _square_off(c[k + 2], c[k + 3], a, i)),
        )
    )


@compiled
def _side(a: Real, i: int, x: float, y: float) -> float:
    return float((a[i + 2] - a[i]) * (y - a[i + 1]) - (a[i + 3] - a[i + 1]) * (x - a[i]))


@compiled
def crossed(a: Real, i: int, c: Real, k: int) -> bool:
    """Return whether two lines cross between their ends."""
    if _side(a, i, c[k], c[k + 1]) * _side(a, i, c[k + 2], c[k + 3]) >= 0.0:
        return False
    return _side(c, k, a[i], a[i + 1]) * _side(c, k, a[i + 2], a[i + 3]) < 0.0


@compiled
def _square_off(x: float, y: float, a: Real, i: int) -> float:
    dx, dy = a[i + 2] - a[i], a[i + 3] - a[i + 1]
    square = dx * dx + dy * dy
    along = 0.0 if square == 0.0 else min(1.0, max(0.0, ((x - a[i]) * dx + (y - a[i + 1]) * dy) / square))
    ex, ey = x - a[i] - along * dx, y - a[i + 1] - along * dy
    return float(ex * ex + ey * ey)

"""The worst corner of a reading: every part at that end of its tolerance which moves the reading furthest.

Found by trying every part at its other end and turning all that help, until none does; then solved whole.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from lugwright.bringup.good_builds import Array
from lugwright.bringup.results import Corner
from lugwright.bringup.spread_causes import Cause, factors_of, one_at_a_time
from lugwright.bringup.spread_readings import SpreadReading, spread_readings
from lugwright.solve.idle import solve_column
from lugwright.solve.many import many_at, solve_many
from lugwright.solve.solved import Solved

ROUNDS = 6
NAMED = 4


def worst_corners(solved: Solved, causes: Sequence[Cause]) -> Iterator[Corner]:
    """Yield the two worst corners of every key reading.

    Raises
    ------
    NoIdlePoint
        A corner has no certified idle.
    """
    nominal, each = solve_many(solved, {}), solve_many(solved, one_at_a_time(causes))
    for reading in spread_readings(solved.system):
        if reading.key:
            expected = float(np.broadcast_to(reading.of(nominal), 1)[0])
            moved = np.broadcast_to(reading.of(each), len(causes)) - expected
            yield _corner(solved, causes, reading, expected, moved)


def _corner(solved: Solved, causes: Sequence[Cause], reading: SpreadReading, expected: float, moved: Array) -> Corner:
    found = {}
    for direction in (-1.0, 1.0):
        ends = _turned(solved, causes, reading, np.where(moved * direction >= 0.0, 1.0, -1.0), direction)
        found[direction] = (_exact(solved, causes, reading, ends), _named(causes, ends, moved))
    (lowest, low_with), (highest, high_with) = found[-1.0], found[1.0]
    return Corner(reading.name, reading.unit, expected, lowest, highest, low_with, high_with)


def _turned(solved: Solved, causes: Sequence[Cause], reading: SpreadReading, ends: Array, direction: float) -> Array:
    for _ in range(ROUNDS):
        flips = ends[:, None] * (1.0 - 2.0 * np.eye(len(causes)))
        levels = direction * reading.of(solve_many(solved, factors_of(causes, np.column_stack([ends, flips]))))
        better = levels[1:] > levels[0] + 1e-9 * abs(levels[0])
        if not better.any():
            break
        ends = np.where(better, -ends, ends)
    return ends


def _exact(solved: Solved, causes: Sequence[Cause], reading: SpreadReading, ends: Array) -> float:
    """Return the reading in a corner with its rectifiers solved anew."""
    values = solved.values.copy()
    for (element, field), factor in factors_of(causes, ends[:, None]).items():
        values[solved.system.value_row[element, field], 0] *= factor[0]
    corner = solve_column(solved.system, values, solved)
    return float(np.broadcast_to(reading.of(many_at(corner, values)), 1)[0])


def _named(causes: Sequence[Cause], ends: Array, moved: Array) -> tuple[str, ...]:
    order = sorted(range(len(causes)), key=lambda k: (-abs(moved[k]), causes[k].part))[:NAMED]
    return tuple(f"{causes[k].part} {100.0 * ends[k] * causes[k].extent:+.0f} %" for k in order)

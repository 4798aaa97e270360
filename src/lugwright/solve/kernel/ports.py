"""What tubes and diodes draw where their ports are off by some volts, wiring by wiring.

Only ports that carry a current which follows any volts are solved for: a tube that is cut off or out of its socket
costs nothing, nor does a grid that draws nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import solve_in_place

Table = NDArray[np.float64]
Rows = NDArray[np.int64]

NOTHING_S = 1e-15  # a slope below this makes nothing of a kilovolt: a picoampere


class Slopes(NamedTuple):
    """How port currents follow port volts in each column: those of tubes as a list, those of diodes as a square."""

    ends: Rows  # (slope, 2): port of the current, port of the volts
    siemens: Table  # (column, slope)
    diodes: Table  # (column, diode, diode); diodes are the last ports


@compiled
def _into_place(p: int, place: Rows, active: Rows, count: int) -> int:
    """Give a port a place among those that carry, unless it has one; return how many there are then."""
    if place[p] < 0:
        place[p], active[count] = count, p
        return count + 1
    return count


@compiled
def drawn_by(z: Table, ends: Rows, siemens: Table, diodes: Table, off: Table, drawn: Table) -> None:
    """Write (1 + D Z)^-1 D off, D being the slopes of the ports and Z the resistance between them."""
    ports, first = len(z), len(z) - len(diodes)
    place, active = np.full(ports, -1), np.empty(ports, dtype=np.int64)
    count = 0
    for e in range(len(ends)):
        if abs(siemens[e]) > NOTHING_S:
            count = _into_place(ends[e, 0], place, active, count)
    for p in range(len(diodes)):
        for q in range(len(diodes)):
            if abs(diodes[p, q]) > NOTHING_S:
                count = _into_place(first + p, place, active, count)
    matrix, side = np.zeros((count, count)), np.zeros((count, 1))
    for e in range(len(ends)):
        if abs(siemens[e]) > NOTHING_S:
            _add_row(matrix, side, place[ends[e, 0]], siemens[e], z[ends[e, 1]], off[ends[e, 1]], active)
    for p in range(len(diodes)):
        for q in range(len(diodes)):
            if abs(diodes[p, q]) > NOTHING_S:
                _add_row(matrix, side, place[first + p], diodes[p, q], z[first + q], off[first + q], active)
    for k in range(count):
        matrix[k, k] += 1.0
    solve_in_place(matrix, side)
    drawn[:] = 0.0
    for k in range(count):
        drawn[active[k]] = side[k, 0]


@compiled
def _add_row(matrix: Table, side: Table, k: int, slope: float, z: Table, off: float, active: Rows) -> None:
    """Add what one slope makes of the volts that the carrying ports' currents make, and of volts that are off."""
    row = matrix[k]
    for m in range(len(row)):
        row[m] += slope * z[active[m]]
    side[k, 0] += slope * off


@entry
def drawn_amps(between: Table, slopes: Slopes, off: Table, drawn: Table) -> None:
    """Write what the slopes draw where ports are off by some volts without them (column, port)."""
    for k in range(len(off)):
        drawn_by(between[k], slopes.ends, slopes.siemens[k], slopes.diodes[k], off[k], drawn[k])

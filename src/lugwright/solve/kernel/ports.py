"""What tubes and diodes draw where their ports are off by some volts, wiring by wiring.

Only ports whose volts make a current anywhere are solved for: a tube that is cut off or out of its socket costs
nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import solve_in_place

Table = NDArray[np.float64]
Rows = NDArray[np.int64]


class Slopes(NamedTuple):
    """How port currents follow port volts in each column: those of tubes as a list, those of diodes as a square."""

    ends: Rows  # (slope, 2): port of the current, port of the volts
    siemens: Table  # (column, slope)
    diodes: Table  # (column, diode, diode); diodes are the last ports


@compiled
def drawn_by(z: Table, ends: Rows, siemens: Table, diodes: Table, off: Table, drawn: Table) -> None:
    """Write D (1 + Z D)^-1 off, D being the slopes of the ports and Z the resistance between them."""
    ports, first = len(z), len(z) - len(diodes)
    place, active = np.full(ports, -1), np.empty(ports, dtype=np.int64)
    count = 0
    for e in range(len(ends)):
        if siemens[e] != 0.0 and place[ends[e, 1]] < 0:
            place[ends[e, 1]], active[count] = count, ends[e, 1]
            count += 1
    for q in range(len(diodes)):
        for p in range(len(diodes)):
            if diodes[p, q] != 0.0 and place[first + q] < 0:
                place[first + q], active[count] = count, first + q
                count += 1
    matrix, side = np.zeros((count, count)), np.empty((count, 1))
    for k in range(count):
        row = z[active[k]]
        matrix[k, k], side[k, 0] = 1.0, off[active[k]]
        for e in range(len(ends)):
            if siemens[e] != 0.0:
                matrix[k, place[ends[e, 1]]] += row[ends[e, 0]] * siemens[e]
        for q in range(len(diodes)):
            if place[first + q] >= 0:
                for p in range(len(diodes)):
                    matrix[k, place[first + q]] += row[first + p] * diodes[p, q]
    solve_in_place(matrix, side)
    drawn[:] = 0.0
    for e in range(len(ends)):
        if siemens[e] != 0.0:
            drawn[ends[e, 0]] += siemens[e] * side[place[ends[e, 1]], 0]
    for q in range(len(diodes)):
        if place[first + q] >= 0:
            for p in range(len(diodes)):
                drawn[first + p] += diodes[p, q] * side[place[first + q], 0]


@entry
def drawn_amps(between: Table, slopes: Slopes, off: Table, drawn: Table) -> None:
    """Write what the slopes draw where ports are off by some volts without them (column, port)."""
    for k in range(len(off)):
        drawn_by(between[k], slopes.ends, slopes.siemens[k], slopes.diodes[k], off[k], drawn[k])

"""What some ports of many wirings see at many frequencies: Woodbury's identity column by column.

`lugwright.solve.rewired_matrix` has the same for tables as a whole and says where it comes from. Here only what lies
between the ports is ever worked out. Slopes of tubes are taken in afterwards, so that one inverse serves for all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import solve_in_place
from lugwright.solve.kernel.middle import middle_of, times

Table = NDArray[np.float64]
Complex = NDArray[np.complex128]
Rows = NDArray[np.int64]


class Wirings(NamedTuple):
    """What differs from the base in each column, and between which rows its ports lie."""

    touched: Rows  # (column, drop)
    against: Rows  # rows that these are told against
    delta: Complex  # (harmonic, column, drop, drop)
    release: Table  # (column, drop), to ground
    a: Rows  # (column, port): first those that are asked for, then those of the slopes
    b: Rows


class Slopes(NamedTuple):
    """Currents of ports as port volts make them; these ports follow the ``first`` ones that are asked for."""

    first: int
    ends: Rows  # (slope, 2): port of the current, port of the volts
    siemens: Table  # (column, slope)


@compiled
def _across(z: Complex, a: int, b: int, c: int, d: int) -> complex:
    """Return the volts from a to b for 1 A into c and out at d."""
    return complex((z[a, c] - z[b, c]) - (z[a, d] - z[b, d]))


@compiled
def _between(inverse: Complex, plus: Rows, minus: Rows, middle: Complex, a: Rows, b: Rows) -> Complex:
    """Return volts between ports for a current into others (port, port) with the middle's part in it."""
    ports, size = len(a), len(plus)
    left, right = np.empty((ports, size), dtype=np.complex128), np.empty((size, ports), dtype=np.complex128)
    for p in range(ports):
        for k in range(size):
            left[p, k] = _across(inverse, a[p], b[p], plus[k], minus[k])
            right[k, p] = _across(inverse, plus[k], minus[k], a[p], b[p])
    off = times(times(left, middle), right)
    for p in range(ports):
        for q in range(ports):
            off[p, q] = _across(inverse, a[p], b[p], a[q], b[q]) - off[p, q]
    return off


@compiled
def _with_slopes(z: Complex, alone: Complex, first: int, ends: Rows, siemens: Table) -> None:
    """Take what slopes draw into the first ports' part of volts per current and of volts alone, in place.

    Solved for are the currents of those ports that carry one: a grid that draws nothing follows the others' volts.
    """
    place, carrying = np.full(len(z), -1), np.empty(len(z), dtype=np.int64)
    count = 0
    for e in range(len(ends)):
        i = first + ends[e, 0]
        if siemens[e] != 0.0 and place[i] < 0:
            place[i], carrying[count] = count, i
            count += 1
    equations = np.zeros((count, count + first + 1), dtype=np.complex128)
    for e in range(len(ends)):
        if siemens[e] != 0.0:
            k, j = place[first + ends[e, 0]], first + ends[e, 1]
            for m in range(count):
                equations[k, m] += siemens[e] * z[j, carrying[m]]
            for q in range(first):
                equations[k, count + q] += siemens[e] * z[j, q]
            equations[k, count + first] += siemens[e] * alone[j]
    for k in range(count):
        equations[k, k] += 1.0
    solve_in_place(equations)
    for p in range(first):
        for k in range(count):
            share = z[p, carrying[k]]
            for q in range(first):
                z[p, q] -= share * equations[k, count + q]
            alone[p] -= share * equations[k, count + first]


@entry
def see(inverses: Complex, wirings: Wirings, slopes: Slopes, alone: Complex, into: Complex) -> None:
    """Write what the first ports see at each harmonic (harmonic, column, port, port).

    ``alone`` are the volts that all ports have of themselves at the first harmonic (column, port); those of the first
    ports are left with what the slopes make of them. Without slopes only the first ports are there.
    """
    first, nothing = slopes.first, np.zeros(wirings.a.shape[1], dtype=np.complex128)
    for h in range(len(inverses)):
        for c in range(len(wirings.touched)):
            plus, minus, size = wirings.touched[c], wirings.against[c], wirings.touched.shape[1]
            inside = np.empty((size, size), dtype=np.complex128)
            for i in range(size):
                for j in range(size):
                    inside[i, j] = _across(inverses[h], plus[i], minus[i], plus[j], minus[j])
            middle = middle_of(inside, wirings.delta[h, c], wirings.release[c])
            z = _between(inverses[h], plus, minus, middle, wirings.a[c], wirings.b[c])
            if len(slopes.ends):
                _with_slopes(z, alone[c] if h == 0 else nothing, first, slopes.ends, slopes.siemens[c])
            for p in range(first):
                for q in range(first):
                    into[h, c, p, q] = z[p, q]

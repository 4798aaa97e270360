"""What tubes and diodes draw where their ports are off by some volts, wiring by wiring.

Only ports that carry a current which follows any volts are solved for: a tube that is cut off or out of its socket
costs nothing, nor does a grid that draws nothing.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import add_row, solve_in_place

Table = NDArray[np.float64]
Numbers = NDArray[np.inexact[Any]]  # real or complex
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
    """Write (1 + D Z)^-1 D off (port, side), D being the slopes of the ports and Z the resistance between them."""
    ports, first, sides = len(z), len(z) - len(diodes), off.shape[1]
    place, active = np.full(ports, -1), np.empty(ports, dtype=np.int64)
    count = 0
    for e in range(len(ends)):
        if abs(siemens[e]) > NOTHING_S:
            count = _into_place(ends[e, 0], place, active, count)
    for p in range(len(diodes)):
        for q in range(len(diodes)):
            if abs(diodes[p, q]) > NOTHING_S:
                count = _into_place(first + p, place, active, count)
    equations = np.zeros((count, count + sides))
    for e in range(len(ends)):
        if abs(siemens[e]) > NOTHING_S:
            _add_row(equations[place[ends[e, 0]]], siemens[e], z[ends[e, 1]], off[ends[e, 1]], active[:count])
    for p in range(len(diodes)):
        for q in range(len(diodes)):
            if abs(diodes[p, q]) > NOTHING_S:
                _add_row(equations[place[first + p]], diodes[p, q], z[first + q], off[first + q], active[:count])
    for k in range(count):
        equations[k, k] += 1.0
    solve_in_place(equations)
    drawn[:] = 0.0
    for k in range(count):
        for side in range(sides):
            drawn[active[k], side] = equations[k, count + side]


@compiled
def _add_row(equation: Table, slope: float, z: Table, off: Table, active: Rows) -> None:
    """Add what one slope makes of the volts that the carrying ports' currents make, and of volts that are off."""
    count = len(active)
    for m in range(count):
        equation[m] += slope * z[active[m]]
    for side in range(len(off)):
        equation[count + side] += slope * off[side]


@entry
def drawn_amps(between: Table, slopes: Slopes, off: Table, drawn: Table) -> None:
    """Write what the slopes draw where ports are off by some volts without them (column, port, side)."""
    for k in range(len(off)):
        drawn_by(between[k], slopes.ends, slopes.siemens[k], slopes.diodes[k], off[k], drawn[k])


class Updated(NamedTuple):
    """An inverse of joints, and what each column changes in it by Woodbury's identity."""

    inverse: Numbers  # (joint, joint)
    plus: Rows  # (column, drop): between these rows and those its drops lie
    minus: Rows
    middle: Numbers  # (column, drop, drop)


@compiled
def _lean(first: Numbers, second: Numbers, a: Rows, b: Rows, into: Numbers) -> None:
    """Write what two rows of an inverse make of pairs of rows, the first less the second."""
    for q in range(len(a)):
        into[q] = (first[a[q]] - first[b[q]]) - (second[a[q]] - second[b[q]])


@entry
def among(updated: Updated, a: Rows, b: Rows, found: Numbers) -> None:
    """Write the transfer resistance among pairs of joints (column, pair, pair), each a against b (column, pair)."""
    z, drops, count = updated.inverse, updated.plus.shape[1], a.shape[1]
    lean, right = np.empty(drops, dtype=z.dtype), np.empty((drops, count), dtype=z.dtype)
    for c in range(len(a)):
        plus, minus, middle = updated.plus[c], updated.minus[c], updated.middle[c]
        for k in range(drops):
            _lean(z[plus[k]], z[minus[k]], a[c], b[c], right[k])
        for p in range(count):
            first, second = z[a[c, p]], z[b[c, p]]
            _lean(first, second, a[c], b[c], found[c, p])
            _lean(first, second, plus, minus, lean)
            for k in range(drops):
                pull = 0.0 * lean[k]
                for m in range(drops):
                    pull += lean[m] * middle[m, k]
                add_row(found[c, p], -pull, right[k])


class Driven(NamedTuple):
    """The same for currents into a few joints."""

    turned: Numbers  # the inverse, columns first (joint, joint)
    plus: Rows
    minus: Rows
    middle: Numbers


@compiled
def volts_of(driven: Driven, c: int, amps: Numbers, volts: Numbers) -> None:
    """Write the volts (joint) that currents into the joints of a column make."""
    volts[:] = 0.0
    for joint in range(len(amps)):
        if amps[joint] != 0.0:
            add_row(volts, amps[joint], driven.turned[joint])
    plus, minus, middle = driven.plus[c], driven.minus[c], driven.middle[c]
    pull = np.zeros(len(plus), dtype=driven.turned.dtype)
    for m in range(len(plus)):
        drop = volts[plus[m]] - volts[minus[m]]
        for k in range(len(plus)):
            pull[k] += middle[k, m] * drop
    for k in range(len(plus)):
        if pull[k] != 0.0:
            add_row(volts, -pull[k], driven.turned[plus[k]])
            add_row(volts, pull[k], driven.turned[minus[k]])


@compiled
def across(a: Rows, b: Rows, volts: Numbers, into: Numbers) -> None:
    """Write the volts between pairs of joints."""
    for p in range(len(a)):
        into[p] = volts[a[p]] - volts[b[p]]


@entry
def between_pairs(driven: Driven, amps: Numbers, a: Rows, b: Rows, into: Numbers) -> None:
    """Write the volts between pairs of joints (column, pair) that currents into joints (column, joint) make."""
    volts = np.empty(amps.shape[1], dtype=amps.dtype)
    for c in range(len(into)):
        volts_of(driven, c, amps[c], volts)
        across(a[c], b[c], volts, into[c])

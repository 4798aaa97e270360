"""Newton's method on the ports of tubes and diodes, wiring by wiring; `lugwright.solve.rewired_newton` says why so."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.diodes import current_a
from lugwright.solve.kernel.laws import PENTODE_FIGURES, TRIODE_FIGURES, figures_of, grid, pentode, triode
from lugwright.solve.kernel.ports import drawn_by
from lugwright.solve.kernel.supplies import Curves, Room, room, supply_currents

Table = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]

__all__ = ["PENTODE_FIGURES", "TRIODE_FIGURES"]
TRIODE_COUNT, PENTODE_COUNT = len(TRIODE_FIGURES), len(PENTODE_FIGURES)
OWN, PLANE, CURVE = range(3)  # what a diode follows: its own law, a plane through a point, the curves of supplies


class Tubes(NamedTuple):
    """The tubes of all columns, and which of them are in."""

    triodes: Table  # (triode, figure)
    triode_grids: Table
    triodes_on: Table  # (column, triode)
    pentodes: Table
    pentode_grids: Table
    pentodes_on: Table


class Diodes(NamedTuple):
    """The diodes of each column."""

    kind: Rows  # (column, diode)
    laws: Table  # (column, diode, figure)
    amps: Table  # (column, diode): a point of the plane
    at_v: Table
    slopes: Table  # (column, diode, diode): of the plane
    mains: Table  # (column): the supplies' volts against those of the curves


class Laws(NamedTuple):
    """What all devices of some columns follow."""

    tubes: Tubes
    diodes: Diodes
    curves: Curves


class Way(NamedTuple):
    """How Newton's method goes."""

    steps: int
    settled: float  # share of the volts, and of a volt, by which the last step may move a port
    knee_v: float
    plates: Rows  # ports that no step carries past the knee: plates and screens
    still: Flags  # (port): keeps the volts it starts with


@compiled
def tubes_at(tubes: Tubes, c: int, u: Table, amps: Table, siemens: Table) -> None:
    """Write the currents of tubes' ports, and slopes in the order of `rewired_tube_slopes.slope_ends`."""
    t, p = len(tubes.triodes), len(tubes.pentodes)
    for k in range(t):
        on = tubes.triodes_on[c, k]
        if on != 0.0:
            plate_v, grid_v = u[k], u[t + k]
            a, by_plate, by_grid = triode(plate_v, grid_v, *figures_of(tubes.triodes[k], TRIODE_COUNT))
            into, steep = grid(grid_v, tubes.triode_grids[k])
            amps[k], amps[t + k] = on * a, on * into
            siemens[k], siemens[t + k] = on * by_plate, on * by_grid
            siemens[2 * t + k] = on * steep
    for k in range(p):
        on, plate, screen, g = tubes.pentodes_on[c, k], 2 * t + k, 2 * t + p + k, 2 * t + 2 * p + k
        if on != 0.0:
            found = pentode(u[plate], u[screen], u[g], *figures_of(tubes.pentodes[k], PENTODE_COUNT))
            into, steep = grid(u[g], tubes.pentode_grids[k])
            amps[plate], amps[screen], amps[g] = on * found.plate_a, on * found.screen_a, on * into
            first = 3 * t + k
            siemens[first], siemens[first + p] = on * found.plate_by_plate, on * found.plate_by_screen
            siemens[first + 2 * p] = on * found.plate_by_grid
            siemens[first + 3 * p], siemens[first + 4 * p] = on * found.screen_by_plate, on * found.screen_by_screen
            siemens[first + 5 * p], siemens[first + 6 * p] = on * found.screen_by_grid, on * steep


@compiled
def diodes_at(diodes: Diodes, curves: Curves, space: Room, c: int, v: Table, amps: Table, slopes: Table) -> None:
    """Write the currents of one column's diodes, and their slopes."""
    count, curved = len(v), False
    slopes[:] = 0.0
    for p in range(count):
        if diodes.kind[c, p] == OWN:
            amps[p], slopes[p, p] = current_a(diodes.laws[c, p], v[p])
        elif diodes.kind[c, p] == PLANE:
            amps[p] = diodes.amps[c, p]
            for q in range(count):
                slopes[p, q] = diodes.slopes[c, p, q]
                amps[p] += slopes[p, q] * (v[q] - diodes.at_v[c, q])
        else:
            curved = True
    if curved:
        size, scale = len(curves.excited), diodes.mains[c]
        for e in range(size):
            space.v[e] = v[curves.excited[e]] / scale
        supply_currents(curves, space)
        for e in range(size):
            amps[curves.excited[e]] = space.amps[e] * scale
            for p in range(size):
                slopes[curves.excited[e], curves.excited[p]] = space.slopes[e, p]


@compiled
def _move(z: Table, ends: Rows, siemens: Table, slopes: Table, amps: Table, off: Table, drawn: Table) -> None:
    """Put how far the ports are to move, (1 + Z D)^-1 (off + Z amps), in the place of ``off``."""
    ports = len(off)
    for p in range(ports):
        for q in range(ports):
            off[p, 0] += z[p, q] * amps[q]
    drawn_by(z, ends, siemens, slopes, off, drawn)
    for p in range(ports):
        for q in range(ports):
            off[p, 0] -= z[p, q] * drawn[q, 0]


@compiled
def _taken(way: Way, u: Table, move: Table, before: Table) -> tuple[bool, bool]:
    """Take a step; return whether it was too small to matter, and whether there are numbers."""
    small, finite = True, True
    before[:] = u
    for p in range(len(u)):
        if not way.still[p]:
            u[p] -= move[p, 0]
    for p in way.plates:
        if before[p] > way.knee_v and u[p] < way.knee_v:
            u[p] = way.knee_v
    for p in range(len(u)):
        small = small and abs(u[p] - before[p]) <= way.settled * (1.0 + abs(u[p]))
        finite = finite and np.isfinite(u[p])
    return small, finite


@entry
def settle(between: Table, laws: Laws, ends: Rows, way: Way, open_v: Table, u: Table, settled: Flags) -> None:
    """Take port volts (column, port) to where they balance; ``settled`` says of which columns the last step was small.

    ``between`` is the resistance between ports (column, port, port), ``open_v`` their volts without any device.
    """
    columns, ports = u.shape
    count = laws.diodes.kind.shape[1]
    first = ports - count
    off, drawn, amps, before = np.empty((ports, 1)), np.empty((ports, 1)), np.zeros(ports), np.empty(ports)
    siemens, slopes, space = np.zeros(len(ends)), np.zeros((count, count)), room(laws.curves)
    for c in range(columns):
        amps[:], siemens[:] = 0.0, 0.0
        for _ in range(way.steps):
            tubes_at(laws.tubes, c, u[c], amps, siemens)
            diodes_at(laws.diodes, laws.curves, space, c, u[c, first:], amps[first:], slopes)
            for p in range(ports):
                off[p, 0] = u[c, p] - open_v[c, p]
            _move(between[c], ends, siemens, slopes, amps, off, drawn)
            small, finite = _taken(way, u[c], off, before)
            settled[c] = small and finite
            if small or not finite:
                break


@entry
def draw(laws: Laws, u: Table, amps: Table, siemens: Table, slopes: Table) -> None:
    """Write what devices do at port volts (column, port): currents of the ports, slopes of tubes and of diodes.

    Slopes of tubes (column, slope) stand in the order of `rewired_tube_slopes.slope_ends`, those of diodes (column,
    diode, diode) by rows.
    """
    first, space = u.shape[1] - laws.diodes.kind.shape[1], room(laws.curves)
    for c in range(len(u)):
        amps[c], siemens[c] = 0.0, 0.0
        tubes_at(laws.tubes, c, u[c], amps[c], siemens[c])
        diodes_at(laws.diodes, laws.curves, space, c, u[c, first:], amps[c, first:], slopes[c])

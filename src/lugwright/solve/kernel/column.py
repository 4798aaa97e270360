"""Direct current of one column: `lugwright.solve.dc` says what is solved, and has the same for batches.

Voltages are those of all joints, ground last. A column that does not come to its end here is left to the other ways.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.diodes import SIZE as DIODE_FIGURES
from lugwright.solve.kernel.diodes import current_a
from lugwright.solve.kernel.laws import PENTODE_FIGURES, TRIODE_FIGURES, figures_of, grid, pentode, triode
from lugwright.solve.kernel.lu import Pivots, factor_in_place, solve_in_place

Table = NDArray[np.float64]
Rows = NDArray[np.int64]

__all__ = ["DIODE_FIGURES", "PENTODE_FIGURES", "TRIODE_FIGURES"]
TRIODE_COUNT, PENTODE_COUNT = len(TRIODE_FIGURES), len(PENTODE_FIGURES)
EPS = float(np.finfo(float).eps)
FAR_V = 1e4  # where a step has no end


class Joined(NamedTuple):
    """What is joined to what, and which slot of the matrix each slope is added to."""

    a: Rows  # (branch)
    b: Rows
    couple_i: Rows  # (pair of branches that act on one another)
    couple_j: Rows
    couple_slots: Rows  # (pair, 4)
    triodes: Rows  # (triode, plate grid cathode)
    triode_slots: Rows  # (triode, 3, 3)
    pentodes: Rows  # (pentode, plate screen grid cathode)
    pentode_slots: Rows  # (pentode, 4, 4)
    ports: Rows  # (diode, anode cathode)
    port_slots: Rows  # (diode, diode, 4)
    current_a: Rows  # (source of current)
    current_b: Rows
    tied: Rows
    tie_slots: Rows
    diagonal_slots: Rows
    knees: Rows  # (plate, 2): plate and cathode


class Numbers(NamedTuple):
    """The numbers of one column."""

    admittances: Table  # (pair of branches)
    push_v: Table  # (branch): in series, what a source or a state of the past puts there
    source_v: Table  # (branch): likewise, but turned up with the sources
    amps: Table  # (source of current)
    triodes: Table  # (triode, figure)
    triodes_on: Table
    triode_grids: Table
    pentodes: Table
    pentodes_on: Table
    pentode_grids: Table
    tie_s: float


class Ports(NamedTuple):
    """The law of the diodes: a plane through a point, or each diode's own."""

    amps: Table  # (diode)
    at_v: Table
    follow: Table  # (diode, diode): how the currents go with the volts
    slope: Table  # (diode, diode): what is told of it
    laws: Table  # (diode, figure); no rows where the plane counts


class Way(NamedTuple):
    """How Newton's method goes."""

    source: float  # share of sources and rectifiers
    hold_s: float  # ties each joint to where it starts
    steps: int
    judged_from: int
    near_v: float
    knee_v: float
    relative: float
    absolute_a: float


class Space(NamedTuple):
    """Room for numbers in between."""

    across: Table  # (branch)
    through: Table
    left: Table  # (joint + ground)
    size: Table  # of the currents that meet (joint + ground)
    matrix: Table  # (slot + 1)
    before: Table  # (joint + ground)


@compiled
def _add(at: Space, joint: int, amps: float) -> None:
    at.left[joint] += amps
    at.size[joint] += abs(amps)


@compiled
def _branches(joined: Joined, column: Numbers, source: float, v: Table, at: Space) -> None:
    """Add the currents of everything with two ends, and their slopes."""
    for k in range(len(joined.a)):
        at.across[k] = v[joined.a[k]] - v[joined.b[k]] + column.push_v[k] - source * column.source_v[k]
        at.through[k] = 0.0
    for p in range(len(joined.couple_i)):
        siemens = column.admittances[p]
        at.through[joined.couple_i[p]] += siemens * at.across[joined.couple_j[p]]
        slots = joined.couple_slots[p]
        at.matrix[slots[0]] += siemens
        at.matrix[slots[1]] -= siemens
        at.matrix[slots[2]] -= siemens
        at.matrix[slots[3]] += siemens
    for k in range(len(joined.a)):
        _add(at, joined.a[k], at.through[k])
        _add(at, joined.b[k], -at.through[k])
    for k in range(len(column.amps)):
        _add(at, joined.current_a[k], source * column.amps[k])
        _add(at, joined.current_b[k], -source * column.amps[k])


@compiled
def _slopes(matrix: Table, slots: Rows, on: float, slopes: Table) -> None:
    """Add the slopes of a tube's ends over its ends; the cathode's row and column balance the others."""
    last = len(slopes)
    for i in range(last):
        for j in range(last):
            slope = on * slopes[i, j]
            matrix[slots[i, j]] += slope
            matrix[slots[i, last]] -= slope
            matrix[slots[last, j]] -= slope
            matrix[slots[last, last]] += slope


@compiled
def _tubes(joined: Joined, column: Numbers, v: Table, at: Space) -> None:
    slopes = np.zeros((2, 2))
    for t in range(len(joined.triodes)):
        p, g, c = joined.triodes[t, 0], joined.triodes[t, 1], joined.triodes[t, 2]
        on, grid_v = column.triodes_on[t], v[g] - v[c]
        amps, gp, gm = triode(v[p] - v[c], grid_v, *figures_of(column.triodes[t], TRIODE_COUNT))
        into, gg = grid(grid_v, column.triode_grids[t])
        _add(at, p, on * amps)
        _add(at, g, on * into)
        _add(at, c, -on * amps - on * into)
        slopes[0, 0], slopes[0, 1], slopes[1, 1] = gp, gm, gg
        _slopes(at.matrix, joined.triode_slots[t], on, slopes)
    slopes = np.zeros((3, 3))
    for t in range(len(joined.pentodes)):
        p, s, g, c = joined.pentodes[t, 0], joined.pentodes[t, 1], joined.pentodes[t, 2], joined.pentodes[t, 3]
        on, grid_v = column.pentodes_on[t], v[g] - v[c]
        found = pentode(v[p] - v[c], v[s] - v[c], grid_v, *figures_of(column.pentodes[t], PENTODE_COUNT))
        into, gg = grid(grid_v, column.pentode_grids[t])
        _add(at, p, on * found.plate_a)
        _add(at, s, on * found.screen_a)
        _add(at, g, on * into)
        _add(at, c, -on * found.plate_a - on * found.screen_a - on * into)
        slopes[0, 0], slopes[0, 1], slopes[0, 2] = found.plate_by_plate, found.plate_by_screen, found.plate_by_grid
        slopes[1, 0], slopes[1, 1], slopes[1, 2] = found.screen_by_plate, found.screen_by_screen, found.screen_by_grid
        slopes[2, 2] = gg
        _slopes(at.matrix, joined.pentode_slots[t], on, slopes)


@compiled
def _diodes(joined: Joined, ports: Ports, source: float, v: Table, at: Space) -> None:
    for p in range(len(joined.ports)):
        anode, cathode = joined.ports[p, 0], joined.ports[p, 1]
        amps = ports.amps[p]
        for q in range(len(joined.ports)):
            slope = source * ports.slope[p, q]
            if len(ports.laws) == 0:
                amps += ports.follow[p, q] * (v[joined.ports[q, 0]] - v[joined.ports[q, 1]] - ports.at_v[q])
            elif p == q:
                amps, slope = current_a(ports.laws[p], v[anode] - v[cathode])
                slope *= source
            else:
                slope = 0.0
            slots = joined.port_slots[p, q]
            at.matrix[slots[0]] += slope
            at.matrix[slots[1]] -= slope
            at.matrix[slots[2]] -= slope
            at.matrix[slots[3]] += slope
        _add(at, anode, source * amps)
        _add(at, cathode, -source * amps)


@compiled
def _flows(joined: Joined, column: Numbers, ports: Ports, source: float, v: Table, at: Space) -> None:
    """Write what is left over at every joint, the currents that meet there, and the matrix of slopes."""
    at.left.fill(0.0)
    at.size.fill(0.0)
    at.matrix.fill(0.0)
    _branches(joined, column, source, v, at)
    _tubes(joined, column, v, at)
    _diodes(joined, ports, source, v, at)
    for k in range(len(joined.tied)):
        at.left[joined.tied[k]] += column.tie_s * v[joined.tied[k]]
        at.matrix[joined.tie_slots[k]] += column.tie_s


@compiled
def _allow(joined: Joined, column: Numbers, way: Way, v: Table, at: Space, allowed: Table) -> None:
    """Write what may be left over: a share of the currents that meet, and what rounding leaves."""
    for joint in range(len(allowed)):
        allowed[joint] = way.relative * at.size[joint] + way.absolute_a
    for k in range(len(joined.a)):
        at.across[k] = max(abs(v[joined.a[k]]), abs(v[joined.b[k]])) + abs(column.push_v[k])
        at.through[k] = 0.0
    for p in range(len(joined.couple_i)):
        at.through[joined.couple_i[p]] += abs(column.admittances[p]) * at.across[joined.couple_j[p]]
    for k in range(len(joined.a)):
        noise = 4.0 * EPS * at.through[k]
        if joined.a[k] < len(allowed):
            allowed[joined.a[k]] += noise
        if joined.b[k] < len(allowed):
            allowed[joined.b[k]] += noise


@compiled
def _respect_knees(joined: Joined, knee_v: float, v: Table, before: Table) -> None:
    """Keep one step from carrying a plate past its knee: from the corner it converges."""
    for k in range(len(joined.knees)):
        plate, cathode = joined.knees[k, 0], joined.knees[k, 1]
        if before[plate] - before[cathode] > knee_v and v[plate] - v[cathode] < knee_v:
            v[plate] = v[cathode] + knee_v


@compiled
def _cancels(left: Table, allowed: Table) -> bool:
    cancels = True
    for joint in range(len(allowed)):
        cancels = cancels and abs(left[joint]) <= allowed[joint]
    return cancels


@compiled
def _step(joined: Joined, pivots: Pivots, way: Way, start: Table, v: Table, at: Space, move: Table) -> float:
    """Write what a step takes off the volts; return the most of it."""
    if way.hold_s != 0.0:
        for joint in range(len(move)):
            at.left[joint] += way.hold_s * (v[joint] - start[joint])
            at.matrix[joined.diagonal_slots[joint]] += way.hold_s
    for joint in range(len(move)):
        move[joint] = at.left[joint]
    factor_in_place(pivots, at.matrix)
    solve_in_place(pivots, at.matrix, move)
    most = 0.0
    for each in move:
        if not abs(each) <= most:
            most = abs(each)
    return most


@entry
def newton(
    joined: Joined, pivots: Pivots, column: Numbers, ports: Ports, way: Way, start: Table, v: Table, at: Space,
    allowed: Table, move: Table,
) -> tuple[int, bool]:  # fmt: skip
    """Write where Newton's method arrives from a start; return the steps it took, and whether the currents cancel.

    With no steps to take what is left over and the matrix of slopes are written, and nothing moves.
    """
    size = len(move)
    for joint in range(size + 1):
        v[joint] = start[joint]
    for count in range(1, max(way.steps, 1) + 1):
        _flows(joined, column, ports, way.source, v, at)
        if way.steps == 0:
            break
        most, last = _step(joined, pivots, way, start, v, at, move), count == way.steps
        if last or count > way.judged_from or most < way.near_v:
            _allow(joined, column, way, v, at, allowed)
            if _cancels(at.left, allowed):
                if way.steps > 1:  # one more step costs nothing now and settles joints that hardly conduct
                    for joint in range(size):
                        v[joint] -= move[joint] if np.isfinite(move[joint]) else 0.0
                return count, True
        if not last:
            for joint in range(size + 1):
                at.before[joint] = v[joint]
            for joint in range(size):
                each = move[joint]
                v[joint] -= 0.0 if np.isnan(each) else min(max(each, -FAR_V), FAR_V) if np.isinf(each) else each
            _respect_knees(joined, way.knee_v, v, at.before)
    return way.steps, False


@entry
def solve(pivots: Pivots, matrix: Table, sides: Table) -> None:
    """Put the solutions in the place of right sides (side, joint), the factors in that of the matrix (slot)."""
    factor_in_place(pivots, matrix)
    for k in range(len(sides)):
        solve_in_place(pivots, matrix, sides[k])

"""The currents that meet at every joint, wiring by wiring; `lugwright.solve.rewired_flows` says what they certify."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry

Table = NDArray[np.float64]
Rows = NDArray[np.int64]

EPS = float(np.finfo(float).eps)
ROUNDINGS = 4.0  # of the volts at both ends of a branch


class Wirings(NamedTuple):
    """All columns: where ends stand, and what every branch passes."""

    couple_i: Rows  # (pair): branch of the current
    couple_j: Rows  # and of the volts
    siemens: Table  # (column, pair)
    ends: Rows  # (column, end): branches' a, branches' b, then what has currents of its own
    branches: int
    bridge_ends: Rows  # (2, bridge, column)
    bridge_s: Table  # (bridge, column)
    to_ground_s: Table  # (column, joint + ground)


class Currents(NamedTuple):
    """Volts and currents of those columns that are looked at."""

    volts: Table  # (column, joint + ground)
    push_v: Table  # (column, branch): what a source in it puts there
    parts: Table  # (column, end): out of the joints that the ends behind the branches' stand on


class _Room(NamedTuple):
    """Room for numbers in between, of one column."""

    through: Table  # (branch)
    rounded: Table
    left: Table  # (joint + ground)
    size: Table
    doubt: Table


@compiled
def _add(at: _Room, joint: int, amps: float, rounded: float) -> None:
    at.left[joint] += amps
    at.size[joint] += abs(amps)
    at.doubt[joint] += rounded


@compiled
def _branches(wirings: Wirings, c: int, volts: Table, push_v: Table, at: _Room) -> None:
    """Add what flows in branches, and what rounding may make of it."""
    n, ends, siemens = wirings.branches, wirings.ends[c], wirings.siemens[c]
    at.through[:], at.rounded[:] = 0.0, 0.0
    for p in range(len(siemens)):
        i, j = wirings.couple_i[p], wirings.couple_j[p]
        a, b = volts[ends[j]], volts[ends[n + j]]
        at.through[i] += siemens[p] * (a - b - push_v[j])
        at.rounded[i] += abs(siemens[p]) * max(abs(a), abs(b))
    for branch in range(n):
        _add(at, ends[branch], at.through[branch], at.rounded[branch])
        _add(at, ends[n + branch], -at.through[branch], at.rounded[branch])
    for bridge in range(len(wirings.bridge_s)):
        between = wirings.bridge_s[bridge, c]
        if between != 0.0:
            first, second = wirings.bridge_ends[0, bridge, c], wirings.bridge_ends[1, bridge, c]
            a, b = volts[first], volts[second]
            rounded = between * max(abs(a), abs(b))
            _add(at, first, between * (a - b), rounded)
            _add(at, second, -between * (a - b), rounded)


@entry
def meet(
    wirings: Wirings, chosen: Rows, currents: Currents, relative: float, absolute_a: float, left: Table, allowed: Table
) -> None:
    """Write what is left over at every joint (column, joint + ground) of some columns, and what may be."""
    joints, n = left.shape[1], wirings.branches
    at = _Room(np.empty(n), np.empty(n), np.empty(joints), np.empty(joints), np.empty(joints))
    for k in range(len(chosen)):
        c, volts, parts = chosen[k], currents.volts[k], currents.parts[k]
        at.left[:], at.size[:], at.doubt[:] = 0.0, 0.0, 0.0
        _branches(wirings, c, volts, currents.push_v[k], at)
        for end in range(len(parts)):
            _add(at, wirings.ends[c, 2 * n + end], parts[end], 0.0)
        for joint in range(joints):
            left[k, joint] = at.left[joint] + wirings.to_ground_s[c, joint] * volts[joint]
            allowed[k, joint] = relative * at.size[joint] + absolute_a + ROUNDINGS * EPS * at.doubt[joint]
        left[k, joints - 1] = 0.0

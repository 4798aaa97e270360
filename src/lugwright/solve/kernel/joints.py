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
    """All columns: where ends stand, what every branch passes and what sources drive."""

    couple_i: Rows  # (pair): branch of the current
    couple_j: Rows  # and of the volts
    siemens: Table  # (column, pair)
    ends: Rows  # (column, end): branches' a, branches' b, then what has currents of its own
    branches: int
    triodes: int
    pentodes: int
    bridge_ends: Rows  # (2, bridge, column)
    bridge_s: Table  # (bridge, column)
    to_ground_s: Table  # (column, joint + ground)
    push_v: Table  # (column, branch): what a source in it puts there
    steady_a: Table  # (column, source of current)


class Least(NamedTuple):
    """What currents may leave over at a joint: a share of those that meet there, and an amount."""

    relative: float
    absolute_a: float


class Room(NamedTuple):
    """Where the currents of one column are added up."""

    through: Table  # (branch)
    rounded: Table
    sums: Table  # (joint + ground)
    size: Table
    doubt: Table


@compiled
def room(wirings: Wirings) -> Room:
    """Return room for a column."""
    joints, n = wirings.to_ground_s.shape[1], wirings.branches
    return Room(np.empty(n), np.empty(n), np.empty(joints), np.empty(joints), np.empty(joints))


@compiled
def _add(at: Room, joint: int, amps: float, rounded: float) -> None:
    at.sums[joint] += amps
    at.size[joint] += abs(amps)
    at.doubt[joint] += rounded


@compiled
def _branches(wirings: Wirings, c: int, volts: Table, push_v: Table, at: Room) -> None:
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


@compiled
def _devices(wirings: Wirings, c: int, port_a: Table, at: Room) -> None:
    """Add what tubes, diodes and sources of current draw; port currents in the order of `rewired_ports.Ports`."""
    t, p, end, port = wirings.triodes, wirings.pentodes, 2 * wirings.branches, 0
    ends, steady_a = wirings.ends[c], wirings.steady_a[c]
    for tubes, electrodes in ((t, 2), (p, 3)):
        for k in range(tubes):
            cathode_a = 0.0
            for electrode in range(electrodes):
                amps = port_a[port + electrode * tubes + k]
                _add(at, ends[end + electrode * tubes + k], amps, 0.0)
                cathode_a -= amps
            _add(at, ends[end + electrodes * tubes + k], cathode_a, 0.0)
        end, port = end + (electrodes + 1) * tubes, port + electrodes * tubes
    diodes = len(port_a) - port
    for k in range(diodes):
        _add(at, ends[end + k], port_a[port + k], 0.0)
        _add(at, ends[end + diodes + k], -port_a[port + k], 0.0)
    end += 2 * diodes
    for k in range(len(steady_a)):
        _add(at, ends[end + k], steady_a[k], 0.0)
        _add(at, ends[end + len(steady_a) + k], -steady_a[k], 0.0)


@compiled
def meet_at(
    wirings: Wirings, c: int, volts: Table, port_a: Table, least: Least, at: Room, left: Table, allowed: Table
) -> None:
    """Write what is left over at every joint of a column at these volts, and what may be."""
    joints = len(left)
    at.sums[:], at.size[:], at.doubt[:] = 0.0, 0.0, 0.0
    _branches(wirings, c, volts, wirings.push_v[c], at)
    _devices(wirings, c, port_a, at)
    for joint in range(joints):
        left[joint] = at.sums[joint] + wirings.to_ground_s[c, joint] * volts[joint]
        allowed[joint] = least.relative * at.size[joint] + least.absolute_a + ROUNDINGS * EPS * at.doubt[joint]
    left[joints - 1] = 0.0


@entry
def meet(
    wirings: Wirings, chosen: Rows, volts: Table, port_a: Table, least: Least, left: Table, allowed: Table
) -> None:
    """Write what is left over at every joint (column, joint + ground) of some columns, and what may be.

    ``volts`` are theirs (column, joint + ground), ``port_a`` the currents of their tubes and diodes (column, port).
    """
    at = room(wirings)
    for k in range(len(chosen)):
        meet_at(wirings, chosen[k], volts[k], port_a[k], least, at, left[k], allowed[k])

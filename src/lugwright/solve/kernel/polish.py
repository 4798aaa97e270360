"""Newton's method on all joints, wiring by wiring, until the currents cancel; `lugwright.solve.rewired_dc` says why."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.joints import Least, Wirings, meet_at
from lugwright.solve.kernel.joints import room as room_at_joints
from lugwright.solve.kernel.ports import Driven, across, drawn_by, volts_of
from lugwright.solve.kernel.settle import Laws, diodes_at, tubes_at
from lugwright.solve.kernel.supplies import room

Table = NDArray[np.float64]
Rows = NDArray[np.int64]


class Block(NamedTuple):
    """Some of the columns, and how volts follow currents there without any device."""

    chosen: Rows  # which of all
    a: Rows  # (column, port)
    b: Rows
    between: Table  # (column, port, port) [ohm]
    driven: Driven


class Way(NamedTuple):
    """How far it goes."""

    steps: int
    well_below: float  # share of what may be left over at which it ends
    stalls: int  # steps that halve nothing before a column is given up
    least: Least


@compiled
def _excess(left: Table, allowed: Table) -> float:
    """Return the largest share of what may be left over at a joint; not a number where one of them is none."""
    most = 0.0
    for joint in range(len(left)):
        share = abs(left[joint]) / allowed[joint]
        if not share <= most:
            most = share
        if most != most:
            break
    return most


@compiled
def _out_of_joints(a: Rows, b: Rows, amps: Table, into: Table) -> None:
    """Take what ports draw out of their joints off the currents into these."""
    for p in range(len(a)):
        into[a[p]] -= amps[p]
        into[b[p]] += amps[p]


@entry
def at_joints(block: Block, drive_a: Table, port_a: Table, volts: Table) -> None:
    """Write the volts of joints (column, joint + ground) that sources and ports' currents (column, port) make."""
    into = np.empty(drive_a.shape[1])
    for k in range(len(volts)):
        into[:] = drive_a[k]
        _out_of_joints(block.a[k], block.b[k], port_a[k], into)
        volts_of(block.driven, k, into, volts[k])


@entry
def polish(
    wirings: Wirings, laws: Laws, ends: Rows, block: Block, way: Way, volts: Table, left: Table, allowed: Table
) -> None:
    """Take the volts of some columns (column, joint + ground) to the best point that is found, and say what is left.

    ``left`` and ``allowed`` are the currents left over there, and what may be. ``ends`` are those of the tubes' slopes.
    """
    ports, joints, count = block.a.shape[1], volts.shape[1], laws.diodes.kind.shape[1]
    u, amps, siemens, slopes = np.empty(ports), np.zeros(ports), np.zeros(len(ends)), np.empty((count, count))
    off, drawn, first = np.empty((ports, 1)), np.empty((ports, 1)), ports - count
    v, once, back, into = np.empty(joints), np.empty(joints), np.empty(joints), np.empty(joints)
    now_left, now_allowed, space, at = np.empty(joints), np.empty(joints), room(laws.curves), room_at_joints(wirings)
    for k in range(len(volts)):
        a, b, nearest, stalls = block.a[k], block.b[k], np.inf, 0
        v[:], amps[:], siemens[:] = volts[k], 0.0, 0.0
        for step in range(way.steps + 1):
            across(a, b, v, u)
            tubes_at(laws.tubes, k, u, amps, siemens)
            diodes_at(laws.diodes, laws.curves, space, k, u[first:], amps[first:], slopes)
            meet_at(wirings, block.chosen[k], v, amps, way.least, at, now_left, now_allowed)
            excess = _excess(now_left, now_allowed)
            if step == 0 or excess < nearest:
                volts[k], left[k], allowed[k] = v, now_left, now_allowed
            stalls = 0 if excess < 0.5 * nearest else stalls + 1
            if excess <= way.well_below or stalls >= way.stalls or step == way.steps:
                break
            nearest = excess if excess < nearest else nearest
            volts_of(block.driven, k, now_left, once)
            across(a, b, once, off[:, 0])
            drawn_by(block.between[k], ends, siemens, slopes, off, drawn)
            into[:] = 0.0
            _out_of_joints(a, b, drawn[:, 0], into)
            volts_of(block.driven, k, into, back)
            for joint in range(joints):
                v[joint] -= once[joint] + back[joint]

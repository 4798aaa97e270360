"""The currents at every joint of every column, from the columns' own ends and values: what certifies an answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.dc import ABSOLUTE_A, RELATIVE
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.system import Array, Index, System


def fitted_ports(system: System, values: Array) -> NDArray[np.bool_]:
    """Return which ports of tubes, in the order of `Ports`, are those of a tube that is in, in any column (port)."""
    triode, pentode = ((values[rows] > 0.0).any(axis=1) for rows in (system.triode_on, system.pentode_on))
    return np.concatenate([triode, triode, pentode, pentode, pentode])


GATE_V, GATE_WIDTH_V = 2.5, 0.1


@dataclass(frozen=True)
class Flows:
    """What is left over at every joint (joint + ground, column), and what may be."""

    left: Array
    allowed: Array


def flows_of(columns: RewiredColumns, chosen: Index, values: Array, own_y: Array, v: Array, port_a: Array) -> Flows:
    """Return the flows of some columns.

    ``values`` (value, column) and ``own_y``, the admittances at 0 Hz (pair, column), are those of all columns, ``v``
    and ``port_a``, what tubes and diodes carry (port, column), of the ``chosen`` ones.
    """
    from lugwright.solve.kernel import joints  # brings the compiler along: only where there is something to certify

    system, n = columns.system, len(columns.system.branch_a)
    push_v = np.zeros((n, len(chosen)))
    first = len(system.resistors) + len(system.capacitors)
    push_v[first : first + len(system.sources)] = values[np.ix_(system.source_dc, chosen)]
    amps = values[np.ix_(system.current_amps, chosen)]
    parts = np.concatenate([_into_ends(system, port_a), amps, -amps])
    wirings = joints.Wirings(
        system.couple_i, system.couple_j, own_y, columns.ends, n, columns.bridge_ends, columns.bridge_s,
        columns.to_ground_s,
    )  # fmt: skip
    left, allowed = np.empty(v.shape), np.empty(v.shape)
    currents = joints.Currents(np.ascontiguousarray(v), push_v, parts)
    joints.meet(wirings, chosen, currents, RELATIVE, ABSOLUTE_A, left, allowed)
    return Flows(left, allowed)


def _into_ends(system: System, port_a: Array) -> Array:
    """Return what every end of a tube and of a diode draws out of its joint, in the order of the ends. [A]"""
    t, p = len(system.triodes), len(system.pentodes)
    plate, grid = port_a[:t], port_a[t : 2 * t]
    big, screen, big_grid = (port_a[2 * t + n * p : 2 * t + (n + 1) * p] for n in range(3))
    diodes = port_a[2 * t + 3 * p :]
    return np.concatenate(
        [plate, grid, -plate - grid, big, screen, big_grid, -big - screen - big_grid, diodes, -diodes]
    )

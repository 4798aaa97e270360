"""The currents at every joint of every column, from the columns' own ends and values: what certifies an answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.dc import ABSOLUTE_A, RELATIVE
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.system import Array, Index, System


def fitted_ports(system: System, values: Array, chosen: Index) -> NDArray[np.bool_]:
    """Return which ports of tubes, in the order of `Ports`, are those of a tube that is in, in any of some columns."""
    triode, pentode = ((values[rows][:, chosen] > 0.0).any(axis=1) for rows in (system.triode_on, system.pentode_on))
    return np.concatenate([triode, triode, pentode, pentode, pentode])


@dataclass(frozen=True)
class Flows:
    """What is left over at every joint (joint + ground, column), and what may be."""

    left: Array
    allowed: Array


class Meeting:
    """Where the currents of every column meet: its ends and what its branches pass."""

    def __init__(self, columns: RewiredColumns, values: Array, own_y: Array) -> None:
        from lugwright.solve.kernel import joints  # brings the compiler along: only where there is something to certify

        self._system, self._values = columns.system, values
        self._wirings = joints.Wirings(
            columns.system.couple_i, columns.system.couple_j, np.ascontiguousarray(own_y.T),
            np.ascontiguousarray(columns.ends.T), len(columns.system.branch_a), columns.bridge_ends, columns.bridge_s,
            np.ascontiguousarray(columns.to_ground_s.T),
        )  # fmt: skip

    def flows(self, chosen: Index, v: Array, port_a: Array) -> Flows:
        """Return the flows of some columns at volts (joint, column); port currents are (column, port)."""
        from lugwright.solve.kernel import joints

        system = self._system
        push_v = np.zeros((len(chosen), len(system.branch_a)))
        first = len(system.resistors) + len(system.capacitors)
        push_v[:, first : first + len(system.sources)] = self._values[np.ix_(system.source_dc, chosen)].T
        amps = self._values[np.ix_(system.current_amps, chosen)].T
        parts = np.concatenate([_into_ends(system, port_a), amps, -amps], axis=1)
        volts = np.ascontiguousarray(v.T)
        left, allowed = np.empty(volts.shape), np.empty(volts.shape)
        currents = joints.Currents(volts, push_v, parts)
        joints.meet(self._wirings, chosen, currents, RELATIVE, ABSOLUTE_A, left, allowed)
        return Flows(left.T, allowed.T)


def _into_ends(system: System, port_a: Array) -> Array:
    """Return what every end of a tube and of a diode draws out of its joint (column, end). [A]"""
    t, p = len(system.triodes), len(system.pentodes)
    plate, grid, big, screen, big_grid, diodes = np.split(port_a, np.cumsum([t, t, p, p, p]), axis=1)
    return np.concatenate(
        [plate, grid, -plate - grid, big, screen, big_grid, -big - screen - big_grid, diodes, -diodes], axis=1
    )

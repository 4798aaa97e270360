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

        system, first = columns.system, len(columns.system.resistors) + len(columns.system.capacitors)
        push_v = np.zeros((columns.count, len(system.branch_a)))
        push_v[:, first : first + len(system.sources)] = values[system.source_dc].T
        self.wirings = joints.Wirings(
            system.couple_i, system.couple_j, np.ascontiguousarray(own_y.T), np.ascontiguousarray(columns.ends.T),
            len(system.branch_a), len(system.triodes), len(system.pentodes), columns.bridge_ends, columns.bridge_s,
            np.ascontiguousarray(columns.to_ground_s.T), push_v, np.ascontiguousarray(values[system.current_amps].T),
        )  # fmt: skip
        self.least = joints.Least(RELATIVE, ABSOLUTE_A)

    def flows(self, chosen: Index, v: Array, port_a: Array) -> Flows:
        """Return the flows of some columns at volts (joint, column); port currents are (column, port)."""
        from lugwright.solve.kernel import joints

        volts = np.ascontiguousarray(v.T)
        left, allowed = np.empty(volts.shape), np.empty(volts.shape)
        joints.meet(self.wirings, chosen, volts, np.ascontiguousarray(port_a), self.least, left, allowed)
        return Flows(left.T, allowed.T)

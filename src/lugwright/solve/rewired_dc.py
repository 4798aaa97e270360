"""The DC point of blocks of wirings: Newton on the ports of their devices, then on all joints, and the certificate."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_devices import DeviceLaws, PortDevices, drawn
from lugwright.solve.rewired_flows import Flows, Meeting, fitted_ports
from lugwright.solve.rewired_newton import Answer, Block, newton
from lugwright.solve.rewired_ports import summed
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.rewired_tube_slopes import slope_ends
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel import polish
    from lugwright.solve.kernel.settle import Laws

POLISH = 40  # full Newton steps at the most after the ports have settled
WELL_BELOW = 0.05  # share of what may be left over at which these end
FAR_V = 1e5  # no supply of a tube amplifier leads so far
STALLS = 5  # of these steps that halve nothing before a column is given up


class DcColumns:
    """The columns' volts and what is left over, filled block by block; not a number where nothing was found."""

    def __init__(self, law: SupplyLaw, columns: RewiredColumns) -> None:
        self.base, self.system, self.columns = law.base, law.system, columns
        self.values = columns.values(self.base.values)
        self.laws = DeviceLaws(law, self.values)
        self.own_y = np.real(self.system.admittances(self.values, 0.0))
        self.drive = _drive(columns, self.values)
        self._meeting = Meeting(columns, self.values, self.own_y)
        shape = (columns.ground + 1, columns.count)
        self.volts, self.left, self.allowed = (np.full(shape, np.nan) for _ in range(3))

    @property
    def certified(self) -> NDArray[np.bool_]:
        """Return which columns have currents that cancel at every joint."""
        with np.errstate(invalid="ignore"):
            return np.asarray(np.all(np.abs(self.left) <= self.allowed, axis=0))

    def flows(self, chosen: Index, v: Array, found: Answer) -> Flows:
        """Return the currents of some columns at volts (joint, column)."""
        return self._meeting.flows(chosen, v, found.amps)

    def start(self, chosen: Index) -> Array:
        """Return the base's volts (joint, column), joints that a wiring makes at the level their first end had."""
        level = np.zeros(self.columns.ground + 1)
        level[: self.system.size] = self.base.dc.volts[:-1, 0]
        v = np.repeat(level[:, None], len(chosen), axis=1)
        ends = self.columns.ends[:, chosen]
        place, column = np.nonzero(ends >= self.system.size)
        row = ends[place, column]
        fresh = row < self.columns.ground
        v[row[fresh], column[fresh]] = level[self.columns.base_ends[place[fresh]]]
        return v

    def solve(self, blocks: Sequence[Block], devices: PortDevices, start: Array) -> None:
        """Find the points of blocks from port volts (port, column of one block after the other); write them down."""
        first = 0
        with np.errstate(all="ignore"):
            for block in blocks:
                last = first + len(block.chosen)
                tables, laws = block.tables, devices.tables(block.chosen)
                self._polish(tables, laws, self._on_ports(tables, laws, start[:, first:last]))
                first = last

    def approach(self, block: Block, devices: PortDevices) -> None:
        """Put the columns of a block where devices would have their ports, in the base where that is nowhere."""
        chosen, start = block.chosen, self.start(block.chosen)
        with np.errstate(all="ignore"):
            near = self._on_ports(block.tables, devices.tables(chosen), block.ports.across(start)).T
            found = np.abs(near).max(axis=0) < FAR_V
        self.volts[:, chosen] = np.where(found, near, start)

    def _on_ports(self, block: polish.Block, laws: Laws, start: Array) -> Array:
        """Return where Newton's method on the ports leaves all joints of a block (column, joint)."""
        from lugwright.solve.kernel import polish, ports

        drive_a = np.ascontiguousarray(self.drive[:, block.chosen].T)
        open_v, volts = np.empty(block.a.shape), np.empty(drive_a.shape)
        ports.between_pairs(block.driven, drive_a, block.a, block.b, open_v)
        u, _ = newton(self.system, laws, block.between, open_v.T, start, self._live(block.chosen))
        polish.at_joints(block, drive_a, drawn(laws, u).amps, volts)
        return volts

    def _live(self, chosen: Index) -> Index:
        """Return the ports of tubes that are in, in any of some columns, and of diodes."""
        tubes = fitted_ports(self.system, self.values, chosen)
        return np.flatnonzero(np.concatenate([tubes, np.ones(len(self.system.diodes), dtype=bool)]))

    def _polish(self, block: polish.Block, laws: Laws, volts: Array) -> None:
        """Take Newton steps on all joints until the currents cancel; write down the best point of each column.

        They start from volts (column, joint), which are lost.
        """
        from lugwright.solve.kernel import polish

        left, allowed, chosen = np.empty(volts.shape), np.empty(volts.shape), block.chosen
        way = polish.Way(POLISH, WELL_BELOW, STALLS, self._meeting.least)
        ends = slope_ends(len(self.system.triodes), len(self.system.pentodes))
        polish.polish(self._meeting.wirings, laws, ends, block, way, volts, left, allowed)
        self.volts[:, chosen], self.left[:, chosen], self.allowed[:, chosen] = volts.T, left.T, allowed.T


def _drive(columns: RewiredColumns, values: Array) -> Array:
    """Return the current that direct sources drive into the joints (joint, column). [A]"""
    system, n = columns.system, len(columns.system.branch_a)
    first = len(system.resistors) + len(system.capacitors)
    rows = np.arange(first, first + len(system.sources))
    amps = values[system.source_dc] / values[system.source_ohm]
    count = len(system.current_sources)
    last = len(columns.ends) - 2 * count
    ends = columns.ends
    where = np.concatenate([ends[rows], ends[rows + n], ends[last : last + count], ends[last + count :]])
    steady = values[system.current_amps]
    parts = np.concatenate([amps, -amps, -steady, steady])
    return summed(where, parts, (columns.ground + 1, columns.count))

"""The DC point of blocks of wirings: Newton on the ports of their devices, then on all joints, and the certificate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_devices import DeviceLaws, PortDevices, drawn
from lugwright.solve.rewired_flows import Flows, Meeting, fitted_ports
from lugwright.solve.rewired_newton import Answer, Block, full_move, newton
from lugwright.solve.rewired_ports import summed
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.system import Array, Index

POLISH = 40  # full Newton steps at the most after the ports have settled
WELL_BELOW = 0.05  # share of what may be left over at which these end
FAR_V = 1e5  # no supply of a tube amplifier leads so far
STALLS = 5  # of these steps that halve nothing before a column is given up


@dataclass(frozen=True)
class _Polished:
    """Points that are polished: how little was left over at the best of each so far, and how often that stayed so."""

    block: Block
    volts: Array  # (joint, column)
    nearest: Array
    stalls: Array

    @staticmethod
    def of(block: Block, volts: Array) -> _Polished:
        """Return the points of a block before anything was looked at."""
        return _Polished(block, volts, np.full(len(block.chosen), np.inf), np.zeros(len(block.chosen), dtype=int))

    @staticmethod
    def joined(every: Sequence[_Polished]) -> _Polished:
        """Return the points of several blocks in one."""
        nearest, stalls = (np.concatenate([getattr(at, name) for at in every]) for name in ("nearest", "stalls"))
        volts = np.concatenate([at.volts for at in every], axis=1)
        return _Polished(Block.joined([at.block for at in every]), volts, nearest, stalls)


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
        with np.errstate(all="ignore"):
            self._polish(self._on_ports(blocks, devices, start), devices)

    def approach(self, block: Block, devices: PortDevices) -> None:
        """Put the columns of a block where devices would have their ports, in the base where that is nowhere."""
        chosen, start = block.chosen, self.start(block.chosen)
        with np.errstate(all="ignore"):
            near = self._on_ports([block], devices, block.ports.across(start))[0].volts
            found = np.abs(near).max(axis=0) < FAR_V
        self.volts[:, chosen] = np.where(found, near, start)

    def _on_ports(self, blocks: Sequence[Block], devices: PortDevices, start: Array) -> list[_Polished]:
        """Return where Newton's method on the ports leaves all joints, block by block."""
        found, first = [], 0
        for block in blocks:
            chosen, drive = block.chosen, self.drive[:, block.chosen]
            open_v = block.ports.across(block.updated.apply(drive))
            laws, begin = devices.tables(chosen), start[:, first : first + len(chosen)]
            u, _ = newton(self.system, laws, block.between, open_v, begin, self._live(chosen))
            drawn_a = block.ports.into_joints(drawn(laws, u).amps.T, len(drive))
            found.append(_Polished.of(block, block.updated.apply(drive - drawn_a)))
            first += len(chosen)
        return found

    def _live(self, chosen: Index) -> Index:
        """Return the ports of tubes that are in, in any of some columns, and of diodes."""
        tubes = fitted_ports(self.system, self.values, chosen)
        return np.flatnonzero(np.concatenate([tubes, np.ones(len(self.system.diodes), dtype=bool)]))

    def _polish(self, starts: Sequence[_Polished], devices: PortDevices) -> None:
        """Take Newton steps on all joints until the currents cancel; of each column the best point is kept."""
        left = [at for at in (self._judged(start, devices, first=True) for start in starts) if len(at.nearest)]
        at = _Polished.joined(left) if left else None
        for _ in range(POLISH):
            if at is None or not len(at.nearest):
                return
            at = self._judged(at, devices, first=False)

    def _judged(self, at: _Polished, devices: PortDevices, *, first: bool) -> _Polished:
        """Write down what is left over at the points, where they are the best so far; return the others a step on."""
        block, chosen, v = at.block, at.block.chosen, at.volts
        found = drawn(devices.tables(chosen), block.ports.across(v))
        flows = self.flows(chosen, v, found)
        excess = np.max(np.abs(flows.left) / flows.allowed, axis=0)
        best = np.flatnonzero((excess < at.nearest) | first)
        into = chosen[best]
        self.volts[:, into], self.left[:, into] = v[:, best], flows.left[:, best]
        self.allowed[:, into] = flows.allowed[:, best]
        stalls = np.where(excess < 0.5 * at.nearest, 0, at.stalls + 1)
        going = np.flatnonzero(~(excess <= WELL_BELOW) & (stalls < STALLS))
        part = block.narrowed(going)
        if len(going):
            v = v[:, going] - full_move(self.system, part, found.only(going), flows.left[:, going])
        return _Polished(part, v, np.fmin(excess, at.nearest)[going], stalls[going])


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

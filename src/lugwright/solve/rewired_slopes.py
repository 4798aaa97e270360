"""Every wiring made linear at its own point: what small changes, meters, signals and ripple do there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.solve.rewired_causes import BranchCauses, Cause, branch_causes
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_matrix import UpdatedInverse, solved_each
from lugwright.solve.rewired_newton import Answer, Block, with_slopes
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index, System

ONCE = 64  # columns whose full rows are held at a time
FEW = 4  # rows of each column for which no whole inverse between the ports is worth its time


@dataclass(frozen=True)
class Linearized:
    """Some columns with the slopes of tubes and diodes in: the inverse of their whole matrix, by rows or entries."""

    system: System
    block: Block
    slopes: Numbers  # (column, port, port): D, how port currents follow port volts

    @staticmethod
    def of(system: System, block: Block, found: Answer) -> Linearized:
        """Return a block linearized at what its devices do there."""
        between = block.between
        unit = np.eye(between.shape[-1])
        return Linearized(system, block, with_slopes(system, np.broadcast_to(unit, between.shape[-3:]), found))

    def narrowed(self, pick: Index) -> Linearized:
        """Return some of its columns."""
        some = Linearized(self.system, self.block.narrowed(pick), self.slopes[pick])
        if "pull" in self.__dict__:
            some.__dict__["pull"] = self.pull[..., pick, :, :]
        return some

    @cached_property
    def pull(self) -> Numbers:
        """Return D (1 + Z D)^-1, what port volts make of port currents (column, port, port)."""
        matrix = np.eye(self.slopes.shape[-1]) + self.block.between @ self.slopes
        turned = np.broadcast_to(self.slopes.swapaxes(-1, -2), matrix.shape)
        return solved_each(matrix.swapaxes(-1, -2), turned).swapaxes(-1, -2)

    def pulled(self, across: Numbers) -> Numbers:
        """Return a few rows over the ports (column, row, port) times `pull`."""
        if "pull" in self.__dict__ or across.shape[1] > FEW:
            return np.asarray(across @ self.pull)
        matrix = np.eye(self.slopes.shape[-1]) + self.block.between @ self.slopes
        return solved_each(matrix.swapaxes(-1, -2), (across @ self.slopes).swapaxes(-1, -2)).swapaxes(-1, -2)

    @property
    def updated(self) -> UpdatedInverse:
        """Return the inverse without the slopes."""
        return self.block.updated

    @property
    def ports(self) -> Ports:
        """Return where tubes and diodes stand."""
        return self.block.ports

    def entries(self, out: tuple[Index, Index], into: tuple[Index, Index]) -> Numbers:
        """Return volts between pairs of joints for a current into others (column, out, into), as `between`."""
        rows = (self.ports.a.T, self.ports.b.T)
        left, right = self.updated.between(out, rows), self.updated.between(rows, into)
        return np.asarray(self.updated.between(out, into) - left @ (self.pull @ right))

    def apply(self, amps: Numbers) -> Numbers:
        """Return the volts (joint, column) that currents into joints (joint, column) make."""
        once = self.updated.apply(amps)
        pulled = (self.pull @ self.ports.across(once).T[:, :, None])[:, :, 0].T
        return np.asarray(once - self.updated.apply(self.ports.into_joints(pulled, len(amps))))

    def driving_ohm(self, rows: Index, black: Index) -> Numbers:
        """Return the resistance, or at a frequency the impedance, that each joint shows to another.

        Parameters
        ----------
        rows, black : array
            Rows of the joints (column, joint).

        Returns
        -------
        array
            For small changes (column, joint). [ohm]

        Source
        ------
        The diagonal of the inverse of the nodal matrix.
        """
        ports = (self.ports.a.T, self.ports.b.T)
        plain = self.updated.shown(rows, black)
        left = self.updated.between((rows, black), ports)
        right = self.updated.between(ports, (rows, black)).transpose(0, 2, 1)
        return np.asarray(plain - np.sum((left @ self.pull) * right, axis=2))

    def rows(self, rows: Index) -> Array:
        """Return rows of the whole inverse (column, row asked for, joint)."""
        plain = self.updated.from_rows(rows)
        each = np.arange(len(rows))[:, None]
        at = plain.transpose(0, 2, 1)
        across = (at[each, self.ports.a.T] - at[each, self.ports.b.T]).transpose(0, 2, 1)
        through = self.updated.from_rows(self.ports.a.T) - self.updated.from_rows(self.ports.b.T)
        return np.asarray(plain - self.pulled(across) @ through)


@dataclass(frozen=True)
class Point:
    """The point of some columns: their volts, admittances and what their devices do."""

    columns: RewiredColumns
    chosen: Index
    volts: Array  # (joint, column)
    own_y: Array  # (pair, column)
    values: Array
    excited: Index  # diodes that rectify
    answer: Answer


def slopes_over_causes(linear: Linearized, point: Point, rows: Index, causes: Sequence[Cause]) -> Array:
    """Return how joint volts follow the logarithms of causes (column, joint, cause).

    Parameters
    ----------
    linear : Linearized
        The columns, linear at their points.
    point : Point
        Their points.
    rows : array
        Rows of the joints (column, joint).
    causes : sequence of (str, str)
        Element (or coil) and field: resistances, leaks, a tube's ``on``, the ``rms_v`` of the mains.

    Returns
    -------
    array
        Zero for every other field. [V]

    Valid
    -----
    First order; what a resistance does to the mains cycle itself is not in it.

    Source
    ------
    The adjoint of the nodal equations.
    """
    moves = CauseMoves.of(point, causes)
    result = np.zeros((*rows.shape, len(causes)))
    for first in range(0, len(rows), ONCE):
        part = np.arange(len(rows))[first : first + ONCE]
        some = linear.narrowed(part)
        result[part] = moves.over(some, part, some.rows(rows[part]))
    return result


@dataclass(frozen=True)
class CauseMoves:
    """What a change of each cause's logarithm puts into some columns: a current along its branch, or into ports."""

    acting: BranchCauses
    a: Index  # (branch that acts, column)
    b: Index
    amps: Array  # (branch that acts, column)
    pulls: dict[int, Array]  # by place of the cause: (port, column)

    @staticmethod
    def of(point: Point, causes: Sequence[Cause]) -> CauseMoves:
        """Return what causes do at a point."""
        system, chosen, each = point.columns.system, point.chosen, np.arange(len(point.chosen))
        ends = point.columns.ends[:, chosen]
        acting = branch_causes(system, causes)
        a, b = ends[acting.branches], ends[acting.branches + len(system.branch_a)]
        amps = point.own_y[acting.pairs] * (point.volts[a, each] - point.volts[b, each]) * acting.signs[:, None]
        return CauseMoves(acting, a, b, amps, _port_pulls(point, causes))

    def over(self, linear: Linearized, part: Index, by_row: Array) -> Array:
        """Return how joints follow the causes (column, joint, cause): of columns ``part``, ``linear`` having these.

        ``by_row`` are the joints' rows of the whole inverse (column, joint, joint).
        """
        by_joint, at = by_row.transpose(0, 2, 1), np.arange(len(part))[:, None]
        lean = (by_joint[at, self.a[:, part].T] - by_joint[at, self.b[:, part].T]).transpose(0, 2, 1)
        found = self.acting.spread(lean * self.amps[:, part].T[:, None, :])
        if self.pulls:
            ports = by_joint[at, linear.ports.a.T] - by_joint[at, linear.ports.b.T]
            every = np.stack([pull[:, part].T for pull in self.pulls.values()], axis=2)
            found[:, :, list(self.pulls)] -= ports.transpose(0, 2, 1) @ every
        return found


def _port_pulls(point: Point, causes: Sequence[Cause]) -> dict[int, Array]:
    """Return, by place of the cause, what it adds to the port currents (port, column) per unit of its logarithm."""
    system, answer = point.columns.system, point.answer
    t, p, d = len(system.triodes), len(system.pentodes), len(system.diodes)
    ports = {tube.name: [k, t + k] for k, tube in enumerate(system.triodes)}
    ports |= {tube.name: [2 * t + k, 2 * t + p + k, 2 * t + 2 * p + k] for k, tube in enumerate(system.pentodes)}
    mains = {source.name for source in system.sources}
    found: dict[int, Array] = {}
    for k, (element, field) in enumerate(causes):
        pull = np.zeros(answer.amps.T.shape)
        if field == "on" and element in ports:
            pull[ports[element]] = answer.amps.T[ports[element]]
        elif field == "rms_v" and element in mains and len(point.excited):
            each = np.arange(len(point.chosen))
            a, b = (ends.astype(np.intp) for ends in _diode_ends(point))
            across = point.volts[a, each] - point.volts[b, each]
            follows = np.einsum("bde,eb->db", answer.diode_s[:, :, point.excited], across[point.excited])
            pull[-d + point.excited] = (answer.diode_a.T - follows)[point.excited]
        else:
            continue
        found[k] = pull
    return found


def _diode_ends(point: Point) -> tuple[Index, Index]:
    ports, d = Ports.of(point.columns.system, point.columns.ends[:, point.chosen]), len(point.columns.system.diodes)
    return ports.a[-d:], ports.b[-d:]

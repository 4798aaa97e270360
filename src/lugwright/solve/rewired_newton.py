"""Newton's method on the ports of tubes and diodes, for a block of wirings at once.

Everything linear is folded into one transfer resistance between the ports of each column, so a step solves for some
thirty volts a column; machine code (`lugwright.solve.kernel.settle`) takes one column after the other to its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.dc import KNEE_V
from lugwright.solve.device_laws import TubeState
from lugwright.solve.rewired_flows import some
from lugwright.solve.rewired_matrix import UpdatedInverse
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.rewired_tube_slopes import every_tube_slope, slope_ends
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel import settle
    from lugwright.solve.kernel.ports import Slopes as KernelSlopes

STEPS = 30  # what has not settled after that does not
SETTLED = 1e-7  # of a volt, or of the volts themselves


@dataclass(frozen=True)
class Answer:
    """What the devices of some columns do: port currents (port, column) and slopes (column, port, port)."""

    amps: Array
    tubes: TubeState
    diode_a: Array
    diode_s: Array  # (diode, diode, column)

    def with_diodes(self, diode_a: Array, diode_s: Array) -> Answer:
        """Return it with other currents and slopes of the diodes."""
        amps = np.concatenate([self.amps[: len(self.amps) - len(diode_a)], diode_a])
        return Answer(amps, self.tubes, diode_a, diode_s)

    def only(self, pick: Index) -> Answer:
        """Return some of the columns."""
        diode_s = self.diode_s[:, :, pick]
        return Answer(self.amps[:, pick], some(self.tubes, pick), self.diode_a[:, pick], diode_s)

    def put(self, columns: Index, other: Answer) -> None:
        """Write the columns of another answer over some of these."""
        self.amps[:, columns], self.diode_a[:, columns] = other.amps, other.diode_a
        self.diode_s[:, :, columns] = other.diode_s
        for field in fields(TubeState):
            for mine, theirs in zip(getattr(self.tubes, field.name), getattr(other.tubes, field.name), strict=True):
                mine[:, columns] = theirs


@dataclass(frozen=True)
class Block:
    """Columns that touch about as many joints, with their updated inverse at 0 Hz."""

    chosen: Index
    updated: UpdatedInverse
    ports: Ports

    @cached_property
    def between(self) -> Numbers:
        """Return the transfer resistance between the ports of devices (column, port, port). [ohm]"""
        rows = (self.ports.a.T, self.ports.b.T)
        return self.updated.between(rows, rows)

    def narrowed(self, pick: Index) -> Block:
        """Return some of its columns."""
        some = Block(self.chosen[pick], self.updated.chosen(pick), self.ports.chosen(pick))
        if "between" in self.__dict__:
            some.__dict__["between"] = self.between[pick]
        return some

    @staticmethod
    def joined(blocks: Sequence[Block]) -> Block:
        """Return the columns of several blocks in one."""
        first, *others = blocks
        ports = Ports(*(np.concatenate([getattr(b.ports, end) for b in blocks], axis=1) for end in ("a", "b")))
        chosen = np.concatenate([b.chosen for b in blocks])
        found = Block(chosen, first.updated.joined([b.updated for b in others]), ports)
        if all("between" in b.__dict__ for b in blocks):
            found.__dict__["between"] = np.concatenate([b.between for b in blocks])
        return found


def with_slopes(system: System, through: Array, found: Answer) -> Array:
    """Return a matrix (..., column, anything, port) times the slopes of the ports' currents over the ports' volts."""
    t, p = len(system.triodes), len(system.pentodes)
    result = np.zeros_like(through)

    def per_column(slope: Array) -> Array:
        return slope.T[:, None, :]

    gp, gm, gg = (per_column(s) for s in found.tubes.triode_slopes)
    plate, grid = through[..., :t], through[..., t : 2 * t]
    result[..., :t] = plate * gp
    result[..., t : 2 * t] = plate * gm + grid * gg
    pp, ps, pg, sp, ss, sg, g = (per_column(s) for s in found.tubes.pentode_slopes)
    first = 2 * t
    plate, screen, grid = (through[..., first + n * p : first + (n + 1) * p] for n in range(3))
    result[..., first : first + p] = plate * pp + screen * sp
    result[..., first + p : first + 2 * p] = plate * ps + screen * ss
    result[..., first + 2 * p : first + 3 * p] = plate * pg + screen * sg + grid * g
    first += 3 * p
    result[..., first:] = through[..., first:] @ found.diode_s.transpose(2, 0, 1)
    return result


def newton(
    system: System, laws: settle.Laws, between: Array, open_v: Array, start: Array, live: Index | None = None
) -> tuple[Array, NDArray[np.bool_]]:
    """Return port volts (port, column) and which columns have settled.

    Parameters
    ----------
    system : System
        The circuit.
    laws : Laws
        What the tubes and diodes of these columns follow.
    between : array
        Transfer resistance between ports (column, port, port). [ohm]
    open_v : array
        Port volts without any device (port, column). [V]
    start : array
        Where to start (port, column). [V]
    live : array, optional
        Ports that carry current; the others, those of tubes that are not in, keep the volts they start with.

    Returns
    -------
    tuple of arrays
        Volts, and True where the last step was too small to matter.

    Source
    ------
    u = open - Z i(u), Newton's method; a plate stops at its knee as in `lugwright.solve.dc`, and so does a screen.
    """
    from lugwright.solve.kernel import settle  # brings the compiler along: only where there is something to solve

    still = np.zeros(len(start), dtype=bool)
    if live is not None:
        still[:] = True
        still[live] = False
    t, p = len(system.triodes), len(system.pentodes)
    way = settle.Way(STEPS, SETTLED, KNEE_V, np.r_[0:t, 2 * t : 2 * (t + p)], still)
    u, settled = np.ascontiguousarray(start.T).copy(), np.zeros(start.shape[1], dtype=bool)
    settle.settle(between, laws, slope_ends(t, p), way, np.ascontiguousarray(open_v.T), u, settled)
    return u.T, settled


def full_move(system: System, block: Block, found: Answer, left: Array) -> Array:
    """Return one Newton step on every joint (joint, column) for what is left over there."""
    from lugwright.solve.kernel import ports

    once = block.updated.apply(left)
    off = np.ascontiguousarray(block.ports.across(once).T)
    amps = np.empty_like(off)
    ports.drawn_amps(block.between, _slopes(system, found), off, amps)
    return np.asarray(once - block.updated.apply(block.ports.into_joints(amps.T, len(left))))


def _slopes(system: System, found: Answer) -> KernelSlopes:
    """Return the slopes of some columns as tables."""
    from lugwright.solve.kernel import ports

    ends, siemens = every_tube_slope(system, found.tubes)
    return ports.Slopes(ends, siemens, np.ascontiguousarray(found.diode_s.transpose(2, 0, 1)))

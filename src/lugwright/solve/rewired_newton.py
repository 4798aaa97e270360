"""Newton's method on the ports of tubes and diodes, for a block of wirings at once.

Everything linear is folded into one transfer resistance between the ports of each column, so a step solves for some
thirty volts a column; machine code (`lugwright.solve.kernel.settle`) takes one column after the other to its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.dc import KNEE_V
from lugwright.solve.rewired_matrix import UpdatedInverse
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.rewired_tube_slopes import slope_ends
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel import polish, settle

STEPS = 30  # what has not settled after that does not
SETTLED = 1e-7  # of a volt, or of the volts themselves


@dataclass(frozen=True)
class Answer:
    """What the devices of some columns do: currents of the ports, and slopes over the ports' volts."""

    amps: Array  # (column, port)
    siemens: Array  # of the tubes (column, slope), in the order of `slope_ends`
    diode_s: Array  # (column, diode, diode)

    @property
    def diode_a(self) -> Array:
        """Return the currents of the diodes (column, diode)."""
        return self.amps[:, self.amps.shape[1] - self.diode_s.shape[1] :]

    def with_diodes(self, diode_a: Array, diode_s: Array) -> Answer:
        """Return it with other currents and slopes of the diodes."""
        tubes = self.amps[:, : self.amps.shape[1] - diode_a.shape[1]]
        return Answer(np.concatenate([tubes, diode_a], axis=1), self.siemens, diode_s)

    def only(self, pick: Index) -> Answer:
        """Return some of the columns."""
        return Answer(self.amps[pick], self.siemens[pick], self.diode_s[pick])

    def put(self, columns: Index, other: Answer) -> None:
        """Write the columns of another answer over some of these."""
        self.amps[columns], self.siemens[columns], self.diode_s[columns] = other.amps, other.siemens, other.diode_s


@dataclass(frozen=True)
class Block:
    """Columns that touch about as many joints, with their updated inverse at 0 Hz."""

    chosen: Index
    updated: UpdatedInverse
    ports: Ports

    @cached_property
    def between(self) -> Numbers:
        """Return the transfer resistance between the ports of devices (column, port, port). [ohm]"""
        return self.updated.among(self.ports.a.T, self.ports.b.T)

    @property
    def tables(self) -> polish.Block:
        """Return it as the machine code wants it."""
        from lugwright.solve.kernel import polish

        a, b = (np.ascontiguousarray(rows.T) for rows in (self.ports.a, self.ports.b))
        return polish.Block(self.chosen, a, b, self.between, self.updated.driven)

    def __getstate__(self) -> dict[str, object]:
        """Return it without what is sooner worked out than sent to another process."""
        return {name: value for name, value in self.__dict__.items() if name != "between"}

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
    result, first = np.zeros_like(through), 2 * t + 3 * p
    ends, width = slope_ends(t, p), np.r_[np.repeat(t, 3), np.repeat(p, 7)]
    for last, size in zip(np.cumsum(width), width, strict=True):
        if size:
            slopes = slice(last - size, last)
            into, over = (slice(ends[slopes, k][0], ends[slopes, k][-1] + 1) for k in (0, 1))
            result[..., over] += through[..., into] * found.siemens[:, None, slopes]
    result[..., first:] = through[..., first:] @ found.diode_s
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
    once = block.updated.apply(left)
    amps = _drawn_amps(system, block, found, np.ascontiguousarray(block.ports.across(once).T)[:, :, None])[:, :, 0]
    return np.asarray(once - block.updated.apply(block.ports.into_joints(amps.T, len(left))))


def between_with_slopes(system: System, block: Block, found: Answer, at: Index) -> Array:
    """Return volts between some ports for a current into others of them, devices by their slopes (column, port, port).

    In ohms.
    """
    into = np.ascontiguousarray(block.between[:, :, at])
    return np.asarray(into[:, at] - block.between[:, at] @ _drawn_amps(system, block, found, into))


def _drawn_amps(system: System, block: Block, found: Answer, off: Array) -> Array:
    """Return what devices draw by their slopes where ports are off by some volts without them (column, port, side)."""
    from lugwright.solve.kernel import ports

    amps, ends = np.empty_like(off), slope_ends(len(system.triodes), len(system.pentodes))
    ports.drawn_amps(block.between, ports.Slopes(ends, found.siemens, found.diode_s), off, amps)
    return amps

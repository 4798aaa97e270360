"""Thousands of wirings of one circuit at once: faults, each a few ends, bridges and values away from one solved base.

docs/why/solver.md, "A thousand wirings at once", says how and what it is checked against.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from lugwright.circuit.edits import Edit
from lugwright.circuit.rewiring import Rewiring
from lugwright.errors import NoIdlePoint
from lugwright.solve.current_tones import tones_of
from lugwright.solve.idle import solve_beside
from lugwright.solve.rewired_columns import compiled
from lugwright.solve.rewired_dc import DcColumns
from lugwright.solve.rewired_devices import drawn
from lugwright.solve.rewired_exact import joint_volts, solve_whole
from lugwright.solve.rewired_mains import mains_seen
from lugwright.solve.rewired_many import Found, ManyRewired
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_newton import Answer, Block
from lugwright.solve.rewired_own import OwnSupplies
from lugwright.solve.rewired_ports import Ports, summed
from lugwright.solve.rewired_supply import supply_law
from lugwright.solve.rewired_tones import supply_tones
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.settle import Laws


def solve_rewired(base: Solved, rewirings: Sequence[Rewiring], *, extra: Edit | None = None) -> ManyRewired:
    """Return the DC point of a solved circuit in many other wirings.

    Parameters
    ----------
    base : Solved
        One step of one build, solved whole.
    rewirings : sequence of Rewiring
        What is otherwise in each column.
    extra : Edit
        What is otherwise in all of them, such as a control turned.

    Returns
    -------
    ManyRewired
        One column for each wiring. A column without a certified point is marked and holds no numbers.

    Raises
    ------
    CircuitError
        A wiring moves an end, or sets a value, that the circuit does not have.
    NoIdlePoint
        The base with ``extra`` has no certified point.

    Valid
    -----
    Where a wiring changes what the rectifiers see at the mains frequency, its cycle is closed with 63 instants.

    Source
    ------
    Kirchhoff's laws; Woodbury's identity; Newton's method.
    """
    if extra is not None and extra.changes:
        base = solve_beside(base, [extra])[0]
    with np.errstate(all="ignore"):  # columns that run away are dropped by what is left over there
        return _Batch(base, rewirings).run()


def as_found(base: Solved, rewirings: Sequence[Rewiring], found: Found) -> ManyRewired:
    """Return what `solve_rewired` returned of this base and these wirings in another process."""
    columns, law = compiled(base.system, tuple(rewirings)), found.law.placed(base)
    return _told(base, DcColumns(law, columns), replace(found, law=law))


def _told(base: Solved, dc: DcColumns, found: Found) -> ManyRewired:
    return ManyRewired(
        base, dc.columns, dc.values, found.volts, found.left_over_a, found.allowed_a, found.solved, found.exact,
        found.mains, found.rough, found.answer, found.tones, found.blocks, found.law, dc.laws, dc.own_y, dc.drive,
    )  # fmt: skip


class _Batch:
    def __init__(self, base: Solved, rewirings: Sequence[Rewiring]) -> None:
        self.base, self.system = base, base.system
        self.columns = compiled(base.system, tuple(rewirings))
        self.law = supply_law(base)
        self.dc = DcColumns(self.law, self.columns)
        self.seen = mains_seen(base, self.law, self.columns, self.dc.values)
        self.exact = ~self.seen.alone

    def run(self) -> ManyRewired:
        """Return every column, those that the batch does not answer one by one."""
        dc, every = self.dc, np.arange(self.columns.count)
        blocks = self._blocks()
        inside = [block.narrowed(np.flatnonzero(self.seen.alone[block.chosen])) for block in blocks]
        if self.seen.alone.any():
            start = np.repeat(self._start_u(), int(np.sum(self.seen.alone)), axis=1)
            dc.solve([block for block in inside if len(block.chosen)], self, start)
            self._refuse_beyond_supplies(np.flatnonzero(self.seen.alone))
        found = drawn(self.tables(every), self.columns.ports.across(dc.volts))
        self.tones = supply_tones(self.law, found.diode_a.T, self.seen.share)
        for column in self._own_cycles(blocks, found):
            self._solve_whole(int(column), found)
        dc.volts[:, ~dc.certified] = np.nan
        told = Found(
            dc.volts, dc.left, dc.allowed, dc.certified, self.exact, self.seen.share, self.seen.rough, found,
            self.tones, tuple(blocks), self.law,
        )  # fmt: skip
        return _told(self.base, dc, told)

    def _refuse_beyond_supplies(self, chosen: Index) -> None:
        """Take back what was found where no supply can be: its law has no end, the supply has."""
        across = self.columns.ports.chosen(chosen).across(self.dc.volts[:, chosen])
        beyond = ~self.law.reaches(across[len(across) - len(self.system.diodes) :], self.seen.share[chosen])
        self.dc.left[:, chosen[beyond]] = np.nan

    def _blocks(self) -> list[Block]:
        base_y = np.real(self.system.admittances(self.base.values, 0.0))
        inverse = base_inverse(self.columns, self.system.matrix(base_y)[:, 0])
        blocks = []
        for layout in self.columns.layouts(coupled=False, held=inverse.held):
            part = layout.differences(base_y[:, 0], self.dc.own_y)
            ports = self.columns.ports.chosen(part.columns)
            blocks.append(Block(part.columns, UpdatedInverse(inverse, part), ports))
        return blocks

    def _own_cycles(self, blocks: Sequence[Block], found: Answer) -> Index:
        """Solve the columns that change what the rectifiers see; return all that are still without an answer."""
        every, left = np.arange(len(self.system.diodes)), ~self.dc.certified
        outside = self.seen.outside & ~self.seen.rough
        for diodes, mine in ((self.law.excited, left & ~outside), (every, left & outside)):
            ours = np.flatnonzero(mine)
            if not len(ours) or not len(diodes):
                continue
            self.exact[ours] = True
            own = OwnSupplies(self.law, self.dc, ours, diodes, self.seen.rough)
            together = Block.joined([block.narrowed(np.flatnonzero(mine[block.chosen])) for block in blocks])
            failed = own.solve(together, found, self)
            self.tones[:, diodes[:, None], ours] = own.tones
            self.dc.left[:, failed] = np.nan
        return np.flatnonzero(~self.dc.certified & ~self.seen.rough)

    def tables(self, chosen: Index) -> Laws:
        """Return the laws of some columns, for the machine code."""
        return self.dc.laws.of(chosen, self.seen.share[chosen])

    def _start_u(self) -> Array:
        """Return the base's volts at the ports (port, 1), unmoved."""
        v = np.zeros((self.columns.ground + 1, 1))
        v[: self.system.size] = self.base.dc.volts[:-1]
        return Ports.of(self.system, self.columns.base_ends[:, None]).across(v)

    def _solve_whole(self, column: int, found: Answer) -> None:
        """Solve one column by itself and put it in its place, the tangent of its own cycle with it."""
        dc, one = self.dc, np.array([column])
        self.exact[column] = True
        try:
            solved = solve_whole(self.base, self.columns, column)
        except NoIdlePoint:
            dc.volts[:, column], dc.left[:, column] = np.nan, np.nan
            return
        v = joint_volts(solved, self.columns.names[column], len(dc.volts), self.system)[:, None]
        ports = self.columns.ports.chosen(one)
        own = drawn(self.tables(one), ports.across(v))
        allowed = np.zeros(v.shape)
        if solved.cycle is not None and len(solved.cycle.mean_a):
            own = own.with_diodes(solved.cycle.mean_a[None], solved.cycle.slope_s[None])
            self.tones[:, :, column] = tones_of(solved.cycle.port_a)
            doubt = np.sum(np.abs(solved.cycle.slope_s), axis=1) * solved.cycle.left_over_v
            ends = np.concatenate([ports.a[-len(doubt) :], ports.b[-len(doubt) :]])
            allowed = summed(ends, np.concatenate([doubt, doubt])[:, None], v.shape)
        flows = dc.flows(one, v, own)
        dc.volts[:, one], dc.left[:, one], dc.allowed[:, one] = v, flows.left, flows.allowed + allowed
        found.put(one, own)

"""Thousands of wirings of one circuit at once: faults, each a few ends, bridges and values away from one solved base.

docs/why/solver.md, "A thousand wirings at once", says how and what it is checked against.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.edits import Edit
from lugwright.circuit.rewiring import Rewiring
from lugwright.errors import NoIdlePoint
from lugwright.solve.idle import solve_beside
from lugwright.solve.rewired_columns import RewiredColumns, compiled
from lugwright.solve.rewired_exact import joint_volts, solve_whole
from lugwright.solve.rewired_flows import Flows, flows_of, port_currents, tubes_at
from lugwright.solve.rewired_mains import mains_seen
from lugwright.solve.rewired_many import ManyRewired
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_newton import Answer, Block, full_move, newton
from lugwright.solve.rewired_ports import Ports, summed
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, Index

POLISH = 8  # full Newton steps at the most after the ports have settled
WELL_BELOW = 0.05  # share of what may be left over at which these end


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
    return _Batch(base, rewirings).run()


class _Batch:
    def __init__(self, base: Solved, rewirings: Sequence[Rewiring]) -> None:
        self.base, self.system = base, base.system
        self.columns = compiled(base.system, tuple(rewirings))
        self.values = self.columns.values(base.values)
        self.law = SupplyLaw(base)
        self.base_y = np.real(self.system.admittances(base.values, 0.0))
        self.own_y = np.real(self.system.admittances(self.values, 0.0))
        self.ports = self.columns.ports
        self.drive = _drive(self.columns, self.values)
        self.seen = mains_seen(base, self.law, self.columns, self.values)
        shape = (self.columns.ground + 1, self.columns.count)
        self.volts, self.left, self.allowed = (np.full(shape, np.nan) for _ in range(3))
        self.exact = np.zeros(self.columns.count, dtype=bool)

    def run(self) -> ManyRewired:
        """Return every column, those that the batch does not answer one by one."""
        inverse, held = base_inverse(self.columns, self.system.matrix(self.base_y)[:, 0])
        blocks = []
        for part in self.columns.differences(self.base_y[:, 0], self.own_y, coupled=False, held=held):
            block = Block(part.columns, UpdatedInverse(inverse, part), self.ports.chosen(part.columns))
            blocks.append(block)
            inside = np.flatnonzero(self.seen.alone[part.columns])
            if len(inside):
                self._solve(block.narrowed(inside))
        found = self._devices(np.arange(self.columns.count), self.ports.across(self.volts))
        for column in np.flatnonzero(~self._certified):
            self._solve_whole(int(column), found)
        return ManyRewired(
            self.base, self.columns, self.values, self.volts, self.left, self.allowed, self._certified, self.exact,
            self.seen.share, found, tuple(blocks), self.law, self.own_y, self.drive,
        )  # fmt: skip

    @property
    def _certified(self) -> NDArray[np.bool_]:
        with np.errstate(invalid="ignore"):
            return np.asarray(np.all(np.abs(self.left) <= self.allowed, axis=0))

    def _devices(self, chosen: Index, u: Array) -> Answer:
        """Return what tubes and diodes of some columns do at port volts (port, column)."""
        values, first = self.values[:, chosen], len(u) - len(self.system.diodes)
        tubes = tubes_at(self.system, values, u)
        diode_a, diode_s = self.law.currents(u[first:], self.law.laws(values), self.seen.share[chosen])
        return Answer(port_currents(tubes, diode_a), tubes, diode_a, diode_s)

    def _solve(self, block: Block) -> None:
        chosen, ports, updated = block.chosen, block.ports, block.updated
        rows = (ports.a.T, ports.b.T)
        between = updated.between(rows, rows)
        drive = self.drive[:, chosen]
        start = np.repeat(self._start_u(), len(chosen), axis=1)
        with np.errstate(all="ignore"):
            open_v = ports.across(updated.apply(drive))
            u, _ = newton(self.system, lambda at, going: self._devices(chosen[going], at), between, open_v, start)
            found = self._devices(chosen, u)
            v = updated.apply(drive - ports.into_joints(found.amps, len(drive)))
        self._polish(block, between, v)

    def _polish(self, block: Block, between: Array, v: Array) -> None:
        """Take Newton steps on all joints until the currents cancel; columns where they do stay as they are."""
        pick = np.arange(len(block.chosen))
        with np.errstate(all="ignore"):
            for step in range(POLISH + 1):
                part = block.narrowed(pick)
                chosen = part.chosen
                found = self._devices(chosen, part.ports.across(v))
                flows = self._flows(chosen, v, found)
                self.volts[:, chosen], self.left[:, chosen], self.allowed[:, chosen] = v, flows.left, flows.allowed
                going = np.flatnonzero(~np.all(np.abs(flows.left) <= WELL_BELOW * flows.allowed, axis=0))
                if not len(going) or step == POLISH:
                    return
                pick, part, v = pick[going], part.narrowed(going), v[:, going]
                move = full_move(self.system, part, between[pick], found.only(going), flows.left[:, going])
                v = v - move

    def _flows(self, chosen: Index, v: Array, found: Answer) -> Flows:
        values, own_y = self.values[:, chosen], self.own_y[:, chosen]
        return flows_of(self.columns, chosen, values, own_y, v, found.tubes, found.diode_a)

    def _start_u(self) -> Array:
        """Return the base's volts at the ports (port, 1), unmoved."""
        v = np.zeros((self.columns.ground + 1, 1))
        v[: self.system.size] = self.base.dc.volts[:-1]
        return Ports.of(self.system, self.columns.base_ends[:, None]).across(v)

    def _solve_whole(self, column: int, found: Answer) -> None:
        """Solve one column by itself and put it in its place, the tangent of its own cycle with it."""
        try:
            solved = solve_whole(self.base, self.columns, column)
        except NoIdlePoint:
            self.volts[:, column] = np.nan
            return
        one = np.array([column])
        v = joint_volts(solved, self.columns.names[column], len(self.volts), self.system)[:, None]
        own = self._devices(one, self.ports.chosen(one).across(v))
        allowed = np.zeros(v.shape)
        if solved.cycle is not None and len(solved.cycle.mean_a):
            own = own.with_diodes(solved.cycle.mean_a[:, None], solved.cycle.slope_s[:, :, None])
            doubt = np.sum(np.abs(solved.cycle.slope_s), axis=1) * solved.cycle.left_over_v
            ends = np.concatenate([self.ports.a[-len(doubt) :, one], self.ports.b[-len(doubt) :, one]])
            allowed = summed(ends, np.concatenate([doubt, doubt])[:, None], v.shape)
        flows = self._flows(one, v, own)
        self.exact[column] = True
        self.volts[:, one], self.left[:, one], self.allowed[:, one] = v, flows.left, flows.allowed + allowed
        found.put(column, own)


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
